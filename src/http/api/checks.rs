//! Pre-use checks: putting one, and seeing what it was answered with.

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, get, put, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::bearer::Bearer;
use super::body::{Figure, Sent};
use super::machines::hours;
use super::problem::{ApiError, ApiResult};
use super::words::{self, Person};
use crate::domain::checklist::{Load, Warmth};
use crate::domain::ids::CheckId;
use crate::domain::judge::Reason;
use crate::domain::late::arrived_late;
use crate::domain::reading::{self, Outcome, RawAnswer};
use crate::domain::standing::{Severity, Standing};
use crate::domain::unit::{self, Hours};
use crate::domain::watched::{Said, Watched};
use crate::http::Site;
use crate::workflow::{
    self, Answered, AnsweredFinding, AnsweredTrend, AnsweredWatch, OutboxRow, OutboxState, SubmitCheck,
    Verdict,
};

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Check {
    machine: Uuid,
    checklist: Uuid,
    #[schema(value_type = words::Load)]
    load: Load,
    /// Asked where the checklist says so (`asks_warmth`). Left out, the limits of cold and of warm both hold.
    #[schema(value_type = Option<words::Warmth>)]
    warmth: Option<Warmth>,
    /// The temperature of the air, where the checklist judges tyres by it (`asks_air`). A low tyre stays low: it tells
    /// air that is only cold from air that is gone.
    air_temperature: Option<Figure>,
    /// °C when left out.
    #[schema(value_type = Option<words::Unit>)]
    air_unit: Option<String>,
    /// One for every defect that the machine's checklist lists as `watched`. A monitored defect that was raised before
    /// the check was finished (`recorded_at`) and is not answered is asked for by name.
    #[serde(default)]
    watched: Vec<WatchedDefect>,
    engine_hours: Option<Figure>,
    /// The hours are right although they do not follow from the last ones.
    #[serde(default)]
    hours_confirmed: bool,
    /// One for every item at every position.
    answers: Vec<Answer>,
    #[serde(default)]
    note: String,
    /// When the operator began, for how long the check took. Left out, nothing is said of that.
    begun_at: Option<DateTime<Utc>>,
    /// When the operator finished it; now when left out. Never later than now.
    recorded_at: Option<DateTime<Utc>>,
}

/// The answer to one check item at one position.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Answer {
    item: String,
    position: Option<String>,
    #[schema(value_type = Option<words::Outcome>)]
    outcome: Option<String>,
    #[schema(value_type = Option<words::Level>)]
    level: Option<String>,
    value: Option<Figure>,
    #[schema(value_type = Option<words::Unit>)]
    unit: Option<String>,
    /// What was put right.
    correction: Option<String>,
    /// How much of it.
    amount: Option<Figure>,
    #[schema(value_type = Option<words::Unit>)]
    amount_unit: Option<String>,
    note: Option<String>,
}

/// How a monitored defect is today.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WatchedDefect {
    defect: Uuid,
    /// Worse is out of service at once. Gone stays open until a mechanic has looked.
    #[schema(value_type = words::Watched)]
    now: Watched,
    /// What is worse; else as you like.
    #[serde(default)]
    note: String,
}

/// What the operator is told, as it was first said.
#[derive(Serialize, ToSchema)]
pub struct CheckVerdict {
    check: Uuid,
    machine: Uuid,
    /// What the machine may be used for now, with whatever else is open.
    #[schema(value_type = words::Standing)]
    standing: Standing,
    /// The check itself passed, but the machine was held already.
    held_already: bool,
    findings: Vec<Finding>,
    work_order: Option<Uuid>,
    /// The checklist whose rules judged it, and its version.
    rules: Rules,
    watched: Vec<WatchedAnswer>,
    /// What the trends say of the hours to come, or why they say nothing.
    trends: Vec<Trend>,
}

#[derive(Serialize, ToSchema)]
pub struct Rules {
    checklist: String,
    version: i64,
}

/// What was said of a defect under watch, and what follows.
#[derive(Serialize, ToSchema)]
pub struct WatchedAnswer {
    defect: Uuid,
    what: String,
    #[schema(value_type = words::Watched)]
    now: Watched,
    note: String,
    outcome: String,
}

#[derive(Serialize, ToSchema)]
pub struct Trend {
    item: String,
    position: Option<String>,
    title: String,
    #[schema(example = "may be below 1.5 mm within 40 engine hours")]
    words: String,
    /// With the figures behind it.
    sentence: String,
    /// Engine hours on the meter at which the line reaches the limit, and where its 95 % prediction bounds do.
    expected_hours: Option<f64>,
    earliest_hours: Option<f64>,
    latest_hours: Option<f64>,
}

