//! The store: receive, reserve, issue, return. The ledger is append-only and the balance is its sum (invariant 4).

use super::part_fitted::take_off;
use super::part_shortage::{Locked, lock_for_giving_up, lock_lacking, serve, wait_for_parts};
use super::trail::Trail;
use super::{Result, Workshop, order_for, own_yard};
use crate::domain::ids::{MovementId, PartId, PartLineId, ReservationId, WorkOrderId, YardId};
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::{Refusal, Thing, optional_text, plain_text};
use crate::domain::store::faults::typed_amount;
use crate::domain::store::put_right::{MOST, StockFault};
use crate::domain::store::shortage::{self, after_issue};
use crate::domain::store::{Balance, Line, Movement, MovementKind, Quantity, give_back, issue, receive};
use crate::domain::trail::{TrailAct, subject_said};
use crate::storage::{MachineRow, NewMovement, OrderRow, PartRow, ReservationRow, Tx};

#[derive(Clone, Debug)]
pub struct NewPart {
    pub number: String,
    pub name: String,
    pub unit: String,
    /// Where it lies first.
    pub yard: YardId,
    pub bin: String,
}

/// What came of asking for a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reserved {
    pub reserved: Quantity,
    /// What was not there; the work order waits for it.
    pub lacking: Quantity,
}

pub async fn add_part(workshop: &Workshop, actor: &Actor, new: NewPart) -> Result<PartId> {
    actor.must(Act::ReceiveParts)?;
    let mut tx = workshop.db.begin().await?;
    let yard = own_yard(&mut tx, actor, new.yard).await?;
    let row = ready_part(workshop, &new, yard.name)?;
    insert_part(workshop, &mut tx, actor, &row).await?;
    tx.commit().await?;
    Ok(row.id)
}

/// What may be added: every field held to its rule.
pub(super) fn ready_part(workshop: &Workshop, new: &NewPart, yard_name: String) -> Result<PartRow, Refusal> {
    Ok(PartRow {
        id: workshop.ambient.id(),
        number: plain_text("/number", said!("what-part-number"), &new.number, 40)?,
        name: plain_text("/name", said!("what-name"), &new.name, 120)?,
        unit: plain_text("/unit", said!("what-part-unit"), &new.unit, 12)?,
        yard_id: new.yard,
        yard_name,
        bin: optional_text("/bin", said!("what-bin"), &new.bin, 40)?,
        on_hand: 0,
        reserved: 0,
        worth_minor: 0,
        level: None,
        on_order: 0,
        lacking: 0,
        expected_at: None,
        version: 1,
    })
}

/// Within a transaction.
pub(super) async fn insert_part(
    workshop: &Workshop,
    tx: &mut Tx,
    actor: &Actor,
    row: &PartRow,
) -> Result<()> {
    let now = workshop.ambient.now();
    tx.insert_part(row, now).await.map_err(|e| match e {
        crate::storage::StorageError::Duplicate(_) => {
            Refusal::conflict(said!("part-number-taken", number = row.number.clone())).into()
        }
        e => super::WorkflowError::from(e),
    })?;
    let mut trail = Trail::new(actor, now);
    trail.add(TrailAct::PartAdded, subject_of(row), "", row.name.clone(), "");
    trail.write(tx, &stream_of(row.id)).await
}

/// Goods in. `value` is what all of it cost together.
pub async fn receive_part(
    workshop: &Workshop,
    actor: &Actor,
    part: PartId,
    yard: YardId,
    quantity: &str,
    value: &str,
    note: &str,
) -> Result<()> {
    receive_part_once(workshop, actor, workshop.ambient.id(), part, yard, quantity, value, note).await
}

