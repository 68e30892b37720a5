//! The second step of signing in: the secret that a phone shares, recovery codes, and sign-ins that wait for a code.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{Result, Tx, guarded};
use crate::domain::ids::PersonId;

#[derive(Clone, FromRow)]
pub struct SecondStepRow {
    /// Base32.
    pub secret: String,
    pub begun_at: DateTime<Utc>,
    pub confirmed_at: Option<DateTime<Utc>>,
    pub last_step: i64,
}

impl Tx {
    pub async fn second_step(&mut self, person: PersonId) -> Result<Option<SecondStepRow>> {
        self.maybe(
            "SELECT secret, begun_at, confirmed_at, last_step FROM second_step WHERE person_id = $1",
            &[&person],
        )
        .await
    }

    /// Everybody who has one.
    pub async fn with_second_step(&mut self) -> Result<Vec<PersonId>> {
        let rows: Vec<(PersonId,)> =
            self.all("SELECT person_id FROM second_step WHERE confirmed_at IS NOT NULL", &[]).await?;
        Ok(rows.into_iter().map(|r| r.0).collect())
    }

    /// Replaces one that was never confirmed. One that was stays, and this fails.
    pub async fn begin_second_step(
        &mut self,
        person: PersonId,
        secret: &str,
        now: DateTime<Utc>,
    ) -> Result<()> {
        guarded(
            self.run(
                "INSERT INTO second_step (person_id, secret, begun_at) VALUES ($1, $2, $3)
                 ON CONFLICT (person_id) DO UPDATE SET secret = excluded.secret, begun_at = excluded.begun_at
                 WHERE second_step.confirmed_at IS NULL",
                &[&person, &secret.to_owned(), &now],
            )
            .await?,
        )
    }

    pub async fn confirm_second_step(&mut self, person: PersonId, now: DateTime<Utc>) -> Result<()> {
        guarded(
            self.run(
                "UPDATE second_step SET confirmed_at = $2 WHERE person_id = $1 AND confirmed_at IS NULL",
                &[&person, &now],
            )
            .await?,
        )
    }

    /// Fails when this code or a later one was used meanwhile.
    pub async fn use_step(&mut self, person: PersonId, step: i64) -> Result<()> {
        guarded(
            self.run(
                "UPDATE second_step SET last_step = $2 WHERE person_id = $1 AND last_step < $2",
                &[&person, &step],
            )
            .await?,
        )
    }

    /// With its recovery codes; answers how many there were.
    pub async fn remove_second_step(&mut self, person: PersonId) -> Result<u64> {
        self.run("DELETE FROM recovery_code WHERE person_id = $1", &[&person]).await?;
        self.run("DELETE FROM second_step WHERE person_id = $1", &[&person]).await
    }

    /// In place of those there were.
    pub async fn set_recovery_codes(&mut self, person: PersonId, hashes: &[String]) -> Result<()> {
        self.run("DELETE FROM recovery_code WHERE person_id = $1", &[&person]).await?;
        let rows: Vec<Vec<&dyn super::Param>> = hashes.iter().map(|h| vec![h as _, &person as _]).collect();
        self.insert_rows("recovery_code (code_hash, person_id)", &rows).await
    }

    /// Fails when it is none of the person's, or used.
    pub async fn use_recovery_code(
        &mut self,
        person: PersonId,
        hash: &str,
        now: DateTime<Utc>,
    ) -> Result<()> {
        guarded(
            self.run(
                "UPDATE recovery_code SET used_at = $3 WHERE person_id = $1 AND code_hash = $2 AND used_at IS NULL",
                &[&person, &hash.to_owned(), &now],
            )
            .await?,
        )
    }

    pub async fn recovery_codes_left(&mut self, person: PersonId) -> Result<i64> {
        Ok(self
            .one::<(i64,)>(
                "SELECT COUNT(*) FROM recovery_code WHERE person_id = $1 AND used_at IS NULL",
                &[&person],
            )
            .await?
            .0)
    }

    pub async fn insert_begun_sign_in(
        &mut self,
        secret_hash: &str,
        person: PersonId,
        expires_at: DateTime<Utc>,
    ) -> Result<()> {
        self.run(
            "INSERT INTO begun_sign_in (secret_hash, person_id, expires_at) VALUES ($1, $2, $3)",
            &[&secret_hash.to_owned(), &person, &expires_at],
        )
        .await?;
        Ok(())
    }

    /// Counts a code before it is looked at; answers whose sign-in it is, while it waits for one.
    pub async fn try_begun_sign_in(
        &mut self,
        secret_hash: &str,
        now: DateTime<Utc>,
        most: i64,
    ) -> Result<Option<PersonId>> {
        let row: Option<(PersonId,)> = self
            .maybe(
                "UPDATE begun_sign_in SET tries = tries + 1
                 WHERE secret_hash = $1 AND expires_at > $2 AND tries < $3 RETURNING person_id",
                &[&secret_hash.to_owned(), &now, &most],
            )
            .await?;
        Ok(row.map(|r| r.0))
    }

    pub async fn end_begun_sign_ins_of(&mut self, person: PersonId) -> Result<()> {
        self.run("DELETE FROM begun_sign_in WHERE person_id = $1", &[&person]).await?;
        Ok(())
    }

    /// Fails when another was quicker.
    pub async fn end_begun_sign_in(&mut self, secret_hash: &str) -> Result<()> {
        guarded(
            self.run("DELETE FROM begun_sign_in WHERE secret_hash = $1", &[&secret_hash.to_owned()]).await?,
        )
    }
}
