//! The commands as an administrator and a script see them: exit codes, what is said, and what is found.

use std::fs;
use std::path::Path;
use std::time::Instant;

use chock::domain::checklist::Load;
use chock::domain::ids::CheckId;
use chock::domain::shipped::SHIPPED;
use chock::storage::Db;
use chock::workflow;
use serde_json::json;
use sqlx::{AssertSqlSafe, Connection, Executor, SqliteConnection};

use crate::support::process::{DEADLINE, Served, chock, chock_on, run};
use crate::support::{Bench, Engine, PASSWORD, all_well};

const COMMANDS: [&str; 12] = [
    "serve",
    "demo",
    "user",
    "checklist",
    "remote",
    "backup",
    "restore",
    "move",
    "verify",
    "heads",
    "import",
    "export",
];

#[test]
fn help_names_every_command_and_every_command_has_help() {
    let (code, said) = run(chock(&["--help"]));
    assert_eq!(code, 0, "{said}");
    for command in COMMANDS {
        assert!(
            said.lines().any(|l| l.trim_start().starts_with(&format!("{command} "))),
            "{command}: {said}"
        );
        let (code, said) = run(chock(&[command, "--help"]));
        assert!(code == 0 && said.contains("Usage: chock"), "{command}: {said}");
    }
    assert!(said.contains("Exit codes"), "{said}");
    let (code, said) = run(chock(&["grind"]));
    assert_eq!(code, 2, "a wrong command line: {said}");
}

/// A stranger who adds a person is not shown what only a server needs; it is taken all the same.
#[test]
fn only_serve_lists_every_setting() {
    let (_, serve) = run(chock(&["serve", "--help"]));
    let (_, add) = run(chock(&["user", "add", "--help"]));
    for setting in chock::config::Settings::of_the_server() {
        let flag = format!("--{} ", setting.replace('_', "-"));
        assert!(serve.contains(&flag), "{flag}: {serve}");
        assert_eq!(add.contains(&flag), *setting == "public_url", "{flag}: {add}");
    }
    assert!(add.contains("--data ") && add.contains("--config "), "{add}");
    let (code, said) = run(chock(&["serve", "--listen", "8080"]));
    assert!(code == 2 && said.contains("such as 127.0.0.1:8080"), "{said}");
}

/// The folder of a mistyped `--data` is no empty database that can be backed up.
#[test]
fn a_folder_without_a_database_is_said_and_stays_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let (data, file) = (folder.path().join("dta"), folder.path().join("made"));
    let (data, file) = (data.to_str().unwrap(), file.to_str().unwrap());
    let table = folder.path().join("machines.csv");
    fs::write(&table, "unit_number,yard,class\n").unwrap();
    for command in [
        vec!["backup", file],
        vec!["verify"],
        vec!["heads"],
        vec!["export", "--to", file],
        vec!["user", "list"],
        vec!["import", "machines", table.to_str().unwrap()],
    ] {
        let (code, said) = run(chock(&[command.as_slice(), &["--data", data]].concat()));
        assert!(code == 1 && said.contains("there is no database here"), "{command:?}: {said}");
        assert!(!Path::new(data).exists() && !Path::new(file).exists(), "{command:?} made something");
    }
}

