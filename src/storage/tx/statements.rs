//! How a statement is run on whichever engine is underneath.

use std::sync::Arc;

use futures_util::TryStreamExt;
use sqlx::AssertSqlSafe;
use sqlx::postgres::PgArguments;
use sqlx::sqlite::SqliteArguments;

use super::super::{StorageError, guarded};
use super::together::Together;
use super::writer::Then;
use super::{Conn, Failing, Param, Record, Result, Tx, Which};

/// Runs one body on whichever connection this is. `$conn` is `&mut SqliteConnection` or `&mut PgConnection`,
/// `$args` the arguments bound for it.
macro_rules! on_engine {
    ($self:ident, $params:ident, |$conn:ident, $args:ident| $body:expr) => {{
        $self.step()?;
        $self.send().await?;
        match $self.conn.which()? {
            Which::Sqlite($conn) => {
                let mut $args = SqliteArguments::default();
                for p in $params {
                    p.bind_sqlite(&mut $args).map_err(StorageError::Bind)?;
                }
                $body
            }
            Which::Postgres($conn) => {
                let mut $args = PgArguments::default();
                for p in $params {
                    p.bind_postgres(&mut $args).map_err(StorageError::Bind)?;
                }
                $body
            }
        }
    }};
}

impl Tx {
    /// Which of two statements is to be run, where one for both would cost too much.
    pub(in super::super) fn is_sqlite(&self) -> bool {
        !matches!(self.conn, Conn::PostgresWrite(_) | Conn::PostgresRead(_))
    }

    /// Runs a statement; answers how many rows it touched.
    pub async fn run(&mut self, sql: &'static str, params: &[&dyn Param]) -> Result<u64> {
        on_engine!(self, params, |conn, args| Ok(sqlx::query_with(sql, args)
            .execute(conn)
            .await?
            .rows_affected()))
    }

    pub async fn maybe<T: Record>(&mut self, sql: &'static str, params: &[&dyn Param]) -> Result<Option<T>> {
        on_engine!(self, params, |conn, args| Ok(sqlx::query_as_with(sql, args).fetch_optional(conn).await?))
    }

    pub async fn one<T: Record>(&mut self, sql: &'static str, params: &[&dyn Param]) -> Result<T> {
        on_engine!(self, params, |conn, args| Ok(sqlx::query_as_with(sql, args).fetch_one(conn).await?))
    }

    pub async fn all<T: Record>(&mut self, sql: &'static str, params: &[&dyn Param]) -> Result<Vec<T>> {
        on_engine!(self, params, |conn, args| Ok(sqlx::query_as_with(sql, args).fetch_all(conn).await?))
    }

    /// Hands over row after row as they come, without ever holding them all; `more` answers whether to go on.
    pub async fn each<T: Record>(
        &mut self,
        sql: &'static str,
        params: &[&dyn Param],
        mut more: impl FnMut(T) -> bool,
    ) -> Result<()> {
        /// Others on this thread get their turn after so many.
        const AT_ONCE: u32 = 256;
        on_engine!(self, params, |conn, args| {
            let mut rows = sqlx::query_as_with(sql, args).fetch(conn);
            let mut read = 0;
            while let Some(row) = rows.try_next().await? {
                if !more(row) {
                    break;
                }
                read += 1;
                if read % AT_ONCE == 0 {
                    tokio::task::yield_now().await;
                }
            }
        });
        Ok(())
    }

    /// Runs a statement whose answer nobody needs before the commit. What goes wrong with it may be told only then.
    pub async fn later(&mut self, sql: &'static str, params: &[&dyn Param]) -> Result<()> {
        self.put(sql, params, false).await
    }

    /// As [`Tx::later`], of a row guarded by what was read: [`StorageError::Changed`] when it is not touched.
    pub async fn later_guarded(&mut self, sql: &'static str, params: &[&dyn Param]) -> Result<()> {
        self.put(sql, params, true).await
    }

    async fn put(&mut self, sql: &str, params: &[&dyn Param], one_row: bool) -> Result<()> {
        self.step()?;
        if let Conn::PostgresWrite(tx) = &mut self.conn {
            let mut args = PgArguments::default();
            for p in params {
                p.bind_postgres(&mut args).map_err(StorageError::Bind)?;
            }
            // Only placeholders were added to a literal.
            let done = sqlx::query_with(AssertSqlSafe(sql.to_owned()), args).execute(&mut **tx).await?;
            return if one_row { guarded(done.rows_affected()) } else { Ok(()) };
        }
        self.kept_back()?.add(sql, params, one_row)?;
        self.send_when_long().await
    }

