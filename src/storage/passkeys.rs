//! Passkeys, and challenges that wait for an answer.

use chrono::{DateTime, Utc};
use sqlx::FromRow;
use uuid::Uuid;

use super::{Result, Tx};
use crate::domain::ids::PersonId;

#[derive(Clone, Debug, FromRow)]
pub struct PasskeyRow {
    pub credential_id: String,
    pub id: Uuid,
    pub person_id: PersonId,
    pub name: String,
    /// Base64url, as the library writes them.
    pub public_key: String,
    pub state: String,
    pub added_at: DateTime<Utc>,
    pub last_used_at: Option<DateTime<Utc>>,
}

impl Tx {
    pub async fn passkeys_of(&mut self, person: PersonId) -> Result<Vec<PasskeyRow>> {
        self.all(
            "SELECT credential_id, id, person_id, name, public_key, state, added_at, last_used_at FROM passkey
             WHERE person_id = $1 ORDER BY added_at, id",
            &[&person],
        )
        .await
    }

    pub async fn passkey(&mut self, credential_id: &str) -> Result<Option<PasskeyRow>> {
        self.maybe(
            "SELECT credential_id, id, person_id, name, public_key, state, added_at, last_used_at FROM passkey
             WHERE credential_id = $1",
            &[&credential_id.to_owned()],
        )
        .await
    }

    pub async fn insert_passkey(&mut self, new: &PasskeyRow) -> Result<()> {
        self.run(
            "INSERT INTO passkey (credential_id, id, person_id, name, public_key, state, added_at)
             VALUES ($1, $2, $3, $4, $5, $6, $7)",
            &[
                &new.credential_id,
                &new.id,
                &new.person_id,
                &new.name,
                &new.public_key,
                &new.state,
                &new.added_at,
            ],
        )
        .await?;
        Ok(())
    }

    pub async fn passkey_used(&mut self, id: Uuid, state: &str, now: DateTime<Utc>) -> Result<()> {
        self.run(
            "UPDATE passkey SET state = $2, last_used_at = $3 WHERE id = $1",
            &[&id, &state.to_owned(), &now],
        )
        .await?;
        Ok(())
    }

    /// The person's own; answers how many there were.
    pub async fn remove_passkey(&mut self, person: PersonId, id: Uuid) -> Result<u64> {
        self.run("DELETE FROM passkey WHERE person_id = $1 AND id = $2", &[&person, &id]).await
    }

    pub async fn remove_passkeys_of(&mut self, person: PersonId) -> Result<u64> {
        self.run("DELETE FROM passkey WHERE person_id = $1", &[&person]).await
    }

    pub async fn begin_passkey(
        &mut self,
        id: Uuid,
        person: Option<PersonId>,
        state: &str,
        expires_at: DateTime<Utc>,
    ) -> Result<()> {
        self.run(
            "INSERT INTO passkey_begun (id, person_id, state, expires_at) VALUES ($1, $2, $3, $4)",
            &[&id, &person, &state.to_owned(), &expires_at],
        )
        .await?;
        Ok(())
    }

    /// Takes the challenge away: each is answered once, whatever comes of it.
    pub async fn take_passkey_begun(
        &mut self,
        id: Uuid,
        now: DateTime<Utc>,
    ) -> Result<Option<(Option<PersonId>, String)>> {
        self.maybe(
            "DELETE FROM passkey_begun WHERE id = $1 AND expires_at > $2 RETURNING person_id, state",
            &[&id, &now],
        )
        .await
    }

    pub async fn tidy_passkeys_begun(&mut self, now: DateTime<Utc>) -> Result<u64> {
        self.run("DELETE FROM passkey_begun WHERE expires_at < $1", &[&now]).await
    }
}
