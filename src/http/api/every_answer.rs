//! What the document says of every operation beside what stands with it: the answers that everybody may meet, the headers
//! that come with them, and the condition that a step may name.

use actix_web::HttpResponse;
use actix_web::http::header::LOCATION;
use serde::Serialize;
use utoipa::openapi::content::ContentBuilder;
use utoipa::openapi::header::{Header, HeaderBuilder};
use utoipa::openapi::path::{Operation, Parameter, ParameterBuilder, ParameterIn};
use utoipa::openapi::response::{Response, ResponseBuilder};
use utoipa::openapi::schema::{Components, ObjectBuilder, Type};
use utoipa::openapi::{Ref, RefOr, Required};

use super::etag::{TAGGED, Tagged};
use super::problem::PROBLEM_JSON;

/// 201, with where what was made is found (RFC 9110, 15.3.2); below `/api/v1`.
pub fn made(place: &str, shape: &impl Serialize) -> HttpResponse {
    HttpResponse::Created().insert_header((LOCATION, format!("/api/v1{place}"))).json(shape)
}

/// Every answer is described, and every problem has one shape.
pub fn say(method: &str, operation: &mut Operation) {
    if let Some(summary) = &mut operation.summary {
        *summary = summary.replace('\n', " ");
    }
    answers(method, operation);
    tags(operation);
    headers(method, operation);
}

/// The problems that operations refer to, with an example.
pub fn components(components: &mut Components) {
    let problem = |headers: &[(&str, Header)]| {
        let example = serde_json::json!({
            "type": "about:blank",
            "title": "Unprocessable Content",
            "status": 422,
            "detail": "Say why.",
            "errors": [{ "pointer": "/reason", "detail": "Say why." }],
        });
        let content =
            ContentBuilder::new().schema(Some(Ref::from_schema_name("Problem"))).example(Some(example));
        let answer = ResponseBuilder::new()
            .description("What was not done, and why (RFC 9457)")
            .content(PROBLEM_JSON, content.build());
        headers.iter().fold(answer, |a, (name, header)| a.header(*name, header.clone())).build()
    };
    let answers = [
        ("Problem", problem(&[])),
        ("NotSignedIn", problem(&[("WWW-Authenticate", way_in())])),
        ("Later", problem(&[("Retry-After", later())])),
    ];
    for (name, answer) in answers {
        components.responses.insert(name.to_owned(), answer.into());
    }
}

fn answers(method: &str, operation: &mut Operation) {
    let mut may = vec!["400", "401", "403", "404", "422", "429", "503"];
    if method != "GET" {
        // Also where there is no room left on the server's disk.
        may.extend(["409", "507"]);
    }
    if operation.request_body.is_some() {
        may.extend(["413", "415"]);
    }
    for status in may {
        operation.responses.responses.entry(status.to_owned()).or_insert_with(|| problem(status));
    }
    for (status, response) in &mut operation.responses.responses {
        let RefOr::T(response) = response else { continue };
        if response.description.is_empty() {
            response.description = if status == "201" { "Made" } else { "Done" }.to_owned();
        }
        if status.starts_with('4') && response.content.is_empty() {
            let content = ContentBuilder::new().schema(Some(Ref::from_schema_name("Problem"))).build();
            response.content.insert(PROBLEM_JSON.to_owned(), content.into());
        }
    }
}

fn problem(status: &str) -> RefOr<Response> {
    let name = match status {
        "401" => "NotSignedIn",
        "429" | "503" | "507" => "Later",
        _ => "Problem",
    };
    RefOr::Ref(Ref::new(format!("#/components/responses/{name}")))
}

/// Whoever gets a tag may ask for what is new only; whoever takes a step may name the state that it is meant for.
fn tags(operation: &mut Operation) {
    let name = operation.operation_id.clone().unwrap_or_default();
    let has = |names: &[&str]| names.contains(&name.as_str());
    let gives = TAGGED.iter().any(|Tagged(look, same, _)| *look == name || has(same));
    if let Some(RefOr::T(answer)) = operation.responses.responses.get_mut("200").filter(|_| gives) {
        answer.headers.insert("ETag".to_owned(), header("Strong: its state and the whole of it").into());
    }
    if TAGGED.iter().any(|t| t.0 == name) {
        let known = ResponseBuilder::new()
            .description("`If-None-Match` names what you have")
            .header("ETag", header("Strong: its state and the whole of it"));
        operation.responses.responses.insert("304".to_owned(), known.build().into());
    }
    if TAGGED.iter().any(|Tagged(_, same, others)| has(same) || has(others)) {
        operation.parameters.get_or_insert_default().push(condition().into());
        operation.responses.responses.insert("412".to_owned(), problem("412"));
    }
}

/// Those that come with an answer of their own description.
fn headers(method: &str, operation: &mut Operation) {
    for (status, response) in &mut operation.responses.responses {
        let RefOr::T(response) = response else { continue };
        let (name, header) = match status.as_str() {
            "201" if method == "POST" => ("Location", header("Where it is")),
            "401" => ("WWW-Authenticate", way_in()),
            "429" | "503" | "507" => ("Retry-After", later()),
            _ => continue,
        };
        response.headers.insert(name.to_owned(), header.into());
    }
}

fn condition() -> Parameter {
    ParameterBuilder::new()
        .name("If-Match")
        .parameter_in(ParameterIn::Header)
        .required(Required::False)
        .description(Some("The ETag of what you saw; 412 when its state is another since"))
        .schema(Some(ObjectBuilder::new().schema_type(Type::String)))
        .build()
}

fn way_in() -> Header {
    header("How to say who you are (RFC 6750)")
}

fn later() -> Header {
    let mut seconds = header("After how many seconds to try again");
    seconds.schema = Some(ObjectBuilder::new().schema_type(Type::Integer).into());
    seconds
}

fn header(about: &str) -> Header {
    let text = ObjectBuilder::new().schema_type(Type::String);
    HeaderBuilder::new().schema(Some(text)).description(Some(about)).build()
}
