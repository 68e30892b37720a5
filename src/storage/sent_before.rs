//! What programs sent under a key of their own, and what they were answered, so that it is done once.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{Result, Tx};
use crate::domain::ids::PersonId;

#[derive(Clone, Debug, FromRow)]
pub struct SentBefore {
    pub fingerprint: String,
    /// None while it is under way.
    pub status: Option<i64>,
    pub location: Option<String>,
    /// None where the answer had a secret in it, which is shown once.
    pub body: Option<String>,
}

impl Tx {
    /// Whether nothing was sent under the key yet; then it is taken.
    pub async fn take_key(
        &mut self,
        person: PersonId,
        key: &str,
        fingerprint: &str,
        now: DateTime<Utc>,
    ) -> Result<bool> {
        let taken = self
            .run(
                "INSERT INTO sent_before (person_id, key, fingerprint, begun_at) VALUES ($1, $2, $3, $4)
                 ON CONFLICT (person_id, key) DO NOTHING",
                &[&person, &key.to_owned(), &fingerprint.to_owned(), &now],
            )
            .await?;
        Ok(taken == 1)
    }

    pub async fn sent_before(&mut self, person: PersonId, key: &str) -> Result<Option<SentBefore>> {
        self.maybe(
            "SELECT fingerprint, status, location, body FROM sent_before WHERE person_id = $1 AND key = $2",
            &[&person, &key.to_owned()],
        )
        .await
    }

    pub async fn keep_answer(&mut self, person: PersonId, key: &str, answer: &SentBefore) -> Result<()> {
        self.run(
            "UPDATE sent_before SET status = $3, location = $4, body = $5 WHERE person_id = $1 AND key = $2",
            &[&person, &key.to_owned(), &answer.status, &answer.location, &answer.body],
        )
        .await?;
        Ok(())
    }

    pub async fn give_key_back(&mut self, person: PersonId, key: &str) -> Result<()> {
        self.run("DELETE FROM sent_before WHERE person_id = $1 AND key = $2", &[&person, &key.to_owned()])
            .await?;
        Ok(())
    }

    pub async fn tidy_keys(&mut self, before: DateTime<Utc>) -> Result<u64> {
        self.run("DELETE FROM sent_before WHERE begun_at < $1", &[&before]).await
    }
}
