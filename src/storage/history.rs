//! What rules look back on: two statements, and as many readings as they go by, whatever the machine's age.

use chrono::{DateTime, Utc};
use serde::Deserialize;
use sqlx::FromRow;

use super::tx::Rows;
use super::{Param, Result, StorageError, Tx};
use crate::domain::ids::MachineId;
use crate::domain::unit::Hours;

/// A reading of the series: a value, or something put right.
#[derive(Clone, Debug, PartialEq)]
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

/// Which readings are looked back on: of each of these items (at most [`MOST_ITEMS`]) the newest `most` values from `from` to
/// `until`, and whatever was put right then.
pub struct LookBack {
    pub items: Vec<String>,
    pub from: DateTime<Utc>,
    pub until: DateTime<Utc>,
    pub most: i64,
}

/// How many items one checklist may look back on.
pub const MOST_ITEMS: usize = 12;

/// When each item's defects were closed, oldest first.
pub(super) const RELEASED: &str = "SELECT item, position, closed_at, part_replaced FROM defect
    WHERE machine_id = $1 AND item IS NOT NULL AND closed_at >= $2 ORDER BY closed_at";

/// The newest values of one item, as far as a check was taken by then. It reads as many rows of its index as it answers,
/// however many there are. `+ 0`, for SQLite looks at a bare parameter of a LIMIT while it plans, and so plans the statement anew
/// each time it is bound.
macro_rules! newest {
    ($item:literal) => {
        concat!(
            "SELECT * FROM (SELECT item, position, value_base AS value, CAST(NULL AS TEXT) AS corrected, engine_hours,
    recorded_at FROM reading WHERE machine_id = $1 AND item = ",
            $item,
            " AND value_base IS NOT NULL AND recorded_at >= $2 AND recorded_at <= $3
    ORDER BY recorded_at DESC LIMIT $4 + 0) AS newest UNION ALL "
        )
    };
}

/// Values, the newest of each item, and whatever was put right with its amount.
macro_rules! newest_and_put_right {
    ($before:literal) => {
        concat!(
            $before,
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
            "SELECT item, position, corrected_base AS value, corrected_what AS corrected, engine_hours, recorded_at FROM reading
    WHERE machine_id = $1 AND item IN ($5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16)
      AND corrected_what IS NOT NULL AND recorded_at >= $2 AND recorded_at <= $3) AS looked_back_on"
        )
    };
}

/// All of it as one text: of a machine that is checked daily these are some five hundred readings, and the driver takes longer
/// over so many rows than over the rest of a check. Seventeen digits, for the engine's JSON has fifteen: a value comes back as it
/// was put in.
const ON_SQLITE: &str = newest_and_put_right!(
    "SELECT json_group_array(json_array(item, position, CASE WHEN value IS NOT NULL THEN format('%!.17g', value) END,
    corrected, engine_hours, recorded_at)) FROM ("
);
/// Here a row costs less than a list of it.
const ON_POSTGRES: &str = newest_and_put_right!("SELECT * FROM (");

/// Item, position, value or amount, what was put right, engine hours, when.
#[derive(Deserialize)]
struct Listed<'l>(String, String, #[serde(borrow)] Option<&'l str>, Option<String>, Option<i64>, &'l str);

#[derive(FromRow)]
struct Reading {
    item: String,
    position: String,
    value: Option<f64>,
    corrected: Option<String>,
    engine_hours: Option<Hours>,
    recorded_at: DateTime<Utc>,
}

impl LookBack {
    /// The statement's parameters after the machine's.
    pub(super) fn items(&self) -> [String; MOST_ITEMS] {
        std::array::from_fn(|n| self.items.get(n).cloned().unwrap_or_default())
    }

    pub(super) fn params<'a>(
        &'a self,
        machine: &'a MachineId,
        items: &'a [String; MOST_ITEMS],
    ) -> Vec<&'a dyn Param> {
        let mut params: Vec<&dyn Param> = vec![machine, &self.from, &self.until, &self.most];
        params.extend(items.iter().map(|item| item as &dyn Param));
        params
    }
}

