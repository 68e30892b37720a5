//! Work orders: the queue, one order with everything known about it, and the steps of its life. Each step answers with
//! the order as it then is.

use actix_web::http::header::LINK;
use actix_web::{HttpRequest, HttpResponse, get, post, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use utoipa::ToSchema;
use uuid::Uuid;

use super::bearer::Bearer;
use super::body::{Figure, Sent};
use super::checks::Answer;
use super::etag::{still, tagged};
use super::machines::hours;
use super::order_shapes::{Queue, WorkOrder};
use super::problem::ApiResult;
use super::words;
use crate::domain::ids::{DefectId, MachineId, MovementId, PartId, ReservationId, WorkOrderId};
use crate::domain::person::Act;
use crate::domain::refusal::Refusal;
use crate::domain::work_order::WaitingFor;
use crate::http::Site;
use crate::workflow::{self, DefectDone, Fitting, Here, MeterReading, RetestAnswers};

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct OpenWorkOrder {
    machine: Uuid,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LabourSpan {
    from: DateTime<Utc>,
    to: DateTime<Utc>,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PartQuantity {
    /// Made by the caller: sent twice, it is done once.
    id: Uuid,
    quantity: Figure,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WaitReason {
    #[schema(value_type = words::WaitingFor)]
    waiting_for: WaitingFor,
    /// When it is expected to go on.
    until: Option<DateTime<Utc>>,
    note: String,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WorkDone {
    /// By the defect's id; every defect of the order is due.
    #[schema(value_type = BTreeMap<String, DefectWork>)]
    defects: BTreeMap<DefectId, DefectWork>,
    /// What the hour meter shows now, if it was read.
    engine_hours: Option<Figure>,
    /// The hours are right although they do not follow from the last ones.
    #[serde(default)]
    hours_confirmed: bool,
}

/// What was done: cause and remedy, or no fault found.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DefectWork {
    #[serde(default)]
    cause: String,
    #[serde(default)]
    remedy: String,
    #[serde(default)]
    no_fault_found: bool,
    /// A new part was fitted: its series of readings starts again.
    #[serde(default)]
    part_replaced: bool,
    /// Which of the issued parts were fitted for it.
    #[serde(default)]
    fitted: Vec<PartFitted>,
}

/// A part that was issued to the work order and is on the machine now.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PartFitted {
    part: Uuid,
    quantity: Figure,
    #[serde(default)]
    serial: String,
    #[serde(default)]
    batch: String,
}

/// The failed items performed again. For a defect reported outside a check: whether the fault is gone, and what was tried.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Retest {
    #[serde(default)]
    answers: Vec<Answer>,
    fault_gone: Option<bool>,
    #[serde(default)]
    tried: String,
    /// The temperature of the air now: asked when the defect failed at a stated one (`air_temperature`).
    air_temperature: Option<Figure>,
    /// °C when left out.
    #[schema(value_type = Option<words::Unit>)]
    air_unit: Option<String>,
}

#[derive(Serialize, ToSchema)]
pub struct RetestOutcome {
    passed: bool,
    /// Why it did not pass; empty when it did.
    why: String,
    work_order: WorkOrder,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ReleaseNote {
    #[serde(default)]
    note: String,
    /// Your password: asked for when you signed in more than a quarter of an hour ago
    #[serde(default)]
    password: String,
}

#[derive(Serialize, ToSchema)]
pub struct ReleaseAnswer {
    release: Uuid,
    released_by_repairer: bool,
    /// False when another hold still keeps the machine out of service.
    fit_for_use: bool,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Cancel {
    reason: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct QueueAsked {
    page: Option<usize>,
}

/// See the mechanic queue, in the order the work should be taken, each with the reason for its place
#[utoipa::path(tag = "work orders", params(("page" = Option<usize>, Query, minimum = 1, maximum = 40, description = "From 1; fifty places each")),
    responses((status = 200, body = Queue, headers(("Link" = String, description = "rel=\"next\" while there are more (RFC 8288)")))))]
#[get("/work-orders")]
pub async fn see_queue(site: web::Data<Site>, asks: Bearer, asked: web::Query<QueueAsked>) -> ApiResult {
    asks.0.must(Act::SeeQueue)?;
    let page = asked.page.unwrap_or(1);
    if !(1..=workflow::LAST_PAGE).contains(&page) {
        return Err(
            Refusal::invalid("/page", said!("refusal-no-such-page", last = workflow::LAST_PAGE)).into()
        );
    }
    let found = workflow::queue(&site.workshop, &asks.0, page).await?;
    let mut answer = HttpResponse::Ok();
    if found.more {
        let next = format!("</api/v1/work-orders?page={}>; rel=\"next\"", page + 1);
        answer.insert_header((LINK, next));
    }
    Ok(answer.json(Queue::of(found, &site.workshop.currency)))
}

/// Open a work order for a machine's defects that have none in progress, or get the one that takes them
#[utoipa::path(tag = "work orders", request_body = OpenWorkOrder, responses(
    (status = 200, body = WorkOrder), (status = 409, description = "The machine has no open defect")))]
