//! What keeps the records: looking whether they are whole, signing them, copying them, and putting a copy back.

use std::ffi::OsString;
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use chock::app;
use chock::clock::Ambient;
use chock::config::Config;
use chock::domain::trail_head::{plain, read_back, write_out};
use chock::storage::Db;
use chock::workflow::{self, Report};

use super::{FAULTY, Outcome, administrator, counted, unread};

pub async fn verify(config: Config, heads: Option<&Path>, public_key: Option<&str>) -> Outcome {
    let kept = match heads {
        Some(file) => {
            let text = fs::read_to_string(file).map_err(|e| unread(file, &e))?;
            let heads = read_back(&text)
                .map_err(|line| format!("{}:{line}: up to here, this is no whole head", file.display()))?;
            if heads.is_empty() {
                return Err(format!("{}: there is no head in it", file.display()).into());
            }
            heads
        }
        None => Vec::new(),
    };
    let workshop = app::open_existing(&config, Ambient::real()).await?;
    let report = workflow::verify_against(&workshop, &kept, public_key.map(plain).as_deref()).await?;
    tell(&report);
    if report.sound() && !kept.is_empty() {
        println!(
            "The trail holds all that was signed in {} of the file.",
            counted(kept.len(), "head", "heads")
        );
    }
    Ok(outcome_of(&report))
}

pub async fn heads(config: Config, all: bool) -> Outcome {
    let workshop = app::open_existing(&config, Ambient::real()).await?;
    let heads = if all {
        workflow::all_heads(&workshop, &administrator()).await?
    } else {
        vec![workflow::sign_head(&workshop, &administrator()).await?]
    };
    for head in heads {
        print!("{}", write_out(&head.hash, &head.signed()));
    }
    Ok(ExitCode::SUCCESS)
}

pub async fn backup(config: Config, file: &Path) -> Outcome {
    if file.exists() {
        return Err(format!("{}: is there already; a backup never overwrites", file.display()).into());
    }
    let workshop = app::open_existing(&config, Ambient::real()).await?;
    workshop.db.copy_to(file).await?;
    on_the_disk(file)?;
    let report = look_at(&config, file).await?;
    // Looking opened it, and may have written to it.
    on_the_disk(file)?;
    if !report.sound() {
        tell(&report);
        return Err(format!("{}: the copy is not sound; see above", file.display()).into());
    }
    let entries = counted(report.entries, "audit entry", "audit entries");
    println!("{}: copied and verified, {entries}.", file.display());
    match &config.photos {
        Some(photos) => println!("Pictures are in the bucket {}; keep a copy of it as well.", photos.bucket),
        None => {
            println!("Pictures are in {}; copy that folder beside it.", config.data.join("photos").display());
        }
    }
    Ok(ExitCode::SUCCESS)
}

