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
        check(&json!({ "document": document(), "exchanges": exchanges }))
            .unwrap_or_else(|said| panic!("{said}"));
    }
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