#[post("/work-orders")]
pub async fn open_work_order(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    sent: Sent<OpenWorkOrder>,
) -> ApiResult {
    let id = workflow::open_order(&site.workshop, &asks.0, MachineId(sent.0.machine)).await?;
    present(&req, &site, &asks, id).await
}

/// See one work order
#[utoipa::path(tag = "work orders", responses((status = 200, body = WorkOrder)))]
#[get("/work-orders/{id}")]
pub async fn see_work_order(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
) -> ApiResult {
    present(&req, &site, &asks, WorkOrderId(*id)).await
}

/// Claim a work order. Exactly one mechanic has it
#[utoipa::path(tag = "work orders", responses(
    (status = 200, body = WorkOrder), (status = 409, description = "Somebody else has it; the detail names who")))]
#[post("/work-orders/{id}/claim")]
pub async fn claim_work_order(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
) -> ApiResult {
    let id = asked_of(&req, &site, &asks, *id).await?;
    workflow::claim(&site.workshop, &asks.0, id).await?;
    present(&req, &site, &asks, id).await
}

/// Hand a work order back to the queue
#[utoipa::path(tag = "work orders", responses((status = 200, body = WorkOrder)))]
#[post("/work-orders/{id}/hand-back")]
pub async fn hand_back_work_order(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
) -> ApiResult {
    let id = asked_of(&req, &site, &asks, *id).await?;
    workflow::hand_back(&site.workshop, &asks.0, id).await?;
    present(&req, &site, &asks, id).await
}

/// Start your clock on a work order
#[utoipa::path(tag = "work orders", responses(
    (status = 200, body = WorkOrder), (status = 409, description = "Your clock runs on another work order")))]
#[post("/work-orders/{id}/labour/start")]
pub async fn start_labour(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
) -> ApiResult {
    let id = asked_of(&req, &site, &asks, *id).await?;
    workflow::start_labour(&site.workshop, &asks.0, id).await?;
    present(&req, &site, &asks, id).await
}

/// Stop your clock
#[utoipa::path(tag = "work orders", responses((status = 200, body = WorkOrder)))]
#[post("/work-orders/{id}/labour/stop")]
pub async fn stop_labour(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
) -> ApiResult {
    let id = asked_of(&req, &site, &asks, *id).await?;
    workflow::stop_labour(&site.workshop, &asks.0, id).await?;
    present(&req, &site, &asks, id).await
}

/// Enter labour afterwards
#[utoipa::path(tag = "work orders", request_body = LabourSpan, responses(
    (status = 200, body = WorkOrder), (status = 409, description = "It overlaps time you already have")))]
#[post("/work-orders/{id}/labour")]
pub async fn enter_labour(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<LabourSpan>,
) -> ApiResult {
    let id = asked_of(&req, &site, &asks, *id).await?;
    workflow::enter_labour(&site.workshop, &asks.0, id, sent.0.from, sent.0.to).await?;
    present(&req, &site, &asks, id).await
}

