//! A table as the file declares it, its rows as PostgreSQL takes them, and what both sides hold, summed.

use chrono::{DateTime, Utc};
use futures_util::TryStreamExt;
use sha2::{Digest, Sha256};
use sqlx::postgres::PgRow;
use sqlx::sqlite::SqliteRow;
use sqlx::{AssertSqlSafe, PgConnection, Row, SqliteConnection};
use uuid::Uuid;

use super::{MoveError, Result};

pub struct Table {
    pub name: String,
    columns: Vec<Column>,
}

struct Column {
    name: String,
    kind: Kind,
}

/// What a column is declared to hold, in the one dialect of the migrations.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    Id,
    Text,
    Whole,
    YesNo,
    Moment,
    Fraction,
}

/// Declared type, what PostgreSQL calls it, and what it is.
const KINDS: &[(&str, &str, Kind)] = &[
    ("UUID", "uuid", Kind::Id),
    ("TEXT", "text", Kind::Text),
    ("BIGINT", "bigint", Kind::Whole),
    ("BOOLEAN", "boolean", Kind::YesNo),
    ("TIMESTAMPTZ", "timestamp with time zone", Kind::Moment),
    ("DOUBLE PRECISION", "double precision", Kind::Fraction),
];

/// One value of either side.
enum Cell {
    Nothing,
    Id(Uuid),
    Text(String),
    Whole(i64),
    YesNo(bool),
    Moment(DateTime<Utc>),
    Fraction(f64),
}

/// Some rows of the file, as lines of PostgreSQL's COPY.
pub struct Batch {
    pub lines: Vec<u8>,
    pub rows: i64,
    /// Number of the last row; none when there were no more.
    pub last: Option<i64>,
}

/// Of all rows of a table, in whatever order.
#[derive(Default, PartialEq, Eq)]
pub struct Sum {
    pub rows: u64,
    words: [u64; 4],
}

/// Every table of the file but the list of its migrations, which a target has already.
pub async fn tables(source: &mut SqliteConnection) -> Result<Vec<Table>> {
    let names: Vec<(String,)> = sqlx::query_as(
        "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%' AND name <> '_sqlx_migrations'
         ORDER BY name",
    )
    .fetch_all(&mut *source)
    .await?;
    let mut tables = Vec::new();
    for (name,) in names {
        // What is generated makes itself.
        let declared: Vec<(String, String)> = sqlx::query_as(
            "SELECT name, upper(type) FROM pragma_table_xinfo($1) WHERE hidden = 0 ORDER BY cid",
        )
        .bind(&name)
        .fetch_all(&mut *source)
        .await?;
        let columns: Option<Vec<Column>> = declared
            .into_iter()
            .map(|(name, declared)| {
                let (.., kind) = KINDS.iter().find(|(d, ..)| *d == declared)?;
                Some(Column { name, kind: *kind })
            })
            .collect();
        let columns = columns.ok_or_else(|| MoveError::UnlikeTable(name.clone()))?;
        tables.push(Table { name, columns });
    }
    Ok(tables)
}

impl Table {
    fn names(&self) -> String {
        let quoted: Vec<String> = self.columns.iter().map(|c| format!("\"{}\"", c.name)).collect();
        quoted.join(", ")
    }

    pub fn copy_in(&self) -> String {
        format!("COPY \"{}\" ({}) FROM STDIN", self.name, self.names())
    }

    pub async fn same_columns(&self, target: &mut PgConnection) -> Result<bool> {
        let there: Vec<(String, String)> = sqlx::query_as(
            "SELECT column_name::text, data_type::text FROM information_schema.columns
             WHERE table_schema = current_schema() AND table_name = $1 AND is_generated = 'NEVER'",
        )
        .bind(&self.name)
        .fetch_all(target)
        .await?;
        let is_there = |c: &Column| {
            let (_, said, _) = KINDS.iter().find(|(.., k)| *k == c.kind).unwrap_or(&KINDS[0]);
            there.iter().any(|(name, kind)| *name == c.name && kind == said)
        };
        Ok(there.len() == self.columns.len() && self.columns.iter().all(is_there))
    }

    /// The next rows of the file.
    pub async fn read(&self, source: &mut SqliteConnection, after: i64, most: i64) -> Result<Batch> {
        let sql = format!(
            "SELECT {}, rowid FROM \"{}\" WHERE rowid > $1 ORDER BY rowid LIMIT $2",
            self.names(),
            self.name
        );
        let mut rows = sqlx::query(AssertSqlSafe(sql)).bind(after).bind(most).fetch(source);
        let mut batch = Batch { lines: Vec::new(), rows: 0, last: None };
        while let Some(row) = rows.try_next().await? {
            let number: i64 = row.try_get(self.columns.len())?;
            for (n, column) in self.columns.iter().enumerate() {
                if n > 0 {
                    batch.lines.push(b'\t');
                }
                match column.kind.of_source(&row, n) {
                    Ok(Cell::Text(text)) if text.contains('\0') => {
                        let what = "PostgreSQL keeps no text with the character NUL in it";
                        return Err(self.fault(column, number, what));
                    }
                    Ok(cell) => cell.write_to(&mut batch.lines),
                    Err(_) => {
                        return Err(self.fault(column, number, "it is not of the kind its column says"));
                    }
                }
            }
            batch.lines.push(b'\n');
            batch.rows += 1;
            batch.last = Some(number);
        }
        Ok(batch)
    }

