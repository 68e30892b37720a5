//! The store of parts.

use actix_web::{HttpRequest, HttpResponse, get, post, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::bearer::Bearer;
use super::body::{Figure, Sent};
use super::etag::{Stated, still, tagged};
use super::every_answer::made;
use super::problem::ApiResult;
use super::supply::{OnItsWay, PartSupply};
use super::words::{self, Made, Money};
use crate::domain::ids::{MovementId, PartId, YardId};
use crate::domain::refusal::{Refusal, Thing};
use crate::domain::store::{MovementKind, Quantity};
use crate::http::Site;
use crate::workflow::{self, MovementRow, NewPart, PartRow, WorkflowError};

#[derive(Serialize, ToSchema)]
pub struct Parts {
    parts: Vec<Part>,
}

/// Quantities are decimal figures in the part's unit.
#[derive(Serialize, ToSchema)]
pub struct Part {
    id: Uuid,
    number: String,
    name: String,
    unit: String,
    /// The yard whose stock this is.
    yard: Uuid,
    yard_name: String,
    bin: String,
    on_hand: String,
    reserved: String,
    /// On its way to this yard.
    on_order: String,
    /// What work orders of this yard lack.
    lacking: String,
    /// At which more is ordered, where somebody set it.
    level: Option<String>,
    /// Of all that is on hand, at what it cost.
    worth: Money,
    /// When the next of it is expected.
    expected_at: Option<DateTime<Utc>>,
}

#[derive(Serialize, ToSchema)]
pub struct PartLedger {
    #[serde(flatten)]
    part: Part,
    /// The same part in the other yards of whoever asks.
    elsewhere: Vec<Part>,
    /// How it is bought, where somebody said so.
    supply: Option<PartSupply>,
    /// What of it is on its way.
    on_its_way: Vec<OnItsWay>,
    /// The newest lines of its ledger, newest first.
    movements: Vec<Movement>,
}

#[derive(Serialize, ToSchema)]
pub struct Movement {
    #[schema(value_type = words::MovementKind)]
    kind: MovementKind,
    yard_name: String,
    /// What it added to the bin; below nothing for what it took.
    quantity: String,
    value: Money,
    work_order: Option<Uuid>,
    by_name: String,
    at: DateTime<Utc>,
    note: String,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddPart {
    number: String,
    name: String,
    #[schema(example = "each")]
    unit: String,
    #[serde(default)]
    bin: String,
    /// Where it lies first; the caller's first yard when left out.
    yard: Option<Uuid>,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Receipt {
    /// Made by the caller: sent twice, it is received once.
    id: Uuid,
    /// The caller's first yard when left out.
    yard: Option<Uuid>,
    quantity: Figure,
    /// What all of it cost together.
    value: Figure,
    #[serde(default)]
    note: String,
}

/// List the parts of the store
#[utoipa::path(tag = "parts", responses((status = 200, body = Parts)))]
#[get("/parts")]
pub async fn list_parts(site: web::Data<Site>, asks: Bearer) -> ApiResult {
    let rows = workflow::store_parts(&site.workshop, &asks.0).await?;
    let currency = &site.workshop.currency;
    Ok(HttpResponse::Ok().json(Parts { parts: rows.into_iter().map(|p| Part::of(p, currency)).collect() }))
}

/// See a part with the newest lines of its ledger
#[utoipa::path(tag = "parts", responses((status = 200, body = PartLedger)))]
#[get("/parts/{id}")]
pub async fn see_part(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
) -> ApiResult {
    ledger(&req, &site, &asks, PartId(*id)).await
}

/// Add a part
#[utoipa::path(tag = "parts", request_body = AddPart, responses(
    (status = 201, body = Made), (status = 409, description = "There is a part of this number")))]
#[post("/parts")]
pub async fn add_part(site: web::Data<Site>, asks: Bearer, sent: Sent<AddPart>) -> ApiResult {
    let yard = yard_for(&site, &asks, sent.0.yard).await?;
    let new = NewPart { number: sent.0.number, name: sent.0.name, unit: sent.0.unit, bin: sent.0.bin, yard };
    let id = workflow::add_part(&site.workshop, &asks.0, new).await?.0;
    Ok(made(&format!("/parts/{id}"), &Made { id }))
}

