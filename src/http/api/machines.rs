//! Machines: the list, one machine at the gate, and adding one.

use actix_web::http::header::LINK;
use actix_web::{HttpRequest, HttpResponse, get, post, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use super::bearer::Bearer;
use super::body::{Figure, Sent};
use super::checks::Trend;
use super::etag::{Stated, still, tagged};
use super::every_answer::made;
use super::problem::ApiResult;
use super::words::{self, Made, Person};
use crate::domain::ids::MachineId;
use crate::domain::refusal::Refusal;
use crate::domain::standing::{Severity, Standing};
use crate::domain::unit::Hours;
use crate::http::Site;
use crate::words::Text;
use crate::workflow::{
    self, Gate, HoldRow, MachineStanding, MeterReading, NewMachine, OpenDefect, WorkflowError,
};

#[derive(Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct MachineQuery {
    /// Find one machine by its unit number, however it is typed: u7, U-07 and U 07 are the same.
    unit: Option<String>,
    /// Where the page before ended; taken from its `Link` header.
    #[serde(default)]
    after: String,
    /// At most this many, up to 200.
    limit: Option<i64>,
}

#[derive(Serialize, ToSchema)]
pub struct Machines {
    machines: Vec<Machine>,
}

#[derive(Serialize, ToSchema)]
pub struct Machine {
    id: Uuid,
    unit_number: String,
    class: String,
    description: String,
    yard: Uuid,
    yard_name: String,
    /// In tenths of an hour.
    #[schema(value_type = Option<String>, example = "812.4")]
    engine_hours: Option<Hours>,
    #[schema(value_type = words::Standing)]
    standing: Standing,
}

/// The machine at the gate: may I take it?
#[derive(Serialize, ToSchema)]
pub struct MachineAtGate {
    #[serde(flatten)]
    machine: Machine,
    serial: String,
    retired_at: Option<DateTime<Utc>>,
    version: i64,
    /// Open ones.
    holds: Vec<Hold>,
    open_defects: Vec<Defect>,
    last_check: Option<LastCheck>,
    /// The work order that still takes defects.
    work_order: Option<OrderRef>,
}

#[derive(Serialize, ToSchema)]
pub struct Hold {
    id: Uuid,
    /// None when it was placed by hand.
    defect: Option<Uuid>,
    reason: String,
    placed_by: Person,
    /// Since when the machine was found unfit: before it was placed, where a check arrived late.
    since: DateTime<Utc>,
    placed_at: DateTime<Utc>,
    #[schema(value_type = Option<String>)]
    hours_at: Option<Hours>,
}

#[derive(Serialize, ToSchema)]
pub struct Defect {
    id: Uuid,
    what: String,
    #[schema(value_type = words::Severity)]
    severity: Severity,
    rule: String,
    /// Name and version of the checklist that has the rule; null where a person decided.
    rules: Option<String>,
    why: String,
    instruction: String,
    /// Before it was raised, where a check arrived late.
    found_at: DateTime<Utc>,
    raised_at: DateTime<Utc>,
    good_until: GoodUntil,
    work_order: Option<Uuid>,
    /// Back too soon after its release.
    came_back: bool,
    /// Since when operators say that it is gone. A mechanic looks, and closes it.
    said_gone_at: Option<DateTime<Utc>>,
}

/// The end of a monitored defect's watch; past it the machine is out of service.
#[derive(Serialize, ToSchema)]
pub struct GoodUntil {
    pub at: Option<DateTime<Utc>>,
    #[schema(value_type = Option<String>)]
    pub engine_hours: Option<Hours>,
}

#[derive(Serialize, ToSchema)]
pub struct LastCheck {
    id: Uuid,
    operator: Person,
    #[schema(value_type = words::Standing)]
    verdict: Standing,
    recorded_at: DateTime<Utc>,
    /// What the trends said then.
    trends: Vec<Trend>,
}

