//! Was everybody told, and what happened: the outbox and the audit trail.

use actix_web::http::header::LINK;
use actix_web::{HttpResponse, get, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use super::bearer::Bearer;
use super::problem::ApiResult;
use super::words::{self, Person, cut};
use crate::domain::hearing::AlertKind;
use crate::domain::ids::AlertId;
use crate::domain::person::Act;
use crate::http::Site;
use crate::words::Lang;
use crate::workflow::{self, AuditRow, OutboxAsked, OutboxRow, OutboxState};

#[derive(Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct OutboxQuery {
    /// At most this many, up to 500.
    limit: Option<i64>,
    /// Those older than this one.
    before: Option<Uuid>,
    /// Only what was given up on, or tried in vain so far.
    #[serde(default)]
    not_delivered: bool,
}

#[derive(Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct AuditQuery {
    /// One chain only, such as the one of a machine.
    #[serde(default)]
    stream: String,
    /// Looked for in who, what and why.
    #[serde(default)]
    query: String,
    /// Those after this one, by its `seq` and its `stream` with a colon between.
    before: Option<String>,
    /// At most this many, up to 500.
    limit: Option<i64>,
}

#[derive(Serialize, ToSchema)]
pub struct Outbox {
    /// Listed here or not.
    not_delivered: i64,
    /// Newest first.
    alerts: Vec<Alert>,
}

/// One alert to one person.
#[derive(Serialize, ToSchema)]
pub struct Alert {
    id: Uuid,
    #[schema(value_type = words::AlertKind)]
    kind: AlertKind,
    person: Person,
    email: String,
    /// None for what is about no machine.
    machine: Option<Uuid>,
    /// Asks this person to say that they have seen it.
    asks: bool,
    acknowledged_at: Option<DateTime<Utc>>,
    acknowledged_by: Option<String>,
    #[schema(value_type = words::DeliveryState)]
    state: OutboxState,
    attempts: i64,
    next_at: DateTime<Utc>,
    /// What the mail server said last.
    last_answer: String,
    created_at: DateTime<Utc>,
    delivered_at: Option<DateTime<Utc>>,
}

#[derive(Serialize, ToSchema)]
pub struct AuditTrail {
    /// Newest first.
    entries: Vec<AuditEntry>,
}

/// One entry: who, when, what, from, to, why; chained by its hash to the one before.
#[derive(Serialize, ToSchema)]
pub struct AuditEntry {
    stream: String,
    seq: i64,
    at: DateTime<Utc>,
    /// None for the clock.
    by: Option<Uuid>,
    by_name: String,
    act: String,
    subject: String,
    before: String,
    after: String,
    why: String,
    prev_hash: String,
    hash: String,
}

/// An alert, and how it reads as a mail, in the language of whoever it is for.
#[derive(Serialize, ToSchema)]
pub struct AlertMail {
    #[serde(flatten)]
    alert: Alert,
    /// None where it cannot be written any more.
    subject: Option<String>,
    text: Option<String>,
}

/// See one alert as it is written. Your own, or anybody's where you see the outbox
#[utoipa::path(tag = "outbox", responses((status = 200, body = AlertMail)))]
#[get("/outbox/{id}")]
pub async fn see_alert(site: web::Data<Site>, asks: Bearer, id: web::Path<Uuid>) -> ApiResult {
    let (row, alert) = workflow::alert_of(&site.workshop, &asks.0, AlertId(*id)).await?;
    let lang = row.language.as_deref().and_then(Lang::of_tag).unwrap_or_default();
    let mail = (site.compose)(row.id, &alert, &row.person_name, &row.email, lang);
    let (subject, text) = mail.unzip();
    Ok(HttpResponse::Ok().json(AlertMail { alert: row.into(), subject, text }))
}

/// See the outbox: was everybody told?
#[utoipa::path(tag = "outbox", params(OutboxQuery), responses((status = 200, body = Outbox,
    headers(("Link" = String, description = "rel=\"next\" while there are older ones (RFC 8288)")))))]
