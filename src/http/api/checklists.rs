//! Checklists: the one a machine is checked with next, every version, and uploading a new one.

use std::sync::Arc;

use actix_web::{HttpResponse, get, post, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::bearer::Bearer;
use super::body::{Sent, SentText};
use super::every_answer::made;
use super::problem::{ApiError, ApiResult};
use super::words;
use crate::domain::checklist::{Asked, Bounds, Checklist, Item, Load, Picture, Position, Rule, System, Zone};
use crate::domain::ids::{ChecklistId, MachineId};
use crate::domain::refusal::Refusal;
use crate::domain::standing::Severity;
use crate::domain::unit::{Hours, Unit};
use crate::http::Site;
use crate::workflow::{self, CheckForm, ChecklistRow, WorkflowError};

#[derive(Serialize, ToSchema)]
pub struct Checklists {
    checklists: Vec<ChecklistVersion>,
}

#[derive(Serialize, ToSchema)]
pub struct ChecklistVersion {
    id: Uuid,
    name: String,
    version: i64,
    title: String,
    created_at: DateTime<Utc>,
    /// When a later version took its place.
    retired_at: Option<DateTime<Utc>>,
}

#[derive(Serialize, ToSchema)]
pub struct WholeChecklist {
    #[serde(flatten)]
    version: ChecklistVersion,
    classes: Vec<String>,
    zones: Vec<ChecklistZone>,
    rules: Vec<SeverityRule>,
    /// The file as it was uploaded (TOML).
    source: String,
}

/// Everything needed to walk round a machine.
#[derive(Serialize, ToSchema)]
pub struct NextCheck {
    /// An id that the check may be put under.
    check: Uuid,
    machine: Uuid,
    unit_number: String,
    /// True while the machine is out of service: the check is still recorded.
    held: bool,
    checklist: Uuid,
    version: i64,
    title: String,
    /// In walking order.
    zones: Vec<ChecklistZone>,
    last_values: Vec<LastValue>,
    #[schema(value_type = Option<String>)]
    last_hours: Option<Hours>,
    open_defects: Vec<KnownDefect>,
    /// Whether limits or rules depend on the machine being cold or warm.
    asks_warmth: bool,
    /// Whether tyres are judged at the temperature of the air.
    asks_air: bool,
}

/// Where to stand, and what to check from there.
#[derive(Serialize, ToSchema)]
pub struct ChecklistZone {
    key: String,
    title: String,
    stand: String,
    items: Vec<ChecklistItem>,
}

#[derive(Serialize, ToSchema)]
pub struct ChecklistItem {
    key: String,
    title: String,
    /// Stands before the step that can hurt; show it first.
    caution: Option<String>,
    /// A drawing that shows what is meant: `/assets/…/draw-<name>.svg`.
    #[schema(value_type = Option<words::Picture>)]
    picture: Option<Picture>,
    todo: String,
    accept: String,
    #[schema(value_type = words::System)]
    system: System,
    safety: bool,
    #[schema(value_type = words::Asked)]
    asks: Asked,
    measure: Option<Measure>,
    /// One answer is due at each; none means one answer in all.
    positions: Vec<ItemPosition>,
    may_be_not_applicable: bool,
    may_be_corrected: bool,
    #[schema(value_type = Option<words::Unit>)]
    corrected_unit: Option<Unit>,
}

#[derive(Serialize, ToSchema)]
pub struct ItemPosition {
    key: String,
    title: String,
}

/// What is measured. Figures are in the base unit.
#[derive(Serialize, ToSchema)]
pub struct Measure {
    #[schema(value_type = words::Unit)]
    base: Unit,
    /// The usual one first.
    #[schema(value_type = Vec<words::Unit>)]
    units: Vec<Unit>,
    resolution: f64,
    /// Outside these it is a slip of the pen.
    plausible: Range,
    unladen: Range,
    laden: Range,
}

#[derive(Serialize, ToSchema)]
pub struct Range {
    at_least: Option<f64>,
    at_most: Option<f64>,
}

#[derive(Serialize, ToSchema)]
pub struct SeverityRule {
    name: String,
    #[schema(value_type = words::Severity)]
    severity: Severity,
    instruction: String,
    #[serde(rename = "final")]
    is_final: bool,
    good_for_days: Option<u32>,
    good_for_hours: Option<u32>,
}

/// What was read at the last check.
#[derive(Serialize, ToSchema)]
pub struct LastValue {
    item: String,
    position: String,
    value: String,
    unit: String,
}

/// A defect that is open already.
#[derive(Serialize, ToSchema)]
pub struct KnownDefect {
    id: Uuid,
    item: String,
    position: String,
    what: String,
    instruction: String,
    raised_at: DateTime<Utc>,
    /// Under watch: the check says first whether it is the same, worse or gone.
    watched: bool,
    said_gone_at: Option<DateTime<Utc>>,
}

#[derive(Serialize, ToSchema)]
pub struct ChecklistRetired {
    #[serde(flatten)]
    version: ChecklistVersion,
    /// Unit numbers, of your yards, of machines that have no checklist now.
    left_without: Vec<String>,
    /// How many more there are in other yards.
    left_without_elsewhere: usize,
}

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RetireChecklist {
    reason: String,
}

#[derive(Serialize, ToSchema)]
pub struct Uploaded {
    id: Uuid,
    version: i64,
}

/// Get the checklist of a machine's next check, with what was read last time
#[utoipa::path(tag = "checklists", responses((status = 200, body = NextCheck),
    (status = 409, description = "The machine is retired, or its class has no checklist")))]
