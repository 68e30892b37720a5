//! Work done: for every defect of the order, its cause and remedy, or that no fault was found.

use std::collections::HashMap;

use super::engine_hours::{MeterReading, take_reading};
use super::order_of_defect::order_subject;
use super::part_fitted::{Fitting, fit_parts};
use super::part_shortage::{lock_for_giving_up, share_out};
use super::raise::subject;
use super::skilled::must_be_skilled;
use super::trail::Trail;
use super::{Result, Workshop, claim, log_labour, order_for};
use crate::domain::ids::{DefectId, WorkOrderId};
use crate::domain::person::Actor;
use crate::domain::refusal::{Problem, Refusal, optional_text};
use crate::domain::trail::TrailAct;
use crate::domain::work_order::{OrderCommand, decide};

#[derive(Clone, Debug, serde::Deserialize)]
pub struct DefectDone {
    pub defect: DefectId,
    #[serde(default)]
    pub cause: String,
    #[serde(default)]
    pub remedy: String,
    #[serde(default)]
    pub no_fault_found: bool,
    /// A new part was fitted: its series of readings starts again.
    #[serde(default)]
    pub part_replaced: bool,
}

pub async fn finish_work(
    workshop: &Workshop,
    actor: &Actor,
    id: WorkOrderId,
    done: Vec<DefectDone>,
    meter: Option<MeterReading>,
) -> Result<()> {
    finish(workshop, actor, id, done, Vec::new(), meter).await
}

pub(super) async fn finish(
    workshop: &Workshop,
    actor: &Actor,
    id: WorkOrderId,
    done: Vec<DefectDone>,
    fitted: Vec<Fitting>,
    meter: Option<MeterReading>,
) -> Result<()> {
    again_when_changed!({ finish_once(workshop, actor, id, done.clone(), fitted.clone(), meter).await })
}

async fn finish_once(
    workshop: &Workshop,
    actor: &Actor,
    id: WorkOrderId,
    done: Vec<DefectDone>,
    fitted: Vec<Fitting>,
    meter: Option<MeterReading>,
) -> Result<()> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let locked = lock_for_giving_up(&mut tx, id, &[]).await?;
    let (order, machine) = order_for(&mut tx, actor, id).await?;
    let state = order.state()?;
    let to = decide(&state, OrderCommand::FinishWork, actor, &order.mechanic_name)?;
    super::outside::must_be_here(&mut tx, id).await?;
    must_be_skilled(&mut tx, actor, id).await?;
    let mut trail = Trail::new(actor, now);
    let mut said: HashMap<DefectId, DefectDone> = done.into_iter().map(|d| (d.defect, d)).collect();
    let mut problems = Vec::new();
    let open: Vec<_> = tx.defects_of_order(id).await?.into_iter().filter(|d| d.closed_at.is_none()).collect();
    let new_parts_for =
        fit_parts(workshop, &mut tx, actor, &order, &machine, &open, fitted, &mut trail, &mut problems, now)
            .await?;
    for mut defect in open {
        let pointer = format!("/defects/{}", defect.id);
        let Some(d) = said.remove(&defect.id) else {
            problems.push(Problem::new(pointer, said!("work-say-what-was-done", what = defect.what)));
            continue;
        };
        let cause = optional_text(&format!("{pointer}/cause"), said!("what-cause"), &d.cause, 500)?;
        let remedy = optional_text(&format!("{pointer}/remedy"), said!("what-remedy"), &d.remedy, 500)?;
        if !d.no_fault_found && (cause.is_empty() || remedy.is_empty()) {
            problems.push(if cause.is_empty() {
                Problem::new(format!("{pointer}/cause"), said!("work-give-the-cause", what = defect.what))
            } else {
                Problem::new(format!("{pointer}/remedy"), said!("work-give-the-remedy", what = defect.what))
            });
            continue;
        }
        let before = defect.state;
        defect.state = defect.state.worked_on(d.no_fault_found)?;
        defect.cause = cause;
        defect.remedy = remedy;
        defect.no_fault_found = d.no_fault_found;
        let replaced = d.part_replaced || new_parts_for.contains(&defect.id);
        defect.part_replaced = replaced && !d.no_fault_found;
        defect.repaired_by = Some(actor.id);
        tx.update_defect(&defect).await?;
        let why = format!("{}: {}", defect.cause, defect.remedy);
        trail.add(TrailAct::DefectWorkedOn, subject(defect.id), before, defect.state, why);
    }
    if let Some(stranger) = said.keys().next() {
        problems.push(Problem::new(format!("/defects/{stranger}"), said!("work-not-of-this-order")));
    }
    if !problems.is_empty() {
        return Err(Refusal::Invalid { problems }.into());
    }
    log_labour::stop_on_order(workshop, &mut tx, &order, now).await?;
    let freed = claim::free_reservations(&mut tx, id).await?;
    // After the defects: one that is repaired in time is still repaired when the reading ends its watch.
    if let Some(reading) = meter {
        take_reading(workshop, &mut tx, actor, &machine, reading, &mut trail, now).await?;
    }
    tx.save_order_state(&order, &to, now).await?;
    trail.add(TrailAct::WorkDone, order_subject(&order), state.word(), to.word(), "");
    trail.write_for_machine(&mut tx, machine.id).await?;
    share_out(workshop, &mut tx, actor, &freed, &locked, now).await?;
    tx.announce(machine.yard_id);
    Ok(tx.commit().await?)
}
