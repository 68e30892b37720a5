//! The queue as far as it is read: the first few of each yard and class, by what places a work order there. The order
//! itself is decided by the domain.

use chrono::{DateTime, TimeZone, Utc};
use sqlx::FromRow;

use super::{Result, Tx, guarded};
use crate::domain::checklist::System;
use crate::domain::ids::{MachineId, PersonId, WorkOrderId, YardId};
use crate::domain::work_order::{OrderWord, WaitingFor};

/// A work order by what places it.
#[derive(Clone, Debug, FromRow)]
pub struct PlacedRow {
    pub id: WorkOrderId,
    pub number: i64,
    pub yard_id: YardId,
    pub class: String,
    pub state: OrderWord,
    pub mechanic_id: Option<PersonId>,
    pub waiting_for: Option<WaitingFor>,
    pub waiting_until: Option<DateTime<Utc>>,
    pub held: bool,
    pub lacks_parts: bool,
    pub remaining_minutes: i64,
    due_at: DateTime<Utc>,
    pub opened_at: DateTime<Utc>,
    pub pin_rank: Option<i64>,
    pub pinned_by: Option<PersonId>,
    pub pinned_at: Option<DateTime<Utc>>,
}

impl PlacedRow {
    pub fn good_until(&self) -> Option<DateTime<Utc>> {
        (self.due_at < never()).then_some(self.due_at)
    }
}

/// Stands for "no date" where a date must be sorted by: both engines sort it last.
pub(super) fn never() -> DateTime<Utc> {
    Utc.with_ymd_and_hms(9999, 12, 31, 0, 0, 0).single().unwrap_or(DateTime::<Utc>::MAX_UTC)
}

macro_rules! placed {
    ($condition:literal) => {
        concat!(
            "SELECT w.id, w.number, w.yard_id, w.class, w.state, w.mechanic_id, w.waiting_for, w.waiting_until, w.held, w.lacks_parts,
                w.remaining_minutes, w.due_at, w.opened_at, w.pin_rank, w.pinned_by, w.pinned_at FROM work_order w ",
            $condition
        )
    };
}

impl Tx {
    /// What waits for a mechanic because its machine is out of service: the shortest work first.
    pub async fn queued_shortest(&mut self, yard: YardId, class: &str, most: i64) -> Result<Vec<PlacedRow>> {
        self.all(
            placed!(
                "WHERE w.state = 'queued' AND w.held AND NOT w.lacks_parts AND w.pin_rank IS NULL AND w.yard_id = $1 AND w.class = $2
                 ORDER BY w.remaining_minutes, w.due_at, w.opened_at, w.number LIMIT $3"
            ),
            &[&yard, &class.to_owned(), &most],
        )
        .await
    }

    /// The same, where the yard does not lack the class: by date and age.
    pub async fn queued_held(&mut self, yard: YardId, class: &str, most: i64) -> Result<Vec<PlacedRow>> {
        self.all(
            placed!(
                "WHERE w.state = 'queued' AND w.held AND NOT w.lacks_parts AND w.pin_rank IS NULL AND w.yard_id = $1 AND w.class = $2
                 ORDER BY w.due_at, w.opened_at, w.number LIMIT $3"
            ),
            &[&yard, &class.to_owned(), &most],
        )
        .await
    }

    /// What waits for a mechanic while its machine can be used.
    pub async fn queued_usable(&mut self, yard: YardId, most: i64) -> Result<Vec<PlacedRow>> {
        self.all(
            placed!(
                "WHERE w.state = 'queued' AND NOT w.held AND NOT w.lacks_parts AND w.pin_rank IS NULL AND w.yard_id = $1
                 ORDER BY w.due_at, w.opened_at, w.number LIMIT $2"
            ),
            &[&yard, &most],
        )
        .await
    }

    /// What nobody has and nobody can begin: a part it asked for is not there. The longest open first.
    pub async fn queued_lacking(&mut self, yard: YardId, most: i64) -> Result<Vec<PlacedRow>> {
        self.all(
            placed!(
                "WHERE w.state = 'queued' AND w.lacks_parts AND w.pin_rank IS NULL AND w.yard_id = $1
                 ORDER BY w.opened_at, w.number LIMIT $2"
            ),
            &[&yard, &most],
        )
        .await
    }

