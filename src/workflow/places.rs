//! What places a work order in the queue beside its defects: the working time that is left, and a supervisor's pin.

use std::sync::Arc;

use chrono::{DateTime, TimeDelta, Utc};

use super::order_of_defect::order_subject;
use super::trail::Trail;
use super::{Result, Workshop, lock, order_for};
use crate::domain::forecast::times::{PastRepair, Times};
use crate::domain::ids::{MachineId, WorkOrderId};
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::Refusal;
use crate::domain::trail::{TrailAct, TrailState};
use crate::storage::Tx;

/// So many ended work orders are learned from, the newest: machines and hands change.
const LEARN_FROM: i64 = 5_000;
const LEARN_AGAIN_AFTER: TimeDelta = TimeDelta::hours(1);

/// A supervisor's word: this one first, behind what is pinned already. Pinning twice changes nothing.
pub async fn pin_order(workshop: &Workshop, actor: &Actor, id: WorkOrderId) -> Result<()> {
    pin(workshop, actor, id, true).await
}

pub async fn unpin_order(workshop: &Workshop, actor: &Actor, id: WorkOrderId) -> Result<()> {
    pin(workshop, actor, id, false).await
}

async fn pin(workshop: &Workshop, actor: &Actor, id: WorkOrderId, pinned: bool) -> Result<()> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let (order, machine) = order_for(&mut tx, actor, id).await?;
    actor.must(Act::PinWorkOrder)?;
    if !order.state()?.is_taking() {
        return Err(Refusal::conflict(said!("order-has-ended", state = order.word())).into());
    }
    if order.pin_rank.is_some() == pinned {
        return Ok(());
    }
    let rank = if pinned { Some(tx.last_pin(order.yard_id).await? + 1) } else { None };
    tx.pin_order(id, rank, actor.id, now).await?;
    let mut trail = Trail::new(actor, now);
    let (act, after) = if pinned {
        (TrailAct::OrderPinned, TrailState::Set)
    } else {
        (TrailAct::OrderUnpinned, TrailState::Ungiven)
    };
    trail.add(act, order_subject(&order), "", after, "");
    trail.write_for_machine(&mut tx, machine.id).await?;
    tx.announce(order.yard_id);
    Ok(tx.commit().await?)
}

impl Workshop {
    /// How long repairs take, as learned from those that are done.
    pub(super) async fn repair_times(&self, tx: &mut Tx, now: DateTime<Utc>) -> Result<Arc<Times>> {
        if let Some((at, times)) = &*lock(&self.repair_times)
            && (now - *at).abs() < LEARN_AGAIN_AFTER
        {
            return Ok(times.clone());
        }
        let times = Arc::new(Times::learn(&past_repairs(tx).await?));
        *lock(&self.repair_times) = Some((now, times.clone()));
        Ok(times)
    }

    /// Says anew how much work is left on each open order of the machine.
    pub(super) async fn expect_work(
        &self,
        tx: &mut Tx,
        machine: MachineId,
        now: DateTime<Utc>,
    ) -> Result<()> {
        let times = self.repair_times(tx, now).await?;
        for order in tx.open_orders_of(machine).await? {
            let class = tx.class_of(machine).await?;
            let time = times.of(&class, &tx.chief_item(order.id).await?);
            let worked = tx.seconds_worked(order.id, now).await?;
            tx.set_remaining(order.id, minutes_left(&time, worked)).await?;
        }
        Ok(())
    }
}

/// At least a quarter of an hour, as the queue counts it.
pub(super) fn minutes_left(time: &crate::domain::forecast::times::RepairTime, worked_seconds: i64) -> i64 {
    #[expect(clippy::cast_precision_loss, reason = "seconds of work on one order")]
    let done = worked_seconds as f64 / 3600.0;
    #[expect(clippy::cast_possible_truncation, reason = "held to a thousand hours")]
    let minutes = (time.expected_left(done).min(1000.0) * 60.0) as i64;
    minutes.max(15)
}

async fn past_repairs(tx: &mut Tx) -> Result<Vec<PastRepair>> {
    let mut repairs: Vec<(WorkOrderId, PastRepair)> = Vec::new();
    for row in tx.past_labour(LEARN_FROM).await? {
        let hours = (row.ended_at - row.started_at).as_seconds_f64() / 3600.0;
        match repairs.last_mut() {
            Some((order, repair)) if *order == row.id => repair.hours += hours,
            _ => repairs.push((row.id, PastRepair { class: row.class, item: row.item, hours })),
        }
    }
    Ok(repairs.into_iter().map(|(_, repair)| repair).collect())
}
