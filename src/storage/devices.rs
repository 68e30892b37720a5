//! Devices that several people use, and the PINs that work on one of them and nowhere else.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{Result, Tx, guarded};
use crate::domain::ids::{DeviceId, PersonId};

#[derive(Clone, Debug, FromRow)]
pub struct DevicePinRow {
    pub person_id: PersonId,
    pub pin_hash: String,
    /// Wrong ones in a row, and the one that is being looked at.
    pub tries: i64,
    pub locked_until: Option<DateTime<Utc>>,
}

/// A PIN as its own person is shown it.
#[derive(Clone, Debug, FromRow)]
pub struct OwnPinRow {
    pub device_id: DeviceId,
    pub set_at: DateTime<Utc>,
    pub trusted_by: String,
    pub last_used_at: Option<DateTime<Utc>>,
}

#[derive(Clone, Debug, FromRow)]
pub struct DeviceRow {
    pub id: DeviceId,
    pub trusted_by: String,
    pub trusted_at: DateTime<Utc>,
    pub last_used_at: Option<DateTime<Utc>>,
}

impl Tx {
    /// Those that somebody of the viewer's yards trusted or has a PIN on, the oldest first.
    pub async fn devices_seen_by(&mut self, viewer: PersonId, all: bool) -> Result<Vec<DeviceRow>> {
        self.all(
            "SELECT d.id, p.name AS trusted_by, d.trusted_at, d.last_used_at
             FROM device d JOIN person p ON p.id = d.trusted_by
             WHERE $2 OR EXISTS
               (SELECT 1 FROM person_yard mine JOIN person_yard theirs ON theirs.yard_id = mine.yard_id
                WHERE mine.person_id = $1 AND (theirs.person_id = d.trusted_by
                  OR theirs.person_id IN (SELECT person_id FROM device_pin WHERE device_id = d.id)))
             ORDER BY d.trusted_at, d.id",
            &[&viewer, &all],
        )
        .await
    }

    /// Names of whoever is signed in there, by PIN or by password.
    pub async fn signed_in_on(&mut self, device: DeviceId, now: DateTime<Utc>) -> Result<Vec<String>> {
        let rows: Vec<(String,)> = self
            .all(
                "SELECT DISTINCT p.name FROM page_session s JOIN person p ON p.id = s.person_id
                 WHERE (s.by_pin_on = $1 OR s.on_device = $1) AND s.expires_at > $2 ORDER BY p.name",
                &[&device, &now],
            )
            .await?;
        Ok(rows.into_iter().map(|r| r.0).collect())
    }

    pub async fn device_used(&mut self, device: DeviceId, now: DateTime<Utc>) -> Result<()> {
        self.run("UPDATE device SET last_used_at = $2 WHERE id = $1", &[&device, &now]).await?;
        Ok(())
    }

    /// A session that was opened with a password belongs to the device it is used on.
    pub async fn session_is_on(&mut self, secret_hash: &str, device: DeviceId) -> Result<()> {
        self.run(
            "UPDATE page_session SET on_device = $2 WHERE secret_hash = $1 AND by_pin_on IS NULL",
            &[&secret_hash.to_owned(), &device],
        )
        .await?;
        Ok(())
    }

    /// Also those opened there with a password.
    pub async fn end_sessions_on(&mut self, device: DeviceId) -> Result<()> {
        self.run("DELETE FROM page_session WHERE by_pin_on = $1 OR on_device = $1", &[&device]).await?;
        Ok(())
    }

    pub async fn insert_device(
        &mut self,
        id: DeviceId,
        secret_hash: &str,
        by: PersonId,
        now: DateTime<Utc>,
    ) -> Result<()> {
        self.run(
            "INSERT INTO device (id, secret_hash, trusted_by, trusted_at) VALUES ($1, $2, $3, $4)",
            &[&id, &secret_hash.to_owned(), &by, &now],
        )
        .await?;
        Ok(())
    }

    pub async fn device(&mut self, secret_hash: &str) -> Result<Option<DeviceId>> {
        let row: Option<(DeviceId,)> =
            self.maybe("SELECT id FROM device WHERE secret_hash = $1", &[&secret_hash.to_owned()]).await?;
        Ok(row.map(|r| r.0))
    }