#[test]
fn a_checklist_is_checked_with_line_and_column() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("daily.toml");
    let path = file.to_str().unwrap();
    fs::write(&file, SHIPPED[0].1).unwrap();
    let (code, said) = run(chock(&["checklist", "check", path]));
    assert_eq!(code, 0, "{said}");
    assert!(said.contains("45 items"), "{said}");

    // A word that is no question, at a place that is known.
    let good = "asks = \"condition\"";
    let at = SHIPPED[0].1.find(good).expect("a condition");
    let line = SHIPPED[0].1[..at].lines().count() + 1;
    fs::write(&file, SHIPPED[0].1.replacen(good, "asks = \"conditio\"", 1)).unwrap();
    let (code, said) = run(chock(&["checklist", "check", path]));
    assert_eq!(code, 3, "{said}");
    let place = format!("{path}:{line}:{}: ", "asks = ".len() + 1);
    assert!(said.lines().any(|l| l.starts_with(&place)), "not at {place}: {said}");

    // No TOML at all.
    fs::write(&file, "name = \"daily\"\ntitle = \"Daily\n").unwrap();
    let (code, said) = run(chock(&["checklist", "check", path]));
    assert_eq!(code, 3, "{said}");
    assert!(said.starts_with(&format!("{path}:2:")), "{said}");

    let (code, said) = run(chock(&["checklist", "check", folder.path().join("none.toml").to_str().unwrap()]));
    assert_eq!(code, 1, "{said}");
    assert!(said.contains("none.toml"), "{said}");
}

/// A list that is sound but for what a test writes into it. Every place where a fault is expected has a mark before it.
const LIST: &str = r#"name = "small"
title = "Small"
classes = ["quad"]
[[zone]]
key = "wheels"
title = "Each wheel"
stand = "Beside it."
[[zone.item]]
key = "pad"
title = "Brake pad"
todo = "Measure it."
accept = "Thick enough."
system = "brakes"
asks = "measure"
positions = ["left", "right"]
[zone.item.measure]
base = "mm"
units = ["mm", "in"]
resolution = "0.1 mm"
plausible = ["0 mm", "20 mm"]
limits = [{ at_least = "1.5 mm" }]
[[zone.item]]
key = "oil"
title = "Oil level"
todo = "Read it."
accept = "Between."
system = "engine"
asks = "level"
"#;

/// What is written, with the marks, and what must be said at each of them in turn.
fn faults_of(marked: &str, said_at: &[&str]) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("bad.toml");
    let path = file.to_str().unwrap();
    fs::write(&file, marked.replace('§', "")).unwrap();
    let (code, said) = run(chock(&["checklist", "check", path]));
    assert_eq!(code, 3, "{said}");
    let lines: Vec<&str> = said.lines().filter(|l| l.starts_with(path)).collect();
    assert_eq!(lines.len(), said_at.len(), "{said}");
    let mut places = Vec::new();
    for (number, line) in (1..).zip(marked.lines()) {
        let parts: Vec<&str> = line.split('§').collect();
        let mut before = 0;
        for part in &parts[..parts.len() - 1] {
            before += part.chars().count();
            places.push((number, before + 1));
        }
    }
    assert_eq!(places.len(), said_at.len(), "a mark for each fault");
    for (((line, column), part), said) in places.into_iter().zip(said_at).zip(lines) {
        assert!(said.starts_with(&format!("{path}:{line}:{column}: ")), "not at {line}:{column}: {said}");
        assert!(said.contains(part), "not {part:?}: {said}");
    }
}

fn rule(name: &str, severity: &str, when: &str) -> String {
    let watch = if severity == "monitor" { "good_for_days = 1\n" } else { "" };
    format!(
        "[[rule]]\nname = {name}\nseverity = \"{severity}\"\n{watch}when = [{when}]\ninstruction = \"Stop.\"\n"
    )
}

