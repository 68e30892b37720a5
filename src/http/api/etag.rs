//! Strong entity tags (RFC 9110, 8.8.3) of two parts, `"<state>.<whole>"`. The whole changes with anything a client could see,
//! so it says whether there is something new to get (`If-None-Match`). The state changes with what a step is decided by
//! and nothing else: not with the reader's language, a clock that runs, or a forecast that was made anew. It says
//! whether somebody still means what they saw (`If-Match`).

use std::future::Future;

use actix_web::HttpRequest;
use actix_web::HttpResponse;
use actix_web::http::header::{ETAG, EntityTag, Header, IF_MATCH, IF_NONE_MATCH, IfMatch, IfNoneMatch};
use serde::Serialize;
use sha2::{Digest, Sha256};

use super::problem::{ApiError, ApiResult};

/// What somebody can see, and what of it a step is decided by.
pub trait Stated: Serialize {
    fn state(&self) -> impl Serialize;
}

/// An operation whose answer carries a tag; the steps that take it and answer the same, and those that take it only.
pub struct Tagged(pub &'static str, pub &'static [&'static str], pub &'static [&'static str]);

/// All of them, for the document.
pub const TAGGED: &[Tagged] = &[
    Tagged("see_machine", &["read_meter", "retire_machine"], &[]),
    Tagged("see_defect", &["raise_defect", "lower_defect"], &["raise_same"]),
    Tagged(
        "see_work_order",
        &[
            "claim_work_order",
            "hand_back_work_order",
            "start_labour",
            "stop_labour",
            "enter_labour",
            "reserve_part",
            "issue_part",
            "return_part",
            "wait_for",
            "finish_work",
            "cancel_work_order",
            "pin_work_order",
            "unpin_work_order",
            "leave_note",
            "split_work_order",
            "merge_work_orders",
            "send_outside",
            "ask_after_outside",
            "back_from_outside",
            "invoice_outside",
        ],
        &["retest_defect", "release_machine"],
    ),
    Tagged(
        "see_part",
        &[
            "receive_part",
            "adjust_stock",
            "transfer_stock",
            "order_part",
            "place_part",
            "set_supply",
            "expect_part",
            "drop_on_order",
        ],
        &[],
    ),
    Tagged("see_reorder_rules", &["set_reorder_rules"], &[]),
    Tagged(
        "see_working_time",
        &["set_week", "add_holiday", "remove_holiday", "add_absence", "remove_absence"],
        &[],
    ),
    Tagged("see_labour_settings", &["set_rate", "set_overtime", "set_skills_needed", "set_labour_of"], &[]),
    Tagged(
        "see_person",
        &["change_person", "disable_person", "remove_second_step_of_person"],
        &["invite_person"],
    ),
    Tagged("see_yard_alerts", &[], &["set_yard_alerts"]),
    Tagged("see_own_alerts", &[], &["choose_alerts"]),
    Tagged("see_me", &["choose_settings"], &[]),
    Tagged("see_second_step_rule", &["set_second_step_rule"], &[]),
    Tagged("see_retention", &["set_retention"], &[]),
    Tagged("see_heads", &["choose_head_readers"], &[]),
];

/// 200 with the representation and its tag; 304 to whoever looks and has it already.
pub fn tagged(req: &HttpRequest, shape: &impl Stated) -> HttpResponse {
    let tag = tag_of(shape);
    let known = req.method().is_safe() && has_it_already(req, &tag);
    let mut answer = if known { HttpResponse::NotModified() } else { HttpResponse::Ok() };
    answer.insert_header((ETAG, tag.to_string()));
    if known { answer.finish() } else { answer.json(shape) }
}

/// Refuses a step whose `If-Match` names another state than the present one; without the header nothing is looked up. Weak
/// tags never match (RFC 9110, 13.1.1).
pub async fn still<T: Stated>(req: &HttpRequest, look: impl Future<Output = ApiResult<T>>) -> ApiResult<()> {
    if !req.headers().contains_key(IF_MATCH) {
        return Ok(());
    }
    let wanted = IfMatch::parse(req).map_err(|_| ApiError::Unreadable(said!("problem-if-match")))?;
    let present = look.await?;
    let state = format!("{}.", state_of(&present));
    match wanted {
        IfMatch::Any => Ok(()),
        IfMatch::Items(tags) if tags.iter().any(|t| !t.weak && t.tag().starts_with(&state)) => Ok(()),
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

fn tag_of(shape: &impl Stated) -> EntityTag {
    EntityTag::new_strong(format!("{}.{}", state_of(shape), digest(&json(shape))))
}

fn state_of(shape: &impl Stated) -> String {
    digest(&json(&shape.state()))
}

/// Of a representation that is written already.
pub fn tag_of_bytes(body: &[u8]) -> EntityTag {
    EntityTag::new_strong(digest(body))
}

fn json(what: &impl Serialize) -> Vec<u8> {
    serde_json::to_vec(what).unwrap_or_default()
}

fn digest(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().take(12).map(|b| format!("{b:02x}")).collect()
}
