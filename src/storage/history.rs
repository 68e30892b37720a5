//! What rules look back on: at most three statements, whatever the machine's age.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{Result, Tx};
use crate::domain::ids::MachineId;
use crate::domain::unit::Hours;

/// A reading of the series: a value, or something put right.
#[derive(Clone, Debug, FromRow)]
pub struct SeriesRow {
    pub item: String,
    pub position: String,
    pub value_base: Option<f64>,
    pub corrected_what: Option<String>,
    pub corrected_base: Option<f64>,
    pub engine_hours: Option<Hours>,
    pub recorded_at: DateTime<Utc>,
}

/// A closed defect of an item, and whether its part was replaced.
#[derive(Clone, Debug, FromRow)]
pub struct ReleasedRow {
    pub item: String,
    pub position: String,
    pub closed_at: DateTime<Utc>,
    pub part_replaced: bool,
}

/// How many items one checklist may look back on.
pub const MOST_ITEMS: usize = 12;

impl Tx {
    /// Readings of these items (at most [`MOST_ITEMS`]) since `from`, oldest first.
    pub async fn series(
        &mut self,
        machine: MachineId,
        items: &[String],
        from: DateTime<Utc>,
    ) -> Result<Vec<SeriesRow>> {
        let item = |n: usize| items.get(n).cloned().unwrap_or_default();
        self.all(
            "SELECT item, position, value_base, corrected_what, corrected_base, engine_hours, recorded_at FROM reading
             WHERE machine_id = $1 AND recorded_at >= $2
               AND item IN ($3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14)
             ORDER BY recorded_at",
            &[
                &machine,
                &from,
                &item(0),
                &item(1),
                &item(2),
                &item(3),
                &item(4),
                &item(5),
                &item(6),
                &item(7),
                &item(8),
                &item(9),
                &item(10),
                &item(11),
            ],
        )
        .await
    }

    /// When each item's defects were closed, oldest first.
    pub async fn released_items(
        &mut self,
        machine: MachineId,
        from: DateTime<Utc>,
    ) -> Result<Vec<ReleasedRow>> {
        self.all(
            "SELECT item, position, closed_at, part_replaced FROM defect
             WHERE machine_id = $1 AND item IS NOT NULL AND closed_at >= $2 ORDER BY closed_at",
            &[&machine, &from],
        )
        .await
    }
}
