//! Parts, what each yard has of them, the ledger behind it, and what work orders have of them.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{Result, Tx, guarded};
use crate::domain::ids::{CountId, MovementId, PartId, PartLineId, PersonId, WorkOrderId, YardId};
use crate::domain::store::put_right::{AdjustmentReason, Reserved};
use crate::domain::store::{Balance, Line, Movement, MovementKind};
use crate::words::Text;

/// A part as one yard has it.
#[derive(Clone, Debug, FromRow)]
pub struct PartRow {
    pub id: PartId,
    pub number: String,
    pub name: String,
    pub unit: String,
    pub yard_id: YardId,
    pub yard_name: String,
    pub bin: String,
    pub on_hand: i64,
    pub reserved: i64,
    pub worth_minor: i64,
    /// At which more is ordered, where somebody set it.
    pub level: Option<i64>,
    /// On its way to this yard.
    pub on_order: i64,
    /// What work orders of this yard lack.
    pub lacking: i64,
    /// When the next of it is expected.
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
    pub lacking: i64,
}

impl LineRow {
    pub const fn line(&self) -> Line {
        Line { reserved: self.reserved, issued: self.issued, cost_minor: self.cost_minor }
    }
}

#[derive(Clone, Debug, FromRow)]
pub struct MovementRow {
    pub id: MovementId,
    pub part_id: PartId,
    pub part_number: String,
    pub part_name: String,
    pub unit: String,
    pub yard_name: String,
    pub kind: MovementKind,
    pub quantity: i64,
    pub value_minor: i64,
    pub work_order_id: Option<WorkOrderId>,
    pub other_yard_name: Option<String>,
    pub reason: Option<AdjustmentReason>,
    pub by_name: String,
    pub at: DateTime<Utc>,
    pub note: Text,
}

/// A line of the ledger, to be written.
pub struct NewMovement {
    pub id: MovementId,
    pub part: PartId,
    pub yard: YardId,
    pub movement: Movement,
    pub order: Option<WorkOrderId>,
    pub other_yard: Option<YardId>,
    pub reason: Option<AdjustmentReason>,
    pub by: PersonId,
    pub at: DateTime<Utc>,
    pub note: String,
}

macro_rules! line {
    ($condition:literal) => {
        concat!(
            "SELECT l.id, l.work_order_id, l.part_id, p.number, p.name, p.unit, COALESCE(s.bin, '') AS bin, l.reserved,
                l.issued, l.cost_minor, COALESCE(h.quantity, 0) AS lacking
             FROM part_line l JOIN part p ON p.id = l.part_id JOIN work_order w ON w.id = l.work_order_id
             LEFT JOIN stock s ON s.part_id = l.part_id AND s.yard_id = w.yard_id
             LEFT JOIN shortage h ON h.part_id = l.part_id AND h.work_order_id = l.work_order_id ",
            $condition
        )
    };
}

macro_rules! stock {
    ($condition:literal) => {
        concat!(
            "SELECT p.id, p.number, p.name, p.unit, y.id AS yard_id, y.name AS yard_name, COALESCE(s.bin, '') AS bin,
                COALESCE(s.on_hand, 0) AS on_hand, COALESCE(s.reserved, 0) AS reserved,
                COALESCE(s.worth_minor, 0) AS worth_minor, s.level, COALESCE(s.version, 0) AS version,
                CAST(COALESCE((SELECT SUM(o.quantity - o.came) FROM part_on_order o WHERE o.part_id = p.id
                    AND o.yard_id = y.id AND o.came_at IS NULL AND o.dropped_at IS NULL), 0) AS BIGINT) AS on_order,
                CAST(COALESCE((SELECT SUM(h.quantity) FROM shortage h JOIN work_order w ON w.id = h.work_order_id
                    WHERE h.part_id = p.id AND w.yard_id = y.id), 0) AS BIGINT) AS lacking,
                (SELECT MIN(o.expected_at) FROM part_on_order o WHERE o.part_id = p.id AND o.yard_id = y.id
                    AND o.came_at IS NULL AND o.dropped_at IS NULL) AS expected_at
             FROM part p CROSS JOIN yard y LEFT JOIN stock s ON s.part_id = p.id AND s.yard_id = y.id ",
            $condition
        )
    };
}

macro_rules! movement {
    ($condition:literal) => {
        concat!(
            "SELECT s.id, s.part_id, p.number AS part_number, p.name AS part_name, p.unit, y.name AS yard_name, s.kind,
                s.quantity, s.value_minor, s.work_order_id, o.name AS other_yard_name, s.reason, b.name AS by_name, s.at,
                s.note
             FROM stock_movement s JOIN part p ON p.id = s.part_id JOIN yard y ON y.id = s.yard_id
             JOIN person b ON b.id = s.by_id LEFT JOIN yard o ON o.id = s.other_yard_id ",
            $condition
        )
    };
}

