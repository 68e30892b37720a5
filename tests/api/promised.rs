//! The OpenAPI document and the answers held against the standards by somebody else's programs: `openapi-spec-validator` and
//! `jsonschema`, in the Python that `tests/run` made.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use serde_json::{Value, json};

use super::Api;

#[test]
fn the_document_is_openapi_3_1() {
    check(&json!({ "document": document(), "exchanges": [] })).expect("the document is well formed");
}

/// The checker itself notices an answer that was not promised, so that its silence means something.
#[test]
fn the_checker_can_fail() {
    let exchange = |got: Value| {
        json!([{ "method": "GET", "path": "/api/v1/yards", "sent": null, "status": 200,
                 "content_type": "application/json", "got": got }])
    };
    let said = |exchanges: Value| check(&json!({ "document": document(), "exchanges": exchanges }));
    assert!(said(exchange(json!({ "yards": [] }))).is_ok());
    assert!(said(exchange(json!({ "yards": [{ "id": "7" }] }))).is_err());
    assert!(said(exchange(json!({}))).is_err());
    let mut document = document();
    document["paths"]["/api/v1/yards"]["get"]["responses"]["200"]
        .as_object_mut()
        .unwrap()
        .remove("description");
    assert!(check(&json!({ "document": document, "exchanges": [] })).is_err());
}

impl Api {
    /// Everything that was sent and taken, and everything that was answered, is as the document says.
    pub fn was_as_promised(&self) {
        let exchanges = serde_json::to_value(self.exchanges.take()).unwrap();
        assert!(exchanges.as_array().is_some_and(|e| e.len() > 3));
        if std::env::var_os("CHOCK_WRITE_SNAPSHOTS").is_some() {
            keep_for_examples(&exchanges);
        }
        check(&json!({ "document": document(), "exchanges": exchanges }))
            .unwrap_or_else(|said| panic!("{said}"));
    }
}

/// `tests/support/examples.py` makes the examples of the document out of these.
fn keep_for_examples(exchanges: &Value) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/tmp/exchanges");
    std::fs::create_dir_all(&folder).unwrap();
    let name = std::thread::current().name().unwrap_or("test").replace("::", "-");
    std::fs::write(folder.join(format!("{name}.json")), exchanges.to_string()).unwrap();
}

/// Whatever takes or answers JSON shows one of each, and it is what its shape says.
#[test]
fn every_example_is_as_the_document_says() {
    const JSON: &str = "application/json";
    let document = document();
    let (mut exchanges, mut without) = (Vec::new(), Vec::new());
    for (path, item) in document["paths"].as_object().unwrap() {
        for (method, o) in item.as_object().unwrap() {
            let body = &o["requestBody"]["content"][JSON];
            let takes_json = body.is_object() && o["requestBody"]["content"].as_object().unwrap().len() == 1;
            let answers = o["responses"].as_object().unwrap().iter();
            let answers: Vec<_> = answers
                .filter(|(status, a)| status.starts_with('2') && a["content"][JSON].is_object())
                .collect();
            let shown = answers.iter().find(|(_, a)| !a["content"][JSON]["example"].is_null());
            if takes_json && body["example"].is_null() || !answers.is_empty() && shown.is_none() {
                without.push(format!("{method} {path}"));
            }
            let fine = o["responses"].as_object().unwrap().keys().find(|s| s.starts_with('2')).unwrap();
            let (status, got) = match shown {
                Some((status, a)) => (*status, &a["content"][JSON]["example"]),
                None => (fine, &Value::Null),
            };
            // Where nothing is answered, what is sent is looked at.
            if o["responses"][fine.as_str()]["content"].is_null() || shown.is_some() {
                exchanges.push(json!({
                    "method": method.to_uppercase(), "path": path, "sent": body["example"],
                    "status": status.parse::<u16>().unwrap(), "content_type": JSON, "got": got,
                }));
            }
        }
    }
    exchanges.retain(|e| !e["got"].is_null() || !e["sent"].is_null());
    check(&json!({ "document": document, "exchanges": exchanges })).unwrap_or_else(|said| panic!("{said}"));
    assert!(without.is_empty(), "{} without an example: {without:#?}", without.len());
}

fn document() -> Value {
    serde_json::to_value(chock::http::api::openapi()).unwrap()
}

fn check(what: &Value) -> Result<(), String> {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/support/openapi_check.py");
    let mut child = Command::new(python())
        .arg(script)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the Python that tests/run made");
    child.stdin.take().unwrap().write_all(what.to_string().as_bytes()).unwrap();
    let done = child.wait_with_output().unwrap();
    let said = String::from_utf8_lossy(&done.stdout).into_owned();
    match done.status.code() {
        Some(0) => Ok(()),
        Some(1) => Err(said),
        _ => panic!("the checker itself failed: {}", String::from_utf8_lossy(&done.stderr)),
    }
}

fn python() -> PathBuf {
    std::env::var_os("CHOCK_TEST_PYTHON").map_or_else(
        || Path::new(env!("CARGO_MANIFEST_DIR")).join("target/test-python/bin/python"),
        PathBuf::from,
    )
}
