//! When the bin and the books differ: adjustments with a reason, stock-takes, stock that goes from yard to yard, and where a
//! part lies.

use std::collections::BTreeSet;

use super::part_shortage::{Locked, lock_lacking, lock_machines, serve, wait_for_parts};
use super::part_store::{already, in_ledger, put_in, stream_of, subject_of};
use super::trail::Trail;
use super::{Result, Workshop, own_yard};
use crate::domain::ids::{CountId, MovementId, PartId, WorkOrderId, YardId};
use crate::domain::money;
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::{Problem, Refusal, Thing, optional_text};
use crate::domain::store::put_right::{AdjustmentReason, StockTake, Transferred, adjust, count, transfer};
use crate::domain::store::{MovementKind, Quantity};
use crate::domain::trail::TrailAct;
use crate::storage::{NewMovement, PartRow, Tx};

/// What somebody puts right by hand.
pub struct Adjustment<'a> {
    /// The form's: sent twice, it is done once.
    pub id: MovementId,
    pub part: PartId,
    pub yard: YardId,
    /// "2" adds, "-0.35" takes away.
    pub change: &'a str,
    pub reason: Option<AdjustmentReason>,
    pub note: &'a str,
}

/// One line of a stock-take: what the books said when the sheet was made, and what lay there.
pub struct Counted {
    pub part: PartId,
    pub booked: String,
    pub counted: String,
}

pub async fn adjust_stock(workshop: &Workshop, actor: &Actor, asked: Adjustment<'_>) -> Result<()> {
    actor.must(Act::ReceiveParts)?;
    let change = signed("/change", asked.change)?;
    let reason = asked.reason.ok_or_else(|| Refusal::invalid("/reason", said!("stock-give-a-reason")))?;
    let note = optional_text("/note", said!("what-note"), asked.note, 300)?;
    again_when_changed!({
        let now = workshop.ambient.now();
        let mut tx = workshop.db.begin().await?;
        let yard = own_yard(&mut tx, actor, asked.yard).await?;
        let locked = lock_lacking(&mut tx, asked.part, yard.id).await?;
        let row = part_for(&mut tx, asked.part, yard.id).await?;
        if already(&mut tx, asked.id, &row, MovementKind::Adjustment, Quantity(change.abs())).await? {
            return Ok(());
        }
        let last_cost = tx.last_cost(row.id).await?;
        let (bin, movement) = adjust(row.balance(), change, last_cost).map_err(|f| f.refusal("/change"))?;
        let line = in_ledger(asked.id, &row, movement, None, actor, now, &note);
        tx.insert_movement(NewMovement { reason: Some(reason), ..line }).await?;
        put_in(workshop, &mut tx, actor, &row, bin, &locked, now).await?;
        let mut trail = Trail::new(actor, now);
        let (before, after) = (Quantity(row.on_hand), Quantity(bin.on_hand));
        trail.add(TrailAct::StockMoved, subject_of(&row), before, after, reason);
        trail.write(&mut tx, &stream_of(row.id)).await?;
        tx.announce(yard.id);
        Ok(tx.commit().await?)
    })
}

/// What lay in the bins of a yard. All of a sheet is taken, or nothing, with a sentence for each line that is not right.
/// Where less is there than was reserved, the newest work orders go short and wait.
pub async fn count_stock(
    workshop: &Workshop,
    actor: &Actor,
    sheet: CountId,
    yard: YardId,
    lines: &[Counted],
) -> Result<usize> {
    actor.must(Act::ReceiveParts)?;
    let mut problems = Vec::new();
    let mut read: Vec<(PartId, i64, i64)> = Vec::new();
    for line in lines.iter().filter(|l| !l.counted.trim().is_empty()) {
        let pointer = format!("/counted/{}", line.part);
        match (money::scaled(&line.booked, 3), money::scaled(&line.counted, 3)) {
            (Some(booked), Some(counted)) => read.push((line.part, booked, counted)),
            (_, _) => problems.push(Problem::new(pointer, said!("stock-counted-unclear"))),
        }
    }
    if !problems.is_empty() {
        return Err(Refusal::Invalid { problems }.into());
    }
    if read.is_empty() {
        return Err(Refusal::invalid("/counted", said!("stock-count-something")).into());
    }
    read.sort_by_key(|(part, ..)| *part);
    again_when_changed!({ take_stock(workshop, actor, sheet, yard, &read).await })
}