/// Issue 3: unreachable rules, contradictory limits, units that do not fit, positions without rules, a severity that no
/// reading can reach.
#[test]
fn a_bad_checklist_is_told_fault_by_fault_with_line_and_column() {
    let stop = "out of service";
    // What is wrong with figures and units.
    let limits = LIST.replace(
        r#"limits = [{ at_least = "1.5 mm" }]"#,
        r#"§limits = [{ at_least = "6 mm" }, { at_most = "5 mm" }, { at_most = §"3 psi" }]"#,
    );
    faults_of(
        &(limits + &rule("\"thin\"", stop, r#"{ item = "pad", below = §"2 kPa" }"#)),
        &[
            "Nothing can pass: at least 6 mm and at most 5 mm contradict",
            "this item measures a length",
            "this item measures a length",
        ],
    );
    let units = LIST.replace(r#"units = ["mm", "in"]"#, r#"§units = ["mm", "bar"]"#);
    faults_of(&units, &["bar is a pressure"]);
    let picture = LIST.replace("asks = \"level\"", "picture = §\"dipstik\"\nasks = \"level\"");
    faults_of(&picture, &["Did you mean \"dipstick\"?"]);

    // Rules that nothing reaches, and positions that none speaks of.
    let rules = [
        rule("\"any oil\"", stop, r#"{ item = "oil", outcome = "defect" }"#),
        rule("§\"low oil\"", "monitor", r#"{ item = "oil", level = "below" }"#),
        rule(
            "\"less than nothing\"",
            stop,
            r#"§{ item = "oil", level = "below" }, §{ item = "oil", level = "above" }"#,
        ),
        rule("\"thinner than nothing\"", stop, r#"§{ item = "pad", below = "0 mm" }"#),
        rule("\"left thin\"", stop, r#"{ item = "pad", position = "left", below = "2 mm" }"#),
    ];
    let rules = rules.concat().replace("[§{ item = \"oil\", level", "[{ item = \"oil\", level");
    faults_of(
        &format!("{LIST}{rules}"),
        &[
            "\"low oil\" never decides: \"any oil\" is more severe",
            "contradicts another condition, so the rule \"less than nothing\" never holds",
            "No reading can be below 0 mm",
        ],
    );
    let left = rule("\"left thin\"", stop, r#"§{ item = "pad", position = "left", below = "2 mm" }"#);
    faults_of(&format!("{LIST}{left}"), &["The rules of \"pad\" leave right out"]);

    // A list that stops nothing: also when its only rule that could is one that never holds.
    let watch = rule("\"oil\"", "monitor", r#"{ item = "oil", outcome = "defect" }"#);
    faults_of(&format!("§{LIST}{watch}"), &["No reading can put this machine out of service"]);
    let never = rule("\"never\"", stop, r#"§{ item = "pad", above = "20 mm" }"#);
    faults_of(
        &format!("§{LIST}{never}"),
        &["No reading can put this machine out of service", "No reading can be above 20 mm"],
    );
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn verify_finds_what_was_altered_by_hand() {
    let b = Bench::new(Engine::Sqlite).await;
    b.ground(b.machine).await;
    let stream = format!("machine {}", b.machine);
    let mut tx = b.workshop.db.read().await.unwrap();
    let (last,): (i64,) = tx.one("SELECT seq FROM audit_head WHERE stream = $1", &[&stream]).await.unwrap();
    drop(tx);
    b.workshop.db.close().await;
    // All of it happened at the one moment of the set clock.
    let at = b.now().to_rfc3339_opts(chrono::SecondsFormat::Secs, true);
    assert!(last >= 3, "a check, a defect and a hold are in the trail");
    let (code, said) = run(chock_on(&b, &["verify"]));
    assert_eq!(code, 0, "{said}");
    assert!(said.contains(" 0 breaches."), "{said}");

    let altered = [
        (
            "a row",
            format!(
                "DROP TRIGGER audit_no_update;
                 UPDATE audit SET by_name = 'Nobody' WHERE stream = '{stream}' AND seq = 2"
            ),
            format!("chain “{stream}”, {at}: altered: entry 2 does not say what was hashed"),
        ),
        (
            "the tail",
            format!(
                "DROP TRIGGER audit_no_delete;
                 DELETE FROM audit WHERE stream = '{stream}' AND seq = {last}"
            ),
            format!("chain “{stream}”: missing: it ends at entry {}, {at}, and not at {last}", last - 1),
        ),
        (
            "the middle",
            format!("DROP TRIGGER audit_no_delete; DELETE FROM audit WHERE stream = '{stream}' AND seq = 2"),
            format!("chain “{stream}”, {at}: missing: entry 2 before entry 3"),
        ),
        ("the stock", "UPDATE stock SET on_hand = on_hand + 1".to_owned(), "invariant 4: ".to_owned()),
        (
            "a hold",
            "PRAGMA foreign_keys = OFF; DELETE FROM hold".to_owned(),
            "invariant 2: an open out-of-service defect without exactly one open hold: U-07".to_owned(),
        ),
    ];
    for (what, sql, found) in altered {
        let (code, said) = verified_after(b.folder.path(), &sql).await;
        assert_eq!(code, 3, "{what}: {said}");
        assert!(said.contains(&found), "{what}: {said}");
    }
    // The copies were altered, not the data.
    assert_eq!(run(chock_on(&b, &["verify"])).0, 0);
}

/// Alters a copy of the data and verifies it.
async fn verified_after(data: &Path, sql: &str) -> (i32, String) {
    let copy = tempfile::tempdir().unwrap();
    let file = copy.path().join("chock.db");
    fs::copy(data.join("chock.db"), &file).unwrap();
    let mut by_hand = SqliteConnection::connect(&format!("sqlite:{}", file.display())).await.unwrap();
    // Literals of this test, and an id.
    by_hand.execute(AssertSqlSafe(sql.to_owned())).await.unwrap();
    by_hand.close().await.unwrap();
    run(chock(&["verify", "--data", copy.path().to_str().unwrap()]))
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_backup_is_sound_while_a_server_writes() {
    let b = Bench::on_real_time(Engine::Sqlite).await;
    workflow::set_password(&b.workshop, b.operator.id, PASSWORD).await.unwrap();
    let served = Served::on(&b);
    let client = crate::support::client().build().expect("a client");
    let token = served.token(&client, "otto@yard.example").await;
    let answers = all_well(&b.checklist, Load::Unladen);
    let body =
        json!({ "machine": b.machine, "checklist": b.checklist_id, "load": "unladen", "answers": answers });
    let (acknowledged, mut count) = tokio::sync::watch::channel(0_usize);
    let (ambient, base) = (b.workshop.ambient.clone(), served.base.clone());
    let writer = tokio::spawn(async move {
        while !acknowledged.is_closed() {
            let id: CheckId = ambient.id();
            let put = client.put(format!("{base}/api/v1/checks/{id}")).bearer_auth(&token).json(&body);
            assert_eq!(put.send().await.unwrap().status(), 201);
            acknowledged.send_modify(|n| *n += 1);
        }
    });
    reached(&mut count, 5).await;
    let before = *count.borrow();
    let copy = b.folder.path().join("copy.db");
    let backup = chock_on(&b, &["backup", copy.to_str().unwrap()]);
    let (code, said) = tokio::task::spawn_blocking(|| run(backup)).await.unwrap();
    assert_eq!(code, 0, "{said}");
    let after = *count.borrow();
    reached(&mut count, after + 3).await;
    drop(count);
    writer.await.unwrap();
    assert_eq!(served.stop().0, 0, "a server that is told to stop ends well");

    assert!(after > before, "nobody wrote while the copy was made: {before}, {after}");
    let copied = Db::open(&format!("sqlite:{}", copy.display())).await.unwrap();
    let (checks,): (i64,) =
        copied.read().await.unwrap().one("SELECT COUNT(*) FROM pre_use_check", &[]).await.unwrap();
    copied.close().await;
    let checks = usize::try_from(checks).unwrap();
    // One more may be committed and not yet acknowledged.
    assert!((before..=after + 1).contains(&checks), "{before} ≤ {checks} ≤ {after}");

    let kept = fs::read(&copy).unwrap();
    let (code, said) = run(chock_on(&b, &["backup", copy.to_str().unwrap()]));
    assert_eq!(code, 1, "{said}");
    assert!(said.contains("never overwrites"), "{said}");
    assert!(fs::read(&copy).unwrap() == kept, "the first copy is untouched");
    b.assert_sound().await;
}

async fn reached(count: &mut tokio::sync::watch::Receiver<usize>, least: usize) {
    let reached = tokio::time::timeout(DEADLINE, count.wait_for(|n| *n >= least)).await;
    reached.expect("the writer writes").expect("the writer is there");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn people_are_added_listed_and_disabled() {
    let b = Bench::new(Engine::Sqlite).await;
    let add = |email: &str, more: &[&str]| {
        let mut command = chock_on(&b, &["user", "add", "Nils New", email]);
        command.args(more);
        run(command)
    };
    let (code, said) =
        add("Nils@Yard.example", &["--role", "mechanic", "--role", "operator", "--yard", "North yard"]);
    assert_eq!(code, 0, "{said}");
    let secret = said.split_once("/welcome/").expect("a one-time link").1.lines().next().unwrap().trim();
    let id =
        workflow::accept_invitation(&b.workshop, secret, "", "", PASSWORD).await.expect("the link works");
    assert!(workflow::accept_invitation(&b.workshop, secret, "", "", PASSWORD).await.is_err(), "only once");

    let state = || {
        let (code, said) = run(chock_on(&b, &["user", "list"]));
        assert_eq!(code, 0, "{said}");
        said.lines().find(|l| l.starts_with("nils@yard.example\t")).expect("listed").to_owned()
    };
    assert_eq!(state(), "nils@yard.example\tNils New\tmechanic,operator\tactive");
    assert!(workflow::actor_of_token(&b.workshop, id).await.unwrap().is_some());
    assert_eq!(run(chock_on(&b, &["user", "disable", "nils@yard.example"])).0, 0);
    assert!(state().ends_with("\tdisabled"));
    assert!(workflow::actor_of_token(&b.workshop, id).await.unwrap().is_none(), "nobody from now on");
    assert_eq!(run(chock_on(&b, &["user", "enable", "nils@yard.example"])).0, 0);
    assert!(state().ends_with("\tactive"));

    let (code, said) = add("nils@yard.example", &["--role", "operator", "--yard", "North yard"]);
    assert!(code == 1 && said.contains("already"), "{code}: {said}");
    let (code, said) = add("other@yard.example", &["--role", "operator", "--yard", "West yard"]);
    assert!(code == 1 && said.contains("West yard"), "{code}: {said}");
    let (code, said) = add("other@yard.example", &[]);
    assert!(code == 2 && said.contains("--role"), "{code}: {said}");
    let (code, said) = run(chock_on(&b, &["user", "disable", "nobody@yard.example"]));
    assert!(code == 1 && said.contains("nobody@yard.example"), "{code}: {said}");
    b.assert_sound().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_first_start_prints_a_link_for_the_owner() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("new");
    let serve = || Served::start(chock(&["serve", "--data", data.to_str().unwrap()]));
    let first = serve();
    let (start, mut link) = (Instant::now(), String::new());
    while !link.contains("/welcome/") {
        assert!(start.elapsed() < DEADLINE, "no link");
        link = first.line();
    }
    let ready = reqwest::get(format!("{}/readyz", first.base)).await.unwrap();
    assert_eq!(ready.status(), 200);
    assert_eq!(first.stop().0, 0);

    let (_, secret) = link.split_once("/welcome/").unwrap();
    let db = Db::open(&format!("sqlite:{}", data.join("chock.db").display())).await.unwrap();
    let workshop = workflow::Workshop::new(db, chock::clock::Ambient::real(), "EUR");
    let owner =
        workflow::accept_invitation(&workshop, secret.trim(), "Olga Owner", "olga@yard.example", PASSWORD);
    let owner = owner.await.expect("the link works");
    let owner = workflow::actor_of_token(&workshop, owner).await.unwrap().expect("an owner");
    assert!(owner.has(chock::domain::person::Role::Owner));
    workshop.db.close().await;

    let second = serve();
    assert_eq!(reqwest::get(format!("{}/readyz", second.base)).await.unwrap().status(), 200);
    let (code, said) = second.stop();
    assert_eq!((code, said), (0, vec![]), "no second link once there is an owner");
}
