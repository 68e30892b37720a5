//! Several questions asked in one go. To SQLite every statement is a way to a thread of its own and back, which costs more than
//! most answers do. PostgreSQL is asked one after another.

use sqlx::postgres::{PgArguments, PgRow};
use sqlx::sqlite::SqliteRow;

use super::super::StorageError;
use super::together::Together;
use super::{Param, Record, Result, Tx, Which};

/// What one of them was answered.
pub struct Rows(Kind);

enum Kind {
    Sqlite(Vec<SqliteRow>),
    Postgres(Vec<PgRow>),
}

impl Rows {
    pub fn all<T: Record>(&self) -> Result<Vec<T>> {
        Ok(match &self.0 {
            Kind::Sqlite(rows) => rows.iter().map(T::from_row).collect::<Result<_, sqlx::Error>>()?,
            Kind::Postgres(rows) => rows.iter().map(T::from_row).collect::<Result<_, sqlx::Error>>()?,
        })
    }

    pub fn first<T: Record>(&self) -> Result<Option<T>> {
        Ok(match &self.0 {
            Kind::Sqlite(rows) => rows.first().map(T::from_row).transpose()?,
            Kind::Postgres(rows) => rows.first().map(T::from_row).transpose()?,
        })
    }
}

impl Tx {
    /// The answers, in the order of the questions.
    pub(in super::super) async fn in_one_go<const N: usize>(
        &mut self,
        asked: [(&'static str, &[&dyn Param]); N],
    ) -> Result<[Rows; N]> {
        self.step()?;
        self.send().await?;
        let mut answers = Vec::with_capacity(N);
        match self.conn.which()? {
            Which::Sqlite(connection) => {
                let mut together = Together::default();
                for (sql, params) in asked {
                    together.add(sql, params, false)?;
                }
                answers.extend(
                    together.read(connection).await?.into_iter().map(|rows| Rows(Kind::Sqlite(rows))),
                );
            }
            Which::Postgres(connection) => {
                for (sql, params) in asked {
                    let mut args = PgArguments::default();
                    for p in params {
                        p.bind_postgres(&mut args).map_err(StorageError::Bind)?;
                    }
                    let rows = sqlx::query_with(sql, args).fetch_all(&mut *connection).await?;
                    answers.push(Rows(Kind::Postgres(rows)));
                }
            }
        }
        answers.try_into().map_err(|all: Vec<Rows>| {
            StorageError::Unreadable(format!("{} answers to {N} questions", all.len()))
        })
    }
}
