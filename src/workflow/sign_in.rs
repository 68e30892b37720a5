//! Signing in and out: page sessions and refresh tokens. Secrets are random and only their hashes are kept.

use chrono::{DateTime, TimeDelta, Utc};
use sha2::{Digest, Sha256};
use uuid::Uuid;

use super::password::fits;
use super::second_step::prove_code;
use super::sent_before::tidy_keys;
use super::throttle::{self, count_try};
use super::{Result, WHO_IS_IN, Workshop};
use crate::domain::caller::Caller;
use crate::domain::ids::PersonId;
use crate::domain::person::{Actor, SIGNS_WITHIN_MINUTES};
use crate::domain::refusal::Refusal;
use crate::domain::second_step::{BEGUN_FOR, must_have};
use crate::storage::{ActorIn, NewSession, StorageError, Tx};

pub struct Credentials<'a> {
    pub email: &'a str,
    pub password: &'a str,
}

/// How far a right password brings somebody.
#[derive(Debug)]
pub enum Entered {
    /// The session's secret.
    In(Actor, String),
    /// The code is asked for; with the secret of the sign-in that waits for it.
    CodeFirst(String),
}

/// Who asks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum WhoIsIn {
    Nobody,
    /// May set up the second step that the owner asks for, and nothing else.
    SecondStepFirst(Actor),
    In(Actor),
}

/// What an API client gets beside its access token.
#[derive(Debug)]
pub struct RefreshGrant {
    pub actor: Actor,
    pub refresh_token: String,
    /// All tokens that come of this sign-in.
    pub family: Uuid,
}

const SESSION: TimeDelta = TimeDelta::days(14);
const REFRESH: TimeDelta = TimeDelta::days(30);
/// However often it is renewed. Common practice, no source.
const FAMILY: TimeDelta = TimeDelta::days(180);
/// How exactly it is kept when a session was last used.
const NOTED_EVERY: TimeDelta = TimeDelta::minutes(15);

/// Checks the password and opens a page session; answers the session's secret. Of somebody without a second step.
pub async fn sign_in_page(workshop: &Workshop, given: Credentials<'_>) -> Result<(Actor, String)> {
    match sign_in_page_on(workshop, given, None, None).await? {
        Entered::In(actor, secret) => Ok((actor, secret)),
        Entered::CodeFirst(_) => Err(Refusal::CodeFirst.into()),
    }
}

/// As [`sign_in_page`]; `device` is what a shared device keeps, with which the session ends when it is lost.
pub async fn sign_in_page_on(
    workshop: &Workshop,
    given: Credentials<'_>,
    from: impl Into<Caller>,
    device: Option<&str>,
) -> Result<Entered> {
    let from = from.into();
    let actor = verify_password(workshop, given, &from).await?;
    let mut tx = workshop.db.begin().await?;
    let entered = if has_second_step(&mut tx, actor.id).await? {
        let secret = workshop.ambient.secret();
        let until = workshop.ambient.now() + BEGUN_FOR;
        tx.insert_begun_sign_in(&hash_of(&secret), actor.id, until).await?;
        Entered::CodeFirst(secret)
    } else {
        let secret = enter_page(workshop, &mut tx, &actor, &from, device).await?;
        Entered::In(actor, secret)
    };
    tx.commit().await?;
    Ok(entered)
}

/// Opens a page session for somebody whose every step was right.
pub(super) async fn enter_page(
    workshop: &Workshop,
    tx: &mut Tx,
    actor: &Actor,
    from: &Caller,
    device: Option<&str>,
) -> Result<String> {
    let secret = workshop.ambient.secret();
    let new = new_session(workshop, &secret, workshop.ambient.id(), actor.id, from, SESSION);
    tx.insert_session(&new, None).await?;
    if let Some(device) = device
        && let Some(device) = tx.device(&hash_of(device)).await?
    {
        tx.session_is_on(&hash_of(&secret), device).await?;
    }
    Ok(secret)
}

pub(super) fn new_session(
    workshop: &Workshop,
    secret: &str,
    id: Uuid,
    person: PersonId,
    from: &Caller,
    lasts: TimeDelta,
) -> NewSession {
    let now = workshop.ambient.now();
    NewSession {
        secret_hash: hash_of(secret),
        id,
        person,
        now,
        expires_at: now + lasts,
        place: from.place().unwrap_or_default(),
        program: from.program.clone(),
    }
}

