//! Page sessions and refresh tokens. Only hashes of their secrets are kept.

use chrono::{DateTime, Utc};
use sqlx::FromRow;
use uuid::Uuid;

use super::people::{ActorRow, fold_actor};
use super::{Result, Tx};
use crate::domain::ids::{DeviceId, PersonId};
use crate::domain::person::Actor;

#[derive(Clone, Debug, FromRow)]
pub struct RefreshRow {
    pub family: Uuid,
    pub person_id: PersonId,
    pub expires_at: DateTime<Utc>,
    pub used_at: Option<DateTime<Utc>>,
    pub began_at: DateTime<Utc>,
    pub place: String,
    pub program: String,
}

/// One that begins, or goes on with another token.
pub struct NewSession {
    pub secret_hash: String,
    /// Of the page session, or of the family of tokens.
    pub id: Uuid,
    pub person: PersonId,
    pub now: DateTime<Utc>,
    pub expires_at: DateTime<Utc>,
    pub place: String,
    pub program: String,
}

/// As its own person is shown it.
#[derive(Clone, Debug, FromRow)]
pub struct SessionRow {
    pub id: Uuid,
    pub began_at: DateTime<Utc>,
    pub last_used_at: DateTime<Utc>,
    pub place: String,
    pub program: String,
    pub by_pin: bool,
}

/// Who came in, and what else is known of it.
#[derive(Clone, Debug)]
pub struct ActorIn {
    pub actor: Actor,
    pub last_used_at: DateTime<Utc>,
    /// The owner asks for a second step, and this person has set none up.
    pub lacks_second_step: bool,
}

#[derive(FromRow)]
struct ActorInRow {
    #[sqlx(flatten)]
    actor: ActorRow,
    last_used_at: DateTime<Utc>,
    lacks_second_step: bool,
}

/// One row for each role and yard.
macro_rules! actor_in {
    ($columns:literal, $from_and_where:literal) => {
        concat!(
            "SELECT p.id, p.name, r.role, y.yard_id, ",
            $columns,
            ", (EXISTS (SELECT 1 FROM setting WHERE name = 'second step' AND value = 'asked for')
                AND NOT EXISTS (SELECT 1 FROM second_step t WHERE t.person_id = p.id AND t.confirmed_at IS NOT NULL))
                AS lacks_second_step ",
            $from_and_where,
            " AND p.disabled_at IS NULL ORDER BY r.role, y.yard_id"
        )
    };
}

impl Tx {
    pub async fn insert_session(&mut self, new: &NewSession, by_pin_on: Option<DeviceId>) -> Result<()> {
        self.run(
            "INSERT INTO page_session
               (secret_hash, id, person_id, by_pin_on, created_at, last_used_at, proved_at, expires_at, place, program)
             VALUES ($1, $2, $3, $4, $5, $5, $5, $6, $7, $8)",
            &[
                &new.secret_hash,
                &new.id,
                &new.person,
                &by_pin_on,
                &new.now,
                &new.expires_at,
                &new.place,
                &new.program,
            ],
        )
        .await?;
        Ok(())
    }

    /// Who the session belongs to, with what they may do at this moment. Whoever proved who they are before `fresh_since`
    /// did so long ago.
    pub async fn session_actor(
        &mut self,
        secret_hash: &str,
        now: DateTime<Utc>,
        fresh_since: DateTime<Utc>,
    ) -> Result<Option<ActorIn>> {
        let rows = self
            .all(
                actor_in!(
                    "s.by_pin_on IS NOT NULL AS by_pin, s.proved_at < $3 AS long_ago, s.last_used_at",
                    "FROM page_session s JOIN person p ON p.id = s.person_id
                     JOIN person_role r ON r.person_id = p.id
                     LEFT JOIN person_yard y ON y.person_id = p.id
                     WHERE s.secret_hash = $1 AND s.expires_at > $2"
                ),
                &[&secret_hash.to_owned(), &now, &fresh_since],
            )
            .await?;
        Ok(fold(rows))
    }

