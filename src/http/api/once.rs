//! `Idempotency-Key`, after draft-ietf-httpapi-idempotency-key-header: what is sent again under the same key is not done
//! again but answered as it was. What was refused is not remembered, for nothing was done: the key may be used again.

use actix_web::Error;
use actix_web::ResponseError as _;
use actix_web::body::{EitherBody, MessageBody, to_bytes};
use actix_web::dev::{Payload, ServiceRequest, ServiceResponse};
use actix_web::http::header::{CONTENT_TYPE, HeaderName, HeaderValue, LOCATION};
use actix_web::http::{Method, StatusCode};
use actix_web::middleware::Next;
use actix_web::web::Bytes;
use actix_web::{FromRequest as _, HttpMessage as _, HttpRequest, HttpResponse, web};
use sha2::{Digest, Sha256};
use utoipa::openapi::path::{Operation, Parameter, ParameterBuilder, ParameterIn};
use utoipa::openapi::schema::{ObjectBuilder, Type};
use utoipa::openapi::{RefOr, Required, Schema};

use super::bearer::Bearer;
use super::problem::{ApiError, ApiResult};
use crate::domain::import;
use crate::domain::person::Actor;
use crate::domain::refusal::Refusal;
use crate::http::session::site_of;
use crate::workflow::{self, SentBefore};

const KEY: HeaderName = HeaderName::from_static("idempotency-key");
const MOST_CHARACTERS: usize = 255;

/// Signing in and setting up what it takes are asked by whoever is nobody yet; taking everything out changes nothing.
const WITHOUT: [&str; 3] = ["/api/v1/sessions", "/api/v1/me/second-step", "/api/v1/export"];
/// Their answers have a secret in them, which is shown once and kept nowhere.
const SHOWN_ONCE: [&str; 5] = [
    "/api/v1/me/calendar",
    "/api/v1/people",
    "/api/v1/people/{id}/invite",
    "/api/v1/webhooks",
    "/api/v1/webhooks/{id}/secret",
];

pub async fn once<B: MessageBody + 'static>(
    mut req: ServiceRequest,
    next: Next<B>,
) -> Result<ServiceResponse<EitherBody<B>>, Error> {
    let pattern = req.match_pattern().unwrap_or_default();
    let takes = takes_key(req.method().as_str(), &pattern);
    let Some(key) = req.headers().get(KEY).cloned().filter(|_| takes) else {
        return Ok(next.call(req).await?.map_into_left_body());
    };
    let payload = req.take_payload();
    // Looked up now: nobody may hold on to the request while it is passed on.
    let site = site_of(req.request());
    let begun = begin(req.request(), payload, &key).await;
    let (actor, key, body) = match begun {
        Ok(Begun::First(actor, key, body)) => (actor, key, body),
        Ok(Begun::Before(answer)) => return Ok(req.into_response(answer).map_into_right_body()),
        Err(refusal) => return Ok(req.into_response(refusal.error_response()).map_into_right_body()),
    };
    req.set_payload(Payload::from(body));
    let workshop = &site.workshop;
    let answer = match next.call(req).await {
        Ok(answer) if answer.status().is_success() => answer,
        // It may be done, and doing it again may be twice: the key stays under way.
        Ok(answer) if is_unsure(&answer) => return Ok(answer.map_into_left_body()),
        refused => {
            // Should this fail, the key stays under way, and nothing is done under it.
            let _ = workflow::give_key_back(workshop, &actor, &key).await;
            return refused.map(ServiceResponse::map_into_left_body);
        }
    };
    let (request, answer) = answer.into_parts();
    let (head, body) = answer.into_parts();
    let body = to_bytes(body).await.unwrap_or_default();
    let kept = SentBefore {
        fingerprint: String::new(),
        status: Some(head.status().as_u16().into()),
        location: head.headers().get(LOCATION).and_then(|l| l.to_str().ok()).map(str::to_owned),
        body: (!SHOWN_ONCE.contains(&pattern.as_str())).then(|| String::from_utf8_lossy(&body).into_owned()),
    };
    if let Err(e) = workflow::keep_answer(workshop, &actor, &key, &kept).await {
        // It is done, and whoever sends it again is told that it is under way.
        tracing::error!(error = ?e, "an answer could not be kept");
    }
    Ok(ServiceResponse::new(request, head.set_body(body)).map_into_boxed_body().map_into_right_body())
}

fn is_unsure<B>(answer: &ServiceResponse<B>) -> bool {
    let error = answer.response().error().and_then(|e| e.as_error::<ApiError>());
    error.is_some_and(ApiError::is_unsure)
}

