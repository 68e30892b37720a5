//! What rules look back on: two statements, and as many rows as they go by, whatever the machine's age.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{Param, Result, Tx};
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

/// The newest values of one item, as far as a check was taken by then. It reads as many rows of its index as it answers,
/// however many there are.
macro_rules! newest {
    ($item:literal) => {
        concat!(
            "SELECT * FROM (SELECT item, position, value_base, CAST(NULL AS TEXT) AS corrected_what,
    CAST(NULL AS DOUBLE PRECISION) AS corrected_base, engine_hours, recorded_at FROM reading
    WHERE machine_id = $1 AND item = ",
            $item,
            " AND value_base IS NOT NULL AND recorded_at >= $2 AND recorded_at <= $3
    ORDER BY recorded_at DESC LIMIT $4) AS newest UNION ALL "
        )
    };
}

/// Values, the newest of each item, and whatever was put right.
const NEWEST_AND_PUT_RIGHT: &str = concat!(
    newest!("$5"),
    newest!("$6"),
    newest!("$7"),
    newest!("$8"),
    newest!("$9"),
    newest!("$10"),
    newest!("$11"),
    newest!("$12"),
    newest!("$13"),
    newest!("$14"),
    newest!("$15"),
    newest!("$16"),
    "SELECT item, position, CAST(NULL AS DOUBLE PRECISION) AS value_base, corrected_what, corrected_base, engine_hours,
    recorded_at FROM reading
    WHERE machine_id = $1 AND item IN ($5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16)
      AND corrected_what IS NOT NULL AND recorded_at >= $2 AND recorded_at <= $3
    ORDER BY recorded_at"
);

impl Tx {
    /// What judgement looks back on, oldest first: of each of these items (at most [`MOST_ITEMS`]) the newest `most` values
    /// from `from` to `until`, and whatever was put right then. A row is the one or the other.
    pub async fn looked_back_on(
        &mut self,
        machine: MachineId,
        items: &[String],
        from: DateTime<Utc>,
        until: DateTime<Utc>,
        most: i64,
    ) -> Result<Vec<SeriesRow>> {
        let items: [String; MOST_ITEMS] = std::array::from_fn(|n| items.get(n).cloned().unwrap_or_default());
        let mut params: Vec<&dyn Param> = vec![&machine, &from, &until, &most];
        params.extend(items.iter().map(|item| item as &dyn Param));
        self.all(NEWEST_AND_PUT_RIGHT, &params).await
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
