//! What rules look back on: two statements, and as many readings as they go by, whatever the machine's age.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::tx::Rows;
use super::{Param, Result, StorageError, Tx};
use crate::domain::ids::MachineId;
use crate::domain::unit::Hours;

/// What judgement looks back on.
#[derive(Default)]
pub struct LookedBack {
    /// Of an item at a position once from each time it was asked for.
    pub values: Vec<Values>,
    /// Oldest first.
    pub put_right: Vec<PutRight>,
}

pub struct Values {
    pub item: String,
    pub position: String,
    /// Oldest first.
    pub values: Vec<Value>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Value {
    pub base: f64,
    pub engine_hours: Option<Hours>,
    pub recorded_at: DateTime<Utc>,
}

#[derive(FromRow)]
pub struct PutRight {
    pub item: String,
    pub position: String,
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

/// The newest values of one item, as far as a check was taken by then, as one text. It reads as many rows of its index as it
/// answers, however many there are: a row that goes through the driver costs more than all of an item's in the engine. `+ 0`, for
/// SQLite looks at a bare parameter of a LIMIT while it plans, and so plans the statement anew each time it is bound.
macro_rules! newest {
    ($item:literal) => {
        concat!(
            "SELECT CAST(",
            $item,
            " AS TEXT) AS item, string_agg(point, '\n') AS points FROM (SELECT point FROM reading
    WHERE machine_id = $1 AND item = ",
            $item,
            " AND point IS NOT NULL AND recorded_at >= $2 AND recorded_at <= $3
    ORDER BY recorded_at DESC LIMIT $4 + 0) AS newest HAVING COUNT(*) > 0"
        )
    };
}

macro_rules! newest_of_each {
    ($before:literal) => {
        concat!(
            $before,
            newest!("$5"),
            " UNION ALL ",
            newest!("$6"),
            " UNION ALL ",
            newest!("$7"),
            " UNION ALL ",
            newest!("$8"),
            " UNION ALL ",
            newest!("$9"),
            " UNION ALL ",
            newest!("$10"),
            " UNION ALL ",
            newest!("$11"),
            " UNION ALL ",
            newest!("$12"),
            " UNION ALL ",
            newest!("$13"),
            " UNION ALL ",
            newest!("$14"),
            " UNION ALL ",
            newest!("$15"),
            " UNION ALL ",
            newest!("$16"),
        )
    };
}

/// Values, the newest of each item: for [`LookBack::values`].
pub(super) const VALUES: &str = newest_of_each!("");

/// Whatever was put right, with its amount: for [`LookBack::put_right`].
pub(super) const PUT_RIGHT: &str =
    "SELECT item, position, corrected_base, engine_hours, recorded_at FROM reading
    WHERE machine_id = $1 AND item IN ($4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15)
      AND corrected_what IS NOT NULL AND recorded_at >= $2 AND recorded_at <= $3 ORDER BY recorded_at";

/// A value as trends take it, in one text: its bits, so that it comes back as it was, the engine hours, microseconds since 1970,
/// and the position, which may have spaces in it.
pub(super) fn point(value: f64, hours: Option<Hours>, at: DateTime<Utc>, position: &str) -> String {
    let hours = hours.map(|h| h.0.to_string());
    let hours = hours.as_deref().unwrap_or(NO_HOURS);
    format!("{:x} {hours} {} {position}", value.to_bits(), at.timestamp_micros())
}

const NO_HOURS: &str = "-";

/// The value and its position.
fn read_point(point: &str) -> Option<(Value, &str)> {
    let (bits, rest) = point.split_once(' ')?;
    let (hours, rest) = rest.split_once(' ')?;
    let (at, position) = rest.split_once(' ')?;
    let engine_hours = if hours == NO_HOURS { None } else { Some(Hours(hours.parse().ok()?)) };
    let base = f64::from_bits(u64::from_str_radix(bits, 16).ok()?);
    Some((
        Value { base, engine_hours, recorded_at: DateTime::from_timestamp_micros(at.parse().ok()?)? },
        position,
    ))
}

impl LookBack {
    /// The parameters that are its items.
    pub(super) fn items(&self) -> [String; MOST_ITEMS] {
        std::array::from_fn(|n| self.items.get(n).cloned().unwrap_or_default())
    }