    fn fault(&self, column: &Column, row: i64, what: &'static str) -> MoveError {
        MoveError::Value { table: self.name.clone(), column: column.name.clone(), row, what }
    }

    pub async fn sum_of_source(&self, source: &mut SqliteConnection) -> Result<Sum> {
        let sql = format!("SELECT {} FROM \"{}\"", self.names(), self.name);
        let (mut rows, mut sum) = (sqlx::query(AssertSqlSafe(sql)).fetch(source), Sum::default());
        while let Some(row) = rows.try_next().await? {
            let cell = |(n, column): (usize, &Column)| column.kind.of_source(&row, n);
            sum.add(self.columns.iter().enumerate().map(cell))?;
        }
        Ok(sum)
    }

    pub async fn sum_of_target(&self, target: &mut PgConnection) -> Result<Sum> {
        let sql = format!("SELECT {} FROM \"{}\"", self.names(), self.name);
        let (mut rows, mut sum) = (sqlx::query(AssertSqlSafe(sql)).fetch(target), Sum::default());
        while let Some(row) = rows.try_next().await? {
            let cell = |(n, column): (usize, &Column)| column.kind.of_target(&row, n);
            sum.add(self.columns.iter().enumerate().map(cell))?;
        }
        Ok(sum)
    }
}

impl Kind {
    fn of_source(self, row: &SqliteRow, n: usize) -> sqlx::Result<Cell> {
        Ok(match self {
            Self::Id => row.try_get::<Option<_>, _>(n)?.map(Cell::Id),
            Self::Text => row.try_get::<Option<_>, _>(n)?.map(Cell::Text),
            Self::Whole => row.try_get::<Option<_>, _>(n)?.map(Cell::Whole),
            Self::YesNo => row.try_get::<Option<_>, _>(n)?.map(Cell::YesNo),
            Self::Moment => row.try_get::<Option<_>, _>(n)?.map(Cell::Moment),
            Self::Fraction => row.try_get::<Option<_>, _>(n)?.map(Cell::Fraction),
        }
        .unwrap_or(Cell::Nothing))
    }

    fn of_target(self, row: &PgRow, n: usize) -> sqlx::Result<Cell> {
        Ok(match self {
            Self::Id => row.try_get::<Option<_>, _>(n)?.map(Cell::Id),
            Self::Text => row.try_get::<Option<_>, _>(n)?.map(Cell::Text),
            Self::Whole => row.try_get::<Option<_>, _>(n)?.map(Cell::Whole),
            Self::YesNo => row.try_get::<Option<_>, _>(n)?.map(Cell::YesNo),
            Self::Moment => row.try_get::<Option<_>, _>(n)?.map(Cell::Moment),
            Self::Fraction => row.try_get::<Option<_>, _>(n)?.map(Cell::Fraction),
        }
        .unwrap_or(Cell::Nothing))
    }
}

impl Cell {
    /// PostgreSQL's text format of COPY: a tab between values, a line a row, `\N` for nothing.
    fn write_to(&self, line: &mut Vec<u8>) {
        match self {
            Self::Nothing => line.extend_from_slice(b"\\N"),
            Self::Id(id) => line.extend_from_slice(id.to_string().as_bytes()),
            Self::Whole(n) => line.extend_from_slice(n.to_string().as_bytes()),
            Self::YesNo(yes) => line.push(if *yes { b't' } else { b'f' }),
            Self::Moment(at) => line.extend_from_slice(at.to_rfc3339().as_bytes()),
            // The shortest that reads back the same.
            Self::Fraction(x) => line.extend_from_slice(format!("{x:e}").as_bytes()),
            Self::Text(text) => {
                for byte in text.bytes() {
                    match byte {
                        b'\\' => line.extend_from_slice(b"\\\\"),
                        b'\t' => line.extend_from_slice(b"\\t"),
                        b'\n' => line.extend_from_slice(b"\\n"),
                        b'\r' => line.extend_from_slice(b"\\r"),
                        other => line.push(other),
                    }
                }
            }
        }
    }

    fn hash_into(&self, hasher: &mut Sha256) {
        match self {
            Self::Nothing => hasher.update([0]),
            Self::Id(id) => hasher.update(id.as_bytes()),
            Self::Whole(n) => hasher.update(n.to_le_bytes()),
            Self::YesNo(yes) => hasher.update([1, u8::from(*yes)]),
            Self::Moment(at) => hasher.update(at.timestamp_micros().to_le_bytes()),
            Self::Fraction(x) => hasher.update(x.to_bits().to_le_bytes()),
            Self::Text(text) => {
                hasher.update([1]);
                hasher.update(text.len().to_le_bytes());
                hasher.update(text);
            }
        }
    }
}

impl Sum {
    fn add(&mut self, cells: impl Iterator<Item = sqlx::Result<Cell>>) -> Result<()> {
        let mut hasher = Sha256::new();
        for cell in cells {
            cell?.hash_into(&mut hasher);
        }
        for (word, bytes) in self.words.iter_mut().zip(hasher.finalize().chunks_exact(8)) {
            let mut eight = [0; 8];
            eight.copy_from_slice(bytes);
            *word = word.wrapping_add(u64::from_le_bytes(eight));
        }
        self.rows += 1;
        Ok(())
    }
}