/// As [`receive_part`], under an id that the form carries: sent twice, it is received once. Serves the work orders that
/// lack the part, in the queue's order, and tells their mechanics.
#[expect(clippy::too_many_arguments, reason = "one argument a field of the form")]
pub async fn receive_part_once(
    workshop: &Workshop,
    actor: &Actor,
    id: MovementId,
    part: PartId,
    yard: YardId,
    quantity: &str,
    value: &str,
    note: &str,
) -> Result<()> {
    actor.must(Act::ReceiveParts)?;
    let quantity = Quantity::parse("/quantity", quantity)?;
    let value = typed_amount("/value", value, &workshop.currency)?.minor;
    let note = optional_text("/note", said!("what-note"), note, 300)?;
    again_when_changed!({
        let mut tx = workshop.db.begin().await?;
        receive_in(workshop, &mut tx, actor, id, part, yard, quantity, value, &note).await?;
        Ok(tx.commit().await?)
    })
}

/// Goods in, within a transaction. `value` in minor units.
#[expect(clippy::too_many_arguments, reason = "one argument a field of the form")]
pub(super) async fn receive_in(
    workshop: &Workshop,
    tx: &mut Tx,
    actor: &Actor,
    id: MovementId,
    part: PartId,
    yard: YardId,
    quantity: Quantity,
    value: i64,
    note: &str,
) -> Result<()> {
    let now = workshop.ambient.now();
    let yard = own_yard(tx, actor, yard).await?;
    let locked = lock_lacking(tx, part, yard.id).await?;
    let row = tx.part_for_change(part, yard.id).await?.ok_or(Refusal::NotFound(Thing::Part))?;
    if already(tx, id, &row, MovementKind::Receipt, quantity).await? {
        return Ok(());
    }
    let (bin, movement) = receive(row.balance(), quantity, value)?;
    tx.insert_movement(in_ledger(id, &row, movement, None, actor, now, note)).await?;
    came_in(tx, &row, quantity.0, now).await?;
    let mut trail = Trail::new(actor, now);
    trail.add(
        TrailAct::StockMoved,
        subject_of(&row),
        Quantity(row.on_hand),
        Quantity(bin.on_hand),
        movement.kind,
    );
    let bin = serve(workshop, tx, actor, &row, bin, &locked, now).await?;
    tx.save_balance(&row, bin).await?;
    trail.write(tx, &stream_of(row.id)).await?;
    tx.announce(yard.id);
    Ok(())
}

/// What is on its way is not on its way any more, the oldest first.
async fn came_in(
    tx: &mut Tx,
    part: &PartRow,
    quantity: i64,
    now: chrono::DateTime<chrono::Utc>,
) -> Result<()> {
    let mut left = quantity;
    for row in tx.on_order(part.id).await?.into_iter().filter(|o| o.yard_id == part.yard_id) {
        let of_it = left.min(row.quantity - row.came);
        if of_it > 0 {
            let came = row.came + of_it;
            tx.on_order_came(row.id, came, (came == row.quantity).then_some(now)).await?;
            left -= of_it;
        }
    }
    Ok(())
}

pub async fn reserve_part(
    workshop: &Workshop,
    actor: &Actor,
    order: WorkOrderId,
    part: PartId,
    quantity: &str,
) -> Result<Reserved> {
    reserve_part_once(workshop, actor, workshop.ambient.id(), order, part, quantity).await
}

