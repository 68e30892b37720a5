//! The store: receive, reserve, issue, return. The ledger is append-only and the balance is its sum (invariant 4).

use chrono::{DateTime, Utc};

use super::trail::Trail;
use super::{Result, Workshop, order_for};
use crate::domain::ids::{MovementId, PartId, WorkOrderId};
use crate::domain::money;
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::{Refusal, Thing, optional_text, plain_text};
use crate::domain::store::{Balance, Line, Movement, Quantity, give_back, issue, receive, reserve};
use crate::domain::trail::{TrailAct, TrailState, subject_said};
use crate::storage::{OrderRow, PartRow, Tx};
use crate::words::Text;

#[derive(Clone, Debug)]
pub struct NewPart {
    pub number: String,
    pub name: String,
    pub unit: String,
    pub bin: String,
}

pub async fn add_part(workshop: &Workshop, actor: &Actor, new: NewPart) -> Result<PartId> {
    actor.must(Act::ReceiveParts)?;
    let now = workshop.ambient.now();
    let row = PartRow {
        id: workshop.ambient.id(),
        number: plain_text("/number", said!("what-part-number"), &new.number, 40)?,
        name: plain_text("/name", said!("what-name"), &new.name, 120)?,
        unit: plain_text("/unit", said!("what-part-unit"), &new.unit, 12)?,
        bin: optional_text("/bin", said!("what-bin"), &new.bin, 40)?,
        on_hand: 0,
        reserved: 0,
        worth_minor: 0,
        expected_at: None,
        version: 1,
    };
    let mut tx = workshop.db.begin().await?;
    tx.insert_part(&row, now).await.map_err(|e| match e {
        crate::storage::StorageError::Duplicate(_) => {
            Refusal::conflict(said!("part-number-taken", number = row.number)).into()
        }
        e => super::WorkflowError::from(e),
    })?;
    let mut trail = Trail::new(actor, now);
    trail.add(TrailAct::PartAdded, format!("part {}", row.number), "", row.name.clone(), "");
    trail.write(&mut tx, &format!("part {}", row.id)).await?;
    tx.commit().await?;
    Ok(row.id)
}

/// Goods in. `value` is what all of it cost together.
pub async fn receive_part(
    workshop: &Workshop,
    actor: &Actor,
    part: PartId,
    quantity: &str,
    value: &str,
    note: &str,
) -> Result<()> {
    receive_part_once(workshop, actor, workshop.ambient.id(), part, quantity, value, note).await
}

/// As [`receive_part`], under an id that the form carries: sent twice, it is received once.
pub async fn receive_part_once(
    workshop: &Workshop,
    actor: &Actor,
    id: MovementId,
    part: PartId,
    quantity: &str,
    value: &str,
    note: &str,
) -> Result<()> {
    actor.must(Act::ReceiveParts)?;
    let now = workshop.ambient.now();
    let quantity = Quantity::parse("/quantity", quantity)?;
    let value = money::parse(value).ok_or_else(|| Refusal::invalid("/value", said!("part-cost-in-all")))?;
    let note = optional_text("/note", said!("what-note"), note, 300)?;
    let mut tx = workshop.db.begin().await?;
    let part = tx.part_for_change(part).await?.ok_or(Refusal::NotFound(Thing::Part))?;
    if already(&mut tx, id, part.id, quantity).await? {
        return Ok(());
    }
    let (bin, movement) = receive(part.balance(), quantity, value)?;
    tx.save_balance(&part, bin).await?;
    tx.set_part_expected(part.id, None).await?;
    tx.insert_movement(id, part.id, movement, None, actor.id, now, &note).await?;
    finish(tx, actor, &part, bin, movement, now).await
}

/// When the next delivery is expected; shown to whoever waits for the part.
pub async fn expect_part(
    workshop: &Workshop,
    actor: &Actor,
    part: PartId,
    at: Option<DateTime<Utc>>,
) -> Result<()> {
    actor.must(Act::ReceiveParts)?;
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let part = tx.part_for_change(part).await?.ok_or(Refusal::NotFound(Thing::Part))?;
    tx.set_part_expected(part.id, at).await?;
    let mut trail = Trail::new(actor, now);
    let words = |at: Option<DateTime<Utc>>| {
        at.map_or_else(|| Text::of(&TrailState::NoDate), |at| Text::typed(at.to_rfc3339()))
    };
    trail.add(
        TrailAct::PartExpected,
        format!("part {}", part.number),
        words(part.expected_at),
        words(at),
        "",
    );
    trail.write(&mut tx, &format!("part {}", part.id)).await?;
    tx.commit().await?;
    Ok(())
}

