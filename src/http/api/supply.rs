//! The rest of the store: where a part lies, how it is bought, what is on its way, by which rules more is ordered, and the
//! ledger.

use actix_web::http::header::LINK;
use actix_web::{HttpRequest, HttpResponse, delete, get, put, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use super::bearer::Bearer;
use super::body::{Figure, Sent};
use super::etag::{Stated, still, tagged};
use super::problem::ApiResult;
use super::store::{Movement, PartLedger, ledger, one_part, yard_for};
use super::words::{Money, cut};
use crate::domain::ids::{MovementId, OnOrderId, PartId};
use crate::domain::store::Quantity;
use crate::domain::store::reorder::Policy;
use crate::http::Site;
use crate::workflow::{self, NewSupply, OnOrderRow, StorePolicy, SupplyRow, WorkflowError};

/// How a part is bought. Quantities are decimal figures in the part's unit.
#[derive(Serialize, ToSchema)]
pub struct PartSupply {
    supplier: String,
    /// Of one whole unit.
    price: Money,
    minimum_order: String,
    pack: String,
    lead_days: i64,
}

/// Some of a part that is on its way.
#[derive(Serialize, ToSchema)]
pub struct OnItsWay {
    id: Uuid,
    yard: Uuid,
    yard_name: String,
    quantity: String,
    /// Of it, so far.
    came: String,
    ordered_at: DateTime<Utc>,
    expected_at: Option<DateTime<Utc>>,
    by_name: String,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlacePart {
    /// The caller's first yard when left out.
    yard: Option<Uuid>,
    #[serde(default)]
    #[schema(example = "A1")]
    bin: String,
    /// At which more is ordered; reckoned from use when left out.
    level: Option<Figure>,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SetSupply {
    #[serde(default)]
    supplier: String,
    /// Of one whole unit, such as 12.50.
    price: Figure,
    minimum_order: Option<Figure>,
    pack: Option<Figure>,
    lead_days: Option<Figure>,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ExpectPart {
    /// Not known when null.
    expected_at: Option<DateTime<Utc>>,
}

/// By which rules more is ordered. Shares are percentages.
#[derive(Serialize, ToSchema)]
pub struct ReorderRules {
    /// How often a delivery should come before the part has run out.
    service_level: f64,
    /// What placing one order costs.
    order_cost: Option<Money>,
    /// What holding a part for a year costs, of its price.
    holding: Option<f64>,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SetReorderRules {
    /// 50 to 99.99.
    service_level: Figure,
    order_cost: Option<Figure>,
    /// Above 0, at most 100.
    holding: Option<Figure>,
}

#[derive(Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct LedgerQuery {
    /// Those after this line.
    before: Option<Uuid>,
    /// At most this many lines, up to 10,000.
    limit: Option<i64>,
}

#[derive(Serialize, ToSchema)]
pub struct StockLedger {
    /// Of the yards of whoever asks, newest first.
    movements: Vec<LedgerLine>,
}

#[derive(Serialize, ToSchema)]
pub struct LedgerLine {
    id: Uuid,
    part: Uuid,
    number: String,
    name: String,
    unit: String,
    #[serde(flatten)]
    movement: Movement,
}

/// Say in which bin a part lies, and at which level more is ordered
#[utoipa::path(tag = "parts", request_body = PlacePart, responses((status = 200, body = PartLedger)))]
#[put("/parts/{id}/place")]
pub async fn place_part(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<PlacePart>,
) -> ApiResult {
    let PlacePart { yard, bin, level } = sent.0;
    still(&req, one_part(&site, &asks, PartId(*id))).await?;
    let yard = yard_for(&site, &asks, yard).await?;
    let level = typed(level);
    workflow::place_part(&site.workshop, &asks.0, PartId(*id), yard, &bin, &level).await?;
    ledger(&req, &site, &asks, PartId(*id)).await
}

/// Say how a part is bought
#[utoipa::path(tag = "parts", request_body = SetSupply, responses((status = 200, body = PartLedger)))]
#[put("/parts/{id}/supply")]
pub async fn set_supply(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<SetSupply>,
) -> ApiResult {
    known(&site, &asks, PartId(*id)).await?;
    still(&req, one_part(&site, &asks, PartId(*id))).await?;
    let SetSupply { supplier, price, minimum_order, pack, lead_days } = sent.0;
    let new = NewSupply {
        supplier,
        price: price.0,
        minimum_order: typed(minimum_order),
        pack: typed(pack),
        lead_days: typed(lead_days),
    };
    workflow::set_supply(&site.workshop, &asks.0, PartId(*id), new).await?;
    ledger(&req, &site, &asks, PartId(*id)).await
}

/// Say when something on order is expected
#[utoipa::path(tag = "parts", request_body = ExpectPart, responses((status = 200, body = PartLedger)))]
#[put("/parts/{id}/on-order/{on_order}")]
pub async fn expect_part(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    path: web::Path<(Uuid, Uuid)>,
    sent: Sent<ExpectPart>,
) -> ApiResult {
    let (part, on_order) = (PartId(path.0), OnOrderId(path.1));
    known(&site, &asks, part).await?;
    still(&req, one_part(&site, &asks, part)).await?;
    workflow::expect_part(&site.workshop, &asks.0, part, on_order, sent.0.expected_at).await?;
    ledger(&req, &site, &asks, part).await
}

/// Say that something on order will not come
#[utoipa::path(tag = "parts", responses((status = 200, body = PartLedger)))]
#[delete("/parts/{id}/on-order/{on_order}")]
pub async fn drop_on_order(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    path: web::Path<(Uuid, Uuid)>,
) -> ApiResult {
    let (part, on_order) = (PartId(path.0), OnOrderId(path.1));
    known(&site, &asks, part).await?;
    still(&req, one_part(&site, &asks, part)).await?;
    workflow::drop_on_order(&site.workshop, &asks.0, part, on_order).await?;
    ledger(&req, &site, &asks, part).await
}

/// See by which rules more is ordered
#[utoipa::path(tag = "parts", responses((status = 200, body = ReorderRules)))]
#[get("/reorder/rules")]
pub async fn see_reorder_rules(req: HttpRequest, site: web::Data<Site>, asks: Bearer) -> ApiResult {
    Ok(tagged(&req, &rules(&site, &asks).await?))
}

/// Set by which rules more is ordered
#[utoipa::path(tag = "parts", request_body = SetReorderRules, responses((status = 200, body = ReorderRules)))]
#[put("/reorder/rules")]
pub async fn set_reorder_rules(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    sent: Sent<SetReorderRules>,
) -> ApiResult {
    still(&req, rules(&site, &asks)).await?;
    let SetReorderRules { service_level, order_cost, holding } = sent.0;
    let new = StorePolicy {
        service_level: service_level.0,
        order_cost: typed(order_cost),
        holding: typed(holding),
    };
    workflow::set_store_policy(&site.workshop, &asks.0, new).await?;
    Ok(tagged(&req, &rules(&site, &asks).await?))
}

/// Read the ledger of the store
#[utoipa::path(tag = "parts", params(LedgerQuery), responses((status = 200, body = StockLedger,
    headers(("Link" = String, description = "rel=\"next\" while there are older ones (RFC 8288)")))))]