    /// What somebody pinned, whatever its yard and state.
    pub async fn pinned_orders(&mut self) -> Result<Vec<PlacedRow>> {
        self.all(placed!("WHERE w.pin_rank IS NOT NULL ORDER BY w.pin_rank, w.number"), &[]).await
    }

    /// Orders of a yard in one state, oldest first.
    pub async fn orders_in_state(
        &mut self,
        yard: YardId,
        state: OrderWord,
        most: i64,
    ) -> Result<Vec<PlacedRow>> {
        self.all(
            placed!(
                "WHERE w.yard_id = $1 AND w.state = $2
                   AND w.state IN ('queued', 'claimed', 'in work', 'waiting', 'work done')
                 ORDER BY w.opened_at, w.number LIMIT $3"
            ),
            &[&yard, &state, &most],
        )
        .await
    }

    pub async fn placed_order(&mut self, id: WorkOrderId) -> Result<Option<PlacedRow>> {
        self.maybe(placed!("WHERE w.id = $1"), &[&id]).await
    }

    pub async fn orders_with(&mut self, mechanic: PersonId, most: i64) -> Result<Vec<PlacedRow>> {
        self.all(
            placed!(
                "WHERE w.mechanic_id = $1 AND w.state IN ('claimed', 'in work', 'waiting', 'work done')
                 ORDER BY w.opened_at, w.number LIMIT $2"
            ),
            &[&mechanic, &most],
        )
        .await
    }

    /// Orders that work can go on with or that wait for something, for the forecast: what somebody has comes first.
    pub async fn orders_to_foresee(&mut self, most: i64) -> Result<Vec<PlacedRow>> {
        self.all(
            placed!(
                // In the words of the index of what has not ended: SQLite knows it by these only.
                "WHERE w.state IN ('queued', 'claimed', 'in work', 'waiting', 'work done') AND w.state <> 'work done'
                 ORDER BY w.state = 'queued', w.opened_at, w.number LIMIT $1"
            ),
            &[&most],
        )
        .await
    }