pub async fn reserve_part(
    workshop: &Workshop,
    actor: &Actor,
    order: WorkOrderId,
    part: PartId,
    quantity: &str,
) -> Result<()> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let (order, part, line) = on_order(&mut tx, actor, order, part).await?;
    let quantity = Quantity::parse("/quantity", quantity)?;
    let (bin, to) = reserve(part.balance(), line.1, quantity)?;
    tx.save_balance(&part, bin).await?;
    tx.save_line(line.0.unwrap_or_else(|| workshop.ambient.id()), order.id, part.id, to).await?;
    let mut trail = Trail::new(actor, now);

    trail.add(
        TrailAct::PartReserved,
        format!("part {}", part.number),
        Quantity(part.reserved),
        Quantity(bin.reserved),
        subject_said(&for_order(&order)),
    );
    trail.write(&mut tx, &format!("part {}", part.id)).await?;
    tx.announce(order.yard_id);
    tx.commit().await?;
    Ok(())
}

pub async fn issue_part(
    workshop: &Workshop,
    actor: &Actor,
    order: WorkOrderId,
    part: PartId,
    quantity: &str,
) -> Result<()> {
    move_part(workshop, actor, workshop.ambient.id(), order, part, quantity, issue).await
}

pub async fn return_part(
    workshop: &Workshop,
    actor: &Actor,
    order: WorkOrderId,
    part: PartId,
    quantity: &str,
) -> Result<()> {
    move_part(workshop, actor, workshop.ambient.id(), order, part, quantity, give_back).await
}

/// Issues (or with `back` returns) under an id that the form carries: a double tap moves the part once.
pub async fn move_part_once(
    workshop: &Workshop,
    actor: &Actor,
    id: MovementId,
    order: WorkOrderId,
    part: PartId,
    quantity: &str,
    back: bool,
) -> Result<()> {
    let step: Step = if back { give_back } else { issue };
    move_part(workshop, actor, id, order, part, quantity, step).await
}

type Step = fn(Balance, Line, Quantity) -> Result<(Balance, Line, Movement), Refusal>;

async fn move_part(
    workshop: &Workshop,
    actor: &Actor,
    id: MovementId,
    order: WorkOrderId,
    part: PartId,
    quantity: &str,
    step: Step,
) -> Result<()> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let (order, part, line) = on_order(&mut tx, actor, order, part).await?;
    let quantity = Quantity::parse("/quantity", quantity)?;
    if already(&mut tx, id, part.id, quantity).await? {
        return Ok(());
    }
    let (bin, to, movement) = step(part.balance(), line.1, quantity)?;
    tx.save_balance(&part, bin).await?;
    tx.save_line(line.0.unwrap_or_else(|| workshop.ambient.id()), order.id, part.id, to).await?;
    let note = subject_said(&for_order(&order)).kept();
    tx.insert_movement(id, part.id, movement, Some(order.id), actor.id, now, &note).await?;
    // What leaves the bin is what the order costs.
    tx.add_order_cost(order.id, -movement.value_minor).await?;
    tx.announce(order.yard_id);
    finish(tx, actor, &part, bin, movement, now).await
}

/// Whether this very movement is in the ledger. Another one under the same id is refused, never overlooked.
async fn already(tx: &mut Tx, id: MovementId, part: PartId, quantity: Quantity) -> Result<bool> {
    match tx.movement(id).await? {
        None => Ok(false),
        Some((of, moved)) if of == part && moved.abs() == quantity.0 => Ok(true),
        Some(_) => Err(Refusal::conflict(said!("part-form-sent-before")).into()),
    }
}

fn for_order(order: &OrderRow) -> String {
    format!("work order {}", order.number)
}

/// The order (machine first, then part: always locked in this order), the part, and the line between them.
async fn on_order(
    tx: &mut Tx,
    actor: &Actor,
    order: WorkOrderId,
    part: PartId,
) -> Result<(OrderRow, PartRow, (Option<crate::domain::ids::PartLineId>, Line))> {
    let (order, _) = order_for(tx, actor, order).await?;
    actor.must(Act::SeeStore)?;
    let state = order.state()?;
    if !state.is_taking() {
        return Err(Refusal::conflict(said!("order-takes-no-parts", state = state.word())).into());
    }
    let supervises = actor.may(Act::CancelWorkOrder);
    if !supervises && state.claimant() != Some(actor.id) {
        return Err(Refusal::conflict(said!("order-claim-for-parts")).into());
    }
    let part = tx.part_for_change(part).await?.ok_or(Refusal::NotFound(Thing::Part))?;
    let line = match tx.line(order.id, part.id).await? {
        Some(l) => (Some(l.id), l.line()),
        None => (None, Line::default()),
    };
    Ok((order, part, line))
}

async fn finish(
    mut tx: Tx,
    actor: &Actor,
    part: &PartRow,
    bin: Balance,
    movement: Movement,
    now: DateTime<Utc>,
) -> Result<()> {
    let mut trail = Trail::new(actor, now);
    trail.add(
        TrailAct::StockMoved,
        format!("part {}", part.number),
        Quantity(part.on_hand),
        Quantity(bin.on_hand),
        movement.kind,
    );
    trail.write(&mut tx, &format!("part {}", part.id)).await?;
    tx.commit().await?;
    Ok(())
}
