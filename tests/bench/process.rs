//! The built program as it is run: how soon it is ready, what it takes when nobody asks, how large it is, and what a
//! phone has to fetch before a check can begin.

use std::collections::BTreeSet;
use std::io::{BufRead, BufReader};
use std::net::SocketAddr;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use chock::workflow::{self, Credentials};

use crate::client::{Client, header};
use crate::report::{Aim, Report, median};
use crate::world::{Engine, OPERATOR, PASSWORD, World};
use crate::{Outcome, Plan};

const PROGRAM: &str = env!("CARGO_BIN_EXE_chock");
const MACHINES: usize = 200;
/// Of each machine, one figure after the other.
const CHECKS_EACH: [usize; 2] = [20, 200];
const IDLE: Duration = Duration::from_secs(2);

pub async fn measure(plan: &Plan, report: &mut Report) -> Outcome {
    let world = World::new(Engine::Sqlite, MACHINES).await?;
    // Nobody waits for the disk while the past is made.
    world.workshop.db.relax_durability().await?;
    let given = Credentials { email: OPERATOR, password: PASSWORD };
    let (_, secret) = workflow::sign_in_page(&world.workshop, given).await?;
    let cookie = format!("Cookie: chock={secret}\r\n");
    let pages: Vec<String> = ["/".to_owned(), "/board".to_owned()]
        .into_iter()
        .chain(world.machines.iter().map(|m| format!("/machines/{}", m.id)))
        .collect();
    let file = world.config.database_url.trim_start_matches("sqlite:").to_owned();
    let (mut made, mut files, mut used) = (0, Vec::new(), Vec::new());
    let (mut ready, mut resident, mut weight) = (Vec::new(), Vec::new(), None);
    for each in CHECKS_EACH {
        for machine in &world.machines {
            for _ in made..each {
                workflow::submit_check(&world.workshop, &world.operator, world.check(machine)).await?;
            }
        }
        made = each;
        world.workshop.db.copy_to(Path::new(&format!("{file}.{each}"))).await?;
        let (mut served_again, mut after_use) = (Vec::new(), Vec::new());
        let folder = tempfile::tempdir()?;
        std::fs::rename(format!("{file}.{each}"), folder.path().join("chock.db"))?;
        files.push(std::fs::metadata(folder.path().join("chock.db"))?.len() as f64);
        for _ in 0..plan.rounds {
            let served = Spawned::serving(folder.path(), None).await?;
            ready.push(served.ready_after.as_secs_f64());
            tokio::time::sleep(IDLE).await;
            served_again.push(served.resident_mib()?);
            let mut client = Client::connect(served.address).await?;
            for page in &pages {
                client.get(page, &cookie).await?;
            }
            after_use.push(served.resident_mib()?);
            if weight.is_none() {
                let page = format!("/machines/{}/check", world.machines[0].id);
                weight = Some(fetched(served.address, &page, &cookie).await?);
            }
        }
        resident = served_again.clone();
        let checks = MACHINES * each;
        report.add(format!("resident when ready, {checks} checks on record"), "MiB", None, served_again);
        report.add(
            format!("resident after {} pages, {checks} checks", pages.len()),
            "MiB",
            None,
            after_use.clone(),
        );
        used.push(median(&after_use));
    }
    let [few, many] = CHECKS_EACH.map(|each| (MACHINES * each) as f64);
    let a_million = |of: &[f64]| (of[1] - of[0]) / (many - few) * 1e6;
    report.add("size of the file, for each million checks", "GB", None, vec![a_million(&files) / 1e9]);
    report.add("resident memory, for each million checks", "MiB", None, vec![a_million(&used)]);
    let checks = MACHINES * CHECKS_EACH[1];
    report.add(
        format!("start to first answer of /readyz, {checks} checks on record"),
        "s",
        Some(Aim::Below(0.3)),
        ready,
    );
    report.add("resident after 2 s without requests", "MiB", Some(Aim::Below(30.0)), resident);
    let size = std::fs::metadata(PROGRAM)?.len();
    report.add("size of the program", "MB", Some(Aim::Below(25.0)), vec![size as f64 / 1e6]);
    if let Some(bytes) = weight {
        report.add(
            "check page with everything it needs, gzip, without headers",
            "kB",
            Some(Aim::AtMost(60.0)),
            vec![bytes as f64 / 1e3],
        );
    }
    world.clear_away().await
}

pub struct Spawned {
    child: Child,
    pub address: SocketAddr,
    ready_after: Duration,
}

