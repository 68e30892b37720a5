//! What the commands do. Everything they change goes through the workflows.

use std::collections::BTreeMap;
use std::error::Error;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use chock::app::{self, AppError};
use chock::clock::Ambient;
use chock::config::Config;
use chock::demo;
use chock::domain::checklist_file::parse;
use chock::domain::ids::PersonId;
use chock::domain::import::{ImportKind, ImportOutcome};
use chock::domain::person::{Actor, Role};
use chock::words::Lang;
use chock::workflow::{self, NewPerson, Workshop};
use clap::Subcommand;
use uuid::Uuid;

mod keep;
mod moving;
mod remote;

pub use keep::{backup, heads, restore, verify};
pub use moving::move_site;
pub use remote::{Remote, remote};

type Outcome = Result<ExitCode, Box<dyn Error>>;

/// Looked at and found faulty.
const FAULTY: u8 = 3;

#[derive(Subcommand)]
pub enum UserCommand {
    /// Add a person; prints the one-time link with which they set a password
    Add {
        /// As others know them, such as "Nils Berg"
        name: String,
        /// Mail address: signs in with it, and alerts go there
        email: String,
        /// operator, mechanic, supervisor or owner; may be given several times
        #[arg(long = "role", required = true)]
        roles: Vec<Role>,
        /// Name of a yard; may be given several times
        #[arg(long = "yard")]
        yards: Vec<String>,
    },
    /// List everybody, one a line: address, name, roles, state
    List,
    /// End a person's sessions and keep them out
    Disable {
        /// Mail address of the person
        email: String,
    },
    /// Let a disabled person in again
    Enable {
        /// Mail address of the person
        email: String,
    },
    /// Print a new one-time link with which the person sets a new password
    Invite {
        /// Mail address of the person
        email: String,
    },
    /// Take away the second step of somebody whose phone and recovery codes are lost; ends their sessions
    DropSecondStep {
        /// Mail address of the person
        email: String,
    },
}

#[derive(Subcommand)]
pub enum ChecklistCommand {
    /// Say whether a checklist file can be used, and what is wrong with it by line and column
    Check {
        /// The checklist (TOML)
        file: PathBuf,
    },
}

pub async fn serve(config: Config) -> Outcome {
    let workshop = app::open(&config, Ambient::real()).await?;
    take_all_open_files();
    let running = app::start(&config, &workshop, workers()).await?;
    let scheme = if config.tls.is_some() { "https" } else { "http" };
    println!("Chock listens on {scheme}://{}", running.address);
    if let Some(secret) = workflow::first_owner_link(&workshop).await? {
        println!(
            "Nobody is set up yet. Open this link within seven days to become the owner; it works once:"
        );
        println!("  {}/welcome/{secret}", config.public_url);
    }
    wait(running, &workshop).await
}

pub async fn demo(config: Config, seed: u64, only_data: bool) -> Outcome {
    let until = Ambient::real().now();
    let time = demo::Simulated::new(seed, until);
    let workshop = app::open(&config, time.ambient()).await?;
    let fresh = workflow::first_owner_link(&workshop).await?.is_some();
    if fresh {
        println!("Making 120 days of invented history from seed {seed} …");
        workshop.db.relax_durability().await?;
        let made = demo::fill(&workshop, &time, seed, until).await?;
        println!("Made {} checks, {} defects and {} releases.", made.checks, made.defects, made.releases);
    }
    workshop.db.close().await;
    if only_data {
        return Ok(ExitCode::SUCCESS);
    }
    let workshop = app::open(&config, Ambient::real()).await?;
    let running = app::start(&config, &workshop, workers()).await?;
    println!();
    println!("  {}", demo::TRUST);
    println!("  Open        {}", config.public_url);
    println!("  Password    {}   (the same for everybody; nothing here is real)", demo::PASSWORD);
    for (role, name, email) in demo::SIGN_INS {
        println!("  {role:<12}{email:<30}{name}");
    }
    println!("  Data        {}", config.data.display());
    println!("  Mail        {}", config.data.join("mail").display());
    println!();
    println!("Stop it with Ctrl-C.");
    wait(running, &workshop).await
}

