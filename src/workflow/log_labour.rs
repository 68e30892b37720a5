//! A mechanic's time on a work order: started and stopped, or entered afterwards. Entries of one mechanic never overlap
//! (invariant 3): every change first takes the mechanic's labour lock.

use chrono::{DateTime, TimeDelta, Utc};

use super::order_of_defect::order_subject;
use super::trail::Trail;
use super::{Result, Workshop, order_for};
use crate::domain::ids::WorkOrderId;
use crate::domain::money::labour_cost;
use crate::domain::person::Actor;
use crate::domain::refusal::{Refusal, Thing};
use crate::domain::trail::{TrailAct, TrailState};
use crate::domain::work_order::{OrderCommand, decide};
use crate::storage::{LabourRow, OrderRow, Tx};

/// Longer is a slip.
const LONGEST: TimeDelta = TimeDelta::hours(16);

/// Starts the clock. Starting ends a wait. A clock running on another order is refused, not stopped behind one's back.
pub async fn start_labour(workshop: &Workshop, actor: &Actor, id: WorkOrderId) -> Result<()> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let (order, machine) = order_for(&mut tx, actor, id).await?;
    let state = order.state()?;
    let to = decide(&state, OrderCommand::Start, actor, &order.mechanic_name)?;
    let rate_minor = tx.lock_labour(actor.id).await?.ok_or(Refusal::NotFound(Thing::Person))?;
    let mut trail = Trail::new(actor, now);
    match tx.running_labour(actor.id).await? {
        Some(running) if running.work_order_id == id => {}
        Some(running) => {
            let other = tx.order(running.work_order_id).await?.map_or(0, |o| o.number);
            return Err(Refusal::conflict(said!("labour-runs-elsewhere", number = other)).into());
        }
        None => {
            if tx.overlapping_labour(actor.id, now, now + TimeDelta::microseconds(1)).await?.is_some() {
                return Err(Refusal::conflict(said!("labour-at-this-moment")).into());
            }
            tx.insert_labour(&LabourRow {
                id: workshop.ambient.id(),
                work_order_id: id,
                mechanic_id: actor.id,
                mechanic_name: actor.name.clone(),
                started_at: now,
                ended_at: None,
                rate_minor,
                cost_minor: 0,
            })
            .await?;
            trail.add(TrailAct::LabourStarted, order_subject(&order), "", TrailState::Running, "");
        }
    }
    if to != state {
        tx.save_order_state(&order, &to, now).await?;
        trail.add(TrailAct::WorkStarted, order_subject(&order), state.word(), to.word(), "");
    }
    trail.write_for_machine(&mut tx, machine.id).await?;
    tx.announce(machine.yard_id);
    tx.commit().await?;
    Ok(())
}

/// Stops the clock of whoever asks. Not running is no error.
pub async fn stop_labour(workshop: &Workshop, actor: &Actor, id: WorkOrderId) -> Result<()> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let (order, machine) = order_for(&mut tx, actor, id).await?;
    tx.lock_labour(actor.id).await?;
    let running = tx.running_labour(actor.id).await?.filter(|l| l.work_order_id == id);
    let Some(running) = running else { return Ok(()) };
    end(&mut tx, &running, now).await?;
    let mut trail = Trail::new(actor, now);
    trail.add(TrailAct::LabourStopped, order_subject(&order), TrailState::Running, TrailState::Ended, "");
    trail.write_for_machine(&mut tx, machine.id).await?;
    tx.announce(machine.yard_id);
    tx.commit().await?;
    Ok(())
}

/// Time entered afterwards, by the mechanic who has the order.
pub async fn enter_labour(
    workshop: &Workshop,
    actor: &Actor,
    id: WorkOrderId,
    from: DateTime<Utc>,
    to: DateTime<Utc>,
) -> Result<()> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let (order, machine) = order_for(&mut tx, actor, id).await?;
    // The same right as starting the clock.
    decide(&order.state()?, OrderCommand::Start, actor, &order.mechanic_name)?;
    if to <= from {
        return Err(Refusal::invalid("/to", said!("labour-ends-before-it-starts")).into());
    }
    if to > now {
        return Err(Refusal::invalid("/to", said!("labour-not-yet")).into());
    }
    if to - from > LONGEST {
        return Err(Refusal::invalid("/from", said!("labour-too-long", most = LONGEST.num_hours())).into());
    }
    let rate_minor = tx.lock_labour(actor.id).await?.ok_or(Refusal::NotFound(Thing::Person))?;
    if tx.overlapping_labour(actor.id, from, to).await?.is_some() {
        return Err(Refusal::conflict(said!("labour-overlaps")).into());
    }
    let cost_minor = labour_cost(rate_minor, (to - from).num_seconds());
    tx.insert_labour(&LabourRow {
        id: workshop.ambient.id(),
        work_order_id: id,
        mechanic_id: actor.id,
        mechanic_name: actor.name.clone(),
        started_at: from,
        ended_at: Some(to),
        rate_minor,
        cost_minor,
    })
    .await?;
    tx.add_order_cost(id, cost_minor).await?;
    let mut trail = Trail::new(actor, now);
    trail.add(
        TrailAct::LabourEntered,
        order_subject(&order),
        "",
        said!("trail-from-to", from = from.to_string(), to = to.to_string()),
        "",
    );
    trail.write_for_machine(&mut tx, machine.id).await?;
    tx.announce(machine.yard_id);
    tx.commit().await?;
    Ok(())
}

/// Ends whatever runs on the order: it was handed back, set to waiting, finished or cancelled.
pub async fn stop_on_order(tx: &mut Tx, order: &OrderRow, now: DateTime<Utc>) -> Result<()> {
    for seen in tx.labour_of_order(order.id).await?.into_iter().filter(|l| l.ended_at.is_none()) {
        tx.lock_labour(seen.mechanic_id).await?;
        if let Some(running) = tx.running_labour(seen.mechanic_id).await?.filter(|l| l.id == seen.id) {
            end(tx, &running, now).await?;
        }
    }
    Ok(())
}

async fn end(tx: &mut Tx, running: &LabourRow, now: DateTime<Utc>) -> Result<()> {
    let at = now.max(running.started_at);
    let cost = labour_cost(running.rate_minor, (at - running.started_at).num_seconds());
    tx.end_labour(running.id, at, cost).await?;
    tx.add_order_cost(running.work_order_id, cost).await?;
    Ok(())
}
