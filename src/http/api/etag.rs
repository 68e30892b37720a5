//! Strong entity tags. Each is made from the representation itself, so that it changes with anything a client could see
//! (RFC 9110, 8.8.1); a row's version alone would miss labour, parts and retests.

use actix_web::HttpRequest;
use actix_web::HttpResponse;
use actix_web::http::header::{ETAG, EntityTag, Header, IF_MATCH, IF_NONE_MATCH, IfMatch, IfNoneMatch};
use serde::Serialize;
use sha2::{Digest, Sha256};

use super::problem::{ApiError, ApiResult};

/// 200 with the representation and its tag.
pub fn tagged(shape: &impl Serialize) -> HttpResponse {
    HttpResponse::Ok().insert_header((ETAG, tag_of(shape).to_string())).json(shape)
}

/// Whether the client said what state it wants to change.
pub fn has_condition(req: &HttpRequest) -> bool {
    req.headers().contains_key(IF_MATCH)
}

/// Refuses when `If-Match` names other states than the present one. Weak tags never match (RFC 9110, 13.1.1).
pub fn must_match(req: &HttpRequest, present: &impl Serialize) -> ApiResult<()> {
    let wanted = IfMatch::parse(req).map_err(|_| ApiError::Unreadable(said!("problem-if-match")))?;
    let present = tag_of(present);
    match wanted {
        IfMatch::Any => Ok(()),
        IfMatch::Items(tags) if tags.iter().any(|t| t.strong_eq(&present)) => Ok(()),
        IfMatch::Items(_) => Err(ApiError::Stale),
    }
}

/// Whether `If-None-Match` names the tag (RFC 9110, 13.1.2).
pub fn has_it_already(req: &HttpRequest, tag: &EntityTag) -> bool {
    match IfNoneMatch::parse(req) {
        _ if !req.headers().contains_key(IF_NONE_MATCH) => false,
        Ok(IfNoneMatch::Any) => true,
        Ok(IfNoneMatch::Items(tags)) => tags.iter().any(|t| t.weak_eq(tag)),
        Err(_) => false,
    }
}

fn tag_of(shape: &impl Serialize) -> EntityTag {
    tag_of_bytes(&serde_json::to_vec(shape).unwrap_or_default())
}

/// Of a representation that is written already.
pub fn tag_of_bytes(body: &[u8]) -> EntityTag {
    let digest = Sha256::digest(body);
    EntityTag::new_strong(digest.iter().take(12).map(|b| format!("{b:02x}")).collect())
}
