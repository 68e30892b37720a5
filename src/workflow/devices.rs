//! The devices that are trusted for PINs, seen from afar: which there are, and forgetting one that is lost.

use chrono::{DateTime, Utc};

use super::sign_in::hash_of;
use super::trail::Trail;
use super::{Result, WHO_IS_IN, Workshop};
use crate::domain::ids::DeviceId;
use crate::domain::person::{Act, Actor, Role};
use crate::domain::refusal::{Refusal, Thing};
use crate::domain::trail::{TrailAct, TrailState};

/// One device that several people use.
pub struct TrustedDevice {
    pub id: DeviceId,
    pub trusted_by: String,
    pub trusted_at: DateTime<Utc>,
    /// When somebody came in by PIN last.
    pub last_used_at: Option<DateTime<Utc>>,
    /// Whoever has a PIN on it.
    pub people: Vec<String>,
    /// Whoever is signed in on it at this moment, by PIN or by password.
    pub signed_in: Vec<String>,
    /// The one that asks.
    pub this_one: bool,
}

/// Those of people in the actor's yards; `here` is what the actor's own device keeps.
pub async fn trusted_devices(
    workshop: &Workshop,
    actor: &Actor,
    here: Option<&str>,
) -> Result<Vec<TrustedDevice>> {
    actor.must(Act::SetUpDevices)?;
    let now = workshop.ambient.now();
    let mut tx = workshop.db.read().await?;
    let this = match here {
        Some(secret) => tx.device(&hash_of(secret)).await?,
        None => None,
    };
    let mut devices = Vec::new();
    for row in tx.devices_seen_by(actor.id, actor.has(Role::Owner)).await? {
        let people = tx.people_of_device(row.id).await?;
        devices.push(TrustedDevice {
            id: row.id,
            trusted_by: row.trusted_by,
            trusted_at: row.trusted_at,
            last_used_at: row.last_used_at,
            people: people.into_iter().map(|(_, name)| name).collect(),
            signed_in: tx.signed_in_on(row.id, now).await?,
            this_one: this == Some(row.id),
        });
    }
    Ok(devices)
}

/// Ends every PIN on a device, and everything that is signed in on it, wherever it is.
pub async fn forget_lost_device(workshop: &Workshop, actor: &Actor, id: DeviceId) -> Result<()> {
    actor.must(Act::SetUpDevices)?;
    let mut tx = workshop.db.begin().await?;
    let seen = tx.devices_seen_by(actor.id, actor.has(Role::Owner)).await?;
    if !seen.iter().any(|d| d.id == id) {
        return Err(Refusal::NotFound(Thing::Device).into());
    }
    let names: Vec<String> = tx.people_of_device(id).await?.into_iter().map(|(_, name)| name).collect();
    tx.end_sessions_on(id).await?;
    tx.forget_device(id).await?;
    let why = if names.is_empty() {
        said!("trail-from-afar")
    } else {
        said!("trail-from-afar-with-pins", names = names.join(", "))
    };
    let mut trail = Trail::new(actor, workshop.ambient.now());
    let stream = format!("device {id}");
    trail.add(TrailAct::DeviceForgotten, stream.clone(), TrailState::Trusted, TrailState::Forgotten, why);
    trail.write(&mut tx, &stream).await?;
    tx.announce(WHO_IS_IN);
    Ok(tx.commit().await?)
}