    /// Whether more orders are open than so many, counted no further.
    pub async fn more_open_than(&mut self, most: i64) -> Result<bool> {
        let (open,): (i64,) = self
            .one(
                "SELECT COUNT(*) FROM (SELECT 1 FROM work_order
                   WHERE state IN ('queued', 'claimed', 'in work', 'waiting', 'work done') AND state <> 'work done'
                   LIMIT $1) AS open",
                &[&(most + 1)],
            )
            .await?;
        Ok(open > most)
    }

    /// How many open orders there are of which nothing is foreseen, in the yards of a person or in all.
    pub async fn open_and_not_foreseen(&mut self, viewer: PersonId, all_yards: bool) -> Result<i64> {
        let (open,): (i64,) = self
            .one(
                "SELECT COUNT(*) FROM work_order w
                 WHERE w.state IN ('queued', 'claimed', 'in work', 'waiting', 'work done') AND w.state <> 'work done'
                   AND NOT EXISTS (SELECT 1 FROM forecast_now f WHERE f.work_order_id = w.id)
                   AND ($2 OR w.yard_id IN (SELECT yard_id FROM person_yard WHERE person_id = $1))",
                &[&viewer, &all_yards],
            )
            .await?;
        Ok(open)
    }

    /// The classes a yard has machines of. Looked up one after the other, so that it costs as much as there are classes.
    pub async fn classes_in(&mut self, yard: YardId) -> Result<Vec<String>> {
        let mut classes: Vec<String> = Vec::new();
        loop {
            let last = classes.last().cloned().unwrap_or_default();
            let (next,): (Option<String>,) = self
                .one("SELECT MIN(class) FROM machine WHERE yard_id = $1 AND class > $2", &[&yard, &last])
                .await?;
            match next {
                Some(class) => classes.push(class),
                None => return Ok(classes),
            }
        }
    }

    /// What a yard needs, by class.
    pub async fn needs_of(&mut self, yard: YardId) -> Result<Vec<(String, i64)>> {
        self.all("SELECT class, needed FROM yard_need WHERE yard_id = $1 AND needed > 0", &[&yard]).await
    }

    /// How many machines of the class can be used now, counted no further than `most`.
    pub async fn fit_machines(&mut self, yard: YardId, class: &str, most: i64) -> Result<i64> {
        let (fit,): (i64,) = self
            .one(
                "SELECT COUNT(*) FROM (SELECT 1 FROM machine WHERE retired_at IS NULL AND open_holds = 0
                   AND yard_id = $1 AND class = $2 LIMIT $3) AS fit",
                &[&yard, &class.to_owned(), &most],
            )
            .await?;
        Ok(fit)
    }

    /// The systems of the order's open defects.
    pub async fn systems_of_order(&mut self, order: WorkOrderId) -> Result<Vec<System>> {
        let rows: Vec<(System,)> = self
            .all(
                "SELECT DISTINCT system FROM defect WHERE work_order_id = $1 AND closed_at IS NULL",
                &[&order],
            )
            .await?;
        Ok(rows.into_iter().map(|(system,)| system).collect())
    }

    /// Says anew what places the machine's orders by their open defects.
    pub async fn place_orders_of(&mut self, machine: MachineId) -> Result<()> {
        self.run(
            "UPDATE work_order SET
                held = EXISTS (SELECT 1 FROM defect d WHERE d.work_order_id = work_order.id AND d.closed_at IS NULL
                    AND d.severity = 'out of service'),
                due_at = COALESCE((SELECT MIN(d.good_until_at) FROM defect d WHERE d.work_order_id = work_order.id
                    AND d.closed_at IS NULL AND d.severity = 'monitor'), $2)
             WHERE machine_id = $1 AND state IN ('queued', 'claimed', 'in work', 'waiting', 'work done')",
            &[&machine, &never()],
        )
        .await?;
        Ok(())
    }

    pub async fn set_remaining(&mut self, order: WorkOrderId, minutes: i64) -> Result<()> {
        self.run("UPDATE work_order SET remaining_minutes = $2 WHERE id = $1", &[&order, &minutes]).await?;
        Ok(())
    }

    pub async fn pin_order(
        &mut self,
        order: WorkOrderId,
        rank: Option<i64>,
        by: PersonId,
        at: DateTime<Utc>,
    ) -> Result<()> {
        guarded(
            self.run(
                "UPDATE work_order SET pin_rank = $2, pinned_by = $3, pinned_at = $4 WHERE id = $1",
                &[&order, &rank, &rank.map(|_| by), &rank.map(|_| at)],
            )
            .await?,
        )
    }

    /// The last rank that a pin of this yard has.
    pub async fn last_pin(&mut self, yard: YardId) -> Result<i64> {
        let (rank,): (Option<i64>,) = self
            .one("SELECT MAX(pin_rank) FROM work_order WHERE pin_rank IS NOT NULL AND yard_id = $1", &[&yard])
            .await?;
        Ok(rank.unwrap_or(0))
    }

    /// Whole seconds that were worked on an order so far.
    pub async fn seconds_worked(&mut self, order: WorkOrderId, now: DateTime<Utc>) -> Result<i64> {
        let labour = self.labour_of_order(order).await?;
        Ok(labour.iter().map(|l| (l.ended_at.unwrap_or(now) - l.started_at).num_seconds().max(0)).sum())
    }

    /// The item that an order's time goes by: of its gravest, then oldest open defect. Empty for one reported outside a check.
    pub async fn chief_item(&mut self, order: WorkOrderId) -> Result<String> {
        let row: Option<(Option<String>,)> = self
            .maybe(
                "SELECT item FROM defect WHERE work_order_id = $1
                 ORDER BY closed_at IS NOT NULL, severity DESC, raised_at, id LIMIT 1",
                &[&order],
            )
            .await?;
        Ok(row.and_then(|(item,)| item).unwrap_or_default())
    }
}
