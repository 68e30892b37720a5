//! What is done with a work order beside the repair itself: pins, notes, splitting and merging, repairs outside; and the
//! forecasts.

use actix_web::{HttpRequest, HttpResponse, get, post, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::bearer::Bearer;
use super::body::{Figure, Sent};
use super::order_shapes::WorkOrder;
use super::orders::{asked_of, present};
use super::problem::ApiResult;
use super::words::Person;
use crate::domain::forecast::score::Scored;
use crate::domain::ids::{DefectId, OrderNoteId, OutsideId, WorkOrderId, YardId};
use crate::domain::person::Act;
use crate::domain::refusal::Refusal;
use crate::http::Site;
use crate::workflow::{self, Asked, OrderNoteRow, OutsideNews, OutsideRow, SendOutside, WorkflowError};

#[derive(Serialize, ToSchema)]
pub struct OrderNote {
    id: Uuid,
    by: Person,
    at: DateTime<Utc>,
    note: String,
}

impl OrderNote {
    pub const fn id(&self) -> Uuid {
        self.id
    }
}

impl From<OrderNoteRow> for OrderNote {
    fn from(n: OrderNoteRow) -> Self {
        Self { id: n.id.0, by: Person::new(n.by_id, &n.by_name), at: n.at, note: n.note }
    }
}

/// A repair that somebody outside does.
#[derive(Serialize, ToSchema)]
pub struct Outside {
    pub id: Uuid,
    vendor: String,
    what: String,
    /// Which licence the work asks for.
    licensed: Option<String>,
    /// The number of the licence under which it was done.
    licence: Option<String>,
    sent_at: DateTime<Utc>,
    pub promised_at: Option<DateTime<Utc>>,
    pub returned_at: Option<DateTime<Utc>>,
    pub called_off_at: Option<DateTime<Utc>>,
}

impl From<OutsideRow> for Outside {
    fn from(o: OutsideRow) -> Self {
        Self {
            id: o.id.0,
            vendor: o.vendor,
            what: o.what,
            licensed: o.licensed,
            licence: o.licence,
            sent_at: o.sent_at,
            promised_at: o.promised_at,
            returned_at: o.returned_at,
            called_off_at: o.called_off_at,
        }
    }
}

/// What is away for repair, and with whom.
#[derive(Serialize, ToSchema)]
pub struct AwayForRepair {
    /// At most fifty: by the day that was promised, then what has no promise.
    away: Vec<Away>,
}

#[derive(Serialize, ToSchema)]
pub struct Away {
    work_order: Uuid,
    number: i64,
    machine: Uuid,
    unit_number: String,
    yard: Uuid,
    yard_name: String,
    /// The promise was not kept so far.
    late: bool,
    outside: Outside,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewNote {
    /// Made by you; sent twice, the note is there once.
    id: Uuid,
    note: String,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SplitOff {
    defect: Uuid,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TakeIn {
    /// Another open work order of the same machine; it ends.
    work_order: Uuid,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SentOutside {
    vendor: String,
    what: String,
    /// Which licence the work asks for; empty for none.
    #[serde(default)]
    licensed: String,
    back_by: Option<DateTime<Utc>>,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct HeardOfOutside {
    note: String,
    /// The new promise, if one was given.
    back_by: Option<DateTime<Utc>>,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct BackFromOutside {
    /// The number of the licence; licensed work does not come back without.
    #[serde(default)]
    licence: String,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct OutsideInvoice {
    number: String,
    amount: Figure,
    /// ISO 4217; that of the books when left out.
    #[serde(default)]
    currency: String,
}

#[derive(Serialize, ToSchema)]
pub struct Forecasts {
    /// How many work orders with a forecast are done.
    counted: usize,
    /// Share of “likely by” that held; null while too few are done, as the next.
    likely_held: Option<f64>,
    almost_surely_held: Option<f64>,
    mean_error_hours: Option<f64>,
    open: Vec<OrderForecast>,
    /// Open work orders in your yards of which nothing is said: opened a moment ago, or behind the first 1,000 of the queue.
    not_foreseen: i64,
}

#[derive(Serialize, ToSchema)]
pub struct OrderForecast {
    work_order: Uuid,
    number: i64,
    unit_number: String,
    likely_by: Option<DateTime<Utc>>,
    almost_surely_by: Option<DateTime<Utc>>,
}

#[derive(Serialize, ToSchema)]
pub struct ForecastChanges {
    changes: Vec<ForecastChange>,
}

#[derive(Serialize, ToSchema)]
pub struct ForecastChange {
    work_order: Uuid,
    number: i64,
    unit_number: String,
    likely_before: Option<DateTime<Utc>>,
    likely_after: Option<DateTime<Utc>>,
    /// Negative when later.
    sooner_minutes: i64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OneMore {
    yard: Option<Uuid>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Earlier {
    number: Option<i64>,
    days: Option<i64>,
}

/// See what is away for repair outside
#[utoipa::path(tag = "work orders", responses((status = 200, body = AwayForRepair)))]
#[get("/work-orders/away")]
pub async fn see_away(site: web::Data<Site>, asks: Bearer) -> ApiResult {
    let now = site.workshop.ambient.now();
    let away = workflow::away(&site.workshop, &asks.0).await?.into_iter().map(|o| Away {
        work_order: o.work_order_id.0,
        number: o.number,
        machine: o.machine_id.0,
        unit_number: o.unit_number.clone(),
        yard: o.yard_id.0,
        yard_name: o.yard_name.clone(),
        late: o.promised_at.is_some_and(|at| at < now),
        outside: o.into(),
    });
    Ok(HttpResponse::Ok().json(AwayForRepair { away: away.collect() }))
}

/// Pin a work order: this one first, behind what is pinned already
#[utoipa::path(tag = "work orders", responses((status = 200, body = WorkOrder)))]
#[post("/work-orders/{id}/pin")]
pub async fn pin_work_order(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
) -> ApiResult {
    let id = asked_of(&req, &site, &asks, *id).await?;
    workflow::pin_order(&site.workshop, &asks.0, id).await?;
    present(&req, &site, &asks, id).await
}

/// Unpin a work order
#[utoipa::path(tag = "work orders", responses((status = 200, body = WorkOrder)))]
#[post("/work-orders/{id}/unpin")]
pub async fn unpin_work_order(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
) -> ApiResult {
    let id = asked_of(&req, &site, &asks, *id).await?;
    workflow::unpin_order(&site.workshop, &asks.0, id).await?;
    present(&req, &site, &asks, id).await
}

/// Leave a note on a work order
#[utoipa::path(tag = "work orders", request_body = NewNote, responses((status = 200, body = WorkOrder)))]
#[post("/work-orders/{id}/notes")]
pub async fn leave_note(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<NewNote>,
) -> ApiResult {
    let id = asked_of(&req, &site, &asks, *id).await?;
    workflow::note_on_order(&site.workshop, &asks.0, id, OrderNoteId(sent.0.id), &sent.0.note).await?;
    present(&req, &site, &asks, id).await
}

/// Split a defect off into a work order of its own; answers the new one
#[utoipa::path(tag = "work orders", request_body = SplitOff, responses((status = 200, body = WorkOrder)))]
#[post("/work-orders/{id}/split")]
pub async fn split_work_order(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<SplitOff>,
) -> ApiResult {
    let id = asked_of(&req, &site, &asks, *id).await?;
    let new = workflow::split_order(&site.workshop, &asks.0, id, DefectId(sent.0.defect)).await?;
    present(&req, &site, &asks, new).await
}

/// Take the defects of another work order of the machine into this one; the other ends
#[utoipa::path(tag = "work orders", request_body = TakeIn, responses((status = 200, body = WorkOrder)))]
#[post("/work-orders/{id}/merge")]
pub async fn merge_work_orders(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<TakeIn>,
) -> ApiResult {
    let id = asked_of(&req, &site, &asks, *id).await?;
    workflow::merge_orders(&site.workshop, &asks.0, id, WorkOrderId(sent.0.work_order)).await?;
    present(&req, &site, &asks, id).await
}

/// Send the machine for repair outside. It stays held throughout
#[utoipa::path(tag = "work orders", request_body = SentOutside, responses((status = 200, body = WorkOrder)))]
#[post("/work-orders/{id}/outside")]
pub async fn send_outside(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<SentOutside>,
) -> ApiResult {
    let id = asked_of(&req, &site, &asks, *id).await?;
    let SentOutside { vendor, what, licensed, back_by } = sent.0;
    let sent = SendOutside { vendor, what, licensed, back_by };
    workflow::send_outside(&site.workshop, &asks.0, id, sent).await?;
    present(&req, &site, &asks, id).await
}

/// Write down that somebody asked after a repair outside, and what they said
#[utoipa::path(tag = "work orders", request_body = HeardOfOutside, responses((status = 200, body = WorkOrder)))]
#[post("/work-orders/{id}/outside/{outside}/asked")]
pub async fn ask_after_outside(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    at: web::Path<(Uuid, Uuid)>,
    sent: Sent<HeardOfOutside>,
) -> ApiResult {
    let news = OutsideNews::AskedAfter { note: sent.0.note, back_by: sent.0.back_by };
    tell(&req, &site, &asks, at.into_inner(), news).await
}

/// Say that it is back from outside
#[utoipa::path(tag = "work orders", request_body = BackFromOutside, responses((status = 200, body = WorkOrder)))]
#[post("/work-orders/{id}/outside/{outside}/back")]
pub async fn back_from_outside(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    at: web::Path<(Uuid, Uuid)>,
    sent: Sent<BackFromOutside>,
) -> ApiResult {
    let news = OutsideNews::Back { licence: sent.0.licence };
    tell(&req, &site, &asks, at.into_inner(), news).await
}

/// Enter the invoice of a repair outside; it adds to the work order's cost
#[utoipa::path(tag = "work orders", request_body = OutsideInvoice, responses((status = 200, body = WorkOrder)))]
#[post("/work-orders/{id}/outside/{outside}/invoice")]
pub async fn invoice_outside(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    at: web::Path<(Uuid, Uuid)>,
    sent: Sent<OutsideInvoice>,
) -> ApiResult {
    let OutsideInvoice { number, amount, currency } = sent.0;
    tell(&req, &site, &asks, at.into_inner(), OutsideNews::Invoiced { number, amount: amount.0, currency })
        .await
}

async fn tell(
    req: &HttpRequest,
    site: &Site,
    asks: &Bearer,
    (order, outside): (Uuid, Uuid),
    news: OutsideNews,
) -> ApiResult {
    let id = asked_of(req, site, asks, order).await?;
    workflow::tell_of_outside(&site.workshop, &asks.0, id, OutsideId(outside), news).await?;
    present(req, site, asks, id).await
}

/// See when machines are foreseen to be back, and how often that held
#[utoipa::path(tag = "work orders", responses((status = 200, body = Forecasts)))]
#[get("/forecasts")]
pub async fn see_forecasts(site: web::Data<Site>, asks: Bearer) -> ApiResult {
    let found = workflow::forecasts(&site.workshop, &asks.0).await?;
    let (counted, score) = match found.scored {
        Scored::TooFew { counted, .. } => (counted, None),
        Scored::Score(s) => (s.counted, Some(s)),
    };
    let open = found.open.into_iter().map(|o| OrderForecast {
        work_order: o.id.0,
        number: o.number,
        unit_number: o.unit_number,
        likely_by: o.likely_by,
        almost_surely_by: o.almost_surely_by,
    });
    Ok(HttpResponse::Ok().json(Forecasts {
        counted,
        likely_held: score.as_ref().map(|s| s.likely_held),
        almost_surely_held: score.as_ref().map(|s| s.almost_surely_held),
        mean_error_hours: score.as_ref().map(|s| s.mean_error_hours),
        open: open.collect(),
        not_foreseen: found.not_foreseen,
    }))
}

/// See what one more mechanic in a yard would change. Nothing is saved
#[utoipa::path(tag = "work orders", params(("yard" = Uuid, Query)), responses((status = 200, body = ForecastChanges)))]
#[get("/forecasts/one-more-mechanic")]
pub async fn one_more_mechanic(site: web::Data<Site>, asks: Bearer, asked: web::Query<OneMore>) -> ApiResult {
    asks.0.must(Act::SeeQueue).map_err(WorkflowError::from)?;
    let yard = asked.yard.ok_or_else(|| Refusal::invalid("/yard", said!("forecast-choose-yard")));
    let yard = YardId(yard.map_err(WorkflowError::from)?);
    what_if(&site, &asks, Asked::OneMoreMechanic { yard }).await
}

/// See what would change if what a work order waits for came so many days earlier. Nothing is saved
#[utoipa::path(tag = "work orders", params(
    ("number" = i64, Query, description = "The work order's number"),
    ("days" = i64, Query, minimum = 1, maximum = 400)), responses((status = 200, body = ForecastChanges)))]
#[get("/forecasts/earlier")]
pub async fn comes_earlier(site: web::Data<Site>, asks: Bearer, asked: web::Query<Earlier>) -> ApiResult {
    asks.0.must(Act::SeeQueue).map_err(WorkflowError::from)?;
    let order = asked.number.ok_or_else(|| Refusal::invalid("/number", said!("forecast-no-such-order")))?;
    let days = asked.days.ok_or_else(|| Refusal::invalid("/days", said!("forecast-days")))?;
    what_if(&site, &asks, Asked::Earlier { order, days }).await
}

async fn what_if(site: &Site, asks: &Bearer, asked: Asked) -> ApiResult {
    let found = workflow::what_if(&site.workshop, &asks.0, asked).await?;
    let changes = found.into_iter().map(|d| ForecastChange {
        work_order: d.order.id.0,
        number: d.order.number,
        unit_number: d.order.unit_number,
        likely_before: d.before,
        likely_after: d.after,
        sooner_minutes: d.sooner.num_minutes(),
    });
    Ok(HttpResponse::Ok().json(ForecastChanges { changes: changes.collect() }))
}
