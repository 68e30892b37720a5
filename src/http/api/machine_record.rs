//! What is on record about a machine, and taking one out of use for good.

use actix_web::{HttpRequest, HttpResponse, get, post, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use super::bearer::Bearer;
use super::body::Sent;
use super::checks::Trend;
use super::defect_record::DefectOnRecord;
use super::etag::{still, tagged};
use super::machines::{MachineAtGate, at_gate};
use super::order_shapes::{Labour, PartLine, Release, RetestRecord};
use super::problem::ApiResult;
use super::trail::AuditEntry;
use super::words::{self, Money, Person, cut};
use crate::domain::checklist::{Load, Warmth};
use crate::domain::ids::MachineId;
use crate::domain::standing::Standing;
use crate::domain::unit::Hours;
use crate::domain::work_order::OrderWord;
use crate::http::Site;
use crate::workflow::{self, ArchivedOrder, CheckRow, HoldRow, MachineArchive, OrderRow};

#[derive(Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct RecordQuery {
    /// At most this many of each, up to 500.
    limit: Option<i64>,
}

/// The record of a machine, the newest of each first.
#[derive(Serialize, ToSchema)]
pub struct Record {
    machine: Uuid,
    unit_number: String,
    checks: Vec<CheckInShort>,
    defects: Vec<DefectOnRecord>,
    work_orders: Vec<OrderInShort>,
    releases: Vec<ReleaseOnRecord>,
    /// What the trends say as of the newest check.
    trends: Vec<Trend>,
    /// Whether there is more of something than `limit` asked for.
    more: bool,
}

#[derive(Serialize, ToSchema)]
pub struct CheckInShort {
    id: Uuid,
    checklist: Uuid,
    operator: Person,
    #[schema(value_type = words::Load)]
    load: Load,
    #[schema(value_type = Option<words::Warmth>)]
    warmth: Option<Warmth>,
    #[schema(value_type = Option<String>)]
    engine_hours: Option<Hours>,
    #[schema(value_type = words::Standing)]
    verdict: Standing,
    note: String,
    recorded_at: DateTime<Utc>,
    received_at: DateTime<Utc>,
}

#[derive(Serialize, ToSchema)]
pub struct OrderInShort {
    id: Uuid,
    number: i64,
    #[schema(value_type = words::OrderState)]
    state: OrderWord,
    mechanic: Option<Person>,
    /// Split off from another order of the machine.
    split_off: bool,
    /// For those who see work orders.
    cost: Option<Money>,
    opened_at: DateTime<Utc>,
    done_at: Option<DateTime<Utc>>,
    closed_at: Option<DateTime<Utc>>,
}

#[derive(Serialize, ToSchema)]
pub struct ReleaseOnRecord {
    work_order: Uuid,
    #[serde(flatten)]
    release: Release,
}

/// Everything on record about a machine, with the chain of its audit trail.
#[derive(Serialize, ToSchema)]
pub struct WholeRecord {
    machine: Uuid,
    unit_number: String,
    yard: Uuid,
    checks: Vec<CheckInShort>,
    defects: Vec<DefectOnRecord>,
    holds: Vec<HoldOnRecord>,
    work_orders: Vec<OrderOnRecord>,
    releases: Vec<ReleaseOnRecord>,
    /// Ids of all its pictures.
    photos: Vec<Uuid>,
    /// The machine's own chain, oldest first.
    chain: Vec<AuditEntry>,
    /// Number and hash of its last entry, kept beside it.
    head: Option<ChainHead>,
}

#[derive(Serialize, ToSchema)]
pub struct ChainHead {
    seq: i64,
    hash: String,
}

#[derive(Serialize, ToSchema)]
pub struct HoldOnRecord {
    id: Uuid,
    defect: Option<Uuid>,
    reason: String,
    placed_by: Person,
    since: DateTime<Utc>,
    placed_at: DateTime<Utc>,
    #[schema(value_type = Option<String>)]
    hours_at: Option<Hours>,
    lifted_at: Option<DateTime<Utc>>,
    lift_reason: Option<String>,
}

