//! Work orders and the queue they form.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{MachineRow, Result, StorageError, Tx, guarded};
use crate::domain::ids::{MachineId, PersonId, WorkOrderId, YardId};
use crate::domain::work_order::{OrderState, OrderWord, Wait, WaitingFor};
use crate::words::Text;

#[derive(Clone, Debug, FromRow)]
pub struct OrderRow {
    pub id: WorkOrderId,
    pub number: i64,
    pub machine_id: MachineId,
    pub yard_id: YardId,
    state: OrderWord,
    pub mechanic_id: Option<PersonId>,
    /// Empty while nobody has it.
    pub mechanic_name: String,
    waiting_for: Option<WaitingFor>,
    waiting_until: Option<DateTime<Utc>>,
    waiting_note: Option<String>,
    cancel_reason: Option<String>,
    pub cost_minor: i64,
    pub opened_at: DateTime<Utc>,
    pub done_at: Option<DateTime<Utc>>,
    pub closed_at: Option<DateTime<Utc>>,
    pub version: i64,
    /// Split off from another order of the machine.
    pub side: bool,
    pub pin_rank: Option<i64>,
}

impl OrderRow {
    pub fn state(&self) -> Result<OrderState> {
        let by = || {
            self.mechanic_id.ok_or_else(|| {
                StorageError::Unreadable(format!("work order {} has no mechanic", self.number))
            })
        };
        Ok(match self.state {
            OrderWord::Queued => OrderState::Queued,
            OrderWord::Claimed => OrderState::Claimed { by: by()? },
            OrderWord::InWork => OrderState::InWork { by: by()? },
            OrderWord::Waiting => OrderState::Waiting {
                by: by()?,
                wait: Wait {
                    waiting_for: self.waiting_for.ok_or_else(|| {
                        StorageError::Unreadable(format!("work order {} waits for nothing", self.number))
                    })?,
                    until: self.waiting_until,
                    note: self.waiting_note.clone().unwrap_or_default(),
                },
            },
            OrderWord::WorkDone => OrderState::WorkDone { by: by()? },
            OrderWord::Closed => OrderState::Closed,
            OrderWord::Cancelled => {
                let reason = self.cancel_reason.clone().unwrap_or_default();
                OrderState::Cancelled { reason: Text::from_kept(&reason) }
            }
        })
    }

    pub const fn word(&self) -> OrderWord {
        self.state
    }
}

/// A work order as the queue shows it.
#[derive(Clone, Debug, FromRow)]
pub struct QueueRow {
    pub id: WorkOrderId,
    pub number: i64,
    pub machine_id: MachineId,
    pub yard_id: YardId,
    pub yard_name: String,
    pub zone: String,
    pub unit_number: String,
    pub class: String,
    pub state: OrderWord,
    pub mechanic_id: Option<PersonId>,
    pub mechanic_name: String,
    pub waiting_for: Option<WaitingFor>,
    pub waiting_until: Option<DateTime<Utc>>,
    pub waiting_note: Option<String>,
    pub cost_minor: i64,
    pub opened_at: DateTime<Utc>,
    /// How many of its open defects keep the machine out of service.
    pub held_defects: i64,
    pub defects: i64,
    /// The oldest of its defects, in plain words.
    pub first_what: Text,
    pub good_until_at: Option<DateTime<Utc>>,
    /// Of the supervisor who pinned it; empty when nobody did.
    pub pinned_by_name: String,
    /// When it is foreseen to be back, as last reckoned.
    pub likely_by: Option<DateTime<Utc>>,
    pub almost_surely_by: Option<DateTime<Utc>>,
    /// What drives that, or why nothing is foreseen (JSON); empty when not reckoned yet.
    pub foreseen: String,
    /// Who has it for repair outside; empty when it is not away.
    pub away_with: String,
    pub away_until: Option<DateTime<Utc>>,
}

macro_rules! order {
    ($condition:literal) => {
        concat!(
            "SELECT w.id, w.number, w.machine_id, w.yard_id, w.state, w.mechanic_id, COALESCE(p.name, '') AS mechanic_name,
                w.waiting_for, w.waiting_until, w.waiting_note, w.cancel_reason, w.cost_minor, w.opened_at, w.done_at,
                w.closed_at, w.version, w.side, w.pin_rank
             FROM work_order w LEFT JOIN person p ON p.id = w.mechanic_id ",
            $condition
        )
    };
}

macro_rules! queue {
    ($condition:literal) => {
        concat!(
            "SELECT w.id, w.number, w.machine_id, w.yard_id, y.name AS yard_name, y.zone, m.unit_number, m.class, w.state,
                w.mechanic_id, COALESCE(p.name, '') AS mechanic_name, w.waiting_for, w.waiting_until, w.waiting_note,
                w.cost_minor, w.opened_at,
                (SELECT COUNT(*) FROM defect d WHERE d.work_order_id = w.id AND d.closed_at IS NULL
                    AND d.severity = 'out of service') AS held_defects,
                (SELECT COUNT(*) FROM defect d WHERE d.work_order_id = w.id) AS defects,
                COALESCE((SELECT d.what FROM defect d WHERE d.work_order_id = w.id
                    ORDER BY d.severity DESC, d.raised_at LIMIT 1), '') AS first_what,
                (SELECT MIN(d.good_until_at) FROM defect d WHERE d.work_order_id = w.id
                    AND d.closed_at IS NULL) AS good_until_at,
                COALESCE(b.name, '') AS pinned_by_name, f.likely_by, f.almost_surely_by, COALESCE(f.said, '') AS foreseen,
                COALESCE(o.vendor, '') AS away_with, o.promised_at AS away_until
             FROM work_order w JOIN machine m ON m.id = w.machine_id JOIN yard y ON y.id = w.yard_id
             LEFT JOIN person p ON p.id = w.mechanic_id LEFT JOIN person b ON b.id = w.pinned_by
             LEFT JOIN forecast_now f ON f.work_order_id = w.id
             LEFT JOIN outside_repair o ON o.work_order_id = w.id AND o.returned_at IS NULL AND o.called_off_at IS NULL ",
            $condition
        )
    };
}

