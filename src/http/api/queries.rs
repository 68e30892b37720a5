//! A name after the ? that an operation does not know is refused, whatever else it takes: misspelt, a filter would be left
//! out without a word, and what comes would be taken for the answer.

use std::borrow::Cow;
use std::collections::HashMap;
use std::sync::OnceLock;

use actix_web::Error;
use actix_web::body::{EitherBody, MessageBody};
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::middleware::Next;
use actix_web::{ResponseError as _, http::Method};
use utoipa::openapi::path::ParameterIn;

use super::problem::ApiError;
use super::{openapi, operations};

pub async fn known<B: MessageBody>(
    req: ServiceRequest,
    next: Next<B>,
) -> Result<ServiceResponse<EitherBody<B>>, Error> {
    if let Some(name) = unknown(&req) {
        let refusal = ApiError::Unreadable(said!("problem-query-name", name = name)).error_response();
        return Ok(req.into_response(refusal).map_into_right_body());
    }
    Ok(next.call(req).await?.map_into_left_body())
}

/// The first name that the document does not have for it.
fn unknown(req: &ServiceRequest) -> Option<String> {
    if req.query_string().is_empty() {
        return None;
    }
    let pattern = req.match_pattern()?;
    let names = names().get(&(req.method().clone(), pattern))?;
    let asked: Vec<(Cow<'_, str>, Cow<'_, str>)> =
        serde_urlencoded::from_str(req.query_string()).unwrap_or_default();
    asked.into_iter().map(|(name, _)| name.into_owned()).find(|name| !names.contains(name))
}

/// What each operation takes there. Only these are kept of the document.
fn names() -> &'static HashMap<(Method, String), Vec<String>> {
    static NAMES: OnceLock<HashMap<(Method, String), Vec<String>>> = OnceLock::new();
    NAMES.get_or_init(|| {
        let mut known = HashMap::new();
        for (path, item) in &mut openapi().paths.paths {
            for (method, operation) in operations(item) {
                let Ok(method) = Method::from_bytes(method.as_bytes()) else { continue };
                let in_query = |p: &&utoipa::openapi::path::Parameter| p.parameter_in == ParameterIn::Query;
                let takes = operation.parameters.iter().flatten().filter_map(|p| match p {
                    utoipa::openapi::RefOr::T(p) => Some(p),
                    utoipa::openapi::RefOr::Ref(_) => None,
                });
                known
                    .insert((method, path.clone()), takes.filter(in_query).map(|p| p.name.clone()).collect());
            }
        }
        known
    })
}