impl Spawned {
    /// On SQLite in the folder, unless a database is given.
    pub async fn serving(folder: &Path, database: Option<&str>) -> Outcome<Self> {
        let start = Instant::now();
        let mut command = Command::new(PROGRAM);
        command.args(["serve", "--listen", "127.0.0.1:0", "--data"]).arg(folder);
        // Of what it answers, nothing: a line a request would be part of what is measured.
        command.env("CHOCK_LOG", "warn");
        command.env_remove("DATABASE_URL").stdout(Stdio::piped());
        if let Some(url) = database {
            command.env("DATABASE_URL", url);
        }
        let mut child = command.spawn()?;
        let said = child.stdout.take().ok_or("no output")?;
        // Owned from here on, so that it is ended whatever happens.
        let mut spawned =
            Self { child, address: SocketAddr::from(([127, 0, 0, 1], 0)), ready_after: Duration::ZERO };
        for line in BufReader::new(said).lines() {
            if let Some((_, address)) = line?.split_once("listens on http://") {
                spawned.address = address.trim().parse()?;
                break;
            }
        }
        while start.elapsed() < Duration::from_secs(10) {
            if let Ok(mut client) = Client::connect(spawned.address).await
                && client.get("/readyz", "").await? == 200
            {
                spawned.ready_after = start.elapsed();
                return Ok(spawned);
            }
            tokio::time::sleep(Duration::from_millis(1)).await;
        }
        Err("the program was not ready within 10 s".into())
    }

    pub fn resident_mib(&self) -> Outcome<f64> {
        let status = std::fs::read_to_string(format!("/proc/{}/status", self.child.id()))?;
        let line = status.lines().find_map(|l| l.strip_prefix("VmRSS:")).ok_or("no VmRSS")?;
        let kib: f64 = line.trim().trim_end_matches("kB").trim().parse()?;
        Ok(kib / 1024.0)
    }
}

impl Drop for Spawned {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Bytes of the page and of all it names, compressed as a browser gets them.
async fn fetched(address: SocketAddr, page: &str, cookie: &str) -> Outcome<usize> {
    let mut client = Client::connect(address).await?;
    let (mut bytes, mut seen) = (0, BTreeSet::new());
    let mut left = vec![page.to_owned()];
    while let Some(path) = left.pop() {
        if !seen.insert(path.clone()) {
            continue;
        }
        let status = client.get(&path, &format!("{cookie}Accept-Encoding: gzip\r\n")).await?;
        if status != 200 {
            return Err(format!("{path} was answered with {status}").into());
        }
        let compressed = client.body.len();
        let how = header(&client.head, "content-encoding").unwrap_or("as it is").to_owned();
        println!("{compressed:>8} bytes, {how}: {path}");
        bytes += compressed;
        client.get(&path, cookie).await?;
        let text = String::from_utf8_lossy(&client.body);
        if path == page {
            left.extend(named_by_page(&text));
        } else if let Some((folder, _)) = path.rsplit_once('/') {
            left.extend(named_by_asset(&text, folder));
        }
    }
    if seen.len() < 3 {
        return Err(format!("the check page names only {seen:?}").into());
    }
    Ok(bytes)
}

/// Values of `src`, and of `href` in a `<link>`, that are on this site.
fn named_by_page(html: &str) -> Vec<String> {
    let mut names = Vec::new();
    for tag in html.split('<').filter_map(|t| t.split('>').next()) {
        let attribute = if tag.starts_with("link ") { " href=\"" } else { " src=\"" };
        if let Some(value) = tag.split(attribute).nth(1).and_then(|v| v.split('"').next())
            && value.starts_with('/')
        {
            names.push(value.to_owned());
        }
    }
    names
}

/// Modules that a module imports, and what a style sheet takes by `url(…)`.
fn named_by_asset(text: &str, folder: &str) -> Vec<String> {
    let imports = text.split("from \"").chain(text.split("import \"")).chain(text.split("import(\""));
    let names = imports.filter_map(|after| after.split('"').next()).filter(|n| n.starts_with("./"));
    let urls = text.split("url(").skip(1).filter_map(|after| after.split(')').next());
    let urls =
        urls.map(|u| u.trim_matches(['"', '\''])).filter(|u| !u.starts_with("data:") && !u.starts_with('#'));
    names
        .map(|n| n.trim_start_matches("./"))
        .chain(urls)
        .map(|n| if n.starts_with('/') { n.to_owned() } else { format!("{folder}/{n}") })
        .collect()
}
