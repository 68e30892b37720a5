//! The JSON that a phone takes along.

use std::sync::Arc;

use actix_web::http::header::{CACHE_CONTROL, ContentType, ETAG, VARY};
use actix_web::{HttpRequest, HttpResponse};
use chrono::{DateTime, Utc};
use serde::{Serialize, Serializer};
use utoipa::ToSchema;
use uuid::Uuid;

use super::api::etag::{has_it_already, tag_of_bytes};
use super::api::words;
use super::gzip::smallest;
use crate::domain::checklist::Checklist;
use crate::domain::history::History;
use crate::domain::standing::{Severity, Standing};
use crate::domain::unit::Hours;
use crate::words::here;
use crate::workflow::{self, DefectRow, HoldRow, MachineData};

/// Everything needed to check machines and judge the checks where there is no signal.
#[derive(Serialize, ToSchema)]
pub struct CheckData {
    /// By unit number, without the retired ones.
    machines: Vec<MachineToCheck>,
    /// Each once, whichever machines it is for.
    checklists: Vec<ChecklistToJudgeBy>,
}

#[derive(Serialize, ToSchema)]
pub struct MachineToCheck {
    id: Uuid,
    unit_number: String,
    class: String,
    description: String,
    yard_name: String,
    /// Height of the yard above sea level, in metres.
    altitude_m: Option<i64>,
    /// What the hour meter showed last.
    #[schema(value_type = Option<String>, example = "812.4")]
    engine_hours: Option<Hours>,
    #[schema(value_type = words::Standing)]
    standing: Standing,
    /// The version to check with now; none where the class has no checklist.
    checklist: Option<Uuid>,
    /// Open ones.
    holds: Vec<HoldInShort>,
    open_defects: Vec<DefectInShort>,
    /// Each four texts: item, position (empty for none), value and unit, as read at the last check.
    #[schema(value_type = Vec<Vec<String>>)]
    last_values: Vec<(String, String, String, String)>,
    /// What the checklist's rules look back on; `now` is left to whoever judges.
    #[schema(value_type = Object)]
    history: History,
}

#[derive(Serialize, ToSchema)]
pub struct HoldInShort {
    reason: String,
    placed_by: String,
    placed_at: DateTime<Utc>,
}

#[derive(Serialize, ToSchema)]
pub struct DefectInShort {
    id: Uuid,
    item: Option<String>,
    /// Empty for none.
    position: String,
    what: String,
    #[schema(value_type = words::Severity)]
    severity: Severity,
    instruction: String,
    raised_at: DateTime<Utc>,
    good_until_at: Option<DateTime<Utc>>,
    #[schema(value_type = Option<String>)]
    good_until_hours: Option<Hours>,
}

#[derive(Serialize, ToSchema)]
pub struct ChecklistToJudgeBy {
    id: Uuid,
    version: i64,
    /// Items, limits and rules as they are judged by.
    #[schema(value_type = Object)]
    #[serde(serialize_with = "whole")]
    body: Arc<Checklist>,
}

/// 200 with a strong tag, or 304 to whoever has it already.
pub fn answer(req: &HttpRequest, data: workflow::CheckData) -> HttpResponse {
    let body = serde_json::to_vec(&CheckData::from(data)).unwrap_or_default();
    let tag = tag_of_bytes(&body);
    let known = has_it_already(req, &tag);
    let mut answer = if known { HttpResponse::NotModified() } else { HttpResponse::Ok() };
    answer.insert_header((ETAG, tag.to_string())).insert_header((CACHE_CONTROL, "private, no-cache"));
    answer.insert_header((VARY, "accept-encoding"));
    if known {
        return answer.finish();
    }
    answer.insert_header(ContentType::json());
    let body = smallest(req, &mut answer, body);
    answer.body(body)
}

/// As whoever asks reads it, and no other language: it comes over a weak signal.
fn whole<S: Serializer>(checklist: &Arc<Checklist>, s: S) -> Result<S::Ok, S::Error> {
    checklist.in_lang(here()).serialize(s)
}

impl From<workflow::CheckData> for CheckData {
    fn from(data: workflow::CheckData) -> Self {
        let checklists = data.checklists.into_iter();
        Self {
            machines: data.machines.into_iter().map(Into::into).collect(),
            checklists: checklists
                .map(|(id, version, body)| ChecklistToJudgeBy { id: id.0, version, body })
                .collect(),
        }
    }
}

impl From<MachineData> for MachineToCheck {
    fn from(data: MachineData) -> Self {
        let m = data.machine;
        Self {
            id: m.id.0,
            standing: m.standing(),
            unit_number: m.unit_number,
            class: m.class,
            description: m.description,
            yard_name: m.yard_name,
            altitude_m: data.altitude_m,
            engine_hours: m.engine_hours,
            checklist: data.checklist.map(|c| c.0),
            holds: data.holds.into_iter().map(Into::into).collect(),
            open_defects: data.defects.into_iter().map(Into::into).collect(),
            last_values: data.last_values,
            history: data.history,
        }
    }
}

impl From<HoldRow> for HoldInShort {
    fn from(h: HoldRow) -> Self {
        Self { reason: h.reason.to_string(), placed_by: h.placed_by_name, placed_at: h.placed_at }
    }
}

impl From<DefectRow> for DefectInShort {
    fn from(d: DefectRow) -> Self {
        Self {
            id: d.id.0,
            item: d.item,
            position: d.position,
            what: d.what.to_string(),
            severity: d.severity,
            instruction: d.instruction.to_string(),
            raised_at: d.raised_at,
            good_until_at: d.good_until_at,
            good_until_hours: d.good_until_hours,
        }
    }
}
