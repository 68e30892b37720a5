//! How parts are bought, what is on its way, and what was used of them.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{Result, Tx, guarded};
use crate::domain::ids::{OnOrderId, PartId, PersonId, YardId};

#[derive(Clone, Debug, FromRow)]
pub struct SupplyRow {
    pub part_id: PartId,
    pub supplier: String,
    pub price_minor: i64,
    pub minimum_order: i64,
    pub pack: i64,
    pub lead_days: i64,
}

#[derive(Clone, Debug, FromRow)]
pub struct OnOrderRow {
    pub id: OnOrderId,
    pub part_id: PartId,
    pub yard_id: YardId,
    pub yard_name: String,
    pub quantity: i64,
    /// Of it, so far.
    pub came: i64,
    pub ordered_at: DateTime<Utc>,
    pub expected_at: Option<DateTime<Utc>>,
    pub by_name: String,
}

macro_rules! on_order {
    ($condition:literal) => {
        concat!(
            "SELECT o.id, o.part_id, o.yard_id, y.name AS yard_name, o.quantity, o.came, o.ordered_at, o.expected_at,
                b.name AS by_name
             FROM part_on_order o JOIN yard y ON y.id = o.yard_id JOIN person b ON b.id = o.by_id ",
            $condition
        )
    };
}

impl Tx {
    pub async fn supply(&mut self, part: PartId) -> Result<Option<SupplyRow>> {
        self.maybe(
            "SELECT part_id, supplier, price_minor, minimum_order, pack, lead_days FROM supply WHERE part_id = $1",
            &[&part],
        )
        .await
    }

    pub async fn supplies(&mut self) -> Result<Vec<SupplyRow>> {
        self.all("SELECT part_id, supplier, price_minor, minimum_order, pack, lead_days FROM supply", &[])
            .await
    }

    pub async fn set_supply(&mut self, row: &SupplyRow) -> Result<()> {
        self.run(
            "INSERT INTO supply (part_id, supplier, price_minor, minimum_order, pack, lead_days)
             VALUES ($1, $2, $3, $4, $5, $6)
             ON CONFLICT (part_id) DO UPDATE SET supplier = excluded.supplier, price_minor = excluded.price_minor,
                minimum_order = excluded.minimum_order, pack = excluded.pack, lead_days = excluded.lead_days",
            &[&row.part_id, &row.supplier, &row.price_minor, &row.minimum_order, &row.pack, &row.lead_days],
        )
        .await?;
        Ok(())
    }

    /// What is on its way of a part, the next to come first.
    pub async fn on_order(&mut self, part: PartId) -> Result<Vec<OnOrderRow>> {
        self.all(
            on_order!(
                "WHERE o.part_id = $1 AND o.came_at IS NULL AND o.dropped_at IS NULL
                 ORDER BY o.ordered_at, o.id"
            ),
            &[&part],
        )
        .await
    }

    /// Also what came, or was called off.
    pub async fn on_order_by_id(&mut self, id: OnOrderId) -> Result<Option<OnOrderRow>> {
        self.maybe(on_order!("WHERE o.id = $1"), &[&id]).await
    }

    pub async fn insert_on_order(&mut self, row: &OnOrderRow, by: PersonId) -> Result<()> {
        self.run(
            "INSERT INTO part_on_order (id, part_id, yard_id, quantity, came, ordered_at, expected_at, by_id)
             VALUES ($1, $2, $3, $4, 0, $5, $6, $7)",
            &[&row.id, &row.part_id, &row.yard_id, &row.quantity, &row.ordered_at, &row.expected_at, &by],
        )
        .await?;
        Ok(())
    }

    pub async fn set_on_order_expected(&mut self, id: OnOrderId, at: Option<DateTime<Utc>>) -> Result<()> {
        guarded(
            self.run(
                "UPDATE part_on_order SET expected_at = $2 WHERE id = $1 AND came_at IS NULL AND dropped_at IS NULL",
                &[&id, &at],
            )
            .await?,
        )
    }

    pub async fn on_order_came(
        &mut self,
        id: OnOrderId,
        came: i64,
        all_at: Option<DateTime<Utc>>,
    ) -> Result<()> {
        guarded(
            self.run(
                "UPDATE part_on_order SET came = $2, came_at = $3
                 WHERE id = $1 AND came_at IS NULL AND dropped_at IS NULL",
                &[&id, &came, &all_at],
            )
            .await?,
        )
    }

    pub async fn drop_on_order(&mut self, id: OnOrderId, at: DateTime<Utc>) -> Result<()> {
        guarded(
            self.run(
                "UPDATE part_on_order SET dropped_at = $2 WHERE id = $1 AND came_at IS NULL AND dropped_at IS NULL",
                &[&id, &at],
            )
            .await?,
        )
    }

    /// When each delivery that has come was ordered and came, by part.
    pub async fn deliveries(
        &mut self,
        since: DateTime<Utc>,
    ) -> Result<Vec<(PartId, DateTime<Utc>, DateTime<Utc>)>> {
        self.all(
            "SELECT part_id, ordered_at, came_at FROM part_on_order WHERE came_at IS NOT NULL AND came_at >= $1",
            &[&since],
        )
        .await
    }

    /// What was issued less what came back, each line of the ledger since then.
    pub async fn used_since(
        &mut self,
        since: DateTime<Utc>,
    ) -> Result<Vec<(PartId, YardId, DateTime<Utc>, i64)>> {
        self.all(
            "SELECT part_id, yard_id, at, -quantity FROM stock_movement
             WHERE kind IN ('issue', 'return') AND at >= $1 ORDER BY at",
            &[&since],
        )
        .await
    }

    /// Since when each yard has had to do with each part.
    pub async fn first_movements(&mut self) -> Result<Vec<(PartId, YardId, DateTime<Utc>)>> {
        self.all("SELECT part_id, yard_id, MIN(at) FROM stock_movement GROUP BY part_id, yard_id", &[]).await
    }
}