impl Tx {
    /// Every part, as each yard of the viewer has it.
    pub async fn parts(&mut self, viewer: PersonId, all_yards: bool) -> Result<Vec<PartRow>> {
        self.all(
            stock!(
                "WHERE $2 OR y.id IN (SELECT yard_id FROM person_yard WHERE person_id = $1)
                 ORDER BY y.name, y.id, p.name, p.number"
            ),
            &[&viewer, &all_yards],
        )
        .await
    }

    pub async fn parts_of_yard(&mut self, yard: YardId) -> Result<Vec<PartRow>> {
        self.all(stock!("WHERE y.id = $1 ORDER BY p.name, p.number"), &[&yard]).await
    }

    /// A part as each yard has it.
    pub async fn part(&mut self, id: PartId) -> Result<Vec<PartRow>> {
        self.all(stock!("WHERE p.id = $1 ORDER BY y.name, y.id"), &[&id]).await
    }

    pub async fn part_in(&mut self, id: PartId, yard: YardId) -> Result<Option<PartRow>> {
        self.maybe(stock!("WHERE p.id = $1 AND y.id = $2"), &[&id, &yard]).await
    }

    /// Locks what the yard has of the part, and loads it.
    pub async fn part_for_change(&mut self, id: PartId, yard: YardId) -> Result<Option<PartRow>> {
        let known: Option<(String,)> = self.maybe("SELECT number FROM part WHERE id = $1", &[&id]).await?;
        if known.is_none() {
            return Ok(None);
        }
        self.run(
            "INSERT INTO stock (part_id, yard_id) VALUES ($1, $2) ON CONFLICT (part_id, yard_id) DO NOTHING",
            &[&id, &yard],
        )
        .await?;
        self.run("UPDATE stock SET version = version + 1 WHERE part_id = $1 AND yard_id = $2", &[&id, &yard])
            .await?;
        self.part_in(id, yard).await
    }

    pub async fn insert_part(&mut self, row: &PartRow, now: DateTime<Utc>) -> Result<()> {
        self.run(
            "INSERT INTO part (id, number, name, unit, created_at) VALUES ($1, $2, $3, $4, $5)",
            &[&row.id, &row.number, &row.name, &row.unit, &now],
        )
        .await?;
        self.run(
            "INSERT INTO stock (part_id, yard_id, bin) VALUES ($1, $2, $3)",
            &[&row.id, &row.yard_id, &row.bin],
        )
        .await?;
        Ok(())
    }

    pub async fn set_bin_and_level(
        &mut self,
        part: PartId,
        yard: YardId,
        bin: &str,
        level: Option<i64>,
    ) -> Result<()> {
        guarded(
            self.run(
                "UPDATE stock SET bin = $3, level = $4 WHERE part_id = $1 AND yard_id = $2",
                &[&part, &yard, &bin.to_owned(), &level],
            )
            .await?,
        )
    }

    /// Saves a balance, guarded by the version it was read with.
    pub async fn save_balance(&mut self, part: &PartRow, to: Balance) -> Result<()> {
        guarded(
            self.run(
                "UPDATE stock SET on_hand = $4, reserved = $5, worth_minor = $6
                 WHERE part_id = $1 AND yard_id = $2 AND version = $3",
                &[&part.id, &part.yard_id, &part.version, &to.on_hand, &to.reserved, &to.worth_minor],
            )
            .await?,
        )
    }

