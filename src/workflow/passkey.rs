//! Passkeys (WebAuthn): adding one, signing in with it in place of password and code, and taking it away. What an
//! authenticator says is read and verified by a library; nothing of it is reckoned here.

mod ceremony;

pub use ceremony::Site as PasskeySite;

use chrono::{DateTime, TimeDelta, Utc};
use serde_json::Value;
use uuid::Uuid;

use super::password::prove_password;
use super::sign_in::enter_page;
use super::throttle::count_place;
use super::trail::Trail;
use super::{Result, WHO_IS_IN, Workshop};
use crate::domain::caller::Caller;
use crate::domain::person::Actor;
use crate::domain::refusal::{Refusal, Thing, plain_text};
use crate::domain::trail::{TrailAct, TrailState};
use crate::storage::{PasskeyRow, StorageError};

/// What a browser is to answer.
#[derive(Debug)]
pub struct Challenge {
    pub id: Uuid,
    /// As WebAuthn names the members, for the browser.
    pub options: Value,
}

/// As its person sees it.
#[derive(Clone, Debug)]
pub struct Passkey {
    pub id: Uuid,
    pub name: String,
    pub added_at: DateTime<Utc>,
    pub last_used_at: Option<DateTime<Utc>>,
}

/// As long as the browser is given for it.
const ANSWERED_WITHIN: TimeDelta = TimeDelta::minutes(5);
const MOST: usize = 20;

pub async fn my_passkeys(workshop: &Workshop, actor: &Actor) -> Result<Vec<Passkey>> {
    let rows = workshop.db.read().await?.passkeys_of(actor.id).await?;
    let seen = |r: PasskeyRow| Passkey {
        id: r.id,
        name: r.name,
        added_at: r.added_at,
        last_used_at: r.last_used_at,
    };
    Ok(rows.into_iter().map(seen).collect())
}

/// With the password, so that a page that was left open takes nobody else's.
pub async fn begin_passkey(
    workshop: &Workshop,
    actor: &Actor,
    site: &PasskeySite,
    password: &str,
) -> Result<Challenge> {
    prove_password(workshop, actor, password).await?;
    let mut tx = workshop.db.begin().await?;
    let known = tx.passkeys_of(actor.id).await?;
    if known.len() >= MOST {
        return Err(Refusal::conflict(said!("passkey-enough", most = MOST)).into());
    }
    let email = tx.person(actor.id).await?.map(|p| p.email).unwrap_or_default();
    let known: Vec<&str> = known.iter().map(|k| k.credential_id.as_str()).collect();
    let (state, options) = ceremony::begin_adding(site, actor, &email, &known).map_err(not_by_us)?;
    let id = workshop.ambient.id();
    tx.begin_passkey(id, Some(actor.id), &state, workshop.ambient.now() + ANSWERED_WITHIN).await?;
    tx.commit().await?;
    Ok(Challenge { id, options })
}

/// The browser's answer to [`begin_passkey`], as it wrote it.
pub async fn add_passkey(
    workshop: &Workshop,
    actor: &Actor,
    site: &PasskeySite,
    begun: Uuid,
    answer: &Value,
    name: &str,
) -> Result<()> {
    let now = workshop.ambient.now();
    let name = plain_text("/name", said!("what-name"), name, 60)?;
    let mut tx = workshop.db.begin().await?;
    let (person, state) = tx.take_passkey_begun(begun, now).await?.ok_or_else(over)?;
    if person != Some(actor.id) {
        return Err(over().into());
    }
    let new = match ceremony::finish_adding(site, &state, answer) {
        Ok(new) => new,
        Err(why) => {
            tx.commit().await?;
            tracing::warn!(why, "a passkey was not taken");
            return Err(Refusal::conflict(said!("passkey-not-taken")).into());
        }
    };
    let row = PasskeyRow {
        credential_id: new.credential_id,
        id: workshop.ambient.id(),
        person_id: actor.id,
        name: name.clone(),
        public_key: new.public_key,
        state: new.state,
        added_at: now,
        last_used_at: None,
    };
    tx.insert_passkey(&row).await.map_err(|e| match e {
        StorageError::Duplicate(_) => Refusal::conflict(said!("passkey-known")).into(),
        other => super::WorkflowError::from(other),
    })?;
    let mut trail = Trail::new(actor, now);
    trail.add(TrailAct::PasskeyAdded, format!("person {}", actor.name), "", TrailState::Set, name);
    trail.write(&mut tx, &format!("person {}", actor.id)).await?;
    Ok(tx.commit().await?)
}