/// Reserve a part for a work order. What is not there is lacking, and the work order waits for it
#[utoipa::path(tag = "work orders", request_body = PartQuantity, responses((status = 200, body = WorkOrder)))]
#[post("/work-orders/{id}/parts/{part}/reserve")]
pub async fn reserve_part(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    path: web::Path<(Uuid, Uuid)>,
    sent: Sent<PartQuantity>,
) -> ApiResult {
    let (id, part) = path.into_inner();
    let id = asked_of(&req, &site, &asks, id).await?;
    let once = ReservationId(sent.0.id);
    workflow::reserve_part_once(&site.workshop, &asks.0, once, id, PartId(part), &sent.0.quantity.0).await?;
    present(&req, &site, &asks, id).await
}

/// Issue a part to a work order
#[utoipa::path(tag = "work orders", request_body = PartQuantity, responses(
    (status = 200, body = WorkOrder), (status = 409, description = "Not so much is there")))]
#[post("/work-orders/{id}/parts/{part}/issue")]
pub async fn issue_part(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    path: web::Path<(Uuid, Uuid)>,
    sent: Sent<PartQuantity>,
) -> ApiResult {
    let (id, part) = path.into_inner();
    let id = asked_of(&req, &site, &asks, id).await?;
    let once = MovementId(sent.0.id);
    let (workshop, part, quantity) = (&site.workshop, PartId(part), &sent.0.quantity.0);
    workflow::move_part_once(workshop, &asks.0, once, id, part, quantity, false).await?;
    present(&req, &site, &asks, id).await
}

/// Return a part from a work order to its bin
#[utoipa::path(tag = "work orders", request_body = PartQuantity, responses(
    (status = 200, body = WorkOrder), (status = 409, description = "Not so much was issued")))]
#[post("/work-orders/{id}/parts/{part}/return")]
pub async fn return_part(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    path: web::Path<(Uuid, Uuid)>,
    sent: Sent<PartQuantity>,
) -> ApiResult {
    let (id, part) = path.into_inner();
    let id = asked_of(&req, &site, &asks, id).await?;
    let once = MovementId(sent.0.id);
    let (workshop, part, quantity) = (&site.workshop, PartId(part), &sent.0.quantity.0);
    workflow::move_part_once(workshop, &asks.0, once, id, part, quantity, true).await?;
    present(&req, &site, &asks, id).await
}

/// Say what a work order waits for
#[utoipa::path(tag = "work orders", request_body = WaitReason, responses((status = 200, body = WorkOrder)))]
#[post("/work-orders/{id}/wait")]
pub async fn wait_for(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<WaitReason>,
) -> ApiResult {
    let id = asked_of(&req, &site, &asks, *id).await?;
    let wait = sent.0;
    workflow::wait_for(&site.workshop, &asks.0, id, wait.waiting_for, wait.until, &wait.note).await?;
    present(&req, &site, &asks, id).await
}

/// Mark the work done: per defect its cause and remedy, or no fault found. The machine stays held
#[utoipa::path(tag = "work orders", request_body = WorkDone, responses((status = 200, body = WorkOrder)))]
#[post("/work-orders/{id}/finish")]
pub async fn finish_work(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<WorkDone>,
) -> ApiResult {
    let id = asked_of(&req, &site, &asks, *id).await?;
    let WorkDone { defects, engine_hours, hours_confirmed } = sent.0;
    let meter = hours(engine_hours)?.map(|hours| MeterReading { hours, confirmed: hours_confirmed });
    let mut fitted = Vec::new();
    for (defect, work) in &defects {
        fitted.extend(work.fitted.iter().map(|f| Fitting {
            defect: *defect,
            part: PartId(f.part),
            quantity: f.quantity.0.clone(),
            serial: f.serial.clone(),
            batch: f.batch.clone(),
        }));
    }
    let done = defects.into_iter();
    let done = done.map(|(defect, work)| DefectDone {
        defect,
        cause: work.cause,
        remedy: work.remedy,
        no_fault_found: work.no_fault_found,
        part_replaced: work.part_replaced,
    });
    workflow::finish_work_fitting(&site.workshop, &asks.0, id, done.collect(), fitted, meter).await?;
    present(&req, &site, &asks, id).await
}

