//! What work orders lack: they wait with the part's expected date, are served in the queue's order when more is there, and
//! their mechanics are told.
//!
//! Locks are taken in one order everywhere: machines by their ids, then what the yards have of a part.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, Utc};

use super::look::queue::{candidate, demand_of};
use super::order_of_defect::order_subject;
use super::trail::Trail;
use super::{Result, Workshop, log_labour, tell, yard_of};
use crate::domain::alert::{ArrivedPart, Event};
use crate::domain::ids::{MachineId, PartId, PersonId, WorkOrderId, YardId};
use crate::domain::person::Actor;
use crate::domain::queue::order::rank;
use crate::domain::refusal::{Refusal, Thing};
use crate::domain::store::shortage::{self, Lacking};
use crate::domain::store::{Balance, Quantity};
use crate::domain::trail::TrailAct;
use crate::domain::work_order::{OrderCommand, Wait, WaitingFor, decide};
use crate::storage::{MachineRow, OrderRow, PartRow, ShortageRow, StorageError, Tx};

/// Work orders that lacked a part, their machines locked for this change.
#[derive(Debug, Default)]
pub struct Locked(BTreeMap<MachineId, MachineRow>);

/// Locks the machines of whoever lacks the part in this yard. Comes before the lock on the stock.
pub async fn lock_lacking(tx: &mut Tx, part: PartId, yard: YardId) -> Result<Locked> {
    let machines = tx.lacking_in(part, yard).await?.into_iter().map(|(machine, _)| machine).collect();
    lock_machines(tx, machines).await
}

pub async fn lock_machines(tx: &mut Tx, machines: BTreeSet<MachineId>) -> Result<Locked> {
    let mut locked = Locked::default();
    for id in machines {
        let machine = tx.machine_for_change(id).await?.ok_or(Refusal::NotFound(Thing::Machine))?;
        locked.0.insert(id, machine);
    }
    Ok(locked)
}

impl Locked {
    /// Somebody else came to it since it was looked: then all is done again from the start.
    pub fn machine(&self, id: MachineId) -> Result<&MachineRow> {
        Ok(self.0.get(&id).ok_or(StorageError::Changed)?)
    }
}

/// Shares what is free in the bin among those who lack it. Answers with the bin afterwards, which the caller saves.
pub async fn serve(
    workshop: &Workshop,
    tx: &mut Tx,
    actor: &Actor,
    part: &PartRow,
    bin: Balance,
    locked: &Locked,
    now: DateTime<Utc>,
) -> Result<Balance> {
    let lacking = tx.lacking_in(part.id, part.yard_id).await?;
    if lacking.is_empty() {
        return Ok(bin);
    }
    let mut machines = BTreeMap::new();
    for (machine, l) in &lacking {
        machines.insert(l.order, locked.machine(*machine)?.clone());
    }
    let lacking = in_the_queues_order(tx, lacking.into_iter().map(|(_, l)| l).collect(), part, now).await?;
    let (bin, served) = shortage::serve(bin, &lacking);
    for s in served {
        let order = tx.order(s.order).await?.ok_or(Refusal::NotFound(Thing::WorkOrder))?;
        let line = tx.line(s.order, part.id).await?;
        let (id, mut to) = match line {
            Some(l) => (l.id, l.line()),
            None => (workshop.ambient.id(), crate::domain::store::Line::default()),
        };
        to.reserved += s.reserved;
        tx.save_line(id, s.order, part.id, to).await?;
        tx.set_shortage(s.order, part.id, s.still, now).await?;
        let machine = &machines[&s.order];
        let all_there = wait_for_parts(workshop, tx, actor, &order, machine, now).await?;
        arrived(workshop, tx, actor, part, &order, machine, s.reserved, all_there, now).await?;
    }
    Ok(bin)
}

/// The order waits for what it lacks until the last of it is expected, or goes on when nothing is lacking. Answers whether
/// nothing is.
pub async fn wait_for_parts(
    workshop: &Workshop,
    tx: &mut Tx,
    actor: &Actor,
    order: &OrderRow,
    machine: &MachineRow,
    now: DateTime<Utc>,
) -> Result<bool> {
    let lacking = tx.shortages_of_order(order.id).await?;
    let state = order.state()?;
    let command = if lacking.is_empty() {
        OrderCommand::PartsCame
    } else {
        OrderCommand::LackParts(Wait {
            waiting_for: WaitingFor::Parts,
            until: last_expected(&lacking),
            note: lacking_in_words(&lacking),
        })
    };
    let act = if lacking.is_empty() { TrailAct::PartsCame } else { TrailAct::PartsLacking };
    let to = decide(&state, command, actor, &order.mechanic_name)?;
    if to != state {
        if !lacking.is_empty() {
            log_labour::stop_on_order(workshop, tx, order, now).await?;
        }
        tx.save_order_state(order, &to, now).await?;
        let mut trail = Trail::new(actor, now);
        trail.add(act, order_subject(order), state.word(), to.word(), lacking_in_words(&lacking));
        trail.write_for_machine(tx, machine.id).await?;
    }
    Ok(lacking.is_empty())
}

