//! What work orders asked for and lack.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{Result, Tx};
use crate::domain::ids::{MachineId, PartId, PersonId, ReservationId, WorkOrderId, YardId};
use crate::domain::store::shortage::Lacking;

/// What was asked for under a client's id, and what of it was there.
#[derive(Clone, Debug, FromRow)]
pub struct ReservationRow {
    pub id: ReservationId,
    pub work_order_id: WorkOrderId,
    pub part_id: PartId,
    pub quantity: i64,
    pub reserved: i64,
}

/// A part that a work order lacks.
#[derive(Clone, Debug, FromRow)]
pub struct ShortageRow {
    pub work_order_id: WorkOrderId,
    pub machine_id: MachineId,
    pub part_id: PartId,
    pub number: String,
    pub name: String,
    pub unit: String,
    pub quantity: i64,
    /// When the next of it is expected.
    pub expected_at: Option<DateTime<Utc>>,
}

impl Tx {
    pub async fn reservation(&mut self, id: ReservationId) -> Result<Option<ReservationRow>> {
        self.maybe(
            "SELECT id, work_order_id, part_id, quantity, reserved FROM reservation WHERE id = $1",
            &[&id],
        )
        .await
    }

    pub async fn insert_reservation(
        &mut self,
        row: &ReservationRow,
        by: PersonId,
        at: DateTime<Utc>,
    ) -> Result<()> {
        self.run(
            "INSERT INTO reservation (id, work_order_id, part_id, quantity, reserved, by_id, at)
             VALUES ($1, $2, $3, $4, $5, $6, $7)",
            &[&row.id, &row.work_order_id, &row.part_id, &row.quantity, &row.reserved, &by, &at],
        )
        .await?;
        Ok(())
    }

    /// What the work order lacks of the part from now on; nothing any more when it is none.
    pub async fn set_shortage(
        &mut self,
        order: WorkOrderId,
        part: PartId,
        quantity: i64,
        now: DateTime<Utc>,
    ) -> Result<()> {
        if quantity == 0 {
            self.run("DELETE FROM shortage WHERE work_order_id = $1 AND part_id = $2", &[&order, &part])
                .await?;
            return self.say_whether_parts_lack(order).await;
        }
        self.run(
            "INSERT INTO shortage (work_order_id, part_id, quantity, since) VALUES ($1, $2, $3, $4)
             ON CONFLICT (work_order_id, part_id) DO UPDATE SET quantity = excluded.quantity",
            &[&order, &part, &quantity, &now],
        )
        .await?;
        self.say_whether_parts_lack(order).await
    }

    /// Kept with the order, so that the queue reads past what nobody can begin.
    async fn say_whether_parts_lack(&mut self, order: WorkOrderId) -> Result<()> {
        self.run(
            "UPDATE work_order SET lacks_parts = EXISTS (SELECT 1 FROM shortage h WHERE h.work_order_id = work_order.id)
             WHERE id = $1",
            &[&order],
        )
        .await?;
        Ok(())
    }

    pub async fn drop_shortages(&mut self, order: WorkOrderId) -> Result<()> {
        let dropped = self.run("DELETE FROM shortage WHERE work_order_id = $1", &[&order]).await?;
        if dropped == 0 { Ok(()) } else { self.say_whether_parts_lack(order).await }
    }

    pub async fn shortages_of_order(&mut self, order: WorkOrderId) -> Result<Vec<ShortageRow>> {
        self.all(
            "SELECT h.work_order_id, w.machine_id, h.part_id, p.number, p.name, p.unit, h.quantity,
                (SELECT MIN(o.expected_at) FROM part_on_order o WHERE o.part_id = h.part_id AND o.yard_id = w.yard_id
                    AND o.came_at IS NULL AND o.dropped_at IS NULL) AS expected_at
             FROM shortage h JOIN part p ON p.id = h.part_id JOIN work_order w ON w.id = h.work_order_id
             WHERE h.work_order_id = $1 ORDER BY p.number",
            &[&order],
        )
        .await
    }

    /// Who lacks the part in a yard, and the machine of each.
    pub async fn lacking_in(&mut self, part: PartId, yard: YardId) -> Result<Vec<(MachineId, Lacking)>> {
        let rows: Vec<(MachineId, WorkOrderId, i64)> = self
            .all(
                "SELECT w.machine_id, h.work_order_id, h.quantity FROM shortage h
                 JOIN work_order w ON w.id = h.work_order_id
                 WHERE h.part_id = $1 AND w.yard_id = $2 ORDER BY h.since, w.number",
                &[&part, &yard],
            )
            .await?;
        Ok(rows.into_iter().map(|(m, order, quantity)| (m, Lacking { order, quantity })).collect())
    }
}
