//! When machines are foreseen to be back: what that is reckoned from, what is shown now, and every forecast that was given.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{Result, Tx};
use crate::domain::forecast::score::Kept;
use crate::domain::ids::{PartId, PersonId, WorkOrderId, YardId};

/// A forecast as it is shown now.
#[derive(Clone, Debug, FromRow)]
pub struct ForecastRow {
    pub work_order_id: WorkOrderId,
    pub made_at: DateTime<Utc>,
    pub likely_by: Option<DateTime<Utc>>,
    pub almost_surely_by: Option<DateTime<Utc>>,
    /// JSON of [`crate::domain::forecast::When`].
    pub said: String,
}

/// Labour on an order that is closed, with what it counts for.
#[derive(Clone, Debug, FromRow)]
pub struct PastLabour {
    pub id: WorkOrderId,
    pub class: String,
    /// Empty for a defect reported outside a check.
    pub item: String,
    pub started_at: DateTime<Utc>,
    pub ended_at: DateTime<Utc>,
}

#[derive(FromRow)]
struct KeptRow {
    work_order_id: WorkOrderId,
    made_at: DateTime<Utc>,
    likely_by: DateTime<Utc>,
    almost_surely_by: Option<DateTime<Utc>>,
    same_as_last_time: Option<DateTime<Utc>>,
    done_at: Option<DateTime<Utc>>,
}