/// Says in the document that it takes a key.
pub fn say(method: &str, path: &str, operation: &mut Operation) {
    if takes_key(method, path) {
        operation.parameters.get_or_insert_default().push(RefOr::T(parameter()));
    }
}

enum Begun {
    First(Actor, String, Bytes),
    Before(HttpResponse),
}

async fn begin(req: &HttpRequest, payload: Payload, key: &HeaderValue) -> ApiResult<Begun> {
    let key = key.to_str().ok().map(str::trim).filter(|k| !k.is_empty() && k.len() <= MOST_CHARACTERS);
    let key = key.ok_or_else(|| ApiError::Unreadable(said!("problem-key", most = MOST_CHARACTERS)))?;
    let Bearer(actor, _) = Bearer::from_request(req, &mut Payload::None).await?;
    let mut payload = payload;
    let payload = web::Payload::from_request(req, &mut payload).await;
    let payload = payload.map_err(|_| ApiError::Unreadable(said!("problem-body-cut-short")))?;
    let body = payload.to_bytes_limited(import::MOST_BYTES).await.map_err(|_| ApiError::TooLarge)?;
    let body = body.map_err(|_| ApiError::Unreadable(said!("problem-body-cut-short")))?;
    let fingerprint = fingerprint(req, &body);
    match workflow::begin_once(&site_of(req).workshop, &actor, key, &fingerprint).await? {
        None => Ok(Begun::First(actor, key.to_owned(), body)),
        Some(before) => Ok(Begun::Before(as_it_was(before)?)),
    }
}

fn as_it_was(before: SentBefore) -> ApiResult<HttpResponse> {
    let body = before.body.ok_or_else(|| Refusal::conflict(said!("refusal-key-shown-once")))?;
    let status = before.status.and_then(|s| u16::try_from(s).ok()).and_then(|s| StatusCode::from_u16(s).ok());
    let mut answer = HttpResponse::build(status.unwrap_or(StatusCode::OK));
    if let Some(location) = before.location {
        answer.insert_header((LOCATION, location));
    }
    if body.is_empty() {
        return Ok(answer.finish());
    }
    Ok(answer.insert_header((CONTENT_TYPE, "application/json")).body(body))
}

/// What was asked and what was sent.
fn fingerprint(req: &HttpRequest, body: &Bytes) -> String {
    let mut digest = Sha256::new();
    for part in [req.path().as_bytes(), req.query_string().as_bytes(), body] {
        digest.update((part.len() as u64).to_be_bytes());
        digest.update(part);
    }
    digest.finalize().iter().map(|b| format!("{b:02x}")).collect()
}

fn takes_key(method: &str, pattern: &str) -> bool {
    method == Method::POST.as_str() && !WITHOUT.iter().any(|w| pattern.starts_with(w))
}

fn parameter() -> Parameter {
    let key: RefOr<Schema> = ObjectBuilder::new()
        .schema_type(Type::String)
        .min_length(Some(1))
        .max_length(Some(MOST_CHARACTERS))
        // As far as a header's value can be told apart: what stands at its ends is taken off on the way.
        .pattern(Some(r"^[!-~][\t -~]*$"))
        .into();
    ParameterBuilder::new()
        .name("Idempotency-Key")
        .parameter_in(ParameterIn::Header)
        .required(Required::False)
        .description(Some(
            "Of your own: sent twice under it within 24 hours, it is done once and answered the same",
        ))
        .schema(Some(key))
        .build()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::http::api::{openapi, operations};

    /// Whatever answers with a secret is known to do so.
    #[test]
    fn no_secret_is_kept() {
        let mut api = openapi();
        let document = serde_json::to_value(&api).unwrap();
        let mut secret = Vec::new();
        for (path, item) in &mut api.paths.paths {
            for (method, _) in operations(item) {
                let answers = &document["paths"][path][method.to_lowercase()]["responses"];
                let shapes =
                    ["200", "201"].map(|s| &answers[s]["content"]["application/json"]["schema"]["$ref"]);
                for shape in shapes.iter().filter_map(|s| s.as_str()) {
                    let members = document.pointer(&format!("{}/properties", &shape[1..]));
                    let has = |name: &str| members.is_some_and(|m| m[name].is_object());
                    let names = ["secret", "link", "recovery_codes", "refresh_token"];
                    if takes_key(method, path) && names.iter().any(|n| has(n)) {
                        secret.push(path.clone());
                    }
                }
            }
        }
        secret.sort();
        assert_eq!(secret, SHOWN_ONCE);
    }
}
