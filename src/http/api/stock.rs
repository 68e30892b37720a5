//! The store beyond goods in and out: putting right, yard to yard, counts, what to order, and where a part is fitted.

use actix_web::{HttpRequest, HttpResponse, get, post, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::bearer::Bearer;
use super::body::{Figure, Sent};
use super::defect_record::whole;
use super::etag::still;
use super::problem::ApiResult;
use super::store::{PartLedger, ledger, one_part, yard_for};
use super::words::{self, Money};
use crate::domain::ids::{CountId, DefectId, MovementId, OnOrderId, PartId, RoundId, YardId};
use crate::domain::store::Quantity;
use crate::domain::store::put_right::AdjustmentReason;
use crate::http::Site;
use crate::http::pages::store::why_order;
use crate::words::here;
use crate::workflow::{self, Counted, FittedRow, OnWhich, WorkflowError};

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StockAdjustment {
    /// Made by the caller: sent twice, it is done once.
    id: Uuid,
    yard: Option<Uuid>,
    /// Below nothing for what is taken away.
    change: Figure,
    #[schema(value_type = words::AdjustmentReason)]
    reason: AdjustmentReason,
    #[serde(default)]
    note: String,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StockTransfer {
    /// Made by the caller: sent twice, it is done once.
    id: Uuid,
    from: Uuid,
    to: Uuid,
    quantity: Figure,
    #[serde(default)]
    note: String,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PartOrdered {
    /// Made by the caller: sent twice, it is noted once.
    id: Uuid,
    yard: Option<Uuid>,
    quantity: Figure,
    expected_at: Option<DateTime<Utc>>,
}

/// What lay in the bins of a yard.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StockTake {
    /// Made by the caller: sent twice, it is taken once.
    id: Uuid,
    yard: Uuid,
    counts: Vec<PartCount>,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PartCount {
    part: Uuid,
    /// What the books said when it was counted.
    booked: Figure,
    counted: Figure,
}

#[derive(Serialize, ToSchema)]
pub struct StockTaken {
    /// How many parts were counted just now.
    parts: usize,
}

#[derive(Serialize, ToSchema)]
pub struct Proposals {
    proposals: Vec<Proposal>,
}

/// What should be ordered, and why.
#[derive(Serialize, ToSchema)]
pub struct Proposal {
    part: Uuid,
    number: String,
    name: String,
    unit: String,
    yard: Uuid,
    yard_name: String,
    quantity: String,
    /// Empty where nobody entered it.
    supplier: String,
    cost: Option<Money>,
    why: String,
}

#[derive(Serialize, ToSchema)]
pub struct FittedParts {
    on_now: Vec<FittedPart>,
    was_on: Vec<FittedPart>,
    /// Fitted without a number: they may be of the batch.
    unmarked: Vec<FittedPart>,
}

#[derive(Serialize, ToSchema)]
pub struct FittedPart {
    machine: Uuid,
    unit_number: String,
    work_order: Uuid,
    defect: Option<Uuid>,
    item: String,
    position: String,
    quantity: String,
    serial: String,
    batch: String,
    fitted_at: DateTime<Utc>,
    by_name: String,
    removed_at: Option<DateTime<Utc>>,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct OfBatch {
    #[serde(default)]
    batch: String,
}

/// On which other machines the same defect is raised: of the same class, or with a batch of a part.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SameDefect {
    /// Made by the caller: sent twice, it is done once.
    id: Uuid,
    /// With a batch; all of the class when left out.
    part: Option<Uuid>,
    #[serde(default)]
    batch: String,
}

#[derive(Serialize, ToSchema)]
pub struct SameRaised {
    raised: Vec<RaisedOn>,
}

#[derive(Serialize, ToSchema)]
pub struct RaisedOn {
    machine: Uuid,
    unit_number: String,
    defect: Uuid,
}

/// Put the stock of a part right, for a reason
#[utoipa::path(tag = "parts", request_body = StockAdjustment, responses((status = 200, body = PartLedger)))]
#[post("/parts/{id}/adjust")]
pub async fn adjust_stock(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<StockAdjustment>,
) -> ApiResult {
    still(&req, one_part(&site, &asks, PartId(*id))).await?;
    let asked = workflow::Adjustment {
        id: MovementId(sent.0.id),
        part: PartId(*id),
        yard: yard_for(&site, &asks, sent.0.yard).await?,
        change: &sent.0.change.0,
        reason: Some(sent.0.reason),
        note: &sent.0.note,
    };
    workflow::adjust_stock(&site.workshop, &asks.0, asked).await?;
    ledger(&req, &site, &asks, PartId(*id)).await
}

/// Send some of a part from one yard to another
#[utoipa::path(tag = "parts", request_body = StockTransfer, responses((status = 200, body = PartLedger)))]
#[post("/parts/{id}/transfer")]
pub async fn transfer_stock(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<StockTransfer>,
) -> ApiResult {
    known(&site, &asks, PartId(*id)).await?;
    still(&req, one_part(&site, &asks, PartId(*id))).await?;
    let (once, part, way) = (MovementId(sent.0.id), PartId(*id), (YardId(sent.0.from), YardId(sent.0.to)));
    let (quantity, note) = (&sent.0.quantity.0, &sent.0.note);
    workflow::transfer_stock(&site.workshop, &asks.0, once, part, way, quantity, note).await?;
    ledger(&req, &site, &asks, part).await
}

/// Note that some of a part is on order
#[utoipa::path(tag = "parts", request_body = PartOrdered, responses((status = 200, body = PartLedger)))]
#[post("/parts/{id}/order")]
pub async fn order_part(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<PartOrdered>,
) -> ApiResult {
    known(&site, &asks, PartId(*id)).await?;
    still(&req, one_part(&site, &asks, PartId(*id))).await?;
    let yard = yard_for(&site, &asks, sent.0.yard).await?;
    let (once, part) = (OnOrderId(sent.0.id), PartId(*id));
    let (quantity, expected) = (&sent.0.quantity.0, sent.0.expected_at);
    workflow::order_part(&site.workshop, &asks.0, once, part, yard, quantity, expected).await?;
    ledger(&req, &site, &asks, part).await
}

/// Take the counts of a stock-take. All of them are taken, or none
#[utoipa::path(tag = "parts", request_body = StockTake, responses((status = 200, body = StockTaken)))]
#[post("/stock-takes")]
pub async fn take_stock(site: web::Data<Site>, asks: Bearer, sent: Sent<StockTake>) -> ApiResult {
    let lines: Vec<Counted> = sent
        .0
        .counts
        .into_iter()
        .map(|c| Counted { part: PartId(c.part), booked: c.booked.0, counted: c.counted.0 })
        .collect();
    let (sheet, yard) = (CountId(sent.0.id), YardId(sent.0.yard));
    let parts = workflow::count_stock(&site.workshop, &asks.0, sheet, yard, &lines).await?;
    Ok(HttpResponse::Ok().json(StockTaken { parts }))
}

/// See what should be ordered, and why
#[utoipa::path(tag = "parts", responses((status = 200, body = Proposals)))]
#[get("/reorder")]
pub async fn see_reorder(site: web::Data<Site>, asks: Bearer) -> ApiResult {
    let found = workflow::reorder(&site.workshop, &asks.0).await?;
    let currency = &site.workshop.currency;
    let proposals = found
        .proposed
        .iter()
        .map(|p| Proposal {
            part: p.part.id.0,
            number: p.part.number.clone(),
            name: p.part.name.clone(),
            unit: p.part.unit.clone(),
            yard: p.part.yard_id.0,
            yard_name: p.part.yard_name.clone(),
            quantity: Quantity(p.proposal.quantity).to_string(),
            supplier: p.supply.as_ref().map(|s| s.supplier.clone()).unwrap_or_default(),
            cost: p.cost_minor.map(|c| Money::new(c, currency)),
            why: why_order(p, here()),
        })
        .collect();
    Ok(HttpResponse::Ok().json(Proposals { proposals }))
}

/// See where a part is fitted, or one batch of it
#[utoipa::path(tag = "parts", params(("batch" = Option<String>, Query, description = "A batch or serial number")),
    responses((status = 200, body = FittedParts)))]
#[get("/parts/{id}/fitted")]
pub async fn see_fitted(
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    asked: web::Query<OfBatch>,
) -> ApiResult {
    let found = workflow::part_fitted(&site.workshop, &asks.0, PartId(*id), &asked.batch).await?;
    let shown = |rows: Vec<FittedRow>| rows.into_iter().map(FittedPart::from).collect();
    Ok(HttpResponse::Ok().json(FittedParts {
        on_now: shown(found.on_now),
        was_on: shown(found.was_on),
        unmarked: shown(found.unmarked),
    }))
}

/// Raise the same defect, to be inspected, on other machines
#[utoipa::path(tag = "defects", request_body = SameDefect, responses((status = 200, body = SameRaised)))]
#[post("/defects/{id}/same")]
pub async fn raise_same(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<SameDefect>,
) -> ApiResult {
    still(&req, whole(&site, &asks, DefectId(*id))).await?;
    let on = match sent.0.part {
        Some(part) => OnWhich::Batch { part: PartId(part), batch: sent.0.batch },
        None => OnWhich::Class,
    };
    let round = RoundId(sent.0.id);
    let done = workflow::raise_same(&site.workshop, &asks.0, round, DefectId(*id), &on).await?;
    let raised = done.raised.into_iter().map(|(machine, unit_number, defect)| RaisedOn {
        machine: machine.0,
        unit_number,
        defect: defect.0,
    });
    Ok(HttpResponse::Ok().json(SameRaised { raised: raised.collect() }))
}

/// What is not there is not found, whatever else is wrong with what was sent.
async fn known(site: &Site, asks: &Bearer, part: PartId) -> Result<(), WorkflowError> {
    workflow::store_part(&site.workshop, &asks.0, part, 0).await.map(|_| ())
}

impl From<FittedRow> for FittedPart {
    fn from(f: FittedRow) -> Self {
        Self {
            machine: f.machine_id.0,
            unit_number: f.unit_number,
            work_order: f.work_order_id.0,
            defect: f.defect_id.map(|d| d.0),
            item: f.item,
            position: f.position,
            quantity: Quantity(f.quantity).to_string(),
            serial: f.serial,
            batch: f.batch,
            fitted_at: f.fitted_at,
            by_name: f.by_name,
            removed_at: f.removed_at,
        }
    }
}
