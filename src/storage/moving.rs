//! Moving a site from its SQLite file to PostgreSQL. Tables, columns and what they hold are learned from the file itself, so
//! that a new table is moved without a line here.
//!
//! While it is copied, the file is held: a server that uses it keeps the move from beginning, and none can start on it.
//! Between a move that was broken off and its going on somebody could, so the file's digest is kept with how far it came.
//! Rows go over in batches by the file's own row numbers, each committed together with the number it came to. Until all of
//! it is there and was compared, the target belongs to the move, and [`super::Db::open`] refuses it.

use std::fs::File;
use std::path::{Path, PathBuf};
use std::str::FromStr;

use sqlx::postgres::PgConnectOptions;
use sqlx::sqlite::SqliteConnectOptions;
use sqlx::{Connection, PgConnection, SqliteConnection};

use super::{Db, StorageError};
use table::{Sum, Table};

mod file;
mod table;
mod target;

#[derive(Debug, thiserror::Error)]
pub enum MoveError {
    #[error("a move goes from sqlite:FILE to postgres://…, and not {0}; nothing goes the other way")]
    NotThatWay(&'static str),
    #[error("{0}: there is no such file")]
    NoFile(PathBuf),
    #[error("{0}: it is no database of Chock")]
    NotOurs(PathBuf),
    #[error("{file}: a server or another program uses it; stop that first ({source})")]
    InUse { file: PathBuf, source: StorageError },
    #[error("{0}: it was made by another version of Chock; run chock verify of this version on it first")]
    OtherVersion(PathBuf),
    #[error("{0}: this is not the same kind of table in both")]
    UnlikeTable(String),
    #[error(
        "the target is not empty ({0} has rows that a new one has not). Moving never overwrites: give an empty database"
    )]
    NotEmpty(String),
    #[error(
        "the target holds part of a move of another file, or of this one before it was changed. Empty it, and begin again"
    )]
    OtherMove,
    #[error("another move into the target is under way")]
    AnotherAtWork,
    #[error("table {table}, column {column}, row {row}: {what}")]
    Value { table: String, column: String, row: i64, what: &'static str },
    #[error("{0}: {1}")]
    Reading(PathBuf, #[source] std::io::Error),
    #[error(transparent)]
    Storage(#[from] StorageError),
}

impl From<sqlx::Error> for MoveError {
    fn from(e: sqlx::Error) -> Self {
        Self::Storage(e.into())
    }
}

type Result<T, E = MoveError> = std::result::Result<T, E>;

/// In one transaction: some megabytes where rows are large.
const AT_ONCE: i64 = 1000;

/// A move that has begun, with the file held and the target taken.
pub struct Move {
    source: SqliteConnection,
    /// Closed after the connection, for its locks go with it.
    read_through: File,
    target: PgConnection,
    tables: Vec<Table>,
    goes_on: bool,
}

/// How a table is in both.
pub struct Compared {
    pub table: String,
    pub rows: u64,
    pub alike: bool,
}

impl Move {
    /// Takes hold of the file and of the target. Nothing is copied yet, and nothing was changed when this fails.
    pub async fn begin(from: &str, to: &str) -> Result<Self> {
        let (file, to) = ends(from, to)?;
        let (mut source, digest, read_through) = hold(&file).await?;
        if !file::made_by_this_version(&mut source).await? {
            return Err(MoveError::OtherVersion(file));
        }
        let tables = table::tables(&mut source).await?;
        let mut target = PgConnection::connect_with(&to).await?;
        target::lock(&mut target).await?;
        let under_way = target::under_way(&mut target).await?;
        match &under_way {
            Some(of) if *of != digest => return Err(MoveError::OtherMove),
            Some(_) => {}
            None => {
                super::tx::ready_for_rows(&mut target).await?;
                for table in &tables {
                    if !table.same_columns(&mut target).await? {
                        return Err(MoveError::UnlikeTable(table.name.clone()));
                    }
                }
                if let Some(table) = target::first_not_as_new(&mut target, &tables).await? {
                    return Err(MoveError::NotEmpty(table));
                }
                target::begin(&mut target, &tables, &digest).await?;
            }
        }
        Ok(Self { source, read_through, target, tables, goes_on: under_way.is_some() })
    }

    /// It goes on where it was broken off.
    pub fn goes_on(&self) -> bool {
        self.goes_on
    }

    pub fn tables(&self) -> usize {
        self.tables.len()
    }

    /// Copies what is not there yet of one table; `told` hears after each batch how many rows are there. Answers all of them.
    pub async fn copy(&mut self, n: usize, mut told: impl FnMut(&str, i64)) -> Result<i64> {
        let Some(table) = self.tables.get(n) else { return Ok(0) };
        let (mut after, mut there) = target::came_to(&mut self.target, &table.name).await?;
        loop {
            let batch = table.read(&mut self.source, after, AT_ONCE).await?;
            let Some(last) = batch.last else { return Ok(there) };
            there += batch.rows;
            let mut tx = self.target.begin().await?;
            let mut copying = tx.copy_in_raw(&table.copy_in()).await?;
            copying.send(batch.lines).await?;
            copying.finish().await?;
            target::set_came_to(&mut tx, &table.name, last, there).await?;
            tx.commit().await?;
            after = last;
            told(&table.name, there);
        }
    }

    /// Lays again what was put aside for the copying: indexes and references, which look at every row.
    pub async fn lay_rules(&mut self) -> Result<()> {
        target::lay_rules(&mut self.target).await
    }

    /// Reads every row on both sides again.
    pub async fn compare(&mut self) -> Result<Vec<Compared>> {
        let mut all = Vec::new();
        for table in &self.tables {
            let there: Sum = table.sum_of_source(&mut self.source).await?;
            let here = table.sum_of_target(&mut self.target).await?;
            all.push(Compared { table: table.name.clone(), rows: there.rows, alike: there == here });
        }
        Ok(all)
    }

    /// From now on the target is a site like any other.
    pub async fn finish(mut self) -> Result<()> {
        target::finish(&mut self.target).await?;
        self.target.close().await?;
        self.source.close().await?;
        drop(self.read_through);
        Ok(())
    }
}

fn ends(from: &str, to: &str) -> Result<(PathBuf, PgConnectOptions)> {
    let Some(file) = from.strip_prefix("sqlite:") else { return Err(MoveError::NotThatWay("from there")) };
    if !to.starts_with("postgres://") && !to.starts_with("postgresql://") {
        return Err(MoveError::NotThatWay("into that"));
    }
    Ok((PathBuf::from(file), PgConnectOptions::from_str(to)?))
}

/// The file, which nobody can write from now on, and the digest of what it is.
async fn hold(file: &Path) -> Result<(SqliteConnection, String, File)> {
    if !file.is_file() {
        return Err(MoveError::NoFile(file.to_owned()));
    }
    if !matches!(Db::entries_in(file).await, Ok(Some(_))) {
        return Err(MoveError::NotOurs(file.to_owned()));
    }
    let in_use = |source| MoveError::InUse { file: file.to_owned(), source };
    Db::settle_file(file).await.map_err(in_use)?;
    let options = SqliteConnectOptions::new().filename(file).read_only(true);
    let mut source = SqliteConnection::connect_with(&options).await?;
    file::take_hold(&mut source).await?;
    // Somebody may have been quicker: with a log of their own they could write beside us.
    if !file::is_without_log(&mut source).await? {
        let busy = sqlx::Error::Protocol("it was opened meanwhile".to_owned());
        return Err(in_use(busy.into()));
    }
    let (digest, read_through) = file::digest(file).await?;
    Ok((source, digest, read_through))
}