pub async fn user(config: Config, command: UserCommand) -> Outcome {
    let workshop = app::open_existing(&config, Ambient::real()).await?;
    let administrator = administrator();
    match command {
        UserCommand::Add { name, email, roles, yards } => {
            let known = workflow::yards(&workshop, &administrator).await?;
            let mut ids = Vec::new();
            for yard in yards {
                let Some(found) = known.iter().find(|y| y.name == yard) else {
                    return Err(format!("{yard}: there is no yard of this name").into());
                };
                ids.push(found.id);
            }
            let person = NewPerson { name, email, roles, yards: ids, rate_minor: 0 };
            let (_, secret) = workflow::add_person(&workshop, &administrator, person).await?;
            println!("{}/welcome/{secret}", config.public_url);
        }
        UserCommand::List => {
            for (person, roles, _) in workflow::people(&workshop, &administrator).await? {
                let roles: Vec<&str> = roles.iter().map(|r| r.as_str()).collect();
                let state = match (person.disabled_at, person.password_hash) {
                    (Some(_), _) => "disabled",
                    (None, None) => "invited",
                    (None, Some(_)) => "active",
                };
                println!("{}\t{}\t{}\t{state}", person.email, person.name, roles.join(","));
            }
        }
        UserCommand::Disable { email } => {
            let id = find(&workshop, &administrator, &email).await?;
            workflow::disable_person(&workshop, &administrator, id, true).await?;
        }
        UserCommand::Enable { email } => {
            let id = find(&workshop, &administrator, &email).await?;
            workflow::disable_person(&workshop, &administrator, id, false).await?;
        }
        UserCommand::Invite { email } => {
            let id = find(&workshop, &administrator, &email).await?;
            let secret = workflow::invite_again(&workshop, &administrator, id).await?;
            println!("{}/welcome/{secret}", config.public_url);
        }
        UserCommand::DropSecondStep { email } => {
            let id = find(&workshop, &administrator, &email).await?;
            workflow::lost_second_step(&workshop, &administrator, id).await?;
        }
    }
    Ok(ExitCode::SUCCESS)
}

pub fn checklist(command: &ChecklistCommand) -> Outcome {
    let ChecklistCommand::Check { file } = command;
    let text = std::fs::read_to_string(file).map_err(|e| unread(file, &e))?;
    match parse(&text) {
        Ok(checklist) => {
            let items = checklist.walk().len();
            println!(
                "{}: {} items in {} zones, {} rules. It can be used.",
                file.display(),
                items,
                checklist.zones.len(),
                checklist.rules.len()
            );
            for lang in &Lang::ALL[1..] {
                let texts = checklist.texts();
                let open: Vec<_> = texts.iter().filter(|(_, text)| !text.has(*lang)).collect();
                // One that is written in a single language is whole as it is.
                let shown = if open.len() == texts.len() { 0 } else { open.len() };
                for (place, _) in open.iter().take(shown) {
                    println!("{}: {place}: not said in {}.", file.display(), lang.own_name());
                }
                if !open.is_empty() {
                    println!(
                        "{}: {} of {} texts are not said in {}: they are shown as they were first written.",
                        file.display(),
                        open.len(),
                        texts.len(),
                        lang.own_name()
                    );
                }
            }
            Ok(ExitCode::SUCCESS)
        }
        Err(faults) => {
            for fault in &faults {
                println!("{}:{}:{}: {}", file.display(), fault.line, fault.column, fault.sentence);
            }
            Ok(ExitCode::from(FAULTY))
        }
    }
}

/// With a fault in the file nothing is taken, with or without `check`.
pub async fn import(config: Config, kind: ImportKind, file: &Path, check: bool, by: Option<&str>) -> Outcome {
    let bytes = std::fs::read(file).map_err(|e| unread(file, &e))?;
    let workshop = app::open_existing(&config, Ambient::real()).await?;
    let actor = in_the_name_of(&workshop, by).await?;
    let import = workflow::preview_import(&workshop, &actor, kind, &bytes).await?;
    for name in &import.unknown {
        println!("{}: {name}: not known here, left out", file.display());
    }
    if !import.faults.is_empty() {
        for fault in &import.faults {
            let column = if fault.column.is_empty() { String::new() } else { format!("{}: ", fault.column) };
            println!("{}:{}: {column}{}", file.display(), fault.line, fault.sentence);
        }
        println!("Nothing was taken.");
        return Ok(ExitCode::from(FAULTY));
    }
    let (import, invited) = if check {
        (import, Vec::new())
    } else {
        let taken = workflow::take_import(&workshop, &actor, kind, &bytes).await?;
        (taken.import, taken.invited)
    };
    for (_, email, secret) in invited {
        println!("{email}\t{}/welcome/{secret}", config.public_url);
    }
    let count = |outcome| import.count(outcome);
    println!(
        "{}: {} to add, {} to change, {} already so. {}",
        file.display(),
        count(ImportOutcome::Added),
        count(ImportOutcome::Changed),
        count(ImportOutcome::AlreadySo),
        if check { "Nothing was taken." } else { "Taken." }
    );
    for (class, units) in by_class(&import.not_covered) {
        let machines = counted(units.len(), "machine", "machines");
        let first = units.iter().take(SHOWN_OF_A_CLASS).map(|u| u.as_str()).collect::<Vec<_>>().join(", ");
        let more = if units.len() > SHOWN_OF_A_CLASS { " and others" } else { "" };
        println!(
            "No checklist covers the class \"{class}\": {machines} cannot be checked before use ({first}{more}). Upload one \
             for it, or change the class."
        );
    }
    Ok(ExitCode::SUCCESS)
}