#[derive(Serialize, ToSchema)]
pub struct OrderRef {
    pub id: Uuid,
    pub number: i64,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddMachine {
    yard: Uuid,
    #[schema(example = "U-07")]
    unit_number: String,
    #[schema(example = "utility vehicle")]
    class: String,
    #[serde(default)]
    description: String,
    #[serde(default)]
    serial: String,
    engine_hours: Option<Figure>,
}

/// A reading of the hour meter.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct HourMeter {
    engine_hours: Figure,
    /// The hours are right although they do not follow from the last ones.
    #[serde(default)]
    hours_confirmed: bool,
}

/// List machines by unit number, or find one
#[utoipa::path(tag = "machines", params(MachineQuery), responses((status = 200, body = Machines,
    headers(("Link" = String, description = "rel=\"next\" while there are more (RFC 8288)")))))]
#[get("/machines")]
pub async fn list_machines(
    site: web::Data<Site>,
    asks: Bearer,
    query: web::Query<MachineQuery>,
) -> ApiResult {
    if let Some(unit) = &query.unit {
        return find(&site, &asks, unit).await;
    }
    let most = query.limit.unwrap_or(50).clamp(1, 200);
    let mut found = workflow::machines(&site.workshop, &asks.0, &query.after, most + 1).await?;
    let more = found.len() > usize::try_from(most).unwrap_or(usize::MAX);
    let mut answer = HttpResponse::Ok();
    if more {
        found.pop();
        if let Some((last, _)) = found.last() {
            let query = serde_urlencoded::to_string([("after", last.as_str()), ("limit", &most.to_string())]);
            let next = format!("</api/v1/machines?{}>; rel=\"next\"", query.unwrap_or_default());
            answer.insert_header((LINK, next));
        }
    }
    Ok(answer.json(Machines { machines: found.into_iter().map(|(_, m)| m.into()).collect() }))
}

/// See one machine: standing, open holds and defects, the last check
#[utoipa::path(tag = "machines",
    responses((status = 200, body = MachineAtGate)))]
#[get("/machines/{id}")]
pub async fn see_machine(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
) -> ApiResult {
    Ok(tagged(&req, &at_gate(&site, &asks, MachineId(*id)).await?))
}

/// Add a machine
#[utoipa::path(tag = "machines", request_body = AddMachine, responses((status = 201, body = Made)))]
#[post("/machines")]
pub async fn add_machine(site: web::Data<Site>, asks: Bearer, sent: Sent<AddMachine>) -> ApiResult {
    let new = sent.0;
    let new = NewMachine {
        yard: new.yard.into(),
        unit_number: new.unit_number,
        class: new.class,
        description: new.description,
        serial: new.serial,
        engine_hours: hours(new.engine_hours)?,
    };
    let id = workflow::add_machine(&site.workshop, &asks.0, new).await?.0;
    Ok(made(&format!("/machines/{id}"), &Made { id }))
}

/// Say what the hour meter shows. It may end a watch by engine hours, and shows use while out of service
#[utoipa::path(tag = "machines", request_body = HourMeter, responses((status = 200, body = MachineAtGate)))]
#[post("/machines/{id}/engine-hours")]
pub async fn read_meter(
    req: HttpRequest,
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<HourMeter>,
) -> ApiResult {
    let HourMeter { engine_hours, hours_confirmed } = sent.0;
    let missing = || Refusal::invalid("/engine_hours", said!("hours-say"));
    let hours = hours(Some(engine_hours))?.ok_or_else(missing)?;
    let reading = MeterReading { hours, confirmed: hours_confirmed };
    still(&req, at_gate(&site, &asks, MachineId(*id))).await?;
    workflow::read_meter(&site.workshop, &asks.0, MachineId(*id), reading).await?;
    Ok(tagged(&req, &at_gate(&site, &asks, MachineId(*id)).await?))
}

pub async fn at_gate(site: &Site, asks: &Bearer, id: MachineId) -> ApiResult<MachineAtGate> {
    Ok(workflow::gate(&site.workshop, &asks.0, id).await?.into())
}

