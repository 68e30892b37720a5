//! Page sessions and refresh tokens. Only hashes of their secrets are kept.

use chrono::{DateTime, Utc};
use sqlx::FromRow;
use uuid::Uuid;

use super::people::fold_actor;
use super::{Result, Tx};
use crate::domain::ids::{DeviceId, PersonId};
use crate::domain::person::Actor;

#[derive(Clone, Debug, FromRow)]
pub struct RefreshRow {
    pub family: Uuid,
    pub person_id: PersonId,
    pub expires_at: DateTime<Utc>,
    pub used_at: Option<DateTime<Utc>>,
}

impl Tx {
    pub async fn insert_session(
        &mut self,
        secret_hash: &str,
        person: PersonId,
        by_pin_on: Option<DeviceId>,
        now: DateTime<Utc>,
        expires_at: DateTime<Utc>,
    ) -> Result<()> {
        self.run(
            "INSERT INTO page_session (secret_hash, person_id, by_pin_on, created_at, expires_at)
             VALUES ($1, $2, $3, $4, $5)",
            &[&secret_hash.to_owned(), &person, &by_pin_on, &now, &expires_at],
        )
        .await?;
        Ok(())
    }

    /// Who the session belongs to, with what they may do at this moment.
    pub async fn session_actor(&mut self, secret_hash: &str, now: DateTime<Utc>) -> Result<Option<Actor>> {
        let rows = self
            .all(
                "SELECT p.id, p.name, r.role, y.yard_id, s.by_pin_on IS NOT NULL AS by_pin FROM page_session s
                 JOIN person p ON p.id = s.person_id
                 JOIN person_role r ON r.person_id = p.id
                 LEFT JOIN person_yard y ON y.person_id = p.id
                 WHERE s.secret_hash = $1 AND s.expires_at > $2 AND p.disabled_at IS NULL
                 ORDER BY r.role, y.yard_id",
                &[&secret_hash.to_owned(), &now],
            )
            .await?;
        Ok(fold_actor(rows))
    }

    pub async fn end_session(&mut self, secret_hash: &str) -> Result<()> {
        self.run("DELETE FROM page_session WHERE secret_hash = $1", &[&secret_hash.to_owned()]).await?;
        Ok(())
    }

    /// Ends every session, token and PIN of the person.
    pub async fn end_everything_of(&mut self, person: PersonId) -> Result<()> {
        self.run("DELETE FROM page_session WHERE person_id = $1", &[&person]).await?;
        self.run("DELETE FROM refresh_token WHERE person_id = $1", &[&person]).await?;
        self.end_pins_of(person).await
    }

    pub async fn insert_refresh_token(
        &mut self,
        secret_hash: &str,
        family: Uuid,
        person: PersonId,
        now: DateTime<Utc>,
        expires_at: DateTime<Utc>,
    ) -> Result<()> {
        self.run(
            "INSERT INTO refresh_token (secret_hash, family, person_id, created_at, expires_at)
             VALUES ($1, $2, $3, $4, $5)",
            &[&secret_hash.to_owned(), &family, &person, &now, &expires_at],
        )
        .await?;
        Ok(())
    }

    pub async fn refresh_token(&mut self, secret_hash: &str) -> Result<Option<RefreshRow>> {
        self.maybe(
            "SELECT family, person_id, expires_at, used_at FROM refresh_token WHERE secret_hash = $1",
            &[&secret_hash.to_owned()],
        )
        .await
    }

    pub async fn use_refresh_token(&mut self, secret_hash: &str, now: DateTime<Utc>) -> Result<()> {
        super::guarded(
            self.run(
                "UPDATE refresh_token SET used_at = $2 WHERE secret_hash = $1 AND used_at IS NULL",
                &[&secret_hash.to_owned(), &now],
            )
            .await?,
        )
    }

    pub async fn revoke_family(&mut self, family: Uuid) -> Result<()> {
        self.run("DELETE FROM refresh_token WHERE family = $1", &[&family]).await?;
        Ok(())
    }

    pub async fn tidy_sessions(&mut self, now: DateTime<Utc>) -> Result<u64> {
        let sessions = self.run("DELETE FROM page_session WHERE expires_at < $1", &[&now]).await?;
        let tokens = self.run("DELETE FROM refresh_token WHERE expires_at < $1", &[&now]).await?;
        Ok(sessions + tokens)
    }
}