async fn take_stock(
    workshop: &Workshop,
    actor: &Actor,
    sheet: CountId,
    yard: YardId,
    lines: &[(PartId, i64, i64)],
) -> Result<usize> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let yard = own_yard(&mut tx, actor, yard).await?;
    // Of everybody who might be served, or go short.
    let mut machines = BTreeSet::new();
    for (part, ..) in lines {
        machines.extend(tx.lacking_in(*part, yard.id).await?.into_iter().map(|(machine, _)| machine));
        for held in tx.reservations_on(*part, yard.id).await? {
            machines.extend(tx.order(held.order).await?.map(|o| o.machine_id));
        }
    }
    let locked = lock_machines(&mut tx, machines).await?;
    let mut problems = Vec::new();
    let mut done = 0;
    for (part, booked, counted) in lines {
        let row = part_for(&mut tx, *part, yard.id).await?;
        match tx.counted(sheet, row.id).await? {
            Some(before) if before == *counted => continue,
            Some(_) => return Err(Refusal::conflict(said!("part-form-sent-before")).into()),
            None => {}
        }
        let reserved = tx.reservations_on(row.id, yard.id).await?;
        let last_cost = tx.last_cost(row.id).await?;
        let taken = match count(row.balance(), *counted, *booked, &reserved, last_cost) {
            Ok(taken) => taken,
            Err(fault) => {
                let Refusal::Invalid { problems: of_it } = fault.refusal(&format!("/counted/{part}")) else {
                    continue;
                };
                problems.extend(of_it);
                continue;
            }
        };
        let StockTake { bin, movement, short } = taken;
        for s in &short {
            go_short(workshop, &mut tx, actor, &locked, s.order, &row, s.quantity, now).await?;
        }
        if let Some(movement) = movement {
            let line = in_ledger(workshop.ambient.id(), &row, movement, None, actor, now, "");
            tx.insert_movement(NewMovement { reason: Some(AdjustmentReason::Counted), ..line }).await?;
        }
        tx.insert_count(sheet, row.id, yard.id, *booked, *counted, actor.id, now).await?;
        let bin = if short.is_empty() {
            serve(workshop, &mut tx, actor, &row, bin, &locked, now).await?
        } else {
            bin
        };
        tx.save_balance(&row, bin).await?;
        let mut trail = Trail::new(actor, now);
        let (before, after) = (Quantity(row.on_hand), Quantity(bin.on_hand));
        trail.add(TrailAct::StockCounted, subject_of(&row), before, after, yard.name.clone());
        trail.write(&mut tx, &stream_of(row.id)).await?;
        done += 1;
    }
    if !problems.is_empty() {
        return Err(Refusal::Invalid { problems }.into());
    }
    tx.announce(yard.id);
    tx.commit().await?;
    Ok(done)
}

/// A reservation that nothing lies behind: the order lacks it, and waits.
#[expect(clippy::too_many_arguments, reason = "the whole of one transaction's circumstances")]
async fn go_short(
    workshop: &Workshop,
    tx: &mut Tx,
    actor: &Actor,
    locked: &Locked,
    order: WorkOrderId,
    part: &PartRow,
    quantity: i64,
    now: chrono::DateTime<chrono::Utc>,
) -> Result<()> {
    let (Some(order), Some(line)) = (tx.order(order).await?, tx.line(order, part.id).await?) else {
        return Err(Refusal::NotFound(Thing::WorkOrder).into());
    };
    let machine = locked.machine(order.machine_id)?;
    let mut to = line.line();
    to.reserved -= quantity;
    tx.save_line(line.id, order.id, part.id, to).await?;
    tx.set_shortage(order.id, part.id, line.lacking + quantity, now).await?;
    wait_for_parts(workshop, tx, actor, &order, machine, now).await?;
    Ok(())
}

