use std::collections::BTreeSet;

use actix_web::http::StatusCode;
use actix_web::test::{TestRequest, call_service, init_service, read_body_json};
use serde_json::Value;

use super::problem::PROBLEM_JSON;
use super::*;

const SNAPSHOT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/snapshots/openapi.json");

fn document() -> Value {
    serde_json::to_value(openapi()).unwrap()
}

/// The committed document is what clients were promised. A change on purpose is written down with
/// `CHOCK_WRITE_SNAPSHOTS=1 cargo test openapi`, and shows in the change that makes it.
#[test]
fn the_openapi_document_is_as_it_was_promised() {
    let now = serde_json::to_string_pretty(&document()).unwrap() + "\n";
    if std::env::var_os("CHOCK_WRITE_SNAPSHOTS").is_some() {
        std::fs::write(SNAPSHOT, &now).unwrap();
    }
    let promised = std::fs::read_to_string(SNAPSHOT).expect("tests/snapshots/openapi.json is there");
    let (now, promised) = (now.lines().collect::<Vec<_>>(), promised.lines().collect::<Vec<_>>());
    let differs = now.iter().zip(&promised).position(|(a, b)| a != b);
    let line = differs.unwrap_or(now.len().min(promised.len()));
    assert!(
        now == promised,
        "differs from line {}: {:?} was {:?}",
        line + 1,
        now.get(line),
        promised.get(line)
    );
}

/// OpenAPI 3.1.0, 4.8.23: a `$ref` names something that is there.
#[test]
fn every_reference_leads_somewhere() {
    let document = document();
    let mut references = BTreeSet::new();
    collect(&document, &mut references);
    assert!(references.len() > 30, "{references:?}");
    for reference in references {
        let pointer = reference.strip_prefix('#').unwrap_or_else(|| panic!("{reference} is outside"));
        assert!(document.pointer(pointer).is_some(), "{reference}");
    }
}

fn collect(value: &Value, references: &mut BTreeSet<String>) {
    match value {
        Value::Object(members) => {
            if let Some(Value::String(reference)) = members.get("$ref") {
                references.insert(reference.clone());
            }
            members.values().for_each(|v| collect(v, references));
        }
        Value::Array(items) => items.iter().for_each(|v| collect(v, references)),
        _ => {}
    }
}

#[test]
fn what_the_document_says_of_itself() {
    let document = document();
    assert!(document["openapi"].as_str().unwrap().starts_with("3.1"));
    let paths = document["paths"].as_object().unwrap();
    assert!(paths.keys().all(|p| p.starts_with("/api/v1/")), "{:?}", paths.keys());
    let mut names = BTreeSet::new();
    for (path, item) in paths {
        for (method, operation) in item.as_object().unwrap() {
            let name = operation["operationId"].as_str().unwrap();
            assert!(!operation["summary"].as_str().unwrap().contains('\n'), "{name}");
            let of = |status: &str, header: &str| {
                let answer = &operation["responses"][status];
                let answer = match answer["$ref"].as_str() {
                    Some(there) => document.pointer(&there[1..]).unwrap(),
                    None => answer,
                };
                answer.is_null() || answer["headers"][header]["schema"].is_object()
            };
            assert!(of("401", "WWW-Authenticate"), "{name}");
            assert!(["429", "503", "507"].iter().all(|s| of(s, "Retry-After")), "{name}");
            assert!(method != "post" || of("201", "Location"), "{name}");
            assert!(
                operation["responses"]["304"].is_null() || of("200", "ETag") && of("304", "ETag"),
                "{name}"
            );
            assert!(names.insert(name.to_owned()), "operation {name} is there twice");
            // Everybody may meet these; what else there is, stands with the operation.
            for status in ["400", "401", "403", "404", "422", "429", "503"] {
                assert!(operation["responses"][status].is_object(), "{method} {path} {status}");
            }
            assert!(operation["responses"].get("default").is_none(), "everything else is no answer of ours");
            // Only signing in and out asks for no access token.
            let open = operation["security"] == serde_json::json!([]);
            assert_eq!(open, path.starts_with("/api/v1/sessions"), "{method} {path}");
        }
    }
    assert_eq!(document["security"], serde_json::json!([{ "access-token": [] }]));
}