#[get("/stock-ledger")]
pub async fn read_stock_ledger(
    site: web::Data<Site>,
    asks: Bearer,
    query: web::Query<LedgerQuery>,
) -> ApiResult {
    let most = query.limit.unwrap_or(100).clamp(1, 10_000);
    let currency = &site.workshop.currency;
    let line = |m: workflow::MovementRow| LedgerLine {
        id: m.id.0,
        part: m.part_id.0,
        number: m.part_number.clone(),
        name: m.part_name.clone(),
        unit: m.unit.clone(),
        movement: Movement::of(m, currency),
    };
    let before = query.before.map(MovementId);
    let mut rows = workflow::stock_ledger(&site.workshop, &asks.0, before, most + 1).await?;
    let more = cut(&mut rows, most);
    let mut answer = HttpResponse::Ok();
    if let Some(last) = rows.last().filter(|_| more) {
        let next = format!("</api/v1/stock-ledger?before={}&limit={most}>; rel=\"next\"", last.id);
        answer.insert_header((LINK, next));
    }
    Ok(answer.json(StockLedger { movements: rows.into_iter().map(line).collect() }))
}

/// What is not there is not found, whatever else is wrong with what was sent.
async fn known(site: &Site, asks: &Bearer, part: PartId) -> Result<(), WorkflowError> {
    workflow::store_part(&site.workshop, &asks.0, part, 0).await.map(|_| ())
}

impl Stated for ReorderRules {
    fn state(&self) -> impl Serialize {
        self
    }
}

async fn rules(site: &Site, asks: &Bearer) -> ApiResult<ReorderRules> {
    let Policy { service_level, order_cost_minor, holding_share } =
        workflow::reorder(&site.workshop, &asks.0).await?.policy;
    Ok(ReorderRules {
        service_level: percent(service_level),
        order_cost: order_cost_minor.map(|c| Money::new(c, &site.workshop.currency)),
        holding: holding_share.map(percent),
    })
}

/// To a hundredth, as it was typed.
fn percent(share: f64) -> f64 {
    (share * 10_000.0).round() / 100.0
}

fn typed(figure: Option<Figure>) -> String {
    figure.map(|f| f.0).unwrap_or_default()
}

impl PartSupply {
    pub fn of(s: SupplyRow, currency: &str) -> Self {
        Self {
            supplier: s.supplier,
            price: Money::new(s.price_minor, currency),
            minimum_order: Quantity(s.minimum_order).to_string(),
            pack: Quantity(s.pack).to_string(),
            lead_days: s.lead_days,
        }
    }
}

impl From<OnOrderRow> for OnItsWay {
    fn from(o: OnOrderRow) -> Self {
        Self {
            id: o.id.0,
            yard: o.yard_id.0,
            yard_name: o.yard_name,
            quantity: Quantity(o.quantity).to_string(),
            came: Quantity(o.came).to_string(),
            ordered_at: o.ordered_at,
            expected_at: o.expected_at,
            by_name: o.by_name,
        }
    }
}
