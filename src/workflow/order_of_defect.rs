//! Which work order a defect belongs to: it joins the one that takes work, opens the next, or goes back to its own.

use chrono::{DateTime, Utc};

use super::raise::subject;
use super::trail::Trail;
use super::{Result, Workshop};
use crate::domain::ids::{DefectId, WorkOrderId};
use crate::domain::person::Actor;
use crate::domain::standing::Severity;
use crate::domain::trail::{TrailAct, subject_said};
use crate::domain::work_order::{OrderCommand, OrderState, OrderWord, decide};
use crate::storage::{DefectRow, MachineRow, OrderRow, Tx};

/// Out-of-service defects get a work order at once, also when their last one was cancelled and they are seen again;
/// monitored ones join the machine's open one, or wait for the next.
#[expect(clippy::too_many_arguments, reason = "the whole of one transaction's circumstances")]
pub async fn assign(
    workshop: &Workshop,
    tx: &mut Tx,
    machine: &MachineRow,
    open: &[DefectRow],
    seen: &[DefectId],
    new: &mut [DefectRow],
    trail: &mut Trail<'_>,
    now: DateTime<Utc>,
) -> Result<Option<WorkOrderId>> {
    let held = |d: &DefectRow| d.severity == Severity::OutOfService;
    let order = match tx.taking_order(machine.id).await? {
        Some(order) => order.id,
        None => {
            let seen_held: Vec<&DefectRow> =
                open.iter().filter(|d| held(d) && seen.contains(&d.id)).collect();
            let mut left = new.iter().any(held);
            for defect in &seen_held {
                left |= !in_progress(tx, defect).await?;
            }
            if !left {
                return Ok(seen_held.first().and_then(|d| d.work_order_id));
            }
            open_order(workshop, tx, machine, trail, now).await?
        }
    };
    for defect in new.iter_mut() {
        defect.work_order_id = Some(order);
    }
    join_unassigned(tx, open, order).await?;
    Ok(Some(order))
}

/// Whether a work order that has not ended has this defect.
pub async fn in_progress(tx: &mut Tx, defect: &DefectRow) -> Result<bool> {
    let Some(order) = defect.work_order_id else { return Ok(false) };
    let state = tx.order(order).await?.map(|o| o.word());
    Ok(!matches!(state, None | Some(OrderWord::Cancelled | OrderWord::Closed)))
}

/// Opens a work order for the machine and says so in the trail.
pub async fn open_order(
    workshop: &Workshop,
    tx: &mut Tx,
    machine: &MachineRow,
    trail: &mut Trail<'_>,
    now: DateTime<Utc>,
) -> Result<WorkOrderId> {
    let id: WorkOrderId = workshop.ambient.id();
    let number = tx.insert_order(id, machine, false, now).await?;
    trail.add(TrailAct::OrderOpened, format!("work order {number}"), "", OrderWord::Queued, "");
    Ok(id)
}

/// Open defects without a work order in progress join this one.
pub async fn join_unassigned(tx: &mut Tx, open: &[DefectRow], order: WorkOrderId) -> Result<()> {
    for defect in open {
        if defect.work_order_id != Some(order) && !in_progress(tx, defect).await? {
            let mut joining = defect.clone();
            joining.work_order_id = Some(order);
            tx.update_defect(&joining).await?;
        }
    }
    Ok(())
}

/// A defect whose repair did not hold goes back to work: with its own order, or with the machine's next one where that
/// has begun meanwhile, since a machine has one order at a time that takes work. An order left without defects ends.
pub async fn back_to_work(
    tx: &mut Tx,
    actor: &Actor,
    defect: &mut DefectRow,
    trail: &mut Trail<'_>,
    now: DateTime<Utc>,
) -> Result<()> {
    let Some(order) = defect.work_order_id else { return Ok(()) };
    let Some(row) = tx.order(order).await? else { return Ok(()) };
    let state = row.state()?;
    if !matches!(state, OrderState::WorkDone { .. }) {
        return Ok(());
    }
    // An order that was split off stays on its own.
    let taking = if row.side { None } else { tx.taking_order(defect.machine_id).await? };
    let Some(next) = taking else {
        let to = decide(&state, OrderCommand::BackToWork, actor, &row.mechanic_name)?;
        tx.save_order_state(&row, &to, now).await?;
        trail.add(
            TrailAct::OrderBackToWork,
            order_subject(&row),
            state.word(),
            to.word(),
            said!("trail-repair-did-not-hold"),
        );
        return Ok(());
    };
    defect.work_order_id = Some(next.id);
    tx.update_defect(defect).await?;
    defect.version += 1;
    trail.add(
        TrailAct::DefectMoved,
        subject(defect.id),
        subject_said(&order_subject(&row)),
        subject_said(&order_subject(&next)),
        said!("trail-repair-did-not-hold"),
    );
    let left = tx.defects_of_order(order).await?.iter().any(|d| d.closed_at.is_none());
    if !left {
        let reason = said!("order-defects-went-on", number = next.number);
        let to = OrderState::Cancelled { reason };
        tx.save_order_state(&row, &to, now).await?;
        trail.add(
            TrailAct::OrderEnded,
            order_subject(&row),
            state.word(),
            to.word(),
            said!("trail-defects-went-on"),
        );
    }
    Ok(())
}

pub fn order_subject(order: &OrderRow) -> String {
    format!("work order {}", order.number)
}