    pub(super) fn values<'a>(
        &'a self,
        machine: &'a MachineId,
        items: &'a [String; MOST_ITEMS],
    ) -> Vec<&'a dyn Param> {
        let mut params: Vec<&dyn Param> = vec![machine, &self.from, &self.until, &self.most];
        params.extend(items.iter().map(|item| item as &dyn Param));
        params
    }

    pub(super) fn put_right<'a>(
        &'a self,
        machine: &'a MachineId,
        items: &'a [String; MOST_ITEMS],
    ) -> Vec<&'a dyn Param> {
        let mut params: Vec<&dyn Param> = vec![machine, &self.from, &self.until];
        params.extend(items.iter().map(|item| item as &dyn Param));
        params
    }
}

pub(super) fn looked_back(values: &Rows, put_right: &Rows) -> Result<LookedBack> {
    let mut back = LookedBack { values: Vec::new(), put_right: put_right.all()? };
    let items: Vec<(String, String)> = values.all()?;
    for (item, points) in items {
        let first = back.values.len();
        for point in points.lines() {
            let unreadable = || StorageError::Unreadable(format!("the point {point}"));
            let (value, position) = read_point(point).ok_or_else(unreadable)?;
            match back.values[first..].iter_mut().find(|v| v.position == position) {
                Some(of_it) => of_it.values.push(value),
                None => back.values.push(Values {
                    item: item.clone(),
                    position: position.to_owned(),
                    values: vec![value],
                }),
            }
        }
        for of_it in &mut back.values[first..] {
            // They come newest first, which no engine promises.
            of_it.values.reverse();
            if !of_it.values.is_sorted_by_key(|v| v.recorded_at) {
                of_it.values.sort_by_key(|v| v.recorded_at);
            }
        }
    }
    Ok(back)
}

impl Tx {
    /// What judgement looks back on.
    pub async fn looked_back_on(&mut self, machine: MachineId, back: &LookBack) -> Result<LookedBack> {
        let items = back.items();
        let asked: [(&'static str, &[&dyn Param]); 2] =
            [(VALUES, &back.values(&machine, &items)), (PUT_RIGHT, &back.put_right(&machine, &items))];
        let [values, put_right] = self.in_one_go(asked).await?;
        looked_back(&values, &put_right)
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
        const PLAN: &str = newest_of_each!("EXPLAIN QUERY PLAN ");
        let folder = tempfile::tempdir().unwrap();
        let db = Db::open(&format!("sqlite:{}", folder.path().join("chock.db").display())).await.unwrap();
        let machine = MachineId(uuid::Uuid::nil());
        let now = DateTime::from_timestamp(1_800_000_000, 0).unwrap();
        let back = LookBack { items: vec!["pad".to_owned()], from: now, until: now, most: 60 };
        let items = back.items();
        let mut tx = db.read().await.unwrap();
        let plan: Vec<(i64, i64, i64, String)> = tx.all(PLAN, &back.values(&machine, &items)).await.unwrap();
        let uses = |what: &str| plan.iter().filter(|step| step.3.contains(what)).count();
        assert_eq!(uses("SEARCH reading USING COVERING INDEX reading_series"), MOST_ITEMS, "{plan:?}");
        assert_eq!(uses("SCAN reading"), 0, "{plan:?}");
    }

    #[test]
    fn a_point_comes_back_as_it_was() {
        let at = DateTime::from_timestamp_micros(1_800_000_000_123_456).unwrap();
        for value in [0.1 + 0.2, -0.0, f64::MIN_POSITIVE, 1e300, 7.0] {
            for (hours, position) in
                [(None, ""), (Some(Hours(-3)), "front left"), (Some(Hours(41_207)), "é - 1")]
            {
                let written = point(value, hours, at, position);
                let (read, of) = read_point(&written).unwrap();
                assert_eq!(read.base.to_bits(), value.to_bits());
                assert_eq!((read.engine_hours, of, read.recorded_at), (hours, position, at));
            }
        }
        assert!(read_point("7 - 1").is_none(), "no position");
    }
}