    /// Whom an access token names, while the sign-in that it came of has not ended.
    pub async fn token_actor(
        &mut self,
        person: PersonId,
        family: Uuid,
        fresh_since: DateTime<Utc>,
    ) -> Result<Option<ActorIn>> {
        let rows = self
            .all(
                actor_in!(
                    "FALSE AS by_pin, f.began_at < $3 AS long_ago, f.last_used_at",
                    "FROM (SELECT person_id, MIN(began_at) AS began_at, MAX(created_at) AS last_used_at FROM refresh_token
                       WHERE family = $2 AND person_id = $1 GROUP BY person_id) f
                     JOIN person p ON p.id = f.person_id
                     JOIN person_role r ON r.person_id = p.id
                     LEFT JOIN person_yard y ON y.person_id = p.id
                     WHERE p.id = $1"
                ),
                &[&person, &family, &fresh_since],
            )
            .await?;
        Ok(fold(rows))
    }

    pub async fn session_used(&mut self, secret_hash: &str, now: DateTime<Utc>) -> Result<()> {
        self.run(
            "UPDATE page_session SET last_used_at = $2 WHERE secret_hash = $1",
            &[&secret_hash.to_owned(), &now],
        )
        .await?;
        Ok(())
    }

    /// The password was given once more. A session by PIN stays what it is.
    pub async fn session_proved(&mut self, secret_hash: &str, now: DateTime<Utc>) -> Result<()> {
        self.run(
            "UPDATE page_session SET proved_at = $2 WHERE secret_hash = $1 AND by_pin_on IS NULL",
            &[&secret_hash.to_owned(), &now],
        )
        .await?;
        Ok(())
    }

    pub async fn end_session(&mut self, secret_hash: &str) -> Result<()> {
        self.run("DELETE FROM page_session WHERE secret_hash = $1", &[&secret_hash.to_owned()]).await?;
        Ok(())
    }

    /// Ends every session, token and PIN of the person, and whatever sign-in waits for its code.
    pub async fn end_everything_of(&mut self, person: PersonId) -> Result<()> {
        self.run("DELETE FROM page_session WHERE person_id = $1", &[&person]).await?;
        self.run("DELETE FROM refresh_token WHERE person_id = $1", &[&person]).await?;
        self.run("DELETE FROM begun_sign_in WHERE person_id = $1", &[&person]).await?;
        self.end_pins_of(person).await
    }

    /// The page sessions of a person, the one used last before the others.
    pub async fn sessions_of(&mut self, person: PersonId, now: DateTime<Utc>) -> Result<Vec<SessionRow>> {
        self.all(
            "SELECT id, created_at AS began_at, last_used_at, place, program, by_pin_on IS NOT NULL AS by_pin
             FROM page_session WHERE person_id = $1 AND expires_at > $2 ORDER BY last_used_at DESC, id",
            &[&person, &now],
        )
        .await
    }

    /// The families of tokens of a person, the one used last before the others.
    pub async fn families_of(&mut self, person: PersonId, now: DateTime<Utc>) -> Result<Vec<SessionRow>> {
        self.all(
            "SELECT family AS id, began_at, created_at AS last_used_at, place, program, FALSE AS by_pin
             FROM refresh_token WHERE person_id = $1 AND used_at IS NULL AND expires_at > $2
             ORDER BY created_at DESC, family",
            &[&person, &now],
        )
        .await
    }

    pub async fn session_id(&mut self, secret_hash: &str) -> Result<Option<Uuid>> {
        let row: Option<(Uuid,)> = self
            .maybe("SELECT id FROM page_session WHERE secret_hash = $1", &[&secret_hash.to_owned()])
            .await?;
        Ok(row.map(|r| r.0))
    }

    /// The person's own, whether of pages or of tokens; answers how many there were.
    pub async fn end_session_of(&mut self, person: PersonId, id: Uuid) -> Result<u64> {
        let pages =
            self.run("DELETE FROM page_session WHERE person_id = $1 AND id = $2", &[&person, &id]).await?;
        let tokens = self
            .run("DELETE FROM refresh_token WHERE person_id = $1 AND family = $2", &[&person, &id])
            .await?;
        Ok(pages + tokens)
    }

    pub async fn insert_refresh_token(&mut self, new: &NewSession, began_at: DateTime<Utc>) -> Result<()> {
        self.run(
            "INSERT INTO refresh_token
               (secret_hash, family, person_id, created_at, expires_at, began_at, place, program)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
            &[
                &new.secret_hash,
                &new.id,
                &new.person,
                &new.now,
                &new.expires_at,
                &began_at,
                &new.place,
                &new.program,
            ],
        )
        .await?;
        Ok(())
    }

    pub async fn refresh_token(&mut self, secret_hash: &str) -> Result<Option<RefreshRow>> {
        self.maybe(
            "SELECT family, person_id, expires_at, used_at, began_at, place, program FROM refresh_token
             WHERE secret_hash = $1",
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
        let begun = self.run("DELETE FROM begun_sign_in WHERE expires_at < $1", &[&now]).await?;
        Ok(sessions + tokens + begun)
    }
}

fn fold(rows: Vec<ActorInRow>) -> Option<ActorIn> {
    let first = rows.first()?;
    let (last_used_at, lacks_second_step) = (first.last_used_at, first.lacks_second_step);
    let actor = fold_actor(rows.into_iter().map(|r| r.actor).collect())?;
    Some(ActorIn { actor, last_used_at, lacks_second_step })
}
