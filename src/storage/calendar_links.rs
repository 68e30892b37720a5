//! The secret link of each person's calendar, by its hash.

use chrono::{DateTime, Utc};

use super::{Result, Tx};
use crate::domain::ids::PersonId;

impl Tx {
    pub async fn calendar_link_since(&mut self, person: PersonId) -> Result<Option<DateTime<Utc>>> {
        let row: Option<(DateTime<Utc>,)> =
            self.maybe("SELECT created_at FROM calendar_link WHERE person_id = $1", &[&person]).await?;
        Ok(row.map(|r| r.0))
    }

    /// Replaces the one before.
    pub async fn set_calendar_link(
        &mut self,
        person: PersonId,
        secret_hash: &str,
        now: DateTime<Utc>,
    ) -> Result<()> {
        self.run(
            "INSERT INTO calendar_link (person_id, secret_hash, created_at) VALUES ($1, $2, $3)
             ON CONFLICT (person_id) DO UPDATE SET secret_hash = excluded.secret_hash, created_at = excluded.created_at",
            &[&person, &secret_hash.to_owned(), &now],
        )
        .await?;
        Ok(())
    }

    pub async fn end_calendar_link(&mut self, person: PersonId) -> Result<()> {
        self.run("DELETE FROM calendar_link WHERE person_id = $1", &[&person]).await?;
        Ok(())
    }

    pub async fn calendar_person(&mut self, secret_hash: &str) -> Result<Option<PersonId>> {
        let row: Option<(PersonId,)> = self
            .maybe("SELECT person_id FROM calendar_link WHERE secret_hash = $1", &[&secret_hash.to_owned()])
            .await?;
        Ok(row.map(|r| r.0))
    }
}
