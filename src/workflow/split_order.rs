//! Several defects in one work order: one is split off into an order of its own, and two orders of a machine are merged.
//! The trail of the machine keeps who, when and why.

use super::claim::free_reservations;
use super::order_of_defect::order_subject;
use super::outside::{may_change, must_be_here};
use super::part_shortage::{lock_for_giving_up, share_out};
use super::raise::subject;
use super::trail::Trail;
use super::{Result, Workshop, log_labour, not_found_order, order_for};
use crate::domain::ids::{DefectId, OrderNoteId, WorkOrderId};
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::{Refusal, Thing, plain_text};
use crate::domain::trail::{TrailAct, subject_said};
use crate::domain::work_order::{OrderState, OrderWord};
use crate::storage::{OrderRow, Tx};

/// Splits one defect off. The new order is in the queue, free for another mechanic.
pub async fn split_order(
    workshop: &Workshop,
    actor: &Actor,
    id: WorkOrderId,
    defect: DefectId,
) -> Result<WorkOrderId> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let (order, machine) = order_for(&mut tx, actor, id).await?;
    may_split(&order, &order.state()?, actor)?;
    let open: Vec<_> = tx.defects_of_order(id).await?.into_iter().filter(|d| d.closed_at.is_none()).collect();
    let Some(moving) = open.iter().find(|d| d.id == defect) else {
        return Err(Refusal::NotFound(Thing::Defect).into());
    };
    if open.len() < 2 {
        return Err(Refusal::conflict(said!("order-split-needs-two")).into());
    }
    let new: WorkOrderId = workshop.ambient.id();
    let number = tx.insert_order(new, &machine, true, now).await?;
    let mut moved = moving.clone();
    moved.work_order_id = Some(new);
    tx.update_defect(&moved).await?;
    let mut trail = Trail::new(actor, now);
    let (from, to) = (order_subject(&order), format!("work order {number}"));
    trail.add(TrailAct::OrderOpened, to.clone(), "", OrderWord::Queued, "");
    trail.add(
        TrailAct::OrderSplit,
        from.clone(),
        subject_said(&from),
        subject_said(&to),
        moving.what.clone(),
    );
    trail.add(TrailAct::DefectMoved, subject(defect), subject_said(&from), subject_said(&to), "");
    workshop.expect_work(&mut tx, machine.id, now).await?;
    trail.write_for_machine(&mut tx, machine.id).await?;
    tx.announce(order.yard_id);
    tx.commit().await?;
    Ok(new)
}

/// Takes the defects of another order of the same machine into this one, and ends the other. What was worked, issued and
/// billed there stays on it: its cost is its own.
pub async fn merge_orders(
    workshop: &Workshop,
    actor: &Actor,
    id: WorkOrderId,
    other: WorkOrderId,
) -> Result<()> {
    again_when_changed!({ merge_once(workshop, actor, id, other).await })
}

async fn merge_once(workshop: &Workshop, actor: &Actor, id: WorkOrderId, other: WorkOrderId) -> Result<()> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    // Only two orders of one machine are merged: the other's is this one's.
    let locked = lock_for_giving_up(&mut tx, other, &[]).await?;
    let (order, machine) = order_for(&mut tx, actor, id).await?;
    may_split(&order, &order.state()?, actor)?;
    let ending = tx.order(other).await?.filter(|o| o.machine_id == machine.id && o.id != id);
    let ending = ending.ok_or_else(not_found_order)?;
    let state = ending.state()?;
    if state.is_taking() && state.claimant().is_none() && !actor.may(Act::CancelWorkOrder) {
        return Err(Refusal::conflict(said!("order-claim-other-first", number = ending.number)).into());
    }
    may_split(&ending, &state, actor)?;
    must_be_here(&mut tx, other).await?;
    log_labour::stop_on_order(workshop, &mut tx, &ending, now).await?;
    let freed = free_reservations(&mut tx, other).await?;
    let mut trail = Trail::new(actor, now);
    let (from, to) = (order_subject(&ending), order_subject(&order));
    for defect in tx.defects_of_order(other).await?.into_iter().filter(|d| d.closed_at.is_none()) {
        let mut moved = defect.clone();
        moved.work_order_id = Some(id);
        tx.update_defect(&moved).await?;
        trail.add(TrailAct::DefectMoved, subject(defect.id), subject_said(&from), subject_said(&to), "");
    }
    let reason = said!("order-merged-into", number = order.number);
    let ended = OrderState::Cancelled { reason };
    tx.save_order_state(&ending, &ended, now).await?;
    if !ending.side && order.side {
        // What is left takes the machine's next defects.
        tx.set_side(id, false).await?;
    }
    trail.add(TrailAct::OrdersMerged, from.clone(), subject_said(&from), subject_said(&to), "");
    trail.add(TrailAct::OrderEnded, from, state.word(), ended.word(), "");
    workshop.expect_work(&mut tx, machine.id, now).await?;
    trail.write_for_machine(&mut tx, machine.id).await?;
    share_out(workshop, &mut tx, actor, &freed, &locked, now).await?;
    tx.announce(order.yard_id);
    Ok(tx.commit().await?)
}

/// A note for whoever works on it next. The id comes with the form: sent twice, it is there once.
pub async fn note_on_order(
    workshop: &Workshop,
    actor: &Actor,
    id: WorkOrderId,
    once: OrderNoteId,
    note: &str,
) -> Result<()> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let (order, _) = order_for(&mut tx, actor, id).await?;
    actor.must(Act::SeeQueue)?;
    let note = plain_text("/note", said!("order-a-note"), note, 2000)?;
    if tx.order_notes(id).await?.iter().any(|n| n.id == once) {
        return Ok(());
    }
    tx.insert_order_note(once, id, actor.id, now, &note).await?;
    let mut trail = Trail::new(actor, now);
    trail.add(TrailAct::OrderNoted, order_subject(&order), "", "", note);
    finish(tx, trail, &order).await
}

async fn finish(mut tx: Tx, trail: Trail<'_>, order: &OrderRow) -> Result<()> {
    trail.write_for_machine(&mut tx, order.machine_id).await?;
    tx.announce(order.yard_id);
    Ok(tx.commit().await?)
}

/// Whoever has the order, or supervises; one that nobody has is a supervisor's to divide.
fn may_split(order: &OrderRow, state: &OrderState, actor: &Actor) -> Result<()> {
    if state.is_taking() && state.claimant().is_none() && actor.may(Act::CancelWorkOrder) {
        return Ok(());
    }
    may_change(order, state, actor).map(|_| ())
}