    pub async fn insert_movement(&mut self, new: NewMovement) -> Result<()> {
        self.run(
            "INSERT INTO stock_movement (id, part_id, yard_id, kind, quantity, value_minor, work_order_id, other_yard_id,
                reason, by_id, at, note)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)",
            &[
                &new.id,
                &new.part,
                &new.yard,
                &new.movement.kind,
                &new.movement.quantity,
                &new.movement.value_minor,
                &new.order,
                &new.other_yard,
                &new.reason,
                &new.by,
                &new.at,
                &new.note,
            ],
        )
        .await?;
        Ok(())
    }

    /// The movement under an id: of which part and kind, where, and how much it added to the bin.
    pub async fn movement(&mut self, id: MovementId) -> Result<Option<(PartId, YardId, MovementKind, i64)>> {
        self.maybe("SELECT part_id, yard_id, kind, quantity FROM stock_movement WHERE id = $1", &[&id]).await
    }

    /// The newest of a part's ledger, in the yards of the viewer.
    pub async fn movements_of(
        &mut self,
        part: PartId,
        viewer: PersonId,
        all_yards: bool,
        most: i64,
    ) -> Result<Vec<MovementRow>> {
        self.all(
            movement!(
                "WHERE s.part_id = $1 AND ($3 OR s.yard_id IN (SELECT yard_id FROM person_yard WHERE person_id = $2))
                 ORDER BY s.at DESC, s.id DESC LIMIT $4"
            ),
            &[&part, &viewer, &all_yards, &most],
        )
        .await
    }

    /// The whole ledger, the newest first; or what stands in it after a line.
    pub async fn movements(
        &mut self,
        viewer: PersonId,
        all_yards: bool,
        before: Option<(DateTime<Utc>, MovementId)>,
        most: i64,
    ) -> Result<Vec<MovementRow>> {
        let anywhere = before.is_none();
        let (at, id) = before.unwrap_or((DateTime::UNIX_EPOCH, MovementId(uuid::Uuid::nil())));
        self.all(
            movement!(
                "WHERE ($2 OR s.yard_id IN (SELECT yard_id FROM person_yard WHERE person_id = $1))
                   AND ($4 OR (s.at, s.id) < ($5, $6))
                 ORDER BY s.at DESC, s.id DESC LIMIT $3"
            ),
            &[&viewer, &all_yards, &most, &anywhere, &at, &id],
        )
        .await
    }

    pub async fn movement_at(&mut self, id: MovementId) -> Result<Option<DateTime<Utc>>> {
        let found: Option<(DateTime<Utc>,)> =
            self.maybe("SELECT at FROM stock_movement WHERE id = $1", &[&id]).await?;
        Ok(found.map(|(at,)| at))
    }

    pub async fn lines_of_order(&mut self, order: WorkOrderId) -> Result<Vec<LineRow>> {
        self.all(line!("WHERE l.work_order_id = $1 ORDER BY p.number"), &[&order]).await
    }

    pub async fn line(&mut self, order: WorkOrderId, part: PartId) -> Result<Option<LineRow>> {
        self.maybe(line!("WHERE l.work_order_id = $1 AND l.part_id = $2"), &[&order, &part]).await
    }

    /// Reservations on what a yard has of a part, the oldest work order first.
    pub async fn reservations_on(&mut self, part: PartId, yard: YardId) -> Result<Vec<Reserved>> {
        let rows: Vec<(WorkOrderId, i64)> = self
            .all(
                "SELECT l.work_order_id, l.reserved FROM part_line l JOIN work_order w ON w.id = l.work_order_id
                 WHERE l.part_id = $1 AND w.yard_id = $2 AND l.reserved > 0 ORDER BY w.opened_at, w.number",
                &[&part, &yard],
            )
            .await?;
        Ok(rows.into_iter().map(|(order, quantity)| Reserved { order, quantity }).collect())
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

    /// What was counted of a part on a sheet that was sent before.
    pub async fn counted(&mut self, sheet: CountId, part: PartId) -> Result<Option<i64>> {
        let row: Option<(i64,)> = self
            .maybe("SELECT counted FROM stock_count WHERE id = $1 AND part_id = $2", &[&sheet, &part])
            .await?;
        Ok(row.map(|r| r.0))
    }

    #[expect(clippy::too_many_arguments, reason = "one argument a column")]
    pub async fn insert_count(
        &mut self,
        sheet: CountId,
        part: PartId,
        yard: YardId,
        booked: i64,
        counted: i64,
        by: PersonId,
        at: DateTime<Utc>,
    ) -> Result<()> {
        self.run(
            "INSERT INTO stock_count (id, part_id, yard_id, booked, counted, by_id, at) VALUES ($1, $2, $3, $4, $5, $6, $7)",
            &[&sheet, &part, &yard, &booked, &counted, &by, &at],
        )
        .await?;
        Ok(())
    }

    /// What one whole unit cost when it last came in, in minor units; nothing where none ever did.
    pub async fn last_cost(&mut self, part: PartId) -> Result<i64> {
        let row: Option<(i64, i64)> = self
            .maybe(
                "SELECT value_minor, quantity FROM stock_movement WHERE part_id = $1 AND kind = 'receipt'
                 ORDER BY at DESC, id DESC LIMIT 1",
                &[&part],
            )
            .await?;
        Ok(row.map_or(0, |(value, quantity)| crate::domain::money::share(value, 1000, quantity)))
    }
}