/// Shapes are known by their Rust names, so two of the same name would silently become one.
#[test]
fn every_shape_has_a_name_of_its_own() {
    let mut names = BTreeSet::new();
    for file in std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/src/http/api")).unwrap() {
        let source = std::fs::read_to_string(file.unwrap().path()).unwrap();
        let mut lines = source.lines();
        while let Some(line) = lines.next() {
            if !(line.starts_with("#[derive(") && line.contains("ToSchema")) {
                continue;
            }
            let shape = lines.find_map(|l| l.strip_prefix("pub struct ")).unwrap();
            let name = shape.split([' ', '(', ';', '<']).next().unwrap().to_owned();
            assert!(names.insert(name.clone()), "{name} is there twice");
        }
    }
    assert!(names.len() > 40, "{names:?}");
}

async fn problem(request: TestRequest) -> (StatusCode, actix_web::http::header::HeaderMap, Value) {
    let app = init_service(App::new().configure(configure)).await;
    let answer = call_service(&app, request.to_request()).await;
    let (status, headers) = (answer.status(), answer.headers().clone());
    assert_eq!(headers.get("content-type").unwrap(), PROBLEM_JSON);
    let body: Value = read_body_json(answer).await;
    // RFC 9457, 3.1.2: the member equals the real status.
    assert_eq!(body["status"], status.as_u16());
    assert_eq!(body["type"], "about:blank");
    (status, headers, body)
}

#[actix_web::test]
async fn what_leads_nowhere_is_a_problem() {
    for path in ["/api/nothing", "/api/v1", "/api/v1/", "/api/v1/nothing", "/api/v1/machines/7/nothing"] {
        let (status, _, _) = problem(TestRequest::get().uri(path)).await;
        assert_eq!(status, StatusCode::NOT_FOUND, "{path}");
    }
}

/// RFC 9110, 15.5.6: 405 carries what the address does take.
#[actix_web::test]
async fn a_wrong_method_is_told_the_right_ones() {
    for (request, path, allowed) in [
        (TestRequest::delete(), "/api/v1/machines", "GET, HEAD, POST"),
        (TestRequest::post(), "/api/v1/checks/0190a5c0-0000-7000-8000-000000000001", "GET, HEAD, PUT"),
        (TestRequest::get(), "/api/v1/work-orders/0190a5c0-0000-7000-8000-000000000001/claim", "POST"),
        (TestRequest::post(), "/api/openapi.json", "GET, HEAD"),
        // Not also an address of any check.
        (TestRequest::patch(), "/api/v1/checks/careless", "GET, HEAD"),
        (TestRequest::patch(), "/api/v1/labour/rates", "POST"),
    ] {
        let (status, headers, _) = problem(request.uri(path)).await;
        assert_eq!(status, StatusCode::METHOD_NOT_ALLOWED, "{path}");
        assert_eq!(headers.get("allow").unwrap(), allowed, "{path}");
    }
}

#[actix_web::test]
async fn the_document_is_served() {
    let app = init_service(App::new().configure(configure)).await;
    let answer = call_service(&app, TestRequest::get().uri("/api/openapi.json").to_request()).await;
    assert_eq!(answer.status(), StatusCode::OK);
    assert_eq!(answer.headers().get("content-type").unwrap(), "application/json");
    let served: Value = read_body_json(answer).await;
    assert_eq!(served, document());
    let tag = call_service(&app, TestRequest::get().uri("/api/openapi.json").to_request()).await;
    let tag = tag.headers().get("etag").unwrap().clone();
    let again = TestRequest::get().uri("/api/openapi.json").insert_header(("If-None-Match", tag));
    assert_eq!(call_service(&app, again.to_request()).await.status(), StatusCode::NOT_MODIFIED);
}
