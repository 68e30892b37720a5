//! One tablet, several people: who may take it over by PIN. A PIN belongs to one device and is worth nothing without what
//! that device keeps; what a mistake would hurt most asks for the password all the same ([`Act::asks_for_password`]).
//!
//! [`Act::asks_for_password`]: crate::domain::person::Act::asks_for_password

use chrono::{DateTime, TimeDelta, Utc};

use super::password::{fits, hashed, prove_password};
use super::sign_in::{hash_of, new_session};
use super::trail::Trail;
use super::{Result, WorkflowError, Workshop};
use crate::domain::caller::Caller;
use crate::domain::ids::{DeviceId, PersonId};
use crate::domain::person::Actor;
use crate::domain::pin::{MOST_TRIES, checked, wait_after};
use crate::domain::refusal::Refusal;
use crate::domain::trail::{TrailAct, TrailState};
use crate::storage::{DevicePinRow, Entry, StorageError, Tx};
use crate::words::Text;

pub struct NewPin<'a> {
    pub pin: &'a str,
    pub again: &'a str,
    pub password: &'a str,
    /// The page session it is set from.
    pub session: Option<&'a str>,
}

pub struct ByPin<'a> {
    /// What the device keeps.
    pub device: Option<&'a str>,
    pub person: Option<PersonId>,
    pub pin: &'a str,
    /// The page session there was on it.
    pub before: Option<&'a str>,
    pub from: Caller,
}

/// A shift. Common practice, no source.
const SESSION: TimeDelta = TimeDelta::hours(12);

/// Sets the actor's PIN on this device, which is trusted from then on; answers the device's secret.
pub async fn set_pin(
    workshop: &Workshop,
    actor: &Actor,
    device: Option<&str>,
    new: NewPin<'_>,
) -> Result<String> {
    let pin = checked(new.pin)?;
    if pin != new.again.trim() {
        return Err(Refusal::invalid("/again", said!("pin-not-the-same")).into());
    }
    // Also of whoever is signed in by password: a tablet that was left open takes no PIN from the next one.
    let actor = prove_password(workshop, actor, new.password).await?;
    let now = workshop.ambient.now();
    let known = match device {
        Some(secret) => workshop.db.read().await?.device(&hash_of(secret)).await?,
        None => None,
    };
    let secret = match (known, device) {
        (Some(_), Some(secret)) => secret.to_owned(),
        _ => workshop.ambient.secret(),
    };
    let pin_hash = hashed(workshop, &on_device(pin, &secret)).await?;

    let mut tx = workshop.db.begin().await?;
    let mut trail = Trail::new(&actor, now);
    let device = match tx.device(&hash_of(&secret)).await? {
        Some(id) => id,
        // Forgotten since we looked.
        None if known.is_some() => return Err(not_trusted().into()),
        None => {
            let id = workshop.ambient.id();
            tx.insert_device(id, &hash_of(&secret), actor.id, now).await?;
            trail.add(
                TrailAct::DeviceTrusted,
                format!("device {id}"),
                "",
                TrailState::Trusted,
                said!("trail-for-pins"),
            );
            id
        }
    };
    tx.set_pin(device, actor.id, &pin_hash, now).await?;
    if let Some(session) = new.session {
        tx.session_is_on(&hash_of(session), device).await?;
    }
    trail.add(TrailAct::PinSet, format!("person {}", actor.name), "", TrailState::Set, "");
    trail.write(&mut tx, &stream(device)).await?;
    tx.commit().await?;
    Ok(secret)
}

/// Who has a PIN on this device, by name; `None` when the device is not trusted.
pub async fn people_on_device(
    workshop: &Workshop,
    device: Option<&str>,
) -> Result<Option<Vec<(PersonId, String)>>> {
    let Some(secret) = device else { return Ok(None) };
    let mut tx = workshop.db.read().await?;
    match tx.device(&hash_of(secret)).await? {
        Some(device) => Ok(Some(tx.people_of_device(device).await?)),
        None => Ok(None),
    }
}

/// Opens a page session by PIN and ends the one there was on this device; answers the new one's secret.
pub async fn sign_in_by_pin(workshop: &Workshop, given: ByPin<'_>) -> Result<String> {
    let device_secret = given.device.ok_or_else(not_trusted)?;
    let person = given.person.ok_or_else(|| Refusal::invalid("/person", said!("pin-choose-who")))?;
    let pin = given.pin.trim();
    if pin.is_empty() {
        return Err(Refusal::invalid("/pin", said!("pin-give")).into());
    }
    let now = workshop.ambient.now();
    let (device, kept) = counted(workshop, device_secret, person, now).await?;
    let right = fits(workshop, &on_device(pin, device_secret), Some(kept.pin_hash.clone())).await?;

    let mut tx = workshop.db.begin().await?;
    if !right {
        let wrong = kept.tries + 1;
        if wrong >= MOST_TRIES {
            end_for_wrong(&mut tx, device, person, now).await?;
            tx.commit().await?;
            return Err(gone().into());
        }
        let (wait, left) = (wait_after(wrong).num_seconds(), MOST_TRIES - wrong);
        return Err(Refusal::invalid("/pin", said!("pin-wrong", wait = wait, left = left)).into());
    }
    tx.forgive_tries(device, &kept).await.map_err(|e| if_changed(e, no_pin()))?;
    // Disabled, or without any role by now.
    tx.actor(person).await?.ok_or_else(no_pin)?;
    if let Some(before) = given.before {
        tx.end_session(&hash_of(before)).await?;
    }
    tx.device_used(device, now).await?;
    let secret = workshop.ambient.secret();
    let new = new_session(workshop, &secret, workshop.ambient.id(), person, &given.from, SESSION);
    tx.insert_session(&new, Some(device)).await?;
    tx.commit().await?;
    Ok(secret)
}

