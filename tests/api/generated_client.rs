//! A client made from the document alone: openapi-python-client (MIT) generates it, mypy (MIT) holds what uses it to its types,
//! and it does the main job against a running server.

use std::path::Path;
use std::process::{Command, Output};

use serde_json::Value;

use crate::mail::python;
use crate::support::served::Served;
use crate::support::{Bench, Engine, PASSWORD};

/// What this generator makes no call of: it takes pictures, archives and files of text for something else than it knows.
/// Whoever uses it sends those by themselves.
const NOT_GENERATED: [&str; 4] = ["photo_of_check", "photo_of_defect", "photo_of_order", "upload_checklist"];

fn ran(command: &mut Command) -> Output {
    let done = command.output().expect("the Python that tests/run made");
    let said = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    assert!(done.status.success(), "{command:?}: {} {}", said(&done.stdout), said(&done.stderr));
    done
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_generated_client_does_the_main_job() {
    let folder = tempfile::tempdir().unwrap();
    let (document, settings) = (folder.path().join("openapi.json"), folder.path().join("settings.yaml"));
    let promised: Value = serde_json::to_value(chock::http::api::openapi()).unwrap();
    std::fs::write(&document, promised.to_string()).unwrap();
    // As it comes; the usual tidying up is for people who read it.
    std::fs::write(&settings, "package_name_override: chock_client\npost_hooks: []\n").unwrap();
    let generator = python().with_file_name("openapi-python-client");
    ran(Command::new(generator)
        .args(["generate", "--meta", "none", "--path"])
        .arg(&document)
        .arg("--config")
        .arg(&settings)
        .arg("--output-path")
        .arg(folder.path().join("chock_client"))
        .current_dir(folder.path()));
    for (path, item) in promised["paths"].as_object().unwrap() {
        for operation in item.as_object().unwrap().values() {
            let (tag, name) = (&operation["tags"][0], operation["operationId"].as_str().unwrap());
            let package = tag.as_str().unwrap().replace(' ', "_");
            let file = folder.path().join(format!("chock_client/api/{package}/{name}.py"));
            assert_eq!(file.exists(), !NOT_GENERATED.contains(&name), "{path}: {name}");
        }
    }

    let story = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/support/client_story.py");
    // The story's own types, strictly; the generator's inner ones are its own affair.
    ran(Command::new(python())
        .args(["-m", "mypy", "--strict", "--follow-imports=silent", "--cache-dir=/dev/null"])
        .arg(&story)
        .env("MYPYPATH", folder.path())
        .current_dir(folder.path()));
    let b = Bench::on_real_time(Engine::Sqlite).await;
    for person in [&b.operator, &b.mechanic, &b.supervisor] {
        crate::support::has_password(&b.workshop, person.id).await;
    }
    let served = Served::start(&b.workshop).await;
    let mut told = Command::new(python());
    told.arg(&story).args([&served.url, PASSWORD]);
    told.env("PYTHONPATH", folder.path()).env("PYTHONDONTWRITEBYTECODE", "1");
    let said = tokio::task::spawn_blocking(move || ran(&mut told)).await.unwrap();
    assert_eq!(String::from_utf8_lossy(&said.stdout).trim(), "released");
    b.assert_sound().await;
    served.stop().await;
}
