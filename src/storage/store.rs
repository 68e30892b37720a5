//! Parts, their ledger, and what work orders have of them.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{Result, Tx, guarded};
use crate::domain::ids::{MovementId, PartId, PartLineId, PersonId, WorkOrderId};
use crate::domain::store::{Balance, Line, Movement, MovementKind};
use crate::words::Text;

#[derive(Clone, Debug, FromRow)]
pub struct PartRow {
    pub id: PartId,
    pub number: String,
    pub name: String,
    pub unit: String,
    pub bin: String,
    pub on_hand: i64,
    pub reserved: i64,
    pub worth_minor: i64,
    pub expected_at: Option<DateTime<Utc>>,
    pub version: i64,
}

impl PartRow {
    pub const fn balance(&self) -> Balance {
        Balance { on_hand: self.on_hand, reserved: self.reserved, worth_minor: self.worth_minor }
    }
}

#[derive(Clone, Debug, FromRow)]
pub struct LineRow {
    pub id: PartLineId,
    pub work_order_id: WorkOrderId,
    pub part_id: PartId,
    pub number: String,
    pub name: String,
    pub unit: String,
    pub bin: String,
    pub reserved: i64,
    pub issued: i64,
    pub cost_minor: i64,
}

impl LineRow {
    pub const fn line(&self) -> Line {
        Line { reserved: self.reserved, issued: self.issued, cost_minor: self.cost_minor }
    }
}

#[derive(Clone, Debug, FromRow)]
pub struct MovementRow {
    pub id: MovementId,
    pub kind: MovementKind,
    pub quantity: i64,
    pub value_minor: i64,
    pub work_order_id: Option<WorkOrderId>,
    pub by_name: String,
    pub at: DateTime<Utc>,
    /// The work order it was for, or what was typed.
    pub note: Text,
}

macro_rules! line {
    ($condition:literal) => {
        concat!(
            "SELECT l.id, l.work_order_id, l.part_id, p.number, p.name, p.unit, p.bin, l.reserved, l.issued, l.cost_minor
             FROM part_line l JOIN part p ON p.id = l.part_id ",
            $condition
        )
    };
}

impl Tx {
    pub async fn parts(&mut self) -> Result<Vec<PartRow>> {
        self.all(
            "SELECT id, number, name, unit, bin, on_hand, reserved, worth_minor, expected_at, version
             FROM part ORDER BY number",
            &[],
        )
        .await
    }

    pub async fn part(&mut self, id: PartId) -> Result<Option<PartRow>> {
        self.maybe(
            "SELECT id, number, name, unit, bin, on_hand, reserved, worth_minor, expected_at, version
             FROM part WHERE id = $1",
            &[&id],
        )
        .await
    }

    /// Locks the part and loads it.
    pub async fn part_for_change(&mut self, id: PartId) -> Result<Option<PartRow>> {
        self.maybe(
            "UPDATE part SET version = version + 1 WHERE id = $1
             RETURNING id, number, name, unit, bin, on_hand, reserved, worth_minor, expected_at, version",
            &[&id],
        )
        .await
    }

    pub async fn insert_part(&mut self, row: &PartRow, now: DateTime<Utc>) -> Result<()> {
        self.run(
            "INSERT INTO part (id, number, name, unit, bin, expected_at, created_at) VALUES ($1, $2, $3, $4, $5, $6, $7)",
            &[&row.id, &row.number, &row.name, &row.unit, &row.bin, &row.expected_at, &now],
        )
        .await?;
        Ok(())
    }

    pub async fn set_part_expected(&mut self, id: PartId, at: Option<DateTime<Utc>>) -> Result<()> {
        guarded(self.run("UPDATE part SET expected_at = $2 WHERE id = $1", &[&id, &at]).await?)
    }

    /// Saves a balance, guarded by the version it was read with.
    pub async fn save_balance(&mut self, part: &PartRow, to: Balance) -> Result<()> {
        guarded(
            self.run(
                "UPDATE part SET on_hand = $3, reserved = $4, worth_minor = $5 WHERE id = $1 AND version = $2",
                &[&part.id, &part.version, &to.on_hand, &to.reserved, &to.worth_minor],
            )
            .await?,
        )
    }

    #[expect(clippy::too_many_arguments, reason = "one argument a column")]
    pub async fn insert_movement(
        &mut self,
        id: MovementId,
        part: PartId,
        movement: Movement,
        order: Option<WorkOrderId>,
        by: PersonId,
        at: DateTime<Utc>,
        note: &str,
    ) -> Result<()> {
        self.run(
            "INSERT INTO stock_movement (id, part_id, kind, quantity, value_minor, work_order_id, by_id, at, note)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
            &[
                &id,
                &part,
                &movement.kind,
                &movement.quantity,
                &movement.value_minor,
                &order,
                &by,
                &at,
                &note.to_owned(),
            ],
        )
        .await?;
        Ok(())
    }

    /// The movement under an id: of which part, and how much it added to the bin.
    pub async fn movement(&mut self, id: MovementId) -> Result<Option<(PartId, i64)>> {
        self.maybe("SELECT part_id, quantity FROM stock_movement WHERE id = $1", &[&id]).await
    }

    pub async fn movements_of(&mut self, part: PartId, most: i64) -> Result<Vec<MovementRow>> {
        self.all(
            "SELECT s.id, s.kind, s.quantity, s.value_minor, s.work_order_id, p.name AS by_name, s.at, s.note
             FROM stock_movement s JOIN person p ON p.id = s.by_id
             WHERE s.part_id = $1 ORDER BY s.at DESC, s.id DESC LIMIT $2",
            &[&part, &most],
        )
        .await
    }

    pub async fn lines_of_order(&mut self, order: WorkOrderId) -> Result<Vec<LineRow>> {
        self.all(line!("WHERE l.work_order_id = $1 ORDER BY p.number"), &[&order]).await
    }

    pub async fn line(&mut self, order: WorkOrderId, part: PartId) -> Result<Option<LineRow>> {
        self.maybe(line!("WHERE l.work_order_id = $1 AND l.part_id = $2"), &[&order, &part]).await
    }

    pub async fn save_line(
        &mut self,
        id: PartLineId,
        order: WorkOrderId,
        part: PartId,
        to: Line,
    ) -> Result<()> {
        self.run(
            "INSERT INTO part_line (id, work_order_id, part_id, reserved, issued, cost_minor)
             VALUES ($1, $2, $3, $4, $5, $6)
             ON CONFLICT (work_order_id, part_id) DO UPDATE
             SET reserved = excluded.reserved, issued = excluded.issued, cost_minor = excluded.cost_minor",
            &[&id, &order, &part, &to.reserved, &to.issued, &to.cost_minor],
        )
        .await?;
        Ok(())
    }
}