impl Tx {
    pub async fn order(&mut self, id: WorkOrderId) -> Result<Option<OrderRow>> {
        self.maybe(order!("WHERE w.id = $1"), &[&id]).await
    }

    /// The machine's work order that still takes defects.
    pub async fn taking_order(&mut self, machine: MachineId) -> Result<Option<OrderRow>> {
        self.maybe(
            order!("WHERE w.machine_id = $1 AND NOT w.side AND w.state IN ('queued', 'claimed', 'in work', 'waiting')"),
            &[&machine],
        )
        .await
    }

    /// Every order of the machine that has not ended, oldest first.
    pub async fn open_orders_of(&mut self, machine: MachineId) -> Result<Vec<OrderRow>> {
        self.all(
            order!(
                "WHERE w.machine_id = $1 AND w.state IN ('queued', 'claimed', 'in work', 'waiting', 'work done')
                 ORDER BY w.number"
            ),
            &[&machine],
        )
        .await
    }

    pub async fn orders_of(&mut self, machine: MachineId, most: i64) -> Result<Vec<OrderRow>> {
        self.all(order!("WHERE w.machine_id = $1 ORDER BY w.opened_at DESC LIMIT $2"), &[&machine, &most])
            .await
    }

    /// Opens a work order under the next number. Where it stands in the queue is said by [`Tx::place_order`].
    pub async fn insert_order(
        &mut self,
        id: WorkOrderId,
        machine: &MachineRow,
        side: bool,
        now: DateTime<Utc>,
    ) -> Result<i64> {
        let (number,): (i64,) = self
            .one("UPDATE counter SET value = value + 1 WHERE name = 'work_order' RETURNING value", &[])
            .await?;
        self.run(
            "INSERT INTO work_order (id, number, machine_id, yard_id, state, opened_at, side, class, remaining_minutes, due_at)
             VALUES ($1, $2, $3, $4, 'queued', $5, $6, $7, 60, $8)",
            &[&id, &number, &machine.id, &machine.yard_id, &now, &side, &machine.class, &super::queue::never()],
        )
        .await?;
        self.begin_spell(id, machine.id, OrderWord::Queued, None, now).await?;
        Ok(number)
    }

    /// Saves a new state, guarded by the version it was read with.
    pub async fn save_order_state(
        &mut self,
        order: &OrderRow,
        to: &OrderState,
        now: DateTime<Utc>,
    ) -> Result<()> {
        let wait = match to {
            OrderState::Waiting { wait, .. } => Some(wait),
            _ => None,
        };
        let cancel_reason = match to {
            OrderState::Cancelled { reason } => Some(reason.kept()),
            _ => None,
        };
        // A closed order keeps the name of who did the work.
        let mechanic = match to {
            OrderState::Closed | OrderState::Cancelled { .. } => order.mechanic_id,
            _ => to.claimant(),
        };
        let done_at = match to {
            OrderState::WorkDone { .. } => Some(now),
            OrderState::Closed => order.done_at,
            _ => None,
        };
        let closed_at = matches!(to, OrderState::Closed | OrderState::Cancelled { .. }).then_some(now);
        guarded(
            self.run(
                "UPDATE work_order SET state = $3, mechanic_id = $4, waiting_for = $5, waiting_until = $6,
                    waiting_note = $7, cancel_reason = $8, done_at = $9, closed_at = $10, version = version + 1
                 WHERE id = $1 AND version = $2",
                &[
                    &order.id,
                    &order.version,
                    &to.word(),
                    &mechanic,
                    &wait.map(|w| w.waiting_for),
                    &wait.and_then(|w| w.until),
                    &wait.map(|w| w.note.clone()),
                    &cancel_reason,
                    &done_at,
                    &closed_at,
                ],
            )
            .await?,
        )?;
        let waiting_for = wait.map(|w| w.waiting_for);
        if order.state != to.word() || order.waiting_for != waiting_for {
            self.begin_spell(order.id, order.machine_id, to.word(), waiting_for, now).await?;
        }
        if closed_at.is_some() && order.pin_rank.is_some() {
            self.run(
                "UPDATE work_order SET pin_rank = NULL, pinned_by = NULL, pinned_at = NULL WHERE id = $1",
                &[&order.id],
            )
            .await?;
        }
        Ok(())
    }

    pub async fn set_side(&mut self, id: WorkOrderId, side: bool) -> Result<()> {
        self.run("UPDATE work_order SET side = $2 WHERE id = $1", &[&id, &side]).await?;
        Ok(())
    }

    pub async fn add_order_cost(&mut self, id: WorkOrderId, minor: i64) -> Result<()> {
        self.run("UPDATE work_order SET cost_minor = cost_minor + $2 WHERE id = $1", &[&id, &minor]).await?;
        Ok(())
    }

    pub async fn queue_row(&mut self, id: WorkOrderId) -> Result<Option<QueueRow>> {
        self.maybe(queue!("WHERE w.id = $1"), &[&id]).await
    }
}
