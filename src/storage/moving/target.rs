//! The database that is moved into: taken, and how far the move came.

use std::time::Duration;

use sqlx::{AssertSqlSafe, Connection, PgConnection, SqliteConnection};

use super::table::{Sum, Table};
use super::{MoveError, Result};
use crate::storage::tx::MIGRATOR;

/// For as long as this connection stands. One whose program was killed is noticed within moments.
pub async fn lock(target: &mut PgConnection) -> Result<()> {
    for _ in 0..50 {
        let (mine,): (bool,) =
            sqlx::query_as("SELECT pg_try_advisory_lock(4026)").fetch_one(&mut *target).await?;
        if mine {
            return Ok(());
        }
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
    Err(MoveError::AnotherAtWork)
}

/// The digest of the file whose move into here is not finished.
pub async fn under_way(target: &mut PgConnection) -> Result<Option<String>> {
    let (there,): (bool,) =
        sqlx::query_as("SELECT to_regclass('move_under_way') IS NOT NULL").fetch_one(&mut *target).await?;
    if !there {
        return Ok(None);
    }
    let (of,): (String,) = sqlx::query_as("SELECT digest FROM move_under_way").fetch_one(target).await?;
    Ok(Some(of))
}

/// The first table whose rows are not those of a database that was only just made.
pub async fn first_not_as_new(target: &mut PgConnection, tables: &[Table]) -> Result<Option<String>> {
    let mut new = SqliteConnection::connect("sqlite::memory:").await?;
    MIGRATOR.run(&mut new).await.map_err(crate::storage::StorageError::from)?;
    for table in tables {
        let expected: Sum = table.sum_of_source(&mut new).await?;
        // Whoever works with it has many; two of them are enough to know.
        let few = format!(
            "SELECT COUNT(*) FROM (SELECT 1 FROM \"{}\" LIMIT {}) AS few",
            table.name,
            expected.rows + 1
        );
        let (rows,): (i64,) = sqlx::query_as(AssertSqlSafe(few)).fetch_one(&mut *target).await?;
        if rows.unsigned_abs() != expected.rows || table.sum_of_target(target).await? != expected {
            return Ok(Some(table.name.clone()));
        }
    }
    Ok(None)
}

/// Takes the target for this move: what a new database has of its own goes, and so do the indexes and references, which
/// would be looked at with every row; they are kept to be laid again.
pub async fn begin(target: &mut PgConnection, tables: &[Table], digest: &str) -> Result<()> {
    let mut tx = target.begin().await?;
    sqlx::raw_sql(
        "CREATE TABLE move_under_way (digest TEXT NOT NULL);
         CREATE TABLE move_came_to (table_name TEXT PRIMARY KEY, last_row BIGINT NOT NULL, row_count BIGINT NOT NULL);
         CREATE TABLE move_rule (place BIGINT GENERATED ALWAYS AS IDENTITY, lay TEXT NOT NULL, put_aside TEXT NOT NULL);
         INSERT INTO move_rule (lay, put_aside)
             SELECT pg_get_indexdef(i.indexrelid), 'DROP INDEX ' || i.indexrelid::regclass
             FROM pg_index i JOIN pg_class c ON c.oid = i.indrelid
             WHERE c.relnamespace = current_schema()::regnamespace AND c.relname NOT LIKE 'move%' AND c.relname <> '_sqlx_migrations'
               AND NOT EXISTS (SELECT 1 FROM pg_constraint k WHERE k.conindid = i.indexrelid AND k.contype IN ('p', 'u'));
         INSERT INTO move_rule (lay, put_aside)
             SELECT format('ALTER TABLE %s ADD CONSTRAINT %I %s', conrelid::regclass, conname, pg_get_constraintdef(oid)),
                    format('ALTER TABLE %s DROP CONSTRAINT %I', conrelid::regclass, conname)
             FROM pg_constraint WHERE contype = 'f' AND connamespace = current_schema()::regnamespace;",
    )
    .execute(&mut *tx)
    .await?;
    sqlx::query("INSERT INTO move_under_way (digest) VALUES ($1)").bind(digest).execute(&mut *tx).await?;
    let rules: Vec<(String,)> =
        sqlx::query_as("SELECT put_aside FROM move_rule ORDER BY place DESC").fetch_all(&mut *tx).await?;
    for (put_aside,) in rules {
        sqlx::raw_sql(AssertSqlSafe(put_aside)).execute(&mut *tx).await?;
    }
    for table in tables {
        // An empty one may refuse to be emptied.
        let any = format!("SELECT EXISTS (SELECT 1 FROM \"{}\")", table.name);
        let (any,): (bool,) = sqlx::query_as(AssertSqlSafe(any)).fetch_one(&mut *tx).await?;
        if any {
            sqlx::raw_sql(AssertSqlSafe(format!("DELETE FROM \"{}\"", table.name))).execute(&mut *tx).await?;
        }
    }
    tx.commit().await?;
    Ok(())
}

/// Number of the last row of a table that is there, and how many are.
pub async fn came_to(target: &mut PgConnection, table: &str) -> Result<(i64, i64)> {
    let came: Option<(i64, i64)> =
        sqlx::query_as("SELECT last_row, row_count FROM move_came_to WHERE table_name = $1")
            .bind(table)
            .fetch_optional(target)
            .await?;
    // A file may number its rows from below nought.
    Ok(came.unwrap_or((i64::MIN, 0)))
}

pub async fn set_came_to(target: &mut PgConnection, table: &str, last: i64, rows: i64) -> Result<()> {
    sqlx::query(
        "INSERT INTO move_came_to (table_name, last_row, row_count) VALUES ($1, $2, $3)
         ON CONFLICT (table_name) DO UPDATE SET last_row = excluded.last_row, row_count = excluded.row_count",
    )
    .bind(table)
    .bind(last)
    .bind(rows)
    .execute(target)
    .await?;
    Ok(())
}

pub async fn lay_rules(target: &mut PgConnection) -> Result<()> {
    let rules: Vec<(i64, String)> =
        sqlx::query_as("SELECT place, lay FROM move_rule ORDER BY place").fetch_all(&mut *target).await?;
    for (place, lay) in rules {
        let mut tx = target.begin().await?;
        sqlx::raw_sql(AssertSqlSafe(lay)).execute(&mut *tx).await?;
        sqlx::query("DELETE FROM move_rule WHERE place = $1").bind(place).execute(&mut *tx).await?;
        tx.commit().await?;
    }
    // Until the planner knows how many rows there are, it takes the wrong ways through them.
    sqlx::raw_sql("ANALYZE").execute(target).await?;
    Ok(())
}

pub async fn finish(target: &mut PgConnection) -> Result<()> {
    sqlx::raw_sql("DROP TABLE move_under_way, move_came_to, move_rule").execute(target).await?;
    Ok(())
}
