//! A mechanic's time on a work order: started and stopped, entered afterwards, or put right. Entries of one mechanic never
//! overlap (invariant 3): every change first takes the mechanic's labour lock. Several mechanics may work on one order.

use chrono::{DateTime, TimeDelta, Utc};

use super::labour_cost::reckon;
use super::order_of_defect::order_subject;
use super::skilled::must_be_skilled_or_help;
use super::trail::Trail;
use super::{Result, Workshop, order_for};
use crate::domain::ids::{LabourId, PersonId, WorkOrderId};
use crate::domain::labour::{self, Entry, LONGEST, LabourFault, Started};
use crate::domain::person::{Act, Actor, Role};
use crate::domain::refusal::{Refusal, Thing, plain_text};
use crate::domain::shift::Span;
use crate::domain::trail::{TrailAct, TrailState};
use crate::domain::work_order::{OrderCommand, OrderState, decide};
use crate::storage::{LabourRow, OrderRow, Tx};
use crate::words::Text;

/// Starts the clock. The claimant's start ends a wait; who helps joins work that goes on. A clock that runs on another
/// order is refused, never stopped behind one's back.
pub async fn start_labour(workshop: &Workshop, actor: &Actor, id: WorkOrderId) -> Result<()> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let (order, machine) = order_for(&mut tx, actor, id).await?;
    let state = order.state()?;
    let to = decide(&state, command_of(&state, actor), actor, &order.mechanic_name)?;
    must_be_skilled_or_help(&mut tx, actor, id, state.claimant()).await?;
    lock(&mut tx, actor.id).await?;
    let entries = entries_around(&mut tx, actor.id, now).await?;
    let mut trail = Trail::new(actor, now);
    match labour::start(&entries, id, now) {
        Ok(Started::Already) => {}
        Ok(Started::Now) => {
            tx.insert_labour(workshop.ambient.id(), id, actor.id, now, None).await?;
            trail.add(TrailAct::LabourStarted, order_subject(&order), "", TrailState::Running, "");
        }
        Err(fault) => return Err(refused(&mut tx, fault).await?.into()),
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
    let own_rate = lock(&mut tx, actor.id).await?;
    let running = tx.running_labour(actor.id).await?.filter(|l| l.work_order_id == id);
    let Some(running) = running else { return Ok(()) };
    end(workshop, &mut tx, &running, own_rate, now).await?;
    let mut trail = Trail::new(actor, now);
    trail.add(TrailAct::LabourStopped, order_subject(&order), TrailState::Running, TrailState::Ended, "");
    workshop.expect_work(&mut tx, machine.id, now).await?;
    trail.write_for_machine(&mut tx, machine.id).await?;
    tx.announce(machine.yard_id);
    tx.commit().await?;
    Ok(())
}

/// Time entered afterwards, by whoever has the order or helps with it.
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
    let state = order.state()?;
    decide(&state, command_of(&state, actor), actor, &order.mechanic_name)?;
    must_be_skilled_or_help(&mut tx, actor, id, state.claimant()).await?;
    let own_rate = lock(&mut tx, actor.id).await?;
    let entries = entries_around(&mut tx, actor.id, from).await?;
    let span = match labour::enter(&entries, Span::new(from, to), None, now) {
        Ok(span) => span,
        Err(fault) => return Err(refused(&mut tx, fault).await?.into()),
    };
    tx.insert_labour(workshop.ambient.id(), id, actor.id, span.from, Some(span.to)).await?;
    reckon(workshop, &mut tx, actor.id, own_rate, span).await?;
    let mut trail = Trail::new(actor, now);
    trail.add(TrailAct::LabourEntered, order_subject(&order), "", words_of(span), "");
    workshop.expect_work(&mut tx, machine.id, now).await?;
    trail.write_for_machine(&mut tx, machine.id).await?;
    tx.announce(machine.yard_id);
    tx.commit().await?;
    Ok(())
}

/// Whether somebody may see an entry at all.
pub async fn labour_seen(workshop: &Workshop, actor: &Actor, entry: LabourId) -> Result<()> {
    let mut tx = workshop.db.read().await?;
    let seen = tx.labour(entry).await?.filter(|l| l.mechanic_id == actor.id || actor.in_yard(l.yard_id));
    seen.map(|_| ()).ok_or_else(|| Refusal::NotFound(Thing::Labour).into())
}