    /// Replaces the one there was; its wrong tries are forgotten.
    pub async fn set_pin(
        &mut self,
        device: DeviceId,
        person: PersonId,
        pin_hash: &str,
        now: DateTime<Utc>,
    ) -> Result<()> {
        self.run(
            "INSERT INTO device_pin (device_id, person_id, pin_hash, tries, set_at) VALUES ($1, $2, $3, 0, $4)
             ON CONFLICT (device_id, person_id) DO UPDATE
             SET pin_hash = excluded.pin_hash, tries = 0, locked_until = NULL, set_at = excluded.set_at",
            &[&device, &person, &pin_hash.to_owned(), &now],
        )
        .await?;
        Ok(())
    }

    pub async fn pin(&mut self, device: DeviceId, person: PersonId) -> Result<Option<DevicePinRow>> {
        self.maybe(
            "SELECT person_id, pin_hash, tries, locked_until FROM device_pin WHERE device_id = $1 AND person_id = $2",
            &[&device, &person],
        )
        .await
    }

    /// Counts a try before it is looked at, so that many at once are no more than one.
    pub async fn count_try(
        &mut self,
        device: DeviceId,
        before: &DevicePinRow,
        locked_until: DateTime<Utc>,
    ) -> Result<()> {
        guarded(
            self.run(
                "UPDATE device_pin SET tries = tries + 1, locked_until = $4
                 WHERE device_id = $1 AND person_id = $2 AND tries = $3 AND pin_hash = $5",
                &[&device, &before.person_id, &before.tries, &locked_until, &before.pin_hash],
            )
            .await?,
        )
    }

    /// It was the right one. Fails when the PIN was changed or taken away meanwhile.
    pub async fn forgive_tries(&mut self, device: DeviceId, right: &DevicePinRow) -> Result<()> {
        guarded(
            self.run(
                "UPDATE device_pin SET tries = 0, locked_until = NULL
                 WHERE device_id = $1 AND person_id = $2 AND pin_hash = $3",
                &[&device, &right.person_id, &right.pin_hash],
            )
            .await?,
        )
    }

    pub async fn end_pin(&mut self, device: DeviceId, person: PersonId) -> Result<u64> {
        self.run("DELETE FROM device_pin WHERE device_id = $1 AND person_id = $2", &[&device, &person]).await
    }

    /// Where the person has one; `last_used_at` is of the device, whoever used it.
    pub async fn pins_of(&mut self, person: PersonId) -> Result<Vec<OwnPinRow>> {
        self.all(
            "SELECT n.device_id, n.set_at, t.name AS trusted_by, d.last_used_at
             FROM device_pin n JOIN device d ON d.id = n.device_id JOIN person t ON t.id = d.trusted_by
             WHERE n.person_id = $1 ORDER BY n.set_at, n.device_id",
            &[&person],
        )
        .await
    }

    /// With what is open by it.
    pub async fn end_pin_and_sessions(&mut self, device: DeviceId, person: PersonId) -> Result<u64> {
        self.run("DELETE FROM page_session WHERE by_pin_on = $1 AND person_id = $2", &[&device, &person])
            .await?;
        self.end_pin(device, person).await
    }

    /// On every device, with whatever was opened by them.
    pub async fn end_pins_of(&mut self, person: PersonId) -> Result<()> {
        self.run("DELETE FROM device_pin WHERE person_id = $1", &[&person]).await?;
        self.run("DELETE FROM page_session WHERE person_id = $1 AND by_pin_on IS NOT NULL", &[&person])
            .await?;
        Ok(())
    }

    /// With its PINs and whatever was opened by them.
    pub async fn forget_device(&mut self, device: DeviceId) -> Result<()> {
        self.run("DELETE FROM page_session WHERE by_pin_on = $1", &[&device]).await?;
        self.run("UPDATE page_session SET on_device = NULL WHERE on_device = $1", &[&device]).await?;
        self.run("DELETE FROM device_pin WHERE device_id = $1", &[&device]).await?;
        self.run("DELETE FROM device WHERE id = $1", &[&device]).await?;
        Ok(())
    }

    /// Whoever may come in by PIN there, by name.
    pub async fn people_of_device(&mut self, device: DeviceId) -> Result<Vec<(PersonId, String)>> {
        self.all(
            "SELECT p.id, p.name FROM device_pin d JOIN person p ON p.id = d.person_id
             WHERE d.device_id = $1 AND p.disabled_at IS NULL ORDER BY p.name, p.id",
            &[&device],
        )
        .await
    }
}