/// Record the retest of one defect. One that fails sends the work order back to work
#[utoipa::path(tag = "work orders", request_body = Retest, responses(
    (status = 200, body = RetestOutcome), (status = 409, description = "The work is not marked done")))]
#[post("/work-orders/{id}/defects/{defect}/retest")]
pub async fn retest_defect(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    path: web::Path<(Uuid, Uuid)>,
    sent: Sent<Retest>,
) -> ApiResult {
    let (id, defect) = path.into_inner();
    let id = asked_of(&req, &site, &asks, id).await?;
    let given = RetestAnswers {
        answers: sent.0.answers.into_iter().map(Into::into).collect(),
        fault_gone: sent.0.fault_gone,
        tried: sent.0.tried,
        air_temperature: sent.0.air_temperature.map(|f| f.0),
        air_unit: sent.0.air_unit,
    };
    let outcome = workflow::retest(&site.workshop, &asks.0, id, DefectId(defect), given).await?;
    let work_order = look(&site, &asks, id).await?;
    Ok(HttpResponse::Ok().json(RetestOutcome {
        passed: outcome.passed,
        why: outcome.why.to_string(),
        work_order,
    }))
}

/// Sign the machine back into service. Every failed item must have passed its retest; work on brakes, steering or
/// restraint is released by somebody other than who did it
#[utoipa::path(tag = "work orders", request_body = ReleaseNote, responses(
    (status = 200, body = ReleaseAnswer),
    (status = 403, description = "Not yours to release"),
    (status = 409, description = "Something is not done or not retested")))]
#[post("/work-orders/{id}/release")]
pub async fn release_machine(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<ReleaseNote>,
) -> ApiResult {
    let id = asked_of(&req, &site, &asks, *id).await?;
    // Not given: the use case says whether it is needed.
    let signer = if sent.0.password.is_empty() {
        asks.0
    } else {
        workflow::to_sign(&site.workshop, &asks.0, &Here::default(), &sent.0.password).await?
    };
    let released = workflow::release(&site.workshop, &signer, id, &sent.0.note).await?;
    Ok(HttpResponse::Ok().json(ReleaseAnswer {
        release: released.release.0,
        released_by_repairer: released.released_by_repairer,
        fit_for_use: released.fit_for_use,
    }))
}

/// Cancel a work order. Its defects stay open and the machine stays held
#[utoipa::path(tag = "work orders", request_body = Cancel, responses((status = 200, body = WorkOrder)))]
#[post("/work-orders/{id}/cancel")]
pub async fn cancel_work_order(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<Cancel>,
) -> ApiResult {
    let id = asked_of(&req, &site, &asks, *id).await?;
    workflow::cancel_order(&site.workshop, &asks.0, id, &sent.0.reason).await?;
    present(&req, &site, &asks, id).await
}

/// The order a step is asked of, in the state the client saw if it said which (`If-Match`).
pub(super) async fn asked_of(
    req: &HttpRequest,
    site: &Site,
    asks: &Bearer,
    id: Uuid,
) -> ApiResult<WorkOrderId> {
    let id = WorkOrderId(id);
    still(req, look(site, asks, id)).await?;
    Ok(id)
}

async fn look(site: &Site, asks: &Bearer, id: WorkOrderId) -> ApiResult<WorkOrder> {
    let page = workflow::order_page(&site.workshop, &asks.0, id).await?;
    Ok(WorkOrder::of(page, &site.workshop.currency))
}

pub(super) async fn present(req: &HttpRequest, site: &Site, asks: &Bearer, id: WorkOrderId) -> ApiResult {
    Ok(tagged(req, &look(site, asks, id).await?))
}
