//! One defect: what it is, which rule decided and why, who saw it, and what became of it.

use super::super::{Result, Workshop, from_json, machine_seen, yard_of};
use crate::domain::defect::may_lower;
use crate::domain::ids::DefectId;
use crate::domain::judge::Reason;
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::{Refusal, Thing};
use crate::domain::risk::Assessment;
use crate::domain::standing::Severity;
use crate::storage::{DefectRow, MachineRow, PhotoRow, SightingRow, YardRow};
use crate::words::Text;

pub struct DefectPage {
    pub defect: DefectRow,
    pub machine: MachineRow,
    pub yard: YardRow,
    pub reported_by_name: String,
    /// Name and version of the checklist whose rule decided; None where a person did.
    pub rules: Option<Text>,
    /// The rule that decided, as that checklist calls it.
    pub rule: Text,
    /// The defect of this place that was closed before.
    pub prior: Option<DefectRow>,
    pub supporting: Vec<Reason>,
    /// Of a guided report.
    pub risk: Option<Assessment>,
    pub sightings: Vec<SightingRow>,
    pub photos: Vec<PhotoRow>,
    pub order_number: Option<i64>,
    pub may_raise: bool,
    /// Whether whoever looks may lower it now, or why not.
    pub may_lower: Result<(), Refusal>,
}

pub async fn defect_page(workshop: &Workshop, actor: &Actor, id: DefectId) -> Result<DefectPage> {
    let mut tx = workshop.db.read().await?;
    let defect = tx.defect(id).await?.ok_or(Refusal::NotFound(Thing::Defect))?;
    let machine = machine_seen(&mut tx, actor, Act::SeeMachines, defect.machine_id)
        .await
        .map_err(|_| Refusal::NotFound(Thing::Defect))?;
    let yard = yard_of(&mut tx, &machine).await?;
    let rules = workshop.rules_of(&mut tx, &defect).await?;
    let rule = workshop.rule_words(&mut tx, &defect).await?;
    let prior = match defect.prior_defect_id {
        Some(prior) => tx.defect(prior).await?,
        None => None,
    };
    let order_number = match defect.work_order_id {
        Some(order) => tx.order(order).await?.map(|o| o.number),
        None => None,
    };
    let open = defect.closed_at.is_none();
    Ok(DefectPage {
        reported_by_name: tx.person(defect.reported_by).await?.map(|p| p.name).unwrap_or_default(),
        rules,
        rule,
        prior,
        supporting: from_json(&defect.supporting)?,
        risk: defect.risk.as_deref().map(from_json).transpose()?,
        sightings: tx.sightings(id).await?,
        photos: tx.photos_of_defect(id).await?,
        order_number,
        may_raise: open && defect.severity == Severity::Monitor && actor.may(Act::RaiseSeverity),
        may_lower: actor
            .must(Act::LowerSeverity)
            .and_then(|()| may_lower(defect.severity, defect.state, defect.is_final)),
        machine,
        yard,
        defect,
    })
}