/// Puts an entry right, by whose it is or by a supervisor, as long as the work order is not ended.
pub async fn put_labour_right(
    workshop: &Workshop,
    actor: &Actor,
    entry: LabourId,
    to: Span,
    reason: &str,
) -> Result<WorkOrderId> {
    let supervises = actor.has(Role::Supervisor) || actor.has(Role::Owner);
    if !supervises {
        actor.must(Act::WorkOnOrder)?;
    }
    let reason = plain_text("/reason", said!("what-reason"), reason, 300)?;
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let seen = tx.labour(entry).await?.ok_or(Refusal::NotFound(Thing::Labour))?;
    let (order, machine) = order_for(&mut tx, actor, seen.work_order_id).await?;
    let own = seen.mechanic_id == actor.id && actor.may(Act::WorkOnOrder);
    if !own && !supervises {
        return Err(Refusal::Forbidden(said!("labour-of-somebody-else", name = seen.mechanic_name)).into());
    }
    if matches!(order.state()?, OrderState::Closed | OrderState::Cancelled { .. }) {
        return Err(Refusal::conflict(said!("order-has-ended", state = order.word())).into());
    }
    let own_rate = lock(&mut tx, seen.mechanic_id).await?;
    let row = tx.labour(entry).await?.ok_or(Refusal::NotFound(Thing::Labour))?;
    let Some(before) = row.span() else {
        return Err(Refusal::conflict(said!("labour-still-runs")).into());
    };
    let entries = entries_around(&mut tx, row.mechanic_id, before.from.min(to.from)).await?;
    let after = match labour::enter(&entries, to, Some(entry), now) {
        Ok(span) => span,
        Err(fault) => return Err(refused(&mut tx, fault).await?.into()),
    };
    tx.move_labour(entry, after).await?;
    let both = Span::new(before.from.min(after.from), before.to.max(after.to));
    reckon(workshop, &mut tx, row.mechanic_id, own_rate, both).await?;
    let mut trail = Trail::new(actor, now);
    trail.add(
        TrailAct::LabourPutRight,
        order_subject(&order),
        words_of(before),
        words_of(after),
        Text::typed(reason),
    );
    trail.write_for_machine(&mut tx, machine.id).await?;
    tx.announce(machine.yard_id);
    tx.commit().await?;
    Ok(order.id)
}

/// Ends whatever runs on the order: it was handed back, set to waiting, finished or cancelled.
pub async fn stop_on_order(
    workshop: &Workshop,
    tx: &mut Tx,
    order: &OrderRow,
    now: DateTime<Utc>,
) -> Result<()> {
    for seen in tx.labour_of_order(order.id).await?.into_iter().filter(|l| l.ended_at.is_none()) {
        let own_rate = lock(tx, seen.mechanic_id).await?;
        if let Some(running) = tx.running_labour(seen.mechanic_id).await?.filter(|l| l.id == seen.id) {
            end(workshop, tx, &running, own_rate, now).await?;
        }
    }
    Ok(())
}

/// Takes the mechanic's labour lock; answers the mechanic's own rate.
pub(super) async fn lock(tx: &mut Tx, mechanic: PersonId) -> Result<i64> {
    Ok(tx.lock_labour(mechanic).await?.ok_or(Refusal::NotFound(Thing::Person))?)
}

pub(super) fn words_of(span: Span) -> Text {
    said!("trail-from-to", from = span.from.to_string(), to = span.to.to_string())
}

/// Who has the order starts it; anybody else who may work on orders helps with it.
fn command_of(state: &OrderState, actor: &Actor) -> OrderCommand {
    if state.claimant().is_some_and(|by| by != actor.id) { OrderCommand::Help } else { OrderCommand::Start }
}

async fn end(
    workshop: &Workshop,
    tx: &mut Tx,
    running: &LabourRow,
    own_rate: i64,
    now: DateTime<Utc>,
) -> Result<()> {
    let at = now.max(running.started_at);
    tx.end_labour(running.id, at, None).await?;
    reckon(workshop, tx, running.mechanic_id, own_rate, Span::new(running.started_at, at)).await
}

/// Everything of the mechanic that an entry which begins then could run into.
async fn entries_around(tx: &mut Tx, mechanic: PersonId, from: DateTime<Utc>) -> Result<Vec<Entry>> {
    let rows = tx.labour_since(mechanic, from - LONGEST - TimeDelta::hours(1)).await?;
    Ok(rows
        .into_iter()
        .map(|l| Entry { id: l.id, order: l.work_order_id, from: l.started_at, to: l.ended_at })
        .collect())
}

async fn refused(tx: &mut Tx, fault: LabourFault) -> Result<Refusal> {
    let number = |order: Option<OrderRow>| order.map_or(0, |o| o.number);
    Ok(match fault {
        LabourFault::EndsBeforeItBegins => Refusal::invalid("/to", said!("labour-ends-before-it-starts")),
        LabourFault::InTheFuture { .. } => Refusal::invalid("/to", said!("labour-not-yet")),
        LabourFault::TooLong { most } => {
            Refusal::invalid("/from", said!("labour-too-long", most = most.num_hours()))
        }
        LabourFault::Overlaps { order, .. } => {
            let number = number(tx.order(order).await?);
            Refusal::conflict(said!("labour-overlaps", number = number))
        }
        LabourFault::RunningOn { order, .. } => {
            let number = number(tx.order(order).await?);
            Refusal::conflict(said!("labour-runs-elsewhere", number = number))
        }
        LabourFault::NotRunning => Refusal::conflict(said!("labour-not-running")),
    })
}