#[derive(Serialize, ToSchema)]
pub struct Finding {
    defect: Uuid,
    /// The defect was open before; this check saw it again.
    seen_before: bool,
    what: String,
    #[schema(value_type = words::Severity)]
    severity: Severity,
    rule: String,
    why: String,
    instruction: String,
    supporting: Vec<SupportingReason>,
    /// Back too soon after its release: the supervisors were told.
    came_back: bool,
}

/// Another rule that matched too.
#[derive(Serialize, ToSchema)]
pub struct SupportingReason {
    rule: String,
    sentence: String,
}

#[derive(Serialize, ToSchema)]
pub struct CheckRecord {
    id: Uuid,
    machine: Uuid,
    unit_number: String,
    yard_name: String,
    checklist: Uuid,
    operator: Person,
    #[schema(value_type = words::Load)]
    load: Load,
    #[schema(value_type = Option<words::Warmth>)]
    warmth: Option<Warmth>,
    air_temperature: Option<MeasuredValue>,
    /// Height of the yard then, in metres.
    altitude_m: Option<i64>,
    #[schema(value_type = Option<String>)]
    engine_hours: Option<Hours>,
    note: String,
    recorded_at: DateTime<Utc>,
    received_at: DateTime<Utc>,
    /// It was under way for so long that nobody else could see it meanwhile. Its hold counts from when it was recorded.
    arrived_late: bool,
    readings: Vec<Reading>,
    verdict: CheckVerdict,
    told: Vec<Told>,
    /// Ids of the pictures taken at this check.
    photos: Vec<Uuid>,
    /// Whether the machine is out of service at this moment, whatever was answered then.
    held_now: bool,
}

#[derive(Serialize, ToSchema)]
pub struct Reading {
    item: String,
    position: Option<String>,
    #[schema(value_type = words::Outcome)]
    outcome: Outcome,
    #[schema(value_type = Option<words::Level>)]
    level: Option<reading::Level>,
    value: Option<MeasuredValue>,
    correction: Option<Correction>,
    note: Option<String>,
}

/// A figure as it was read, and in the SI base of its quantity.
#[derive(Serialize, ToSchema)]
pub struct MeasuredValue {
    as_read: String,
    #[schema(value_type = words::Unit)]
    unit: unit::Unit,
    base: f64,
}

#[derive(Serialize, ToSchema)]
pub struct Correction {
    what: String,
    amount: Option<MeasuredValue>,
}

/// Who was told, and whether the mail has left.
#[derive(Serialize, ToSchema)]
pub struct Told {
    person: Person,
    #[schema(value_type = words::DeliveryState)]
    state: OutboxState,
    delivered_at: Option<DateTime<Utc>>,
}

/// Submit a check under an id of your own (UUIDv7). Sending the same one again changes nothing and answers the same
#[utoipa::path(tag = "checks", request_body = Check, responses(
    (status = 201, body = CheckVerdict),
    (status = 200, body = CheckVerdict, description = "The same check was recorded before"),
    (status = 409, description = "Another check is recorded under this id, or the machine is retired")))]
#[put("/checks/{id}")]
pub async fn submit_check(
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<Check>,
) -> ApiResult {
    let check = sent.0;
    let command = SubmitCheck {
        id: CheckId(client_made(*id)?),
        machine: check.machine.into(),
        checklist: check.checklist.into(),
        load: check.load,
        warmth: check.warmth,
        air_temperature: check.air_temperature.map(|f| f.0),
        air_unit: check.air_unit,
        watched: check.watched.into_iter().map(Into::into).collect(),
        engine_hours: hours(check.engine_hours)?,
        hours_confirmed: check.hours_confirmed,
        answers: check.answers.into_iter().map(Into::into).collect(),
        note: check.note,
        begun_at: check.begun_at,
        recorded_at: check.recorded_at,
    };
    let done = workflow::put_check(&site.workshop, &asks.0, command).await?;
    Ok(HttpResponse::build(created(done.first)).json(CheckVerdict::from(done.answer)))
}

/// See a check: its readings, its verdict, and who has been told
#[utoipa::path(tag = "checks", responses((status = 200, body = CheckRecord)))]
#[get("/checks/{id}")]
pub async fn see_check(site: web::Data<Site>, asks: Bearer, id: web::Path<Uuid>) -> ApiResult {
    let verdict = workflow::verdict(&site.workshop, &asks.0, CheckId(*id)).await?;
    Ok(HttpResponse::Ok().json(CheckRecord::from(verdict)))
}

/// 201 the first time, 200 when it was there already.
pub const fn created(first: bool) -> StatusCode {
    if first { StatusCode::CREATED } else { StatusCode::OK }
}