    fn kept_back(&mut self) -> Result<&mut Together> {
        if matches!(self.conn, Conn::SqliteWrite(_)) {
            return Ok(&mut self.together);
        }
        Err(StorageError::NotOnThisEngine("a connection that only reads was given something to write"))
    }

    /// So that one long import is not one long text.
    async fn send_when_long(&mut self) -> Result<()> {
        const MOST_BOUND: usize = 1_000;
        if self.together.bound() > MOST_BOUND { self.send().await } else { Ok(()) }
    }

    /// Sends what was kept back.
    pub(super) async fn send(&mut self) -> Result<()> {
        let Conn::SqliteWrite(writing) = &mut self.conn else { return Ok(()) };
        if writing.has_begun() && self.together.is_empty() {
            return Ok(());
        }
        let mut together = std::mem::take(&mut self.together);
        if let Some(first) = writing.begin().await? {
            together = together.after(first);
        }
        together.send(writing.connection()?).await
    }

    /// Inserts many rows with few statements. `into` is `table (a, b, c)`; every row has as many values as there are names.
    pub async fn insert_rows(&mut self, into: &'static str, rows: &[Vec<&dyn Param>]) -> Result<()> {
        const MOST_PARAMETERS: usize = 1_000;
        let Some(width) = rows.first().map(Vec::len) else { return Ok(()) };
        for chunk in rows.chunks((MOST_PARAMETERS / width).max(1)) {
            let mut sql = format!("INSERT INTO {into} VALUES ");
            if self.is_sqlite() {
                let row = format!("({})", vec!["?"; width].join(","));
                sql.push_str(&vec![row; chunk.len()].join(","));
                self.step()?;
                self.kept_back()?.add_in_order(&sql, chunk.iter().flatten().copied())?;
                self.send_when_long().await?;
                continue;
            }
            for (r, row) in chunk.iter().enumerate() {
                debug_assert_eq!(row.len(), width);
                sql.push_str(if r == 0 { "(" } else { ",(" });
                for c in 0..width {
                    let comma = if c == 0 { "" } else { "," };
                    sql.push_str(&format!("{comma}${}", r * width + c + 1));
                }
                sql.push(')');
            }
            let params: Vec<&dyn Param> = chunk.iter().flatten().copied().collect();
            self.put(&sql, &params, false).await?;
        }
        Ok(())
    }

    pub(super) fn step(&self) -> Result<()> {
        self.failing.as_ref().map_or(Ok(()), Failing::step)
    }

    /// Tells whoever listens, in every process, once this transaction is committed. The topic is a yard's id.
    pub fn announce(&mut self, topic: impl std::fmt::Display) {
        let topic: Arc<str> = topic.to_string().into();
        if !self.announced.contains(&topic) {
            self.announced.push(topic);
        }
    }

    pub async fn commit(mut self) -> Result<()> {
        self.step()?;
        let announced = std::mem::take(&mut self.announced);
        if matches!(&self.conn, Conn::SqliteWrite(writing) if writing.has_begun()) {
            self.send().await?;
        }
        match self.conn {
            Conn::SqliteWrite(writing) => {
                let live = self.live;
                let then: Then = Box::new(move || {
                    for topic in announced {
                        // Nobody listening is no error.
                        let _ = live.send(topic);
                    }
                });
                if writing.has_begun() {
                    writing.commit(then).await?;
                } else if self.together.is_empty() {
                    then();
                } else {
                    writing.hand_in(self.together, then).await?;
                }
            }
            Conn::PostgresWrite(mut tx) => {
                // Delivered by the server at commit, to this process too.
                for topic in &announced {
                    sqlx::query("SELECT pg_notify('chock', $1)").bind(&**topic).execute(&mut *tx).await?;
                }
                tx.commit().await.map_err(StorageError::of_commit)?;
            }
            Conn::SqliteRead(_) | Conn::SqliteSnapshot(_) | Conn::PostgresRead(_) => {}
        }
        Ok(())
    }
}