/// From one yard's bin to another's, at what it is worth.
pub async fn transfer_stock(
    workshop: &Workshop,
    actor: &Actor,
    id: MovementId,
    part: PartId,
    (from, to): (YardId, YardId),
    quantity: &str,
    note: &str,
) -> Result<()> {
    actor.must(Act::ReceiveParts)?;
    let quantity = Quantity::parse("/quantity", quantity)?;
    let note = optional_text("/note", said!("what-note"), note, 300)?;
    if from == to {
        return Err(Refusal::invalid("/to", said!("stock-another-yard")).into());
    }
    again_when_changed!({
        let now = workshop.ambient.now();
        let mut tx = workshop.db.begin().await?;
        let (from, to) = (own_yard(&mut tx, actor, from).await?, own_yard(&mut tx, actor, to).await?);
        let locked = lock_lacking(&mut tx, part, to.id).await?;
        // Two that send to one another at once lock in the same order.
        let first = part_for(&mut tx, part, from.id.min(to.id)).await?;
        let second = part_for(&mut tx, part, from.id.max(to.id)).await?;
        let (giving, taking) = if first.yard_id == from.id { (first, second) } else { (second, first) };
        if already(&mut tx, id, &giving, MovementKind::Transfer, quantity).await? {
            return Ok(());
        }
        let Transferred { from: (out_bin, out), to: (in_bin, into) } =
            transfer(giving.balance(), taking.balance(), quantity).map_err(|f| f.refusal("/quantity"))?;
        let line = in_ledger(id, &giving, out, None, actor, now, &note);
        tx.insert_movement(NewMovement { other_yard: Some(to.id), ..line }).await?;
        let line = in_ledger(workshop.ambient.id(), &taking, into, None, actor, now, &note);
        tx.insert_movement(NewMovement { other_yard: Some(from.id), ..line }).await?;
        tx.save_balance(&giving, out_bin).await?;
        put_in(workshop, &mut tx, actor, &taking, in_bin, &locked, now).await?;
        let mut trail = Trail::new(actor, now);
        let moved = format!("{} {} → {}", Quantity(quantity.0), from.name, to.name);
        trail.add(
            TrailAct::StockMoved,
            subject_of(&giving),
            Quantity(giving.on_hand),
            Quantity(out_bin.on_hand),
            moved,
        );
        trail.write(&mut tx, &stream_of(part)).await?;
        tx.announce(from.id);
        tx.announce(to.id);
        Ok(tx.commit().await?)
    })
}

/// Where a part lies in a yard, and at which quantity more is ordered; no level where the text is empty.
pub async fn place_part(
    workshop: &Workshop,
    actor: &Actor,
    part: PartId,
    yard: YardId,
    bin: &str,
    level: &str,
) -> Result<()> {
    actor.must(Act::ReceiveParts)?;
    let bin = optional_text("/bin", said!("what-bin"), bin, 40)?;
    let level = match level.trim() {
        "" => None,
        text => Some(
            money::scaled(text, 3)
                .filter(|q| *q <= crate::domain::store::put_right::MOST)
                .ok_or_else(|| Refusal::invalid("/level", said!("stock-level-unclear")))?,
        ),
    };
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let yard = own_yard(&mut tx, actor, yard).await?;
    let row = part_for(&mut tx, part, yard.id).await?;
    tx.set_bin_and_level(row.id, yard.id, &bin, level).await?;
    let words = |bin: &str, level: Option<i64>| {
        format!("{bin}; {}", level.map_or_else(|| "–".to_owned(), |l| Quantity(l).to_string()))
    };
    let mut trail = Trail::new(actor, now);
    trail.add(
        TrailAct::PartPlaced,
        subject_of(&row),
        words(&row.bin, row.level),
        words(&bin, level),
        yard.name.clone(),
    );
    trail.write(&mut tx, &stream_of(row.id)).await?;
    Ok(tx.commit().await?)
}

pub(super) async fn part_for(tx: &mut Tx, part: PartId, yard: YardId) -> Result<PartRow> {
    Ok(tx.part_for_change(part, yard).await?.ok_or(Refusal::NotFound(Thing::Part))?)
}

/// "2", "+2", "-0.35" or "−0.35" in thousandths.
fn signed(pointer: &str, text: &str) -> Result<i64> {
    let text = text.trim();
    let (sign, figure) = match text.strip_prefix(['-', '−']) {
        Some(figure) => (-1, figure),
        None => (1, text.strip_prefix('+').unwrap_or(text)),
    };
    let quantity = money::scaled(figure, 3);
    let quantity = quantity.ok_or_else(|| Refusal::invalid(pointer, said!("stock-change-unclear")))?;
    Ok(sign * quantity)
}