/// Receive goods into a bin
#[utoipa::path(tag = "parts", request_body = Receipt, responses((status = 200, body = PartLedger)))]
#[post("/parts/{id}/receive")]
pub async fn receive_part(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<Receipt>,
) -> ApiResult {
    let (id, receipt) = (PartId(*id), sent.0);
    let (quantity, value) = (&receipt.quantity.0, &receipt.value.0);
    still(&req, one_part(&site, &asks, id)).await?;
    let yard = yard_for(&site, &asks, receipt.yard).await?;
    let once = MovementId(receipt.id);
    let (workshop, note) = (&site.workshop, &receipt.note);
    workflow::receive_part_once(workshop, &asks.0, once, id, yard, quantity, value, note).await?;
    ledger(&req, &site, &asks, id).await
}

/// The yard that was named, or the first of whoever asks.
pub async fn yard_for(site: &Site, asks: &Bearer, named: Option<Uuid>) -> Result<YardId, WorkflowError> {
    if let Some(id) = named {
        return Ok(YardId(id));
    }
    let yards = workflow::store_yards(&site.workshop, &asks.0).await?;
    Ok(yards.first().ok_or(Refusal::NotFound(Thing::Yard))?.id)
}

pub async fn ledger(req: &HttpRequest, site: &Site, asks: &Bearer, id: PartId) -> ApiResult {
    Ok(tagged(req, &one_part(site, asks, id).await?))
}

/// Where it lies, how much of it, and how it is bought.
impl Stated for PartLedger {
    fn state(&self) -> impl Serialize {
        let stock = |p: &Part| {
            let had = (p.on_hand.clone(), p.reserved.clone(), p.on_order.clone(), p.lacking.clone());
            (p.id, p.yard, p.bin.clone(), p.level.clone(), had)
        };
        let yards = std::iter::once(&self.part).chain(&self.elsewhere).map(stock);
        (yards.collect::<Vec<_>>(), &self.supply, &self.on_its_way)
    }
}

pub async fn one_part(site: &Site, asks: &Bearer, id: PartId) -> ApiResult<PartLedger> {
    const MOST: i64 = 100;
    let found = workflow::store_part(&site.workshop, &asks.0, id, MOST).await?;
    let currency = &site.workshop.currency;
    let mut yards = found.yards.into_iter().map(|p| Part::of(p, currency));
    Ok(PartLedger {
        part: yards.next().ok_or(WorkflowError::from(Refusal::NotFound(Thing::Part)))?,
        elsewhere: yards.collect(),
        supply: found.supply.map(|s| PartSupply::of(s, currency)),
        on_its_way: found.on_order.into_iter().map(Into::into).collect(),
        movements: found.movements.into_iter().map(|m| Movement::of(m, currency)).collect(),
    })
}

impl Part {
    fn of(p: PartRow, currency: &str) -> Self {
        Self {
            id: p.id.0,
            number: p.number,
            name: p.name,
            unit: p.unit,
            yard: p.yard_id.0,
            yard_name: p.yard_name,
            bin: p.bin,
            on_hand: Quantity(p.on_hand).to_string(),
            reserved: Quantity(p.reserved).to_string(),
            on_order: Quantity(p.on_order).to_string(),
            lacking: Quantity(p.lacking).to_string(),
            level: p.level.map(|l| Quantity(l).to_string()),
            worth: Money::new(p.worth_minor, currency),
            expected_at: p.expected_at,
        }
    }
}

impl Movement {
    pub fn of(m: MovementRow, currency: &str) -> Self {
        Self {
            kind: m.kind,
            yard_name: m.yard_name,
            quantity: Quantity::signed(m.quantity),
            value: Money::new(m.value_minor, currency),
            work_order: m.work_order_id.map(|o| o.0),
            by_name: m.by_name,
            at: m.at,
            note: m.note.to_string(),
        }
    }
}
