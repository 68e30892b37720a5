//! People, their roles and yards, and the one-time links with which they set a password.

use chrono::{DateTime, Utc};
use sqlx::FromRow;
use uuid::Uuid;

use super::{Result, Tx};
use crate::domain::ids::{PersonId, YardId};
use crate::domain::person::{Actor, Role};
use crate::domain::unit::UnitSystem;
use crate::words::Lang;

#[derive(Clone, Debug, FromRow)]
pub struct PersonRow {
    pub id: PersonId,
    pub name: String,
    pub email: String,
    pub password_hash: Option<String>,
    /// Minor units an hour.
    pub rate_minor: i64,
    pub disabled_at: Option<DateTime<Utc>>,
}

#[derive(FromRow)]
pub(super) struct ActorRow {
    id: PersonId,
    name: String,
    role: Role,
    yard_id: Option<YardId>,
    by_pin: bool,
    long_ago: bool,
}

/// Folds the rows of person × role × yard into one actor.
pub(super) fn fold_actor(rows: Vec<ActorRow>) -> Option<Actor> {
    let first = rows.first()?;
    let mut actor = Actor {
        id: first.id,
        name: first.name.clone(),
        roles: Vec::new(),
        yards: Vec::new(),
        by_pin: first.by_pin,
        long_ago: first.long_ago,
    };
    for row in &rows {
        if !actor.roles.contains(&row.role) {
            actor.roles.push(row.role);
        }
        if let Some(yard) = row.yard_id
            && !actor.yards.contains(&yard)
        {
            actor.yards.push(yard);
        }
    }
    Some(actor)
}

impl Tx {
    pub async fn count_people(&mut self) -> Result<i64> {
        Ok(self.one::<(i64,)>("SELECT COUNT(*) FROM person", &[]).await?.0)
    }

    pub async fn person(&mut self, id: PersonId) -> Result<Option<PersonRow>> {
        self.maybe(
            "SELECT id, name, email, password_hash, rate_minor, disabled_at FROM person WHERE id = $1",
            &[&id],
        )
        .await
    }

    pub async fn person_by_email(&mut self, email: &str) -> Result<Option<PersonRow>> {
        self.maybe(
            "SELECT id, name, email, password_hash, rate_minor, disabled_at FROM person WHERE email = $1",
            &[&email.to_owned()],
        )
        .await
    }

    pub async fn people(&mut self) -> Result<Vec<PersonRow>> {
        self.all(
            "SELECT id, name, email, password_hash, rate_minor, disabled_at FROM person ORDER BY name, id",
            &[],
        )
        .await
    }

    /// An enabled person with roles and yards; `None` also for somebody without any role.
    pub async fn actor(&mut self, id: PersonId) -> Result<Option<Actor>> {
        let rows = self
            .all(
                "SELECT p.id, p.name, r.role, y.yard_id, FALSE AS by_pin, FALSE AS long_ago FROM person p
                 JOIN person_role r ON r.person_id = p.id
                 LEFT JOIN person_yard y ON y.person_id = p.id
                 WHERE p.id = $1 AND p.disabled_at IS NULL ORDER BY r.role, y.yard_id",
                &[&id],
            )
            .await?;
        Ok(fold_actor(rows))
    }

    pub async fn roles_and_yards(&mut self) -> Result<(Vec<(PersonId, Role)>, Vec<(PersonId, YardId)>)> {
        let roles = self.all("SELECT person_id, role FROM person_role ORDER BY person_id, role", &[]).await?;
        let yards = self.all("SELECT person_id, yard_id FROM person_yard", &[]).await?;
        Ok((roles, yards))
    }

    pub async fn insert_person(
        &mut self,
        id: PersonId,
        name: &str,
        email: &str,
        rate_minor: i64,
        now: DateTime<Utc>,
    ) -> Result<()> {
        self.run(
            "INSERT INTO person (id, name, email, rate_minor, created_at) VALUES ($1, $2, $3, $4, $5)",
            &[&id, &name.to_owned(), &email.to_owned(), &rate_minor, &now],
        )
        .await?;
        Ok(())
    }

    /// Replaces the person's roles and yards.
    pub async fn set_roles_and_yards(
        &mut self,
        id: PersonId,
        roles: &[Role],
        yards: &[YardId],
    ) -> Result<()> {
        self.run("DELETE FROM person_role WHERE person_id = $1", &[&id]).await?;
        self.run("DELETE FROM person_yard WHERE person_id = $1", &[&id]).await?;
        let roles: Vec<Vec<&dyn super::Param>> = roles.iter().map(|r| vec![&id as _, r as _]).collect();
        self.insert_rows("person_role (person_id, role)", &roles).await?;
        let yards: Vec<Vec<&dyn super::Param>> = yards.iter().map(|y| vec![&id as _, y as _]).collect();
        self.insert_rows("person_yard (person_id, yard_id)", &yards).await
    }