impl Tx {
    /// The labour of the newest closed orders, the entries of one order together.
    pub async fn past_labour(&mut self, orders: i64) -> Result<Vec<PastLabour>> {
        self.all(
            "SELECT w.id, w.class, COALESCE((SELECT d.item FROM defect d WHERE d.work_order_id = w.id
                ORDER BY d.severity DESC, d.raised_at, d.id LIMIT 1), '') AS item, l.started_at, l.ended_at
             FROM (SELECT id, class FROM work_order WHERE state = 'closed' AND closed_at IS NOT NULL
                ORDER BY closed_at DESC LIMIT $1) w
             JOIN labour l ON l.work_order_id = w.id WHERE l.ended_at IS NOT NULL ORDER BY w.id, l.started_at",
            &[&orders],
        )
        .await
    }

    /// When the last repair of the same item and class was begun and done.
    pub async fn last_time(
        &mut self,
        class: &str,
        item: &str,
    ) -> Result<Option<(DateTime<Utc>, DateTime<Utc>)>> {
        self.maybe(
            "SELECT w.opened_at, w.done_at FROM defect d JOIN work_order w ON w.id = d.work_order_id
             WHERE d.item = $2 AND d.closed_at IS NOT NULL AND w.class = $1 AND w.done_at IS NOT NULL
             ORDER BY d.closed_at DESC LIMIT 1",
            &[&class.to_owned(), &item.to_owned()],
        )
        .await
    }

    /// Mechanics with each yard they work in.
    pub async fn mechanics_in_yards(&mut self) -> Result<Vec<(PersonId, YardId)>> {
        self.all(
            "SELECT p.id, y.yard_id FROM person p JOIN person_role r ON r.person_id = p.id AND r.role = 'mechanic'
             JOIN person_yard y ON y.person_id = p.id WHERE p.disabled_at IS NULL ORDER BY p.id, y.yard_id",
            &[],
        )
        .await
    }

    /// The parts that orders lack, with when they are expected where something is on its way.
    pub async fn parts_awaited(&mut self) -> Result<Vec<(WorkOrderId, PartId, Option<DateTime<Utc>>)>> {
        self.all(
            "SELECT s.work_order_id, s.part_id, (SELECT MIN(o.expected_at) FROM part_on_order o
                WHERE o.part_id = s.part_id AND o.yard_id = w.yard_id AND o.came_at IS NULL AND o.dropped_at IS NULL) AS at
             FROM shortage s JOIN work_order w ON w.id = s.work_order_id ORDER BY s.work_order_id, s.part_id",
            &[],
        )
        .await
    }

    /// What was on order and came: when it was expected, and when it was there.
    pub async fn parts_that_came(&mut self, most: i64) -> Result<Vec<(DateTime<Utc>, DateTime<Utc>)>> {
        self.all(
            "SELECT expected_at, came_at FROM part_on_order WHERE expected_at IS NOT NULL AND came_at IS NOT NULL
             ORDER BY came_at DESC LIMIT $1",
            &[&most],
        )
        .await
    }

    /// Whether an order was opened since then of which nothing was foreseen yet.
    pub async fn not_foreseen(&mut self, since: DateTime<Utc>) -> Result<bool> {
        let (orders,): (i64,) = self
            .one(
                "SELECT COUNT(*) FROM (SELECT 1 FROM work_order w
                   WHERE w.opened_at >= $1 AND w.state IN ('queued', 'claimed', 'in work', 'waiting')
                     AND NOT EXISTS (SELECT 1 FROM forecast_now f WHERE f.work_order_id = w.id) LIMIT 1) AS one",
                &[&since],
            )
            .await?;
        Ok(orders > 0)
    }

    pub async fn forecasts_now(&mut self) -> Result<Vec<ForecastRow>> {
        self.all(
            "SELECT work_order_id, made_at, likely_by, almost_surely_by, said FROM forecast_now ORDER BY work_order_id",
            &[],
        )
        .await
    }

    pub async fn forecast_of(&mut self, order: WorkOrderId) -> Result<Option<ForecastRow>> {
        self.maybe(
            "SELECT work_order_id, made_at, likely_by, almost_surely_by, said FROM forecast_now WHERE work_order_id = $1",
            &[&order],
        )
        .await
    }

    pub async fn set_forecast(&mut self, f: &ForecastRow) -> Result<()> {
        self.run(
            "INSERT INTO forecast_now (work_order_id, made_at, likely_by, almost_surely_by, said) VALUES ($1, $2, $3, $4, $5)
             ON CONFLICT (work_order_id) DO UPDATE SET made_at = excluded.made_at, likely_by = excluded.likely_by,
                almost_surely_by = excluded.almost_surely_by, said = excluded.said",
            &[&f.work_order_id, &f.made_at, &f.likely_by, &f.almost_surely_by, &f.said],
        )
        .await?;
        Ok(())
    }

    /// What was foreseen of an order that is done or ended is no longer shown.
    pub async fn drop_forecasts_of_ended(&mut self) -> Result<u64> {
        self.run(
            // Forecasts are few; from the orders' side it would be all that ever ended.
            "DELETE FROM forecast_now WHERE (SELECT w.state FROM work_order w WHERE w.id = forecast_now.work_order_id)
                IN ('work done', 'closed', 'cancelled')",
            &[],
        )
        .await
    }

    pub async fn drop_forecast(&mut self, order: WorkOrderId) -> Result<()> {
        self.run("DELETE FROM forecast_now WHERE work_order_id = $1", &[&order]).await?;
        Ok(())
    }

    /// Keeps a forecast for ever, to be held against what comes of it.
    pub async fn keep_forecast(
        &mut self,
        f: &ForecastRow,
        likely_by: DateTime<Utc>,
        same_as_last_time: Option<DateTime<Utc>>,
        spread: &str,
    ) -> Result<()> {
        self.run(
            "INSERT INTO forecast (work_order_id, made_at, likely_by, almost_surely_by, same_as_last_time, driver, spread)
             VALUES ($1, $2, $3, $4, $5, $6, $7) ON CONFLICT (work_order_id, made_at) DO NOTHING",
            &[
                &f.work_order_id,
                &f.made_at,
                &likely_by,
                &f.almost_surely_by,
                &same_as_last_time,
                &f.said,
                &spread.to_owned(),
            ],
        )
        .await?;
        Ok(())
    }

    /// The last that was kept of each open order: when it was likely back.
    pub async fn last_kept(&mut self, order: WorkOrderId) -> Result<Option<DateTime<Utc>>> {
        let row: Option<(DateTime<Utc>,)> = self
            .maybe(
                "SELECT likely_by FROM forecast WHERE work_order_id = $1 ORDER BY made_at DESC LIMIT 1",
                &[&order],
            )
            .await?;
        Ok(row.map(|(at,)| at))
    }

    /// Of the newest orders whose work is done: when the first forecast was given, how its runs were spread, and when the
    /// work was done.
    pub async fn spreads_and_ends(
        &mut self,
        most: i64,
    ) -> Result<Vec<(DateTime<Utc>, String, DateTime<Utc>)>> {
        self.all(
            "SELECT f.made_at, f.spread, w.done_at FROM forecast f JOIN work_order w ON w.id = f.work_order_id
             WHERE w.state <> 'cancelled' AND w.done_at IS NOT NULL AND w.done_at >= f.made_at
               AND f.made_at = (SELECT MIN(g.made_at) FROM forecast g WHERE g.work_order_id = f.work_order_id)
             ORDER BY f.made_at DESC LIMIT $1",
            &[&most],
        )
        .await
    }

    /// The first forecast of each order, newest orders first, with what came of it.
    pub async fn first_forecasts(&mut self, most: i64) -> Result<Vec<Kept>> {
        let rows: Vec<KeptRow> = self
            .all(
                "SELECT f.work_order_id, f.made_at, f.likely_by, f.almost_surely_by, f.same_as_last_time, w.done_at
                 FROM forecast f JOIN work_order w ON w.id = f.work_order_id
                 WHERE w.state <> 'cancelled'
                   AND f.made_at = (SELECT MIN(g.made_at) FROM forecast g WHERE g.work_order_id = f.work_order_id)
                 ORDER BY f.made_at DESC LIMIT $1",
                &[&most],
            )
            .await?;
        let kept = |r: KeptRow| Kept {
            order: r.work_order_id,
            given_at: r.made_at,
            likely_by: r.likely_by,
            almost_surely_by: r.almost_surely_by,
            as_last_time: r.same_as_last_time,
            done_at: r.done_at,
        };
        Ok(rows.into_iter().map(kept).collect())
    }
}
