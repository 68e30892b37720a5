//! One work order: what failed exactly, what was done, and whether it may be released.

use std::sync::Arc;

use super::super::release::{candidate, newest_retests};
use super::super::{Result, Workshop, from_json, machine_seen, not_found_order, yard_of};
use super::order_more::{OrderMore, gather};
use crate::domain::checklist::{Checklist, Item};
use crate::domain::defect::FailedItem;
use crate::domain::ids::{PersonId, WorkOrderId};
use crate::domain::judge::Reason;
use crate::domain::person::{Act, Actor};
use crate::domain::reading::Reading;
use crate::domain::refusal::{Refusal, Thing};
use crate::domain::release::{Candidate, Signed, may_release};
use crate::domain::standing::Standing;
use crate::domain::unit::Hours;
use crate::domain::work_order::OrderState;
use crate::storage::{
    DefectRow, FittedRow, LabourRow, LineRow, MachineRow, OrderRow, PartRow, PhotoRow, ReleaseRow, RetestRow,
    SightingRow, YardRow,
};
use crate::words::Text;

pub struct OrderPage {
    pub order: OrderRow,
    pub state: OrderState,
    pub machine: MachineRow,
    pub yard: YardRow,
    /// Of the machine, at this moment.
    pub standing: Standing,
    pub defects: Vec<DefectOnOrder>,
    pub labour: Vec<LabourRow>,
    pub lines: Vec<LineRow>,
    pub parts: Vec<PartRow>,
    /// What was fitted, by serial and batch number.
    pub fitted: Vec<FittedRow>,
    pub release: Option<ReleaseRow>,
    /// Whether the clock of whoever looks is running on this order.
    pub my_clock_runs: bool,
    pub mine: bool,
    pub more: OrderMore,
    /// Whether whoever looks could sign the release now, or why not.
    pub may_release: Result<Signed, Refusal>,
}

pub struct DefectOnOrder {
    pub defect: DefectRow,
    pub reported_by_name: String,
    /// Empty until somebody has worked on it.
    pub repaired_by_name: String,
    /// What the hour meter showed at the check that raised it.
    pub hours_at: Option<Hours>,
    pub supporting: Vec<Reason>,
    /// What the retest must repeat, with the checklist's own words where it comes from one.
    pub failed: Vec<(FailedItem, Option<Item>)>,
    /// The readings of the failed items at the check that raised it.
    pub readings: Vec<Reading>,
    pub sightings: Vec<SightingRow>,
    pub photos: Vec<PhotoRow>,
    pub retests: Vec<RetestRow>,
    /// The newest retest since the work was last marked done.
    pub retest_since: Option<RetestRow>,
    pub checklist: Option<Arc<Checklist>>,
    /// Name and version of the checklist whose rule decided; None where a person did.
    pub rules: Option<Text>,
}

pub async fn order_page(workshop: &Workshop, actor: &Actor, id: WorkOrderId) -> Result<OrderPage> {
    let mut tx = workshop.db.read().await?;
    let order = tx.order(id).await?.ok_or(Refusal::NotFound(Thing::WorkOrder))?;
    let machine = machine_seen(&mut tx, actor, Act::SeeMachines, order.machine_id)
        .await
        .map_err(|_| not_found_order())?;
    let yard = yard_of(&mut tx, &machine).await?;
    let standing = tx.machine_standing(machine.id).await?.map_or(Standing::Retired, |m| m.standing());
    let retests = tx.retests_of_order(id).await?;
    let newest = newest_retests(&mut tx, &order).await?;
    let mut candidates: Vec<Candidate> = Vec::new();
    let mut on_order = tx.defects_of_order(id).await?;
    // What holds the machine comes first, however long something else was known.
    on_order.sort_by_key(|d| std::cmp::Reverse(d.severity));
    let mut defects = Vec::new();
    for defect in on_order {
        let checklist = match defect.checklist_id {
            Some(c) => Some(workshop.checklist(&mut tx, c).await?),
            None => None,
        };
        let failed: Vec<FailedItem> = from_json(&defect.failed)?;
        let check = match defect.check_id {
            Some(check) => tx.check(check).await?,
            None => None,
        };
        let readings: Vec<Reading> = match &check {
            Some(c) => from_json::<Vec<Reading>>(&c.answers)?
                .into_iter()
                .filter(|r| {
                    failed
                        .iter()
                        .any(|f| f.item == r.item && f.position == r.position.clone().unwrap_or_default())
                })
                .collect(),
            None => Vec::new(),
        };
        let failed = failed
            .into_iter()
            .map(|f| {
                let item = checklist.as_ref().and_then(|c| c.item(&f.item)).cloned();
                (f, item)
            })
            .collect();
        if defect.closed_at.is_none() {
            candidates.push(candidate(&defect, &newest));
        }
        let repaired_by_name = match defect.repaired_by {
            Some(person) => tx.person(person).await?.map(|p| p.name).unwrap_or_default(),
            None => String::new(),
        };
        defects.push(DefectOnOrder {
            repaired_by_name,
            hours_at: check.and_then(|c| c.engine_hours),
            retest_since: newest.get(&defect.id).cloned(),
            reported_by_name: tx.person(defect.reported_by).await?.map(|p| p.name).unwrap_or_default(),
            supporting: from_json(&defect.supporting)?,
            failed,
            readings,
            sightings: tx.sightings(defect.id).await?,
            photos: tx.photos_of_defect(defect.id).await?,
            retests: retests.iter().filter(|r| r.defect_id == defect.id).cloned().collect(),
            checklist,
            rules: workshop.rules_of(&mut tx, &defect).await?,
            defect,
        });
    }
    let labour = tx.labour_of_order(id).await?;
    let my_clock_runs = labour.iter().any(|l| l.mechanic_id == actor.id && l.ended_at.is_none());
    let state = order.state()?;
    let worked_on_it: Vec<PersonId> = labour.iter().map(|l| l.mechanic_id).collect();
    // Whoever came in by PIN is asked for the password by the form.
    let signer = Actor { by_pin: false, long_ago: false, ..actor.clone() };
    let may_release = may_release(&candidates, &signer, &worked_on_it, yard.one_person);
    Ok(OrderPage {
        standing,
        may_release,
        mine: state.claimant() == Some(actor.id),
        lines: tx.lines_of_order(id).await?,
        fitted: tx.fitted_by_order(id).await?,
        parts: if actor.may(Act::SeeStore) { tx.parts_of_yard(order.yard_id).await? } else { Vec::new() },
        release: tx.release_of_order(id).await?,
        more: gather(&mut tx, actor, &order, &machine, defects.iter().map(|d| &d.defect)).await?,
        labour,
        my_clock_runs,
        state,
        order,
        machine,
        yard,
        defects,
    })
}