const SHOWN_OF_A_CLASS: usize = 5;

fn by_class(machines: &[workflow::NotCovered]) -> BTreeMap<&str, Vec<&String>> {
    let mut classes: BTreeMap<&str, Vec<&String>> = BTreeMap::new();
    for m in machines {
        classes.entry(&m.class).or_default().push(&m.unit_number);
    }
    classes
}

pub async fn export(config: Config, to: &Path) -> Outcome {
    let workshop = app::open_existing(&config, Ambient::real()).await?;
    let made = std::fs::OpenOptions::new().write(true).create_new(true).open(to);
    let mut file = made.map_err(|e| match e.kind() {
        std::io::ErrorKind::AlreadyExists => {
            format!("{}: is there already; an export never overwrites", to.display())
        }
        _ => unread(to, &e),
    })?;
    let written =
        workflow::export_everything(&workshop, &administrator(), std::io::BufWriter::new(&mut file)).await;
    match written {
        Ok(rows) => {
            file.sync_all()?;
            let rows = counted(rows, "row", "rows");
            println!("{}: {rows}. Keep it safe: it holds names and addresses.", to.display());
            Ok(ExitCode::SUCCESS)
        }
        Err(e) => {
            // Half an archive would be taken for a whole one.
            let _ = std::fs::remove_file(to);
            Err(e.into())
        }
    }
}

/// What a file changes is done by somebody the books can name.
async fn in_the_name_of(workshop: &Workshop, by: Option<&str>) -> Result<Actor, Box<dyn Error>> {
    let administrator = administrator();
    let id = match by {
        Some(email) => find(workshop, &administrator, email).await?,
        None => {
            let people = workflow::people(workshop, &administrator).await?;
            let mut owners = people
                .into_iter()
                .filter(|(p, roles, _)| p.disabled_at.is_none() && roles.contains(&Role::Owner));
            match (owners.next(), owners.next()) {
                (Some((owner, ..)), None) => owner.id,
                (None, _) => {
                    return Err("there is no owner yet; run chock serve and open its link first".into());
                }
                (Some(_), Some(_)) => {
                    return Err("there are several owners; say with --by in whose name".into());
                }
            }
        }
    };
    let actor = workflow::actor_of_token(workshop, id).await?;
    actor.ok_or_else(|| "this person is disabled".into())
}

/// Why a file could not be read, without the number that the system has for it.
fn unread(file: &Path, e: &std::io::Error) -> String {
    match e.kind() {
        std::io::ErrorKind::NotFound => format!("{}: there is no such file", file.display()),
        _ => format!("{}: {e}", file.display()),
    }
}

fn counted(count: impl TryInto<u64>, one: &str, several: &str) -> String {
    let count = count.try_into().unwrap_or(u64::MAX);
    format!("{count} {}", if count == 1 { one } else { several })
}

/// Every board that listens, and every phone, holds a connection open: as many as the system lets us have.
fn take_all_open_files() {
    use rustix::process::{Resource, Rlimit, getrlimit, setrlimit};
    let limit = getrlimit(Resource::Nofile);
    let most = Rlimit { current: limit.maximum, maximum: limit.maximum };
    if let Err(e) = setrlimit(Resource::Nofile, most) {
        tracing::warn!(error = %e, "no more files may be open than before");
    }
}

async fn wait(running: app::Running, workshop: &Workshop) -> Outcome {
    running.server.await.map_err(AppError::Server)?;
    running.tasks.stop().await;
    workshop.db.close().await;
    Ok(ExitCode::SUCCESS)
}

/// Whoever can run commands beside the data may do what an owner may; the trail says it was done here.
fn administrator() -> Actor {
    Actor {
        id: PersonId(Uuid::nil()),
        name: "administrator at the command line".to_owned(),
        roles: vec![Role::Owner],
        yards: Vec::new(),
        by_pin: false,
        long_ago: false,
    }
}

async fn find(workshop: &Workshop, administrator: &Actor, email: &str) -> Result<PersonId, Box<dyn Error>> {
    let people = workflow::people(workshop, administrator).await?;
    let found = people.into_iter().find(|(p, _, _)| p.email == email.to_lowercase());
    found.map(|(p, _, _)| p.id).ok_or_else(|| format!("{email}: nobody has this address").into())
}

fn workers() -> usize {
    std::thread::available_parallelism().map_or(2, usize::from)
}