#[get("/machines/{id}/checklist")]
pub async fn next_check(site: web::Data<Site>, asks: Bearer, id: web::Path<Uuid>) -> ApiResult {
    let form = workflow::checklist_form(&site.workshop, &asks.0, MachineId(*id)).await?;
    Ok(HttpResponse::Ok().json(NextCheck::from(form)))
}

/// List every version of every checklist
#[utoipa::path(tag = "checklists", responses((status = 200, body = Checklists)))]
#[get("/checklists")]
pub async fn list_checklists(site: web::Data<Site>, asks: Bearer) -> ApiResult {
    let rows = workflow::checklists(&site.workshop, &asks.0).await?;
    Ok(HttpResponse::Ok().json(Checklists { checklists: rows.iter().map(ChecklistVersion::of).collect() }))
}

/// See one version of a checklist
#[utoipa::path(tag = "checklists", responses((status = 200, body = WholeChecklist)))]
#[get("/checklists/{id}")]
pub async fn see_checklist(site: web::Data<Site>, asks: Bearer, id: web::Path<Uuid>) -> ApiResult {
    let (row, checklist) = workflow::uploaded_checklist(&site.workshop, &asks.0, ChecklistId(*id)).await?;
    Ok(HttpResponse::Ok().json(WholeChecklist::of(row, &checklist)))
}

/// Upload a checklist file; it becomes the next version of its name
#[utoipa::path(tag = "checklists", request_body(content((String = "application/toml"), (String = "text/plain"))),
    responses((status = 201, body = Uploaded), (status = 422, description = "Each error names its line and column")))]
#[post("/checklists")]
pub async fn upload_checklist(site: web::Data<Site>, asks: Bearer, sent: SentText) -> ApiResult {
    let (id, version) =
        workflow::upload_checklist(&site.workshop, &asks.0, &sent.0).await.map_err(about_the_whole_body)?;
    let id = id.0;
    let answer = Uploaded { id, version };
    Ok(made(&format!("/checklists/{id}"), &answer))
}

/// Retire a checklist: no new check is made with any version of it. Make sure that its machines have another
#[utoipa::path(tag = "checklists", request_body = RetireChecklist, responses(
    (status = 200, body = ChecklistRetired), (status = 409, description = "This version is not in use")))]
#[post("/checklists/{id}/retire")]
pub async fn retire_checklist(
    site: web::Data<Site>,
    asks: Bearer,
    id: web::Path<Uuid>,
    sent: Sent<RetireChecklist>,
) -> ApiResult {
    let id = ChecklistId(*id);
    let before = workflow::retiring_checklist(&site.workshop, &asks.0, id).await?;
    workflow::retire_checklist(&site.workshop, &asks.0, id, &sent.0.reason).await?;
    let (row, _) = workflow::uploaded_checklist(&site.workshop, &asks.0, id).await?;
    Ok(HttpResponse::Ok().json(ChecklistRetired {
        version: ChecklistVersion::of(&row),
        left_without: before.left_without,
        left_without_elsewhere: before.elsewhere,
    }))
}