#[get("/outbox")]
pub async fn see_outbox(site: web::Data<Site>, asks: Bearer, query: web::Query<OutboxQuery>) -> ApiResult {
    let query = query.into_inner();
    let most = most(query.limit);
    let asked =
        OutboxAsked { before: query.before.map(AlertId), only_not_delivered: query.not_delivered, most };
    let found = workflow::outbox_page(&site.workshop, &asks.0, asked).await?;
    let mut answer = HttpResponse::Ok();
    if let Some(last) = found.alerts.last().filter(|_| found.more) {
        let only = query.not_delivered;
        let next = format!("before={}&not_delivered={only}&limit={most}", last.id);
        answer.insert_header((LINK, format!("</api/v1/outbox?{next}>; rel=\"next\"")));
    }
    let alerts = found.alerts.into_iter().map(Into::into).collect();
    Ok(answer.json(Outbox { alerts, not_delivered: found.not_delivered }))
}

/// Read the audit trail
#[utoipa::path(tag = "audit", params(AuditQuery), responses((status = 200, body = AuditTrail,
    headers(("Link" = String, description = "rel=\"next\" while there are older ones (RFC 8288)")))))]
#[get("/audit")]
pub async fn read_audit(site: web::Data<Site>, asks: Bearer, query: web::Query<AuditQuery>) -> ApiResult {
    let AuditQuery { stream, query, before, limit } = query.into_inner();
    asks.0.must(Act::SeeAudit)?;
    let before = match &before {
        Some(place) => Some(entry_of(place).ok_or_else(workflow::no_such_place)?),
        None => None,
    };
    let most = most(limit);
    let mut rows = workflow::audit_before(&site.workshop, &asks.0, &stream, &query, before, most + 1).await?;
    let more = cut(&mut rows, most);
    let mut answer = HttpResponse::Ok();
    if let Some(last) = rows.last().filter(|_| more) {
        let before = format!("{}:{}", last.seq, last.stream);
        let most = most.to_string();
        let next = [("stream", &stream), ("query", &query), ("before", &before), ("limit", &most)];
        let next = serde_urlencoded::to_string(next).unwrap_or_default();
        answer.insert_header((LINK, format!("</api/v1/audit?{next}>; rel=\"next\"")));
    }
    Ok(answer.json(AuditTrail { entries: rows.into_iter().map(Into::into).collect() }))
}

fn entry_of(place: &str) -> Option<(&str, i64)> {
    let (seq, stream) = place.split_once(':')?;
    Some((stream, seq.parse().ok()?))
}

fn most(limit: Option<i64>) -> i64 {
    limit.unwrap_or(100).clamp(1, 500)
}

impl From<OutboxRow> for Alert {
    fn from(row: OutboxRow) -> Self {
        Self {
            id: row.id.0,
            kind: row.kind,
            person: Person::new(row.person_id, &row.person_name),
            email: row.email,
            machine: row.machine_id.map(|id| id.0),
            asks: row.asks_for.is_some(),
            acknowledged_at: row.acknowledged_at,
            acknowledged_by: row.acknowledged_by,
            state: row.state,
            attempts: row.attempts,
            next_at: row.next_at,
            last_answer: row.last_answer,
            created_at: row.created_at,
            delivered_at: row.delivered_at,
        }
    }
}

impl From<AuditRow> for AuditEntry {
    fn from(row: AuditRow) -> Self {
        Self {
            by_name: row.said_by_name().to_string(),
            before: row.said_before().to_string(),
            after: row.said_after().to_string(),
            why: row.said_why().to_string(),
            stream: row.stream,
            seq: row.seq,
            at: row.at,
            by: row.by_id.map(|id| id.0),
            act: row.act,
            subject: row.subject,
            prev_hash: row.prev_hash,
            hash: row.hash,
        }
    }
}