/// After a change of what is on its way: the dates of those who wait for it.
pub async fn renew_waits(
    workshop: &Workshop,
    tx: &mut Tx,
    actor: &Actor,
    part: PartId,
    yard: YardId,
    locked: &Locked,
    now: DateTime<Utc>,
) -> Result<()> {
    for (machine, lacking) in tx.lacking_in(part, yard).await? {
        let machine = locked.machine(machine)?;
        let Some(order) = tx.order(lacking.order).await? else { continue };
        // Whoever went on with something else is left to it.
        if matches!(order.state()?, crate::domain::work_order::OrderState::Waiting { .. }) {
            wait_for_parts(workshop, tx, actor, &order, machine, now).await?;
        }
    }
    Ok(())
}

/// Locks an order's machine and those of whoever lacks what the order may give up: what it has reserved, and the parts
/// given. Comes before all other locks; whoever is not allowed to change the order is refused afterwards.
pub async fn lock_for_giving_up(tx: &mut Tx, order: WorkOrderId, parts: &[PartId]) -> Result<Locked> {
    let Some(row) = tx.order(order).await? else { return Ok(Locked::default()) };
    let mut given_up: BTreeSet<PartId> = parts.iter().copied().collect();
    given_up.extend(tx.lines_of_order(order).await?.iter().filter(|l| l.reserved > 0).map(|l| l.part_id));
    let mut machines = BTreeSet::from([row.machine_id]);
    for part in given_up {
        machines.extend(tx.lacking_in(part, row.yard_id).await?.into_iter().map(|(machine, _)| machine));
    }
    lock_machines(tx, machines).await
}

/// What an order gave up goes to whoever lacks it, in the transaction in which it was given up: no order waits for what is
/// there. Comes after the order's own change.
pub async fn share_out(
    workshop: &Workshop,
    tx: &mut Tx,
    actor: &Actor,
    freed: &[(PartId, YardId)],
    locked: &Locked,
    now: DateTime<Utc>,
) -> Result<()> {
    for (part, yard) in freed {
        if tx.lacking_in(*part, *yard).await?.is_empty() {
            continue;
        }
        let row = tx.part_for_change(*part, *yard).await?.ok_or(Refusal::NotFound(Thing::Part))?;
        let bin = serve(workshop, tx, actor, &row, row.balance(), locked, now).await?;
        tx.save_balance(&row, bin).await?;
        tx.announce(*yard);
    }
    Ok(())
}

/// Whoever has the work order is told: nobody else waits for it.
#[expect(clippy::too_many_arguments, reason = "the whole of one transaction's circumstances")]
async fn arrived(
    workshop: &Workshop,
    tx: &mut Tx,
    actor: &Actor,
    part: &PartRow,
    order: &OrderRow,
    machine: &MachineRow,
    quantity: i64,
    all_there: bool,
    now: DateTime<Utc>,
) -> Result<()> {
    let Some(mechanic): Option<PersonId> = order.mechanic_id else { return Ok(()) };
    let yard = yard_of(tx, machine).await?;
    let event = Event::PartArrived {
        work_order: order.id,
        number: order.number,
        part: ArrivedPart {
            name: part.name.clone(),
            number: part.number.clone(),
            quantity: Quantity(quantity).to_string(),
            unit: part.unit.clone(),
            bin: part.bin.clone(),
        },
        all_there,
    };
    // One arrival of one part for one order: the stock's version counts its changes.
    let key = format!("part {} for {} at {}", part.id, order.id, part.version);
    tell::write(workshop, tx, actor, machine, &yard, &key, event, &[mechanic], now).await
}

/// When the last of them is expected.
pub fn last_expected(lacking: &[ShortageRow]) -> Option<DateTime<Utc>> {
    // One whose day nobody knows leaves no day for the whole.
    let days: Option<Vec<_>> = lacking.iter().map(|l| l.expected_at).collect();
    days?.into_iter().max()
}

/// What is lacking, each with how much of it.
pub fn lacking_in_words(lacking: &[ShortageRow]) -> String {
    lacking.iter().map(in_words).collect::<Vec<_>>().join("; ")
}

/// "Brake pad set (BP-1): 2": the same in every language.
fn in_words(l: &ShortageRow) -> String {
    let unit = if l.unit == "each" { String::new() } else { format!(" {}", l.unit) };
    format!("{} ({}): {}{unit}", l.name, l.number, Quantity(l.quantity))
}

async fn in_the_queues_order(
    tx: &mut Tx,
    lacking: Vec<Lacking>,
    part: &PartRow,
    now: DateTime<Utc>,
) -> Result<Vec<Lacking>> {
    let yard = tx.yard(part.yard_id).await?.ok_or(Refusal::NotFound(Thing::Yard))?;
    let demand = demand_of(tx, std::slice::from_ref(&yard)).await?;
    let mut candidates = Vec::new();
    for l in &lacking {
        candidates.extend(tx.placed_order(l.order).await?.as_ref().map(candidate));
    }
    let ranked = rank(candidates, &demand, now, |_, at| at.with_timezone(&yard.zone()).date_naive());
    let place = |order: WorkOrderId| ranked.iter().position(|r| r.candidate.order == order);
    let mut lacking = lacking;
    lacking.sort_by_key(|l| place(l.order).unwrap_or(usize::MAX));
    Ok(lacking)
}