/// Looks at a copy of the backup, so that the backup itself stays as it is, and then puts that copy into the place.
pub async fn restore(config: Config, file: &Path, check: bool, replace: bool) -> Outcome {
    let Some(place) = config.database_url.strip_prefix("sqlite:").map(PathBuf::from) else {
        return Err("PostgreSQL is restored with its own pg_restore; then run chock verify".into());
    };
    if !file.is_file() {
        return Err(format!("{}: there is no such file", file.display()).into());
    }
    let log = {
        let mut n = file.as_os_str().to_owned();
        n.push("-wal");
        PathBuf::from(n)
    };
    if log.metadata().is_ok_and(|m| m.len() > 0) {
        return Err(format!(
            "{}: has a log beside it, so a program may be writing to it; make a copy with chock backup",
            file.display()
        )
        .into());
    }
    if !check && place.exists() && !replace {
        let there = place.display();
        return Err(format!(
            "{there}: there is a database already. With --replace it is kept under another name and the backup takes its place"
        )
        .into());
    }
    fs::create_dir_all(&config.data)?;
    let coming = beside(&place, "coming");
    remove(&coming)?;
    fs::copy(file, &coming)?;
    let looked = match Db::entries_in(&coming).await {
        Ok(Some(entries)) => match look_at(&config, &coming).await {
            Ok(report) if report.entries != entries => {
                Err(format!("of {entries} audit entries, {} were read", report.entries).into())
            }
            looked => looked,
        },
        Ok(None) => Err("it is no database of Chock".into()),
        Err(e) => Err(e.into()),
    };
    let report = match looked {
        Ok(report) if report.sound() => report,
        Ok(report) => {
            remove(&coming)?;
            tell(&report);
            println!("{}: not sound. Nothing was changed.", file.display());
            return Ok(ExitCode::from(FAULTY));
        }
        Err(e) => {
            remove(&coming)?;
            println!("{}: no backup that this program can read: {e}. Nothing was changed.", file.display());
            return Ok(ExitCode::from(FAULTY));
        }
    };
    tell(&report);
    if place.exists()
        && let Ok(Some(now)) = Db::entries_in(&place).await
    {
        println!(
            "{}: the database that is there has {}, {} more than the backup.",
            place.display(),
            counted(now, "audit entry", "audit entries"),
            now.saturating_sub(report.entries)
        );
    }
    if check {
        remove(&coming)?;
        println!("{}: whole and sound. Nothing was changed.", file.display());
        return Ok(ExitCode::SUCCESS);
    }
    on_the_disk(&coming)?;
    if place.exists() {
        // Refused while a server has it open: what it acknowledged from now on would be lost.
        if let Err(e) = Db::settle_file(&place).await {
            remove(&coming)?;
            return Err(format!(
                "{}: a server or another program uses it; stop that first ({e})",
                place.display()
            )
            .into());
        }
        let aside = beside(&place, &format!("before-{}", Ambient::real().now().format("%Y%m%dT%H%M%SZ")));
        fs::rename(&place, &aside)?;
        println!("{}: what was there is kept here.", aside.display());
    }
    fs::rename(&coming, &place)?;
    on_the_disk(&place)?;
    println!("{}: restored from {}.", place.display(), file.display());
    if config.photos.is_none() {
        println!("Put the pictures back into {} as well.", config.data.join("photos").display());
    }
    Ok(ExitCode::SUCCESS)
}

/// Opens it as a server would, migrations and all, and asks it everything.
async fn look_at(config: &Config, file: &Path) -> Result<Report, Box<dyn std::error::Error>> {
    let database_url = format!("sqlite:{}", file.display());
    let copy = Config { database_url, replica_url: None, ..config.clone() };
    let workshop = app::open(&copy, Ambient::real()).await?;
    let report = workflow::verify(&workshop).await;
    workshop.db.close().await;
    Ok(report?)
}

pub(super) fn tell(report: &Report) {
    for breach in &report.breaches {
        println!("invariant {}: {}", breach.invariant, breach.what);
    }
    if report.integrity != "ok" {
        println!("database file: {}", report.integrity);
    }
    println!(
        "{} in {}, {}; {}.",
        counted(report.entries, "audit entry", "audit entries"),
        counted(report.chains, "chain", "chains"),
        counted(report.heads, "signed head", "signed heads"),
        counted(report.breaches.len(), "breach", "breaches")
    );
}

fn outcome_of(report: &Report) -> ExitCode {
    if report.sound() { ExitCode::SUCCESS } else { ExitCode::from(FAULTY) }
}

/// The file and its place in the folder survive a loss of power.
fn on_the_disk(file: &Path) -> std::io::Result<()> {
    File::open(file)?.sync_all()?;
    let folder = file.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    File::open(folder)?.sync_all()
}

fn beside(place: &Path, what: &str) -> PathBuf {
    let mut name = place.file_name().map(OsString::from).unwrap_or_default();
    name.push(format!(".{what}"));
    place.with_file_name(name)
}

/// With what an engine puts beside it.
fn remove(file: &Path) -> std::io::Result<()> {
    for end in ["", "-wal", "-shm"] {
        let mut name = file.as_os_str().to_owned();
        name.push(end);
        match fs::remove_file(&name) {
            Err(e) if e.kind() != std::io::ErrorKind::NotFound => return Err(e),
            _ => {}
        }
    }
    Ok(())
}