/// Engine hours as they were sent under `/engine_hours`.
pub fn hours(sent: Option<Figure>) -> Result<Option<Hours>, Refusal> {
    sent.map(|figure| figure.0.parse().map_err(|e| Refusal::invalid("/engine_hours", Text::of(&e))))
        .transpose()
}

/// No machine of that number is an empty list, as for any other filter.
async fn find(site: &Site, asks: &Bearer, unit: &str) -> ApiResult {
    let machines = match workflow::find_machine(&site.workshop, &asks.0, unit).await {
        Ok(id) => vec![workflow::gate(&site.workshop, &asks.0, id).await?.into()],
        Err(WorkflowError::Refused(Refusal::NotFound(_))) => Vec::new(),
        Err(e) => return Err(e.into()),
    };
    Ok(HttpResponse::Ok().json(Machines { machines }))
}

/// What is on record of it and what it may be used for; the sentences are each reader's own.
impl Stated for MachineAtGate {
    fn state(&self) -> impl Serialize {
        let m = &self.machine;
        let defects = self.open_defects.iter().map(|d| {
            let until = (d.good_until.at, d.good_until.engine_hours);
            (d.id, d.severity, until, d.work_order, d.said_gone_at)
        });
        (
            (m.id, self.version, m.standing, m.engine_hours, self.retired_at),
            self.holds.iter().map(|h| h.id).collect::<Vec<_>>(),
            defects.collect::<Vec<_>>(),
            self.last_check.as_ref().map(|c| c.id),
            self.work_order.as_ref().map(|o| o.id),
        )
    }
}

impl From<MachineStanding> for Machine {
    fn from(m: MachineStanding) -> Self {
        Self {
            id: m.id.0,
            standing: m.standing(),
            unit_number: m.unit_number,
            class: m.class,
            description: m.description,
            yard: m.yard_id.0,
            yard_name: m.yard_name,
            engine_hours: m.engine_hours,
        }
    }
}

impl From<Gate> for Machine {
    fn from(gate: Gate) -> Self {
        MachineAtGate::from(gate).machine
    }
}

impl From<Gate> for MachineAtGate {
    fn from(gate: Gate) -> Self {
        let m = gate.machine;
        Self {
            machine: Machine {
                id: m.id.0,
                unit_number: m.unit_number,
                class: m.class,
                description: m.description,
                yard: m.yard_id.0,
                yard_name: gate.yard.name,
                engine_hours: m.engine_hours,
                standing: gate.standing,
            },
            serial: m.serial,
            retired_at: m.retired_at,
            version: m.version,
            holds: gate.holds.into_iter().map(Into::into).collect(),
            open_defects: gate.defects.into_iter().map(Into::into).collect(),
            last_check: gate.last_check.map(|c| LastCheck {
                id: c.id.0,
                operator: Person::new(c.operator_id, &c.operator_name),
                verdict: c.verdict,
                recorded_at: c.recorded_at,
                trends: gate.trends.into_iter().map(Into::into).collect(),
            }),
            work_order: gate.order.map(|o| OrderRef { id: o.id.0, number: o.number }),
        }
    }
}

impl From<HoldRow> for Hold {
    fn from(h: HoldRow) -> Self {
        Self {
            id: h.id.0,
            defect: h.defect_id.map(|d| d.0),
            reason: h.reason.to_string(),
            placed_by: Person::new(h.placed_by, &h.placed_by_name),
            since: h.since,
            placed_at: h.placed_at,
            hours_at: h.hours_at,
        }
    }
}

impl From<OpenDefect> for Defect {
    fn from(d: OpenDefect) -> Self {
        Self {
            id: d.id.0,
            what: d.what.to_string(),
            severity: d.severity,
            rule: d.rule,
            rules: d.rules.map(|r| r.to_string()),
            why: d.why.to_string(),
            instruction: d.instruction.to_string(),
            found_at: d.found_at,
            raised_at: d.raised_at,
            good_until: GoodUntil { at: d.good_until_at, engine_hours: d.good_until_hours },
            work_order: d.work_order.map(|o| o.0),
            came_back: d.came_back,
            said_gone_at: d.said_gone_at,
        }
    }
}