/// The statement for [`LookBack::params`]; [`series`] reads what it answers.
pub(super) fn asked(tx: &Tx) -> &'static str {
    if tx.is_sqlite() { ON_SQLITE } else { ON_POSTGRES }
}

/// Oldest first.
pub(super) fn series(rows: &Rows) -> Result<Vec<SeriesRow>> {
    let readings = if rows.of_sqlite() {
        let lists: Vec<(String,)> = rows.all()?;
        lists.iter().map(|(list,)| listed(list)).collect::<Result<Vec<_>>>()?.concat()
    } else {
        rows.all::<Reading>()?.into_iter().map(Reading::sorted_out).collect()
    };
    let mut readings = readings;
    readings.sort_by_key(|r| r.recorded_at);
    Ok(readings)
}

fn listed(list: &str) -> Result<Vec<SeriesRow>> {
    let unreadable = |why: String| StorageError::Unreadable(format!("what was read before: {why}"));
    let all: Vec<Listed<'_>> = serde_json::from_str(list).map_err(|e| unreadable(e.to_string()))?;
    let one = |Listed(item, position, value, corrected, hours, recorded_at)| {
        let value =
            value.map(|v| v.parse().map_err(|_| unreadable(format!("{v} as a value")))).transpose()?;
        // The one shape in which they are kept, which is read quicker than any.
        let recorded_at = DateTime::parse_from_rfc3339(recorded_at)
            .map_err(|_| unreadable(format!("{recorded_at} as a time")))?
            .to_utc();
        let reading =
            Reading { item, position, value, corrected, engine_hours: hours.map(Hours), recorded_at };
        Ok(reading.sorted_out())
    };
    all.into_iter().map(one).collect()
}

impl Reading {
    /// A row is a value or something put right, never both.
    fn sorted_out(self) -> SeriesRow {
        let (value_base, corrected_base) =
            if self.corrected.is_some() { (None, self.value) } else { (self.value, None) };
        SeriesRow {
            item: self.item,
            position: self.position,
            value_base,
            corrected_what: self.corrected,
            corrected_base,
            engine_hours: self.engine_hours,
            recorded_at: self.recorded_at,
        }
    }
}

impl Tx {
    /// What judgement looks back on, oldest first.
    pub async fn looked_back_on(&mut self, machine: MachineId, back: &LookBack) -> Result<Vec<SeriesRow>> {
        let items = back.items();
        let [rows] = self.in_one_go([(asked(self), &back.params(&machine, &items))]).await?;
        series(&rows)
    }

    pub async fn released_items(
        &mut self,
        machine: MachineId,
        from: DateTime<Utc>,
    ) -> Result<Vec<ReleasedRow>> {
        self.all(RELEASED, &[&machine, &from]).await
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::storage::Db;

    /// Whatever the table's size, a place's newest values are read from the index alone.
    #[tokio::test]
    async fn values_are_read_from_their_index() {
        const PLAN: &str = newest_and_put_right!("EXPLAIN QUERY PLAN SELECT * FROM (");
        let folder = tempfile::tempdir().unwrap();
        let db = Db::open(&format!("sqlite:{}", folder.path().join("chock.db").display())).await.unwrap();
        let machine = MachineId(uuid::Uuid::nil());
        let now = DateTime::from_timestamp(1_800_000_000, 0).unwrap();
        let back = LookBack { items: vec!["pad".to_owned()], from: now, until: now, most: 60 };
        let items = back.items();
        let mut tx = db.read().await.unwrap();
        let plan: Vec<(i64, i64, i64, String)> = tx.all(PLAN, &back.params(&machine, &items)).await.unwrap();
        let uses = |what: &str| plan.iter().filter(|step| step.3.contains(what)).count();
        assert_eq!(uses("SEARCH reading USING COVERING INDEX reading_series"), MOST_ITEMS, "{plan:?}");
        assert_eq!(uses("SEARCH reading USING INDEX reading_put_right"), 1, "{plan:?}");
        assert_eq!(uses("SCAN reading"), 0, "{plan:?}");
    }
}
