//! Statements that nobody waits an answer of are kept back and sent in one go, at the latest with the commit. Every statement
//! that is sent to SQLite goes to a thread of its own and its answer comes back, and all that time everybody else who wants to
//! write stands in line. PostgreSQL takes one at a time, and is sent them at once.

use futures_util::TryStreamExt;
use sqlx::sqlite::{SqliteArguments, SqliteRow};
use sqlx::{AssertSqlSafe, Either, Executor, SqliteConnection};

use super::super::{StorageError, guarded};
use super::{Param, Result};

#[derive(Default)]
pub(super) struct Together {
    sql: String,
    args: SqliteArguments,
    bound: usize,
    /// Of each statement, whether it must touch exactly one row.
    one_row: Vec<bool>,
}

impl Together {
    /// The same after what a transaction begins with, which has no parameters.
    pub(super) fn after(self, first: &str) -> Self {
        let sql = if self.sql.is_empty() { first.to_owned() } else { format!("{first};\n{}", self.sql) };
        let one_row = first.split(';').map(|_| false).chain(self.one_row).collect();
        Self { sql, one_row, ..self }
    }

    pub(super) fn is_empty(&self) -> bool {
        self.one_row.is_empty()
    }

    pub(super) fn statements(&self) -> u32 {
        u32::try_from(self.one_row.len()).unwrap_or(u32::MAX)
    }

    pub(super) fn bound(&self) -> usize {
        self.bound
    }

    /// Statements are put one after another. Their parameters lose their numbers, which SQLite would look up one after the
    /// other, and are given in the order in which they stand. None of ours has a `$` or a `?` in a text.
    pub(super) fn add(&mut self, sql: &str, params: &[&dyn Param], one_row: bool) -> Result<()> {
        if !self.sql.is_empty() {
            self.sql.push_str(";\n");
        }
        let mut parts = sql.split('$');
        self.sql.push_str(parts.next().unwrap_or_default());
        for part in parts {
            let digits = part.bytes().take_while(u8::is_ascii_digit).count();
            let (number, rest) = part.split_at(digits);
            let given = number.parse().ok().and_then(|n: usize| params.get(n.checked_sub(1)?));
            let given = given.ok_or_else(|| StorageError::Unreadable(sql.to_owned()))?;
            given.bind_sqlite(&mut self.args).map_err(StorageError::Bind)?;
            self.bound += 1;
            self.sql.push('?');
            self.sql.push_str(rest);
        }
        self.one_row.push(one_row);
        Ok(())
    }

