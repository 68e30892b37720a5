//! Wrong tries at passwords, and from where people signed in. Keys are hashes: the table tells nobody's address.

use chrono::{DateTime, Utc};

use super::{Result, Tx};
use crate::domain::ids::PersonId;

impl Tx {
    /// Counts one more and holds the row, so that one try waits for another; answers how many there are now. None when it
    /// is too soon. Those before `forgotten` no longer count.
    pub async fn count_wrong_try(
        &mut self,
        key: &str,
        now: DateTime<Utc>,
        forgotten: DateTime<Utc>,
    ) -> Result<Option<i64>> {
        let row: Option<(i64,)> = self
            .maybe(
                "INSERT INTO wrong_try (key, tries, last_at, next_at) VALUES ($1, 1, $2, $2)
                 ON CONFLICT (key) DO UPDATE SET last_at = excluded.last_at,
                   tries = CASE WHEN wrong_try.last_at < $3 THEN 1 ELSE wrong_try.tries + 1 END
                 WHERE wrong_try.next_at <= $2
                 RETURNING tries",
                &[&key.to_owned(), &now, &forgotten],
            )
            .await?;
        Ok(row.map(|r| r.0))
    }

    pub async fn next_try_at(&mut self, key: &str) -> Result<Option<DateTime<Utc>>> {
        let row: Option<(DateTime<Utc>,)> =
            self.maybe("SELECT next_at FROM wrong_try WHERE key = $1", &[&key.to_owned()]).await?;
        Ok(row.map(|r| r.0))
    }

    pub async fn set_next_try(&mut self, key: &str, at: DateTime<Utc>) -> Result<()> {
        self.run("UPDATE wrong_try SET next_at = $2 WHERE key = $1", &[&key.to_owned(), &at]).await?;
        Ok(())
    }

    /// Takes back one that was counted and turned out right; all of them when `all`.
    pub async fn uncount_wrong_try(&mut self, key: &str, all: bool) -> Result<()> {
        let sql = if all {
            "DELETE FROM wrong_try WHERE key = $1"
        } else {
            "UPDATE wrong_try SET tries = tries - 1 WHERE key = $1 AND tries > 0"
        };
        self.run(sql, &[&key.to_owned()]).await?;
        Ok(())
    }

    pub async fn signed_in_from(
        &mut self,
        person: PersonId,
        place: &str,
        since: DateTime<Utc>,
    ) -> Result<bool> {
        let row: Option<(i64,)> = self
            .maybe(
                "SELECT CAST(1 AS BIGINT) FROM signed_in_from WHERE person_id = $1 AND place = $2 AND last_at >= $3",
                &[&person, &place.to_owned(), &since],
            )
            .await?;
        Ok(row.is_some())
    }

    pub async fn keep_place(&mut self, person: PersonId, place: &str, now: DateTime<Utc>) -> Result<()> {
        self.run(
            "INSERT INTO signed_in_from (person_id, place, last_at) VALUES ($1, $2, $3)
             ON CONFLICT (person_id, place) DO UPDATE SET last_at = excluded.last_at",
            &[&person, &place.to_owned(), &now],
        )
        .await?;
        Ok(())
    }

    /// Drops tries and places from before.
    pub async fn tidy_tries(&mut self, tries: DateTime<Utc>, places: DateTime<Utc>) -> Result<u64> {
        let gone = self.run("DELETE FROM wrong_try WHERE last_at < $1", &[&tries]).await?;
        Ok(gone + self.run("DELETE FROM signed_in_from WHERE last_at < $1", &[&places]).await?)
    }
}
