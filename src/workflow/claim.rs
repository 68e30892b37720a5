//! Who has a work order, and whether it can go on: claim, hand back, wait, cancel, open again.

use chrono::{DateTime, Utc};

use super::order_of_defect::{join_unassigned, open_order as open_new_order, order_subject};
use super::part_shortage::{Locked, lock_for_giving_up, share_out};
use super::raise::subject;
use super::skilled::must_be_skilled;
use super::trail::Trail;
use super::{Result, Workshop, log_labour, machine_for, order_for, outside};
use crate::domain::defect::DefectState;
use crate::domain::ids::{MachineId, PartId, WorkOrderId, YardId};
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::{Refusal, Thing};
use crate::domain::store::unreserve;
use crate::domain::trail::{TrailAct, TrailState};
use crate::domain::work_order::{OrderCommand, OrderState, Wait, WaitingFor, decide};
use crate::storage::{OrderRow, Tx};

/// Exactly one mechanic holds a work order. Claiming one's own again changes nothing.
pub async fn claim(workshop: &Workshop, actor: &Actor, id: WorkOrderId) -> Result<()> {
    step(workshop, actor, id, OrderCommand::Claim, TrailAct::OrderClaimed, "").await
}

pub async fn hand_back(workshop: &Workshop, actor: &Actor, id: WorkOrderId) -> Result<()> {
    step(workshop, actor, id, OrderCommand::HandBack, TrailAct::OrderHandedBack, "").await
}

/// The work order cannot go on; the machine stays as it is.
pub async fn wait_for(
    workshop: &Workshop,
    actor: &Actor,
    id: WorkOrderId,
    waiting_for: WaitingFor,
    until: Option<DateTime<Utc>>,
    note: &str,
) -> Result<()> {
    let wait = Wait { waiting_for, until, note: note.to_owned() };
    step(workshop, actor, id, OrderCommand::Wait(wait), TrailAct::OrderWaits, note).await
}

/// Ends the work order and nothing else: its defects stay open and the machine stays held.
pub async fn cancel_order(workshop: &Workshop, actor: &Actor, id: WorkOrderId, reason: &str) -> Result<()> {
    let command = OrderCommand::Cancel { reason: reason.to_owned() };
    step(workshop, actor, id, command, TrailAct::OrderCancelled, reason).await
}

/// Opens a work order for defects that have none in progress: monitored ones, or those of a cancelled order.
pub async fn open_order(workshop: &Workshop, actor: &Actor, machine: MachineId) -> Result<WorkOrderId> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let machine = machine_for(&mut tx, actor, Act::SeeQueue, machine).await?;
    let mut trail = Trail::new(actor, now);
    let order = match tx.taking_order(machine.id).await? {
        Some(order) => order.id,
        None => {
            let open = tx.open_defects(machine.id).await?;
            if open.is_empty() {
                return Err(Refusal::conflict(said!("order-no-open-defect")).into());
            }
            open_new_order(workshop, &mut tx, &machine, &mut trail, now).await?
        }
    };
    let open = tx.open_defects(machine.id).await?;
    join_unassigned(&mut tx, &open, order).await?;
    workshop.expect_work(&mut tx, machine.id, now).await?;
    trail.write_for_machine(&mut tx, machine.id).await?;
    tx.announce(machine.yard_id);
    tx.commit().await?;
    Ok(order)
}

async fn step(
    workshop: &Workshop,
    actor: &Actor,
    id: WorkOrderId,
    command: OrderCommand,
    act: TrailAct,
    why: &str,
) -> Result<()> {
    // Who cancels frees parts for others, whose machines may have changed hands meanwhile.
    again_when_changed!({ step_once(workshop, actor, id, command.clone(), act, why).await })
}

async fn step_once(
    workshop: &Workshop,
    actor: &Actor,
    id: WorkOrderId,
    command: OrderCommand,
    act: TrailAct,
    why: &str,
) -> Result<()> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let locked = match command {
        OrderCommand::Cancel { .. } => lock_for_giving_up(&mut tx, id, &[]).await?,
        _ => Locked::default(),
    };
    let (order, machine) = order_for(&mut tx, actor, id).await?;
    let state = order.state()?;
    let claims = command == OrderCommand::Claim;
    let to = decide(&state, command, actor, &order.mechanic_name)?;
    if to == state {
        return Ok(());
    }
    if claims {
        must_be_skilled(&mut tx, actor, id).await?;
    }
    let mut trail = Trail::new(actor, now);
    let mut freed = Vec::new();
    if matches!(to, OrderState::Queued | OrderState::Waiting { .. } | OrderState::Cancelled { .. }) {
        log_labour::stop_on_order(workshop, &mut tx, &order, now).await?;
    }
    if matches!(to, OrderState::Cancelled { .. }) {
        let stays = reopen_defects(&mut tx, &order, &mut trail).await?;
        freed = free_reservations(&mut tx, id).await?;
        outside::call_off(&mut tx, &order, &mut trail, now).await?;
        trail.add(
            act,
            order_subject(&order),
            state.word(),
            to.word(),
            said!("trail-order-cancelled", why = why, stays = stays),
        );
    } else {
        trail.add(act, order_subject(&order), state.word(), to.word(), why);
    }
    // Whoever takes the work on has seen why.
    if claims && tx.acknowledge_all_of(machine.id, actor.id, now).await? > 0 {
        let subject = format!("machine {}", machine.unit_number);
        trail.add(TrailAct::AlertAcknowledged, subject, "", TrailState::Seen, said!("ack-by-claiming"));
    }
    tx.save_order_state(&order, &to, now).await?;
    trail.write_for_machine(&mut tx, machine.id).await?;
    share_out(workshop, &mut tx, actor, &freed, &locked, now).await?;
    tx.announce(machine.yard_id);
    Ok(tx.commit().await?)
}

/// What a cancelled order had marked as repaired is open again as it was raised.
async fn reopen_defects(tx: &mut Tx, order: &OrderRow, trail: &mut Trail<'_>) -> Result<usize> {
    let defects = tx.defects_of_order(order.id).await?;
    let open: Vec<_> = defects.into_iter().filter(|d| d.closed_at.is_none()).collect();
    for d in &open {
        let to = DefectState::raised(d.severity);
        if d.state != to {
            let mut changed = d.clone();
            changed.state = to;
            tx.update_defect(&changed).await?;
            trail.add(
                TrailAct::DefectBackToWork,
                subject(d.id),
                d.state,
                to,
                said!("trail-its-order-cancelled"),
            );
        }
    }
    Ok(open.len())
}

/// Parts still reserved for the order are free for others, and it lacks nothing any more. Answers with what is free now.
pub async fn free_reservations(tx: &mut Tx, order: WorkOrderId) -> Result<Vec<(PartId, YardId)>> {
    tx.drop_shortages(order).await?;
    let mut freed = Vec::new();
    let Some(row) = tx.order(order).await? else { return Ok(freed) };
    for line in tx.lines_of_order(order).await?.into_iter().filter(|l| l.reserved > 0) {
        let part = tx.part_for_change(line.part_id, row.yard_id).await?;
        let part = part.ok_or(Refusal::NotFound(Thing::Part))?;
        // Read again under the part's lock.
        let Some(line) = tx.line(order, part.id).await? else { continue };
        let (bin, left) = unreserve(part.balance(), line.line());
        tx.save_balance(&part, bin).await?;
        tx.save_line(line.id, order, part.id, left).await?;
        freed.push((part.id, part.yard_id));
    }
    Ok(freed)
}