/// The body is the file itself, so a pointer into it can only name the whole; line and column are in the sentence.
fn about_the_whole_body(error: WorkflowError) -> ApiError {
    match error {
        WorkflowError::Refused(Refusal::Invalid { mut problems }) => {
            problems.iter_mut().for_each(|p| p.pointer.clear());
            Refusal::Invalid { problems }.into()
        }
        other => other.into(),
    }
}

impl ChecklistVersion {
    fn of(row: &ChecklistRow) -> Self {
        Self {
            id: row.id.0,
            name: row.name.clone(),
            version: row.version,
            title: row.title.to_string(),
            created_at: row.created_at,
            retired_at: row.retired_at,
        }
    }
}

impl WholeChecklist {
    fn of(row: ChecklistRow, checklist: &Arc<Checklist>) -> Self {
        Self {
            version: ChecklistVersion::of(&row),
            classes: checklist.classes.clone(),
            zones: checklist.zones.iter().map(Into::into).collect(),
            rules: checklist.rules.iter().map(Into::into).collect(),
            source: row.source,
        }
    }
}

impl From<CheckForm> for NextCheck {
    fn from(form: CheckForm) -> Self {
        let last_values = form.last_values.into_iter();
        let open_defects = form.open_defects.into_iter();
        Self {
            check: form.id.0,
            machine: form.machine.id.0,
            unit_number: form.machine.unit_number,
            held: form.held,
            checklist: form.checklist_id.0,
            version: form.version,
            title: form.checklist.title.to_string(),
            zones: form.checklist.zones.iter().map(Into::into).collect(),
            last_values: last_values
                .map(|(item, position, value, unit)| LastValue { item, position, value, unit })
                .collect(),
            last_hours: form.last_hours,
            open_defects: open_defects
                .map(|d| KnownDefect {
                    id: d.id.0,
                    item: d.item,
                    position: d.position,
                    what: d.what.to_string(),
                    instruction: d.instruction.to_string(),
                    raised_at: d.raised_at,
                    watched: d.watched,
                    said_gone_at: d.said_gone_at,
                })
                .collect(),
            asks_warmth: form.checklist.asks_warmth(),
            asks_air: form.checklist.asks_air(),
        }
    }
}

impl From<&Zone> for ChecklistZone {
    fn from(z: &Zone) -> Self {
        Self {
            key: z.key.clone(),
            title: z.title.to_string(),
            stand: z.stand.to_string(),
            items: z.items.iter().map(Into::into).collect(),
        }
    }
}

impl From<&Item> for ChecklistItem {
    fn from(i: &Item) -> Self {
        let position = |p: &Position| ItemPosition { key: p.key.clone(), title: p.title.to_string() };
        Self {
            key: i.key.clone(),
            title: i.title.to_string(),
            caution: i.caution.as_ref().map(ToString::to_string),
            picture: i.picture,
            todo: i.todo.to_string(),
            accept: i.accept.to_string(),
            system: i.system,
            safety: i.safety,
            asks: i.asks.kind(),
            measure: i.measure().map(|m| Measure {
                base: m.base,
                units: m.units.clone(),
                resolution: m.resolution,
                plausible: Range { at_least: Some(m.plausible.0), at_most: Some(m.plausible.1) },
                unladen: m.bounds(Load::Unladen).into(),
                laden: m.bounds(Load::Laden).into(),
            }),
            positions: i.positions.iter().map(position).collect(),
            may_be_not_applicable: i.may_be_not_applicable,
            may_be_corrected: i.may_be_corrected,
            corrected_unit: i.corrected_unit,
        }
    }
}

impl From<Bounds> for Range {
    fn from(b: Bounds) -> Self {
        Self { at_least: b.at_least, at_most: b.at_most }
    }
}

impl From<&Rule> for SeverityRule {
    fn from(r: &Rule) -> Self {
        Self {
            name: r.name.clone(),
            severity: r.severity,
            instruction: r.instruction.to_string(),
            is_final: r.final_,
            good_for_days: r.good_for_days,
            good_for_hours: r.good_for_hours,
        }
    }
}