/// Reserves what is there. The rest is lacking, and the order waits for it. Under an id that the client made: sent twice, it
/// is reserved once.
pub async fn reserve_part_once(
    workshop: &Workshop,
    actor: &Actor,
    id: ReservationId,
    order: WorkOrderId,
    part: PartId,
    quantity: &str,
) -> Result<Reserved> {
    again_when_changed!({
        let now = workshop.ambient.now();
        let mut tx = workshop.db.begin().await?;
        let OnOrder { order, machine, part, line_id, line, lacking } =
            on_order(&mut tx, actor, order, part).await?;
        let quantity = Quantity::parse("/quantity", quantity)?;
        if let Some(before) = tx.reservation(id).await? {
            if (before.work_order_id, before.part_id, before.quantity) != (order.id, part.id, quantity.0) {
                return Err(Refusal::conflict(said!("part-form-sent-before")).into());
            }
            let lacking = Quantity(before.quantity - before.reserved);
            return Ok(Reserved { reserved: Quantity(before.reserved), lacking });
        }
        let taken = shortage::reserve(part.balance(), line, quantity);
        if lacking + taken.short > MOST {
            return Err(StockFault::Absurd.refusal("/quantity").into());
        }
        tx.save_balance(&part, taken.bin).await?;
        tx.save_line(line_id.unwrap_or_else(|| workshop.ambient.id()), order.id, part.id, taken.line).await?;
        let row = ReservationRow {
            id,
            work_order_id: order.id,
            part_id: part.id,
            quantity: quantity.0,
            reserved: taken.reserved,
        };
        tx.insert_reservation(&row, actor.id, now).await?;
        if taken.short > 0 {
            tx.set_shortage(order.id, part.id, lacking + taken.short, now).await?;
            wait_for_parts(workshop, &mut tx, actor, &order, &machine, now).await?;
        }
        let mut trail = Trail::new(actor, now);
        trail.add(
            TrailAct::PartReserved,
            subject_of(&part),
            Quantity(part.reserved),
            Quantity(taken.bin.reserved),
            subject_said(&for_order(&order)),
        );
        trail.write(&mut tx, &stream_of(part.id)).await?;
        tx.announce(order.yard_id);
        tx.commit().await?;
        Ok(Reserved { reserved: Quantity(taken.reserved), lacking: Quantity(taken.short) })
    })
}

pub async fn issue_part(
    workshop: &Workshop,
    actor: &Actor,
    order: WorkOrderId,
    part: PartId,
    quantity: &str,
) -> Result<()> {
    move_part_once(workshop, actor, workshop.ambient.id(), order, part, quantity, false).await
}

pub async fn return_part(
    workshop: &Workshop,
    actor: &Actor,
    order: WorkOrderId,
    part: PartId,
    quantity: &str,
) -> Result<()> {
    move_part_once(workshop, actor, workshop.ambient.id(), order, part, quantity, true).await
}

/// Issues (or with `back` returns) under an id that the form carries: a double tap moves the part once. What comes back goes
/// to whoever lacks it, at once.
pub async fn move_part_once(
    workshop: &Workshop,
    actor: &Actor,
    id: MovementId,
    order: WorkOrderId,
    part: PartId,
    quantity: &str,
    back: bool,
) -> Result<()> {
    again_when_changed!({
        let now = workshop.ambient.now();
        let mut tx = workshop.db.begin().await?;
        let locked =
            if back { lock_for_giving_up(&mut tx, order, &[part]).await? } else { Locked::default() };
        let OnOrder { order, machine, part, line_id, line, lacking } =
            on_order(&mut tx, actor, order, part).await?;
        let quantity = Quantity::parse("/quantity", quantity)?;
        let kind = if back { MovementKind::Return } else { MovementKind::Issue };
        if already(&mut tx, id, &part, kind, quantity).await? {
            return Ok(());
        }
        let (bin, to, movement) = if back {
            give_back(part.balance(), line, quantity)?
        } else {
            issue(part.balance(), line, quantity)?
        };
        tx.save_line(line_id.unwrap_or_else(|| workshop.ambient.id()), order.id, part.id, to).await?;
        let note = subject_said(&for_order(&order)).kept();
        tx.insert_movement(in_ledger(id, &part, movement, Some(order.id), actor, now, &note)).await?;
        // What leaves the bin is what the order costs.
        tx.add_order_cost(order.id, -movement.value_minor).await?;
        if back {
            take_off(&mut tx, actor, &order, &machine, part.id, to.issued, now).await?;
            put_in(workshop, &mut tx, actor, &part, bin, &locked, now).await?;
        } else {
            tx.save_balance(&part, bin).await?;
            if lacking > 0 {
                let left = after_issue(lacking, quantity.0, line.reserved - to.reserved);
                tx.set_shortage(order.id, part.id, left, now).await?;
                wait_for_parts(workshop, &mut tx, actor, &order, &machine, now).await?;
            }
        }
        let mut trail = Trail::new(actor, now);
        let (before, after) = (Quantity(part.on_hand), Quantity(bin.on_hand));
        trail.add(TrailAct::StockMoved, subject_of(&part), before, after, movement.kind);
        trail.write(&mut tx, &stream_of(part.id)).await?;
        tx.announce(order.yard_id);
        Ok(tx.commit().await?)
    })
}

