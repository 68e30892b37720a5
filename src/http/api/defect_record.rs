//! One defect with all that became of it, a person's change of its severity, and what one reported oneself.

use actix_web::{HttpRequest, HttpResponse, get, post, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use super::bearer::Bearer;
use super::body::Sent;
use super::checks::{MeasuredValue, SupportingReason};
use super::defects::Risk;
use super::etag::{Stated, still, tagged};
use super::machines::GoodUntil;
use super::order_shapes::Sighting;
use super::problem::ApiResult;
use super::words::{self, Person, cut};
use crate::domain::checklist::{Load, System, Warmth};
use crate::domain::defect::DefectState;
use crate::domain::ids::DefectId;
use crate::domain::person::Act;
use crate::domain::standing::Severity;
use crate::http::Site;
use crate::workflow::{self, DefectPage, DefectRow};

/// A defect, open or closed, in few words.
#[derive(Serialize, ToSchema)]
pub struct DefectOnRecord {
    pub id: Uuid,
    pub machine: Uuid,
    what: String,
    #[schema(value_type = words::System)]
    system: System,
    #[schema(value_type = words::Severity)]
    severity: Severity,
    #[schema(value_type = words::DefectState)]
    state: DefectState,
    why: String,
    instruction: String,
    good_until: GoodUntil,
    check: Option<Uuid>,
    work_order: Option<Uuid>,
    prior_defect: Option<Uuid>,
    /// Back too soon after its release.
    came_back: bool,
    cause: String,
    remedy: String,
    no_fault_found: bool,
    found_at: DateTime<Utc>,
    raised_at: DateTime<Utc>,
    closed_at: Option<DateTime<Utc>>,
}

/// A defect with whoever saw it, what decided, and what became of it.
#[derive(Serialize, ToSchema)]
pub struct DefectWhole {
    #[serde(flatten)]
    defect: DefectOnRecord,
    unit_number: String,
    yard: Uuid,
    reported_by: Person,
    /// The rule that decided, as its checklist calls it.
    rule: String,
    /// Name and version of the checklist that has the rule; null where a person decided.
    rules: Option<String>,
    supporting: Vec<SupportingReason>,
    /// Of a guided report.
    risk: Option<Risk>,
    /// Nobody may lower it.
    #[serde(rename = "final")]
    is_final: bool,
    #[schema(value_type = words::Load)]
    load: Load,
    #[schema(value_type = Option<words::Warmth>)]
    warmth: Option<Warmth>,
    air_temperature: Option<MeasuredValue>,
    sightings: Vec<Sighting>,
    /// Ids of its pictures.
    photos: Vec<Uuid>,
    work_order_number: Option<i64>,
    said_gone_at: Option<DateTime<Utc>>,
    /// Whether you may put it out of service now, and whether you may lower it.
    may_raise: bool,
    may_lower: bool,
}

#[derive(Serialize, ToSchema)]
pub struct OwnReports {
    /// Newest first.
    reports: Vec<OwnReport>,
    /// Whether there are more than `limit` asked for.
    more: bool,
}

#[derive(Serialize, ToSchema)]
pub struct OwnReport {
    unit_number: String,
    #[serde(flatten)]
    defect: DefectOnRecord,
}

#[derive(Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct OwnReportsQuery {
    /// At most this many, up to 200.
    limit: Option<i64>,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RaiseDefect {
    reason: String,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LowerDefect {
    reason: String,
    /// The end of its watch: later than now, and at most 90 days away.
    good_until: DateTime<Utc>,
}

/// See one defect: what decided, who saw it, and what became of it
#[utoipa::path(tag = "defects",
    responses((status = 200, body = DefectWhole)))]
#[get("/defects/{id}")]
pub async fn see_defect(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
) -> ApiResult {
    shown(&req, &site, &asks, DefectId(*id)).await
}

/// Put a monitored defect out of service. Anybody may; nobody needs leave to stop a machine
#[utoipa::path(tag = "defects", request_body = RaiseDefect, responses(
    (status = 200, body = DefectWhole), (status = 409, description = "Closed, or out of service already")))]
#[post("/defects/{id}/raise")]
pub async fn raise_defect(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<RaiseDefect>,
) -> ApiResult {
    still(&req, whole(&site, &asks, DefectId(*id))).await?;
    workflow::raise_severity(&site.workshop, &asks.0, DefectId(*id), &sent.0.reason).await?;
    shown(&req, &site, &asks, DefectId(*id)).await
}

