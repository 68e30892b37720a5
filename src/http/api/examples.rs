//! An example for what an operation takes and for what it answers, from `web/api/examples.json`: real ones, of the invented
//! site of the tests. `tests/api/promised.rs` holds each against its shape, and says how they are made anew.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use serde::Deserialize;
use serde_json::Value;
use utoipa::openapi::path::Operation;
use utoipa::openapi::{Content, RefOr};

#[derive(Debug, Default, Deserialize)]
struct Example {
    sent: Option<Value>,
    status: String,
    answered: Option<Value>,
}

static EXAMPLES: LazyLock<BTreeMap<String, Example>> = LazyLock::new(|| {
    serde_json::from_str(include_str!("../../../web/api/examples.json")).unwrap_or_default()
});

/// Puts them into the operation. Files that are no JSON have none.
pub fn add(operation: &mut Operation) {
    let Some(example) = operation.operation_id.as_ref().and_then(|name| EXAMPLES.get(name)) else { return };
    let json = |content: Option<&mut Content>, example: &Option<Value>| {
        if let (Some(content), Some(example)) = (content, example) {
            content.example = Some(example.clone());
        }
    };
    if let Some(RefOr::T(body)) = &mut operation.request_body {
        json(body.content.get_mut(JSON).and_then(only), &example.sent);
    }
    if let Some(RefOr::T(answer)) = operation.responses.responses.get_mut(&example.status) {
        json(answer.content.get_mut(JSON).and_then(only), &example.answered);
    }
}

const JSON: &str = "application/json";

fn only(content: &mut RefOr<Content>) -> Option<&mut Content> {
    match content {
        RefOr::T(content) => Some(content),
        RefOr::Ref(_) => None,
    }
}