    /// Of a statement in whose text the parameters stand as `?`.
    pub(super) fn add_in_order<'p>(
        &mut self,
        sql: &str,
        params: impl Iterator<Item = &'p dyn Param>,
    ) -> Result<()> {
        if !self.sql.is_empty() {
            self.sql.push_str(";\n");
        }
        self.sql.push_str(sql);
        for p in params {
            p.bind_sqlite(&mut self.args).map_err(StorageError::Bind)?;
            self.bound += 1;
        }
        self.one_row.push(false);
        Ok(())
    }

    /// The rows that each statement answers, a list a statement.
    pub(super) async fn read(self, connection: &mut SqliteConnection) -> Result<Vec<Vec<SqliteRow>>> {
        // As for `send`; every statement's end is told, also when it has no rows.
        let mut answers = connection.fetch_many(sqlx::query_with(AssertSqlSafe(self.sql), self.args));
        let (mut all, mut rows) = (Vec::with_capacity(self.one_row.len()), Vec::new());
        while let Some(answer) = answers.try_next().await? {
            match answer {
                Either::Left(_) => all.push(std::mem::take(&mut rows)),
                Either::Right(row) => rows.push(row),
            }
        }
        Ok(all)
    }

    pub(super) async fn send(self, connection: &mut SqliteConnection) -> Result<()> {
        // Literals, with other placeholders. That several statements may stand in one text is a thing of this driver,
        // which it does not promise for ever; `the_statements_of_one_go_are_each_done_and_counted` would notice.
        let mut answers = connection.fetch_many(sqlx::query_with(AssertSqlSafe(self.sql), self.args));
        let mut expected = self.one_row.into_iter();
        while let Some(answer) = answers.try_next().await? {
            if let Either::Left(done) = answer
                && expected.next() == Some(true)
            {
                guarded(done.rows_affected())?;
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use sqlx::Connection;

    use super::*;

    #[tokio::test]
    async fn the_statements_of_one_go_are_each_done_and_counted() {
        let mut c = SqliteConnection::connect("sqlite::memory:").await.unwrap();
        let mut all = Together::default();
        all.add("CREATE TABLE t (a BIGINT PRIMARY KEY, b TEXT)", &[], false).unwrap();
        all.after("BEGIN IMMEDIATE").send(&mut c).await.unwrap();
        let add = |a: i64, b: &str, all: &mut Together| {
            all.add("INSERT INTO t (b, a) VALUES ($2, $1)", &[&a, &b.to_owned()], false).unwrap();
        };
        let change = |a: i64, all: &mut Together| {
            all.add("UPDATE t SET b = $1 WHERE a = $2", &[&"seen".to_owned(), &a], true).unwrap();
        };
        let mut all = Together::default();
        add(1, "first", &mut all);
        change(1, &mut all);
        add(2, "second", &mut all);
        change(2, &mut all);
        all.send(&mut c).await.unwrap();
        let rows: Vec<(i64, String)> =
            sqlx::query_as("SELECT a, b FROM t ORDER BY a").fetch_all(&mut c).await.unwrap();
        assert_eq!(rows, [(1, "seen".to_owned()), (2, "seen".to_owned())]);

        let mut all = Together::default();
        add(3, "third", &mut all);
        change(4, &mut all);
        change(3, &mut all);
        assert!(matches!(all.send(&mut c).await, Err(StorageError::Changed)), "there is no 4");
        let mut all = Together::default();
        add(5, "fifth", &mut all);
        add(1, "again", &mut all);
        assert!(matches!(all.send(&mut c).await, Err(StorageError::Duplicate(_))));
    }

    #[tokio::test]
    async fn each_question_has_its_own_answer() {
        use sqlx::Row;
        let mut c = SqliteConnection::connect("sqlite::memory:").await.unwrap();
        let mut all = Together::default();
        let above = "SELECT value FROM (SELECT 1 AS value UNION ALL SELECT 2 UNION ALL SELECT 3) AS t WHERE value > $1";
        for least in [1_i64, 9, 2] {
            all.add(above, &[&least], false).unwrap();
        }
        let answers = all.read(&mut c).await.unwrap();
        let answers: Vec<Vec<i64>> =
            answers.iter().map(|rows| rows.iter().map(|r| r.get(0)).collect()).collect();
        assert_eq!(answers, [vec![2, 3], vec![], vec![3]]);
    }

    #[test]
    fn parameters_are_given_as_they_stand() {
        let mut all = Together::default();
        all.add("UPDATE t SET a = $2, b = COALESCE($3, b) WHERE id = $1", &[&1_i64, &2_i64, &3_i64], true)
            .unwrap();
        all.add("INSERT INTO u VALUES ($1,$2)", &[&"x".to_owned(), &None::<i64>], false).unwrap();
        let short = all.add("DELETE FROM t WHERE a = $1 AND b = $2", &[&1_i64], false);
        assert!(matches!(short, Err(StorageError::Unreadable(_))), "one is missing");
        let mut all = Together::default();
        all.add("UPDATE t SET a = $2, b = COALESCE($3, b) WHERE id = $1", &[&1_i64, &2_i64, &3_i64], true)
            .unwrap();
        all.add("INSERT INTO u VALUES ($1,$2)", &[&"x".to_owned(), &None::<i64>], false).unwrap();
        let all = all.after("RELEASE one; SAVEPOINT two");
        assert_eq!(
            all.sql,
            "RELEASE one; SAVEPOINT two;\nUPDATE t SET a = ?, b = COALESCE(?, b) WHERE id = ?;\nINSERT INTO u VALUES (?,?)"
        );
        assert_eq!((all.bound, all.one_row), (5, vec![false, false, true, false]));
    }
}