/// Let a machine go on with a defect under watch until a day. In doubt, don't: it puts a machine back into use that nobody
/// repaired
#[utoipa::path(tag = "defects", request_body = LowerDefect, responses(
    (status = 200, body = DefectWhole),
    (status = 409, description = "Closed, under watch already, its rule is final, or it is on no work order")))]
#[post("/defects/{id}/lower")]
pub async fn lower_defect(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<LowerDefect>,
) -> ApiResult {
    // Whoever may not is told so before anything is looked up.
    asks.0.must(Act::LowerSeverity)?;
    still(&req, whole(&site, &asks, DefectId(*id))).await?;
    let LowerDefect { reason, good_until } = sent.0;
    workflow::lower_severity(&site.workshop, &asks.0, DefectId(*id), &reason, good_until).await?;
    shown(&req, &site, &asks, DefectId(*id)).await
}

/// See what became of what you reported
#[utoipa::path(tag = "defects", params(OwnReportsQuery), responses((status = 200, body = OwnReports)))]
#[get("/me/reports")]
pub async fn see_own_reports(
    site: web::Data<Site>,
    asks: Bearer,
    query: web::Query<OwnReportsQuery>,
) -> ApiResult {
    let most = query.limit.unwrap_or(50).clamp(1, 200);
    let mut found = workflow::my_reports(&site.workshop, &asks.0, most + 1).await?;
    let more = cut(&mut found, most);
    let reports = found
        .into_iter()
        .map(|r| OwnReport { unit_number: r.unit_number, defect: r.defect.into() })
        .collect();
    Ok(HttpResponse::Ok().json(OwnReports { reports, more }))
}

async fn shown(req: &HttpRequest, site: &Site, asks: &Bearer, id: DefectId) -> ApiResult {
    Ok(tagged(req, &whole(site, asks, id).await?))
}

pub async fn whole(site: &Site, asks: &Bearer, id: DefectId) -> ApiResult<DefectWhole> {
    Ok(workflow::defect_page(&site.workshop, &asks.0, id).await?.into())
}

/// How severe it is, until when, who saw it and what became of it; the sentences are each reader's own.
impl Stated for DefectWhole {
    fn state(&self) -> impl Serialize {
        let d = &self.defect;
        (
            (d.id, d.severity, d.state, d.good_until.at, d.good_until.engine_hours),
            (d.work_order, d.closed_at, self.said_gone_at, self.sightings.len(), &self.photos),
        )
    }
}

impl From<DefectRow> for DefectOnRecord {
    fn from(d: DefectRow) -> Self {
        Self {
            id: d.id.0,
            machine: d.machine_id.0,
            what: d.what.to_string(),
            system: d.system,
            severity: d.severity,
            state: d.state,
            why: d.why.to_string(),
            instruction: d.instruction.to_string(),
            good_until: GoodUntil { at: d.good_until_at, engine_hours: d.good_until_hours },
            check: d.check_id.map(|c| c.0),
            work_order: d.work_order_id.map(|o| o.0),
            prior_defect: d.prior_defect_id.map(|p| p.0),
            came_back: d.came_back,
            cause: d.cause,
            remedy: d.remedy,
            no_fault_found: d.no_fault_found,
            found_at: d.found_at,
            raised_at: d.raised_at,
            closed_at: d.closed_at,
        }
    }
}

impl From<DefectPage> for DefectWhole {
    fn from(p: DefectPage) -> Self {
        let d = p.defect;
        let held = d.severity == Severity::OutOfService && d.closed_at.is_none();
        Self {
            unit_number: p.machine.unit_number,
            yard: p.yard.id.0,
            reported_by: Person::new(d.reported_by, &p.reported_by_name),
            rule: p.rule.to_string(),
            rules: p.rules.map(|r| r.to_string()),
            supporting: p.supporting.into_iter().map(Into::into).collect(),
            risk: p.risk.map(Into::into),
            is_final: d.is_final,
            load: d.load,
            warmth: d.warmth,
            air_temperature: d.air.clone().map(Into::into),
            sightings: p.sightings.into_iter().map(Into::into).collect(),
            photos: p.photos.iter().map(|f| f.id.0).collect(),
            work_order_number: p.order_number,
            said_gone_at: d.said_gone_at,
            may_raise: p.may_raise,
            may_lower: p.may_lower.is_ok() && held,
            defect: d.into(),
        }
    }
}