    pub async fn update_person(
        &mut self,
        id: PersonId,
        name: &str,
        email: &str,
        rate_minor: i64,
    ) -> Result<()> {
        self.run(
            "UPDATE person SET name = $2, email = $3, rate_minor = $4 WHERE id = $1",
            &[&id, &name.to_owned(), &email.to_owned(), &rate_minor],
        )
        .await?;
        Ok(())
    }

    pub async fn person_language(&mut self, id: PersonId) -> Result<Option<Lang>> {
        let row: Option<(Option<String>,)> =
            self.maybe("SELECT language FROM person WHERE id = $1", &[&id]).await?;
        Ok(row.and_then(|(tag,)| Lang::of_tag(&tag?)))
    }

    pub async fn set_person_language(&mut self, id: PersonId, lang: Lang) -> Result<()> {
        self.run("UPDATE person SET language = $2 WHERE id = $1", &[&id, &lang.tag().to_owned()]).await?;
        Ok(())
    }

    /// Those who are listed for a yard and not disabled, by name.
    pub async fn people_of_yard(&mut self, yard: YardId) -> Result<Vec<(PersonId, String)>> {
        self.all(
            "SELECT p.id, p.name FROM person p JOIN person_yard y ON y.person_id = p.id AND y.yard_id = $1
             WHERE p.disabled_at IS NULL ORDER BY p.name, p.id",
            &[&yard],
        )
        .await
    }

    pub async fn person_units(&mut self, id: PersonId) -> Result<Option<UnitSystem>> {
        let row: Option<(Option<String>,)> =
            self.maybe("SELECT units FROM person WHERE id = $1", &[&id]).await?;
        Ok(row.and_then(|(units,)| units?.parse().ok()))
    }

    pub async fn set_person_units(&mut self, id: PersonId, units: Option<UnitSystem>) -> Result<()> {
        self.run("UPDATE person SET units = $2 WHERE id = $1", &[&id, &units.map(|u| u.as_str().to_owned())])
            .await?;
        Ok(())
    }

    pub async fn set_password(&mut self, id: PersonId, hash: &str) -> Result<()> {
        self.run("UPDATE person SET password_hash = $2 WHERE id = $1", &[&id, &hash.to_owned()]).await?;
        Ok(())
    }

    pub async fn set_disabled(&mut self, id: PersonId, at: Option<DateTime<Utc>>) -> Result<()> {
        self.run("UPDATE person SET disabled_at = $2 WHERE id = $1", &[&id, &at]).await?;
        Ok(())
    }

    /// Takes this person's labour lock: whoever else changes their labour waits for us, or we for them.
    pub async fn lock_labour(&mut self, id: PersonId) -> Result<Option<i64>> {
        let row: Option<(i64,)> = self
            .maybe(
                "UPDATE person SET labour_turn = labour_turn + 1 WHERE id = $1 RETURNING rate_minor",
                &[&id],
            )
            .await?;
        Ok(row.map(|r| r.0))
    }

    pub async fn insert_invitation(
        &mut self,
        secret_hash: &str,
        person: Option<PersonId>,
        expires_at: DateTime<Utc>,
    ) -> Result<()> {
        self.run(
            "INSERT INTO invitation (secret_hash, person_id, expires_at) VALUES ($1, $2, $3)",
            &[&secret_hash.to_owned(), &person, &expires_at],
        )
        .await?;
        Ok(())
    }

    /// Drops set-up links nobody used, so that only the newest one works.
    pub async fn drop_owner_invitations(&mut self) -> Result<()> {
        self.run("DELETE FROM invitation WHERE person_id IS NULL", &[]).await?;
        Ok(())
    }

    pub async fn invitation(
        &mut self,
        secret_hash: &str,
        now: DateTime<Utc>,
    ) -> Result<Option<Option<PersonId>>> {
        let row: Option<(Option<Uuid>,)> = self
            .maybe(
                "SELECT person_id FROM invitation WHERE secret_hash = $1 AND used_at IS NULL AND expires_at > $2",
                &[&secret_hash.to_owned(), &now],
            )
            .await?;
        Ok(row.map(|r| r.0.map(PersonId)))
    }

    /// Uses the link up; the second to try finds it gone.
    pub async fn use_invitation(&mut self, secret_hash: &str, now: DateTime<Utc>) -> Result<()> {
        super::guarded(
            self.run(
                "UPDATE invitation SET used_at = $2 WHERE secret_hash = $1 AND used_at IS NULL AND expires_at > $2",
                &[&secret_hash.to_owned(), &now],
            )
            .await?,
        )
    }
}