pub async fn remove_passkey(workshop: &Workshop, actor: &Actor, id: Uuid, password: &str) -> Result<()> {
    let known = workshop.db.read().await?.passkeys_of(actor.id).await?;
    let name = known.into_iter().find(|k| k.id == id).ok_or(Refusal::NotFound(Thing::Passkey))?.name;
    prove_password(workshop, actor, password).await?;
    let mut tx = workshop.db.begin().await?;
    if tx.remove_passkey(actor.id, id).await? == 0 {
        return Err(Refusal::NotFound(Thing::Passkey).into());
    }
    let mut trail = Trail::new(actor, workshop.ambient.now());
    let subject = format!("person {}", actor.name);
    trail.add(TrailAct::PasskeyRemoved, subject, TrailState::Set, TrailState::Ungiven, name);
    trail.write(&mut tx, &format!("person {}", actor.id)).await?;
    tx.announce(WHO_IS_IN);
    Ok(tx.commit().await?)
}

/// For whoever wants to sign in: it says nothing about anybody.
pub async fn begin_passkey_sign_in(workshop: &Workshop, site: &PasskeySite) -> Result<Challenge> {
    let (state, options) = ceremony::begin_entering(site).map_err(not_by_us)?;
    let id = workshop.ambient.id();
    let mut tx = workshop.db.begin().await?;
    tx.begin_passkey(id, None, &state, workshop.ambient.now() + ANSWERED_WITHIN).await?;
    tx.commit().await?;
    Ok(Challenge { id, options })
}

/// The browser's answer to [`begin_passkey_sign_in`]. Opens a page session; answers its secret.
pub async fn finish_passkey_sign_in(
    workshop: &Workshop,
    site: &PasskeySite,
    begun: Uuid,
    answer: &Value,
    from: impl Into<Caller>,
    device: Option<&str>,
) -> Result<(Actor, String)> {
    let (from, now) = (from.into(), workshop.ambient.now());
    let refused = || Refusal::Forbidden(said!("passkey-does-not-let-in"));
    let tried = count_place(workshop, &from).await?;
    let mut tx = workshop.db.begin().await?;
    let begun = tx.take_passkey_begun(begun, now).await?;
    tx.commit().await?;
    let (person, state) = begun.ok_or_else(over)?;
    if person.is_some() {
        return Err(over().into());
    }
    let named = ceremony::credential_of(answer).ok_or_else(refused)?;
    let mut tx = workshop.db.begin().await?;
    let kept = tx.passkey(&named).await?.ok_or_else(refused)?;
    let after = ceremony::finish_entering(site, &state, answer, &kept).map_err(|why| {
        tracing::warn!(why, "a passkey did not let in");
        refused()
    })?;
    let actor = tx.actor(kept.person_id).await?.ok_or_else(refused)?;
    tx.passkey_used(kept.id, &after, now).await?;
    let secret = enter_page(workshop, &mut tx, &actor, &from, device).await?;
    tx.commit().await?;
    tried.was_right(workshop, actor.id).await?;
    Ok((actor, secret))
}

fn over() -> Refusal {
    Refusal::Forbidden(said!("passkey-over"))
}

fn not_by_us(why: String) -> super::WorkflowError {
    StorageError::Unreadable(why).into()
}