pub async fn sign_out_page(workshop: &Workshop, secret: &str) -> Result<()> {
    let mut tx = workshop.db.begin().await?;
    tx.end_session(&hash_of(secret)).await?;
    tx.announce(WHO_IS_IN);
    Ok(tx.commit().await?)
}

/// Who a session belongs to, with what they may do at this very moment. Nobody while a second step is to be set up.
pub async fn actor_of_session(workshop: &Workshop, secret: &str) -> Result<Option<Actor>> {
    match who_is_in(workshop, secret).await? {
        WhoIsIn::In(actor) => Ok(Some(actor)),
        WhoIsIn::Nobody | WhoIsIn::SecondStepFirst(_) => Ok(None),
    }
}

/// As [`actor_of_session`], telling apart who has a second step to set up.
pub async fn who_is_in(workshop: &Workshop, secret: &str) -> Result<WhoIsIn> {
    let (hash, now) = (hash_of(secret), workshop.ambient.now());
    let found = workshop.db.read().await?.session_actor(&hash, now, fresh_since(now)).await?;
    if found.as_ref().is_some_and(|f| now - f.last_used_at >= NOTED_EVERY) {
        let mut tx = workshop.db.begin().await?;
        tx.session_used(&hash, now).await?;
        tx.commit().await?;
    }
    Ok(judged(found))
}

/// Whom an access token names, as they are now: nobody when they are disabled, or when that sign-in has ended.
pub async fn who_has_token(workshop: &Workshop, person: PersonId, family: Uuid) -> Result<WhoIsIn> {
    let fresh_since = fresh_since(workshop.ambient.now());
    Ok(judged(workshop.db.read().await?.token_actor(person, family, fresh_since).await?))
}

fn fresh_since(now: DateTime<Utc>) -> DateTime<Utc> {
    now - TimeDelta::minutes(SIGNS_WITHIN_MINUTES)
}

fn judged(found: Option<ActorIn>) -> WhoIsIn {
    match found {
        None => WhoIsIn::Nobody,
        Some(ActorIn { actor, lacks_second_step: true, .. }) if must_have(&actor.roles) => {
            WhoIsIn::SecondStepFirst(actor)
        }
        Some(ActorIn { actor, .. }) => WhoIsIn::In(actor),
    }
}

/// A person as they are now; none when they are disabled.
pub async fn actor_of_token(workshop: &Workshop, person: PersonId) -> Result<Option<Actor>> {
    Ok(workshop.db.read().await?.actor(person).await?)
}

/// Checks the password and starts a family of refresh tokens. Of somebody without a second step.
pub async fn sign_in_api(
    workshop: &Workshop,
    given: Credentials<'_>,
    from: impl Into<Caller>,
) -> Result<RefreshGrant> {
    sign_in_api_with(workshop, given, None, from).await
}

/// As [`sign_in_api`], with the code of the second step where there is one.
pub async fn sign_in_api_with(
    workshop: &Workshop,
    given: Credentials<'_>,
    code: Option<&str>,
    from: impl Into<Caller>,
) -> Result<RefreshGrant> {
    let from = from.into();
    let actor = verify_password(workshop, given, &from).await?;
    if has_second_step(&mut workshop.db.read().await?, actor.id).await? {
        prove_code(workshop, actor.id, code.ok_or(Refusal::CodeFirst)?).await?;
    }
    let mut tx = workshop.db.begin().await?;
    let now = workshop.ambient.now();
    let grant = grant(workshop, &mut tx, actor, workshop.ambient.id(), &from, now).await?;
    tx.commit().await?;
    Ok(grant)
}

/// Trades a refresh token for the next one. A token used twice ends its whole family: one of the two was stolen.
pub async fn refresh(workshop: &Workshop, token: &str) -> Result<RefreshGrant> {
    let now = workshop.ambient.now();
    let hash = hash_of(token);
    let mut tx = workshop.db.begin().await?;
    let row = tx.refresh_token(&hash).await?.ok_or_else(signed_out)?;
    let used = match row.used_at {
        Some(_) => true,
        None if row.expires_at <= now => return Err(signed_out().into()),
        None => match tx.use_refresh_token(&hash, now).await {
            Ok(()) => false,
            // By another at the same moment.
            Err(StorageError::Changed) => true,
            Err(e) => return Err(e.into()),
        },
    };
    if used {
        tx.revoke_family(row.family).await?;
        tx.announce(WHO_IS_IN);
        tx.commit().await?;
        return Err(signed_out().into());
    }
    let actor = tx.actor(row.person_id).await?.ok_or_else(signed_out)?;
    // Where it began is what its person recognises it by.
    let secret = workshop.ambient.secret();
    let until = (now + REFRESH).min(row.began_at + FAMILY);
    let next = NewSession {
        secret_hash: hash_of(&secret),
        id: row.family,
        person: row.person_id,
        now,
        expires_at: until,
        place: row.place,
        program: row.program,
    };
    tx.insert_refresh_token(&next, row.began_at).await?;
    tx.commit().await?;
    Ok(RefreshGrant { actor, refresh_token: secret, family: row.family })
}