#[derive(Serialize, ToSchema)]
pub struct OrderOnRecord {
    #[serde(flatten)]
    order: OrderInShort,
    labour: Vec<Labour>,
    parts: Vec<PartLine>,
    retests: Vec<RetestRecord>,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RetireMachine {
    reason: String,
}

/// See the record of a machine: checks, defects, work orders and releases
#[utoipa::path(tag = "machines", params(RecordQuery, ("id" = Uuid, Path)), responses((status = 200, body = Record)))]
#[get("/machines/{id}/record")]
pub async fn see_record(
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    query: web::Query<RecordQuery>,
) -> ApiResult {
    let most = query.limit.unwrap_or(50).clamp(1, 500);
    let mut r = workflow::machine_record(&site.workshop, &asks.0, MachineId(*id), most + 1).await?;
    let more = [
        cut(&mut r.checks, most),
        cut(&mut r.defects, most),
        cut(&mut r.orders, most),
        cut(&mut r.releases, most),
    ];
    let currency = sees_cost(&site, &asks);
    Ok(HttpResponse::Ok().json(Record {
        machine: r.machine.id.0,
        unit_number: r.machine.unit_number,
        checks: r.checks.into_iter().map(Into::into).collect(),
        defects: r.defects.into_iter().map(Into::into).collect(),
        work_orders: r.orders.into_iter().map(|o| OrderInShort::of(o, currency)).collect(),
        releases: r.releases.into_iter().map(Into::into).collect(),
        trends: r.trends.into_iter().map(Into::into).collect(),
        more: more.contains(&true),
    }))
}

/// See everything on record about a machine, with its audit trail, for whoever inspects it
#[utoipa::path(tag = "machines", responses((status = 200, body = WholeRecord)))]
#[get("/machines/{id}/archive")]
pub async fn see_archive(site: web::Data<Site>, asks: Bearer, id: web::Path<Uuid>) -> ApiResult {
    let whole = workflow::machine_archive(&site.workshop, &asks.0, MachineId(*id)).await?;
    Ok(HttpResponse::Ok().json(WholeRecord::of(whole, &site.workshop.currency)))
}

/// Take a machine out of use for good. It keeps its record, and no new check is made with it
#[utoipa::path(tag = "machines", request_body = RetireMachine, responses(
    (status = 200, body = MachineAtGate), (status = 409, description = "Retired already")))]
#[post("/machines/{id}/retire")]
pub async fn retire_machine(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<RetireMachine>,
) -> ApiResult {
    still(&req, at_gate(&site, &asks, MachineId(*id))).await?;
    workflow::retire_machine(&site.workshop, &asks.0, MachineId(*id), &sent.0.reason).await?;
    Ok(tagged(&req, &at_gate(&site, &asks, MachineId(*id)).await?))
}

fn sees_cost<'a>(site: &'a Site, asks: &Bearer) -> Option<&'a str> {
    asks.0.may(crate::domain::person::Act::SeeQueue).then_some(&*site.workshop.currency)
}

impl WholeRecord {
    fn of(a: MachineArchive, currency: &str) -> Self {
        Self {
            machine: a.machine.id.0,
            unit_number: a.machine.unit_number,
            yard: a.yard.id.0,
            checks: a.checks.into_iter().map(Into::into).collect(),
            defects: a.defects.into_iter().map(Into::into).collect(),
            holds: a.holds.into_iter().map(Into::into).collect(),
            work_orders: a.orders.into_iter().map(|o| OrderOnRecord::of(o, currency)).collect(),
            releases: a.releases.into_iter().map(Into::into).collect(),
            photos: a.photos.iter().map(|p| p.id.0).collect(),
            chain: a.chain.into_iter().map(Into::into).collect(),
            head: a.head.map(|(seq, hash)| ChainHead { seq, hash }),
        }
    }
}

impl OrderInShort {
    fn of(o: OrderRow, currency: Option<&str>) -> Self {
        Self {
            id: o.id.0,
            number: o.number,
            state: o.word(),
            mechanic: o.mechanic_id.map(|id| Person::new(id, &o.mechanic_name)),
            split_off: o.side,
            cost: currency.map(|c| Money::new(o.cost_minor, c)),
            opened_at: o.opened_at,
            done_at: o.done_at,
            closed_at: o.closed_at,
        }
    }
}

impl OrderOnRecord {
    fn of(a: ArchivedOrder, currency: &str) -> Self {
        Self {
            order: OrderInShort::of(a.order, Some(currency)),
            labour: a.labour.into_iter().map(|l| Labour::of(l, currency)).collect(),
            parts: a.parts.into_iter().map(|p| PartLine::of(p, currency)).collect(),
            retests: a.retests.into_iter().map(Into::into).collect(),
        }
    }
}

impl From<CheckRow> for CheckInShort {
    fn from(c: CheckRow) -> Self {
        Self {
            id: c.id.0,
            checklist: c.checklist_id.0,
            operator: Person::new(c.operator_id, &c.operator_name),
            load: c.load,
            warmth: c.warmth,
            engine_hours: c.engine_hours,
            verdict: c.verdict,
            note: c.note,
            recorded_at: c.recorded_at,
            received_at: c.received_at,
        }
    }
}

impl From<HoldRow> for HoldOnRecord {
    fn from(h: HoldRow) -> Self {
        Self {
            id: h.id.0,
            defect: h.defect_id.map(|d| d.0),
            reason: h.reason.to_string(),
            placed_by: Person::new(h.placed_by, &h.placed_by_name),
            since: h.since,
            placed_at: h.placed_at,
            hours_at: h.hours_at,
            lifted_at: h.lifted_at,
            lift_reason: h.lift_reason,
        }
    }
}

impl From<workflow::ReleaseRow> for ReleaseOnRecord {
    fn from(r: workflow::ReleaseRow) -> Self {
        Self { work_order: r.work_order_id.0, release: r.into() }
    }
}
