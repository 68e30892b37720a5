//! The whole API, asked with what its own document says that it takes and with what it says that it does not: no answer of
//! the server's own fault, none that the document does not know, nothing wrong taken and nothing right refused without a
//! sentence. By schemathesis (MIT), with all its checks.
//!
//! `CHOCK_TEST_SEED` asks with other inputs, `CHOCK_TEST_CASES` with more or fewer on each operation; PostgreSQL is asked
//! a fifteenth as many, without those that follow from the shapes: what could differ is SQL, and every story runs on both.

use std::path::Path;
use std::process::Command;

use chock::domain::shipped::SHIPPED;
use chock::workflow;
use serde_json::{Value, json};

use crate::mail::python;
use crate::routes::world::World;
use crate::routes::{api, source};
use crate::support::{Bench, Engine};

/// What each operation is asked at most, beside the examples and the cases that follow from its shape.
const CASES_EACH: usize = 125;
const AT_LEAST: u64 = 20_000;

/// What schemathesis is told that its document cannot say, with why.
const SETTINGS: &str = r#"
# 412 and 422 are how the rules of the workshop refuse what has the right shape; 400 is an id that is not of version 7, 429
# somebody who guesses. Each says in a sentence what to do, and `api::refusals` looks at those.
[checks.positive_data_acceptance]
expected-statuses = ["2xx", "400", "401", "403", "404", "409", "412", "413", "422", "429"]

# A stale condition is told before a body is read; some bodies are too large whatever they say.
[checks.negative_data_rejection]
expected-statuses = ["400", "401", "403", "404", "405", "406", "409", "412", "413", "415", "422", "429"]

# Any text is a file that can be looked at: what is wrong with it is the answer.
[[operations]]
include-path = "/api/v1/import/{kind}"
[operations.checks.negative_data_rejection]
expected-statuses = ["200", "400", "401", "403", "404", "413", "415", "422"]
"#;

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn on_sqlite() {
    let cases = asked_by(Engine::Sqlite, 1, "examples,coverage,fuzzing").await;
    assert!(std::env::var_os("CHOCK_TEST_CASES").is_some() || cases >= AT_LEAST, "{cases} cases only");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn on_postgres() {
    asked_by(Engine::Postgres, 15, "fuzzing").await;
}

async fn asked_by(engine: Engine, one_of: usize, phases: &str) -> u64 {
    let number = |name: &str| std::env::var(name).ok().and_then(|n| n.parse::<usize>().ok());
    let each = (number("CHOCK_TEST_CASES").unwrap_or(CASES_EACH) / one_of).max(1);
    let seed = number("CHOCK_TEST_SEED").unwrap_or(1);
    let world = World::new(Bench::new(engine).await).await;
    let tokens = json!({
        "usual": world.token_of_every_role("all").await,
        "spare": world.token_of_every_role("spare-hand").await,
    });
    let folder = tempfile::tempdir().unwrap();
    let (settings, report) = (folder.path().join("settings.toml"), folder.path().join("report.json"));
    std::fs::write(&settings, SETTINGS).unwrap();
    let support = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/support");
    let mut command = Command::new(python().with_file_name("schemathesis"));
    command
        .arg("--config-file")
        .arg(&settings)
        .arg("run")
        .arg(format!("{}/api/openapi.json", world.served.url));
    command.args(["--checks", "all", "--continue-on-failure", "--no-color", "--workers", "1"]);
    command.args(["--suppress-health-check", "all", "--phases", phases]);
    command.args(["--seed", &seed.to_string(), "--max-examples", &each.to_string()]);
    command.args(["--report", "json", "--report-json-path"]).arg(&report);
    command
        .env("SCHEMATHESIS_HOOKS", "fuzzed")
        .env("PYTHONPATH", &support)
        .env("PYTHONDONTWRITEBYTECODE", "1");
    command.env("CHOCK_TOKENS", tokens.to_string());
    command.env("CHOCK_KNOWN", known(&world).await.to_string()).current_dir(folder.path());
    let ran = tokio::task::spawn_blocking(move || command.output()).await.unwrap();
    let ran = ran.expect("schemathesis: tests/run installs it");
    let said = String::from_utf8_lossy(&ran.stdout).into_owned();
    assert!(ran.status.success(), "seed {seed}: {said}\n{}", String::from_utf8_lossy(&ran.stderr));
    let report: Value = serde_json::from_slice(&std::fs::read(&report).unwrap()).unwrap();
    assert_eq!((&report["complete"], &report["errors"]), (&json!(true), &json!([])), "{said}");
    let cases = report["test_cases"]["generated"].as_u64().unwrap();
    println!("{cases} cases, seed {seed}, {} s", report["running_time"]);
    // Whatever was asked, the books are whole.
    world.close().await;
    cases
}

/// Real ids: of each address, and of the members that name something.
async fn known(world: &World) -> Value {
    let w = &world.bench.workshop;
    let other = SHIPPED.iter().map(|(_, text)| *text).find(|t| !t.contains(&world.bench.checklist.name));
    let spare =
        workflow::upload_checklist(w, &world.bench.supervisor, other.expect("another list")).await.unwrap().0;
    let mut paths = serde_json::Map::new();
    for (_, path) in source::operations() {
        // What everything else is asked about is not taken out of use.
        let filled = match path.as_str() {
            "/api/v1/machines/{id}/retire" => path.replace("{id}", &world.bench.second_machine.to_string()),
            "/api/v1/checklists/{id}/retire" => path.replace("{id}", &spare.to_string()),
            _ => world.path(&path),
        };
        let pieces = path.split('/').zip(filled.split('/'));
        let ids = pieces.filter_map(|(name, value)| {
            let name = name.strip_prefix('{')?.strip_suffix('}')?;
            Some((name.to_owned(), json!(value)))
        });
        paths.insert(path.clone(), Value::Object(ids.collect()));
    }
    let api::Names { yard, machine, check, order, defect, part, checklist, person, photo, .. } = &world.names;
    json!({"paths": paths, "members": {
        "yard": yard, "from": yard, "to": yard, "machine": machine, "check": check, "work_order": order, "order": order,
        "defect": defect, "defects": defect, "part": part, "checklist": checklist, "person": person, "mechanic": person,
        "photo": photo, "yards": yard, "into": order,
    }})
}