/// An id that a client made. Version 7 (RFC 9562, 5.7) sorts by time, which keeps the database's indexes compact.
pub fn client_made(id: Uuid) -> Result<Uuid, ApiError> {
    if id.get_version_num() == 7 { Ok(id) } else { Err(ApiError::Unreadable(said!("problem-uuid-7"))) }
}

impl From<Answer> for RawAnswer {
    fn from(a: Answer) -> Self {
        Self {
            item: Some(a.item),
            position: a.position,
            outcome: a.outcome,
            level: a.level,
            value: a.value.map(|f| f.0),
            unit: a.unit,
            correction: a.correction,
            amount: a.amount.map(|f| f.0),
            amount_unit: a.amount_unit,
            note: a.note,
        }
    }
}

impl From<Answered> for CheckVerdict {
    fn from(a: Answered) -> Self {
        Self {
            check: a.check.0,
            machine: a.machine.0,
            standing: a.standing,
            held_already: a.held_already,
            findings: a.findings.into_iter().map(Into::into).collect(),
            work_order: a.work_order.map(|o| o.0),
            rules: Rules { checklist: a.checklist, version: a.version },
            watched: a.watched.into_iter().map(Into::into).collect(),
            trends: a.trends.into_iter().map(Into::into).collect(),
        }
    }
}

impl From<WatchedDefect> for Said {
    fn from(w: WatchedDefect) -> Self {
        Self { defect: w.defect.into(), now: Some(w.now), note: w.note }
    }
}

impl From<AnsweredWatch> for WatchedAnswer {
    fn from(w: AnsweredWatch) -> Self {
        Self {
            defect: w.defect.0,
            what: w.what.to_string(),
            now: w.now,
            note: w.note,
            outcome: w.outcome.to_string(),
        }
    }
}

impl From<AnsweredTrend> for Trend {
    fn from(t: AnsweredTrend) -> Self {
        Self {
            item: t.item,
            position: t.position,
            title: t.title.to_string(),
            words: t.words.to_string(),
            sentence: t.sentence.to_string(),
            expected_hours: t.expected_hours,
            earliest_hours: t.earliest_hours,
            latest_hours: t.latest_hours,
        }
    }
}

impl From<AnsweredFinding> for Finding {
    fn from(f: AnsweredFinding) -> Self {
        Self {
            defect: f.defect.0,
            seen_before: f.seen_before,
            what: f.what.to_string(),
            severity: f.severity,
            rule: f.rule,
            why: f.why.to_string(),
            instruction: f.instruction.to_string(),
            supporting: f.supporting.into_iter().map(Into::into).collect(),
            came_back: f.came_back,
        }
    }
}

impl From<Reason> for SupportingReason {
    fn from(r: Reason) -> Self {
        Self { rule: r.rule, sentence: r.sentence.to_string() }
    }
}

impl From<Verdict> for CheckRecord {
    fn from(v: Verdict) -> Self {
        Self {
            id: v.check.id.0,
            machine: v.machine.id.0,
            unit_number: v.machine.unit_number,
            yard_name: v.yard.name,
            checklist: v.check.checklist_id.0,
            operator: Person::new(v.check.operator_id, &v.check.operator_name),
            load: v.check.load,
            warmth: v.check.warmth,
            air_temperature: v.check.air.map(Into::into),
            altitude_m: v.check.altitude_m,
            engine_hours: v.check.engine_hours,
            note: v.check.note,
            recorded_at: v.check.recorded_at,
            received_at: v.check.received_at,
            arrived_late: arrived_late(v.check.recorded_at, v.check.received_at),
            readings: v.readings.into_iter().map(Into::into).collect(),
            verdict: v.answered.into(),
            told: v.told.into_iter().map(Into::into).collect(),
            photos: v.photos.iter().map(|p| p.id.0).collect(),
            held_now: v.held_now,
        }
    }
}

impl From<reading::Reading> for Reading {
    fn from(r: reading::Reading) -> Self {
        Self {
            item: r.item,
            position: r.position,
            outcome: r.outcome,
            level: r.level,
            value: r.value.map(Into::into),
            correction: r.correction.map(|c| Correction { what: c.what, amount: c.amount.map(Into::into) }),
            note: r.note,
        }
    }
}

impl From<unit::Measured> for MeasuredValue {
    fn from(m: unit::Measured) -> Self {
        Self { as_read: m.as_read, unit: m.unit, base: m.base }
    }
}

impl From<OutboxRow> for Told {
    fn from(row: OutboxRow) -> Self {
        Self {
            person: Person::new(row.person_id, &row.person_name),
            state: row.state,
            delivered_at: row.delivered_at,
        }
    }
}