pub async fn sign_out_token(workshop: &Workshop, token: &str) -> Result<()> {
    let mut tx = workshop.db.begin().await?;
    if let Some(row) = tx.refresh_token(&hash_of(token)).await? {
        tx.revoke_family(row.family).await?;
        tx.announce(WHO_IS_IN);
    }
    Ok(tx.commit().await?)
}

/// Drops what has expired.
pub async fn tidy(workshop: &Workshop) -> Result<u64> {
    let mut tx = workshop.db.begin().await?;
    let now = workshop.ambient.now();
    let gone =
        tx.tidy_sessions(now).await? + tx.tidy_passkeys_begun(now).await? + tidy_keys(&mut tx, now).await?;
    tx.commit().await?;
    Ok(gone + throttle::tidy(workshop).await?)
}

async fn grant(
    workshop: &Workshop,
    tx: &mut Tx,
    actor: Actor,
    family: Uuid,
    from: &Caller,
    began_at: DateTime<Utc>,
) -> Result<RefreshGrant> {
    let refresh_token = workshop.ambient.secret();
    let new = new_session(workshop, &refresh_token, family, actor.id, from, REFRESH);
    tx.insert_refresh_token(&new, began_at).await?;
    Ok(RefreshGrant { actor, refresh_token, family })
}

async fn has_second_step(tx: &mut Tx, person: PersonId) -> Result<bool> {
    Ok(tx.second_step(person).await?.is_some_and(|s| s.confirmed_at.is_some()))
}

/// The same answer and the same work whether the address is unknown, the password wrong or the person disabled.
async fn verify_password(workshop: &Workshop, given: Credentials<'_>, from: &Caller) -> Result<Actor> {
    let email = given.email.trim().to_lowercase();
    let (person, actor) = {
        let mut tx = workshop.db.read().await?;
        let person = tx.person_by_email(&email).await?;
        let actor = match &person {
            Some(p) => tx.actor(p.id).await?,
            None => None,
        };
        (person, actor)
    };
    let tried = count_try(workshop, &email, person.as_ref().map(|p| p.id), from.address).await?;
    let kept = person.and_then(|p| p.password_hash);
    let matches = fits(workshop, given.password, kept).await?;
    match actor {
        Some(actor) if matches => {
            tried.was_right(workshop, actor.id).await?;
            Ok(actor)
        }
        _ => Err(Refusal::Forbidden(said!("sign-in-do-not-fit")).into()),
    }
}

/// The address the actor signs in with, for browsers that fill in passwords.
pub async fn my_email(workshop: &Workshop, actor: &Actor) -> Result<String> {
    Ok(workshop.db.read().await?.person(actor.id).await?.map(|p| p.email).unwrap_or_default())
}

/// SHA-256 of a secret in hexadecimal. The secrets are random, so a plain hash is enough.
pub fn hash_of(secret: &str) -> String {
    Sha256::digest(secret.as_bytes()).iter().map(|b| format!("{b:02x}")).collect()
}

fn signed_out() -> Refusal {
    Refusal::Forbidden(said!("sign-in-again"))
}

/// The key that signs access tokens: made once, at random, and kept with the data.
pub async fn token_key(workshop: &Workshop) -> Result<Vec<u8>> {
    const NAME: &str = "token key";
    let mut tx = workshop.db.begin().await?;
    let kept = match tx.setting(NAME).await? {
        Some(kept) => kept,
        None => {
            tx.set_setting_once(NAME, &workshop.ambient.secret()).await?;
            tx.setting(NAME).await?.unwrap_or_default()
        }
    };
    tx.commit().await?;
    Ok(kept.into_bytes())
}