/// Takes the actor's own PIN off this device.
pub async fn end_my_pin(workshop: &Workshop, actor: &Actor, device: Option<&str>) -> Result<()> {
    let Some(secret) = device else { return Ok(()) };
    let mut tx = workshop.db.begin().await?;
    let Some(device) = tx.device(&hash_of(secret)).await? else { return Ok(()) };
    if tx.end_pin(device, actor.id).await? > 0 {
        let person = format!("person {}", actor.name);
        let mut trail = Trail::new(actor, workshop.ambient.now());
        let why = said!("trail-pin-taken-off");
        trail.add(TrailAct::PinEnded, person, TrailState::Set, TrailState::Ungiven, why);
        trail.write(&mut tx, &stream(device)).await?;
    }
    Ok(tx.commit().await?)
}

/// Ends every PIN on this device, and whatever was opened by one. Anybody who works with it may: it only takes away.
pub async fn forget_device(workshop: &Workshop, actor: &Actor, device: Option<&str>) -> Result<()> {
    let Some(secret) = device else { return Ok(()) };
    let mut tx = workshop.db.begin().await?;
    let Some(device) = tx.device(&hash_of(secret)).await? else { return Ok(()) };
    let names: Vec<String> = tx.people_of_device(device).await?.into_iter().map(|(_, name)| name).collect();
    tx.forget_device(device).await?;
    let why = match names.join(", ") {
        none if none.is_empty() => Text::default(),
        names => said!("trail-pins-ended", names = names),
    };
    let mut trail = Trail::new(actor, workshop.ambient.now());
    trail.add(TrailAct::DeviceForgotten, stream(device), TrailState::Trusted, TrailState::Forgotten, why);
    trail.write(&mut tx, &stream(device)).await?;
    Ok(tx.commit().await?)
}

/// The PIN as it was, with this try counted and the next one locked before anything is compared: however many are sent
/// at once, one is looked at.
async fn counted(
    workshop: &Workshop,
    device_secret: &str,
    person: PersonId,
    now: DateTime<Utc>,
) -> Result<(DeviceId, DevicePinRow)> {
    let mut tx = workshop.db.begin().await?;
    let device = tx.device(&hash_of(device_secret)).await?.ok_or_else(not_trusted)?;
    let kept = tx.pin(device, person).await?.ok_or_else(no_pin)?;
    if kept.tries >= MOST_TRIES {
        // The last one was counted, and the server stopped before it was judged.
        end_for_wrong(&mut tx, device, person, now).await?;
        tx.commit().await?;
        return Err(gone().into());
    }
    if let Some(until) = kept.locked_until.filter(|until| *until > now) {
        let seconds = (until - now).num_seconds() + 1;
        return Err(Refusal::invalid("/pin", said!("pin-too-soon", seconds = seconds)).into());
    }
    let wait = Refusal::invalid("/pin", said!("pin-at-this-moment"));
    tx.count_try(device, &kept, now + wait_after(kept.tries + 1)).await.map_err(|e| if_changed(e, wait))?;
    tx.commit().await?;
    Ok((device, kept))
}

async fn end_for_wrong(tx: &mut Tx, device: DeviceId, person: PersonId, now: DateTime<Utc>) -> Result<()> {
    // Two that both see the last one: the first has said so.
    if tx.end_pin(device, person).await? == 0 {
        return Ok(());
    }
    let name = tx.person(person).await?.map(|p| p.name).unwrap_or_default();
    let entry = Entry {
        by_id: None,
        by_name: said!("trail-somebody-at-a-device").kept(),
        at: now,
        act: TrailAct::PinEnded.as_str(),
        subject: format!("person {name}"),
        before: Text::of(&TrailState::Set).kept(),
        after: Text::of(&TrailState::Ungiven).kept(),
        why: said!("trail-pin-wrong", times = MOST_TRIES).kept(),
    };
    Ok(tx.audit(&stream(device), &[entry]).await?)
}

/// What is hashed: without what the device keeps, not even our own database lets anybody find the PIN by trying all.
fn on_device(pin: &str, device_secret: &str) -> String {
    format!("{pin} {device_secret}")
}

fn stream(device: DeviceId) -> String {
    format!("device {device}")
}

fn if_changed(error: StorageError, refusal: Refusal) -> WorkflowError {
    match error {
        StorageError::Changed => refusal.into(),
        other => other.into(),
    }
}

fn not_trusted() -> Refusal {
    Refusal::Forbidden(said!("pin-none-here"))
}

fn no_pin() -> Refusal {
    Refusal::Forbidden(said!("pin-not-of-this-person"))
}

fn gone() -> Refusal {
    Refusal::Forbidden(said!("pin-gone"))
}