/// Whether this very movement is in the ledger. Another one under the same id is refused, never overlooked.
pub(super) async fn already(
    tx: &mut Tx,
    id: MovementId,
    part: &PartRow,
    kind: MovementKind,
    quantity: Quantity,
) -> Result<bool> {
    match tx.movement(id).await? {
        None => Ok(false),
        Some((of, yard, was, moved))
            if (of, yard, was) == (part.id, part.yard_id, kind) && moved.abs() == quantity.0 =>
        {
            Ok(true)
        }
        Some(_) => Err(Refusal::conflict(said!("part-form-sent-before")).into()),
    }
}

pub(super) fn in_ledger(
    id: MovementId,
    part: &PartRow,
    movement: Movement,
    order: Option<WorkOrderId>,
    actor: &Actor,
    at: chrono::DateTime<chrono::Utc>,
    note: &str,
) -> NewMovement {
    NewMovement {
        id,
        part: part.id,
        yard: part.yard_id,
        movement,
        order,
        other_yard: None,
        reason: None,
        by: actor.id,
        at,
        note: note.to_owned(),
    }
}

pub(super) fn subject_of(part: &PartRow) -> String {
    format!("part {}", part.number)
}

/// The chain of a part is of the whole business.
pub(super) fn stream_of(part: PartId) -> String {
    format!("part {part}")
}

fn for_order(order: &OrderRow) -> String {
    format!("work order {}", order.number)
}

struct OnOrder {
    order: OrderRow,
    machine: MachineRow,
    part: PartRow,
    line_id: Option<PartLineId>,
    line: Line,
    lacking: i64,
}

/// The order (machine first, then part: always locked in this order), its yard's stock of the part, and the line between.
async fn on_order(tx: &mut Tx, actor: &Actor, order: WorkOrderId, part: PartId) -> Result<OnOrder> {
    let (order, machine) = order_for(tx, actor, order).await?;
    actor.must(Act::SeeStore)?;
    let state = order.state()?;
    if !state.is_taking() {
        return Err(Refusal::conflict(said!("order-takes-no-parts", state = state.word())).into());
    }
    let supervises = actor.may(Act::CancelWorkOrder);
    if !supervises && state.claimant() != Some(actor.id) {
        return Err(Refusal::conflict(said!("order-claim-for-parts")).into());
    }
    let part = tx.part_for_change(part, order.yard_id).await?.ok_or(Refusal::NotFound(Thing::Part))?;
    let (line_id, line, lacking) = match tx.line(order.id, part.id).await? {
        Some(l) => (Some(l.id), l.line(), l.lacking),
        None => (None, Line::default(), 0),
    };
    Ok(OnOrder { order, machine, part, line_id, line, lacking })
}

/// What a step that adds to a bin has in common: whoever lacks the part is served, and the rest is saved.
pub(super) async fn put_in(
    workshop: &Workshop,
    tx: &mut Tx,
    actor: &Actor,
    part: &PartRow,
    bin: Balance,
    locked: &Locked,
    now: chrono::DateTime<chrono::Utc>,
) -> Result<()> {
    let bin = serve(workshop, tx, actor, part, bin, locked, now).await?;
    Ok(tx.save_balance(part, bin).await?)
}
