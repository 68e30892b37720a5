//! Passwords, page sessions and refresh tokens. Secrets are random and only their hashes are kept.

use std::net::IpAddr;

use argon2::password_hash::phc::PasswordHash;
use argon2::password_hash::{PasswordHasher, PasswordVerifier};
use argon2::{Algorithm, Argon2, Params, Version};
use chrono::TimeDelta;
use sha2::{Digest, Sha256};
use uuid::Uuid;

use super::throttle::{self, count_again, count_try};
use super::{Result, Workshop};
use crate::domain::ids::PersonId;
use crate::domain::person::Actor;
use crate::domain::refusal::Refusal;
use crate::storage::{StorageError, Tx};

pub struct Credentials<'a> {
    pub email: &'a str,
    pub password: &'a str,
}

/// What an API client gets beside its access token.
#[derive(Debug)]
pub struct RefreshGrant {
    pub actor: Actor,
    pub refresh_token: String,
}

const SESSION: TimeDelta = TimeDelta::days(14);
const REFRESH: TimeDelta = TimeDelta::days(30);

/// OWASP's minimum for Argon2id: 19 MiB, two passes, one lane.
pub fn hasher() -> Argon2<'static> {
    const MEMORY_KIB: u32 = 19_456;
    let params = Params::new(MEMORY_KIB, 2, 1, None).unwrap_or_default();
    Argon2::new(Algorithm::Argon2id, Version::V0x13, params)
}

/// Checks the password and opens a page session; answers the session's secret.
pub async fn sign_in_page(workshop: &Workshop, given: Credentials<'_>) -> Result<(Actor, String)> {
    sign_in_page_on(workshop, given, None, None).await
}

/// As [`sign_in_page`]; `from` is the address of whoever asks, `device` is what a shared device keeps, with which the session ends when it is lost.
pub async fn sign_in_page_on(
    workshop: &Workshop,
    given: Credentials<'_>,
    from: Option<IpAddr>,
    device: Option<&str>,
) -> Result<(Actor, String)> {
    let actor = verify_password(workshop, given, from).await?;
    let now = workshop.ambient.now();
    let secret = workshop.ambient.secret();
    let mut tx = workshop.db.begin().await?;
    tx.insert_session(&hash_of(&secret), actor.id, None, now, now + SESSION).await?;
    if let Some(device) = device
        && let Some(device) = tx.device(&hash_of(device)).await?
    {
        tx.session_is_on(&hash_of(&secret), device).await?;
    }
    tx.commit().await?;
    Ok((actor, secret))
}

pub async fn sign_out_page(workshop: &Workshop, secret: &str) -> Result<()> {
    let mut tx = workshop.db.begin().await?;
    tx.end_session(&hash_of(secret)).await?;
    Ok(tx.commit().await?)
}

/// Who a session belongs to, with what they may do at this very moment.
pub async fn actor_of_session(workshop: &Workshop, secret: &str) -> Result<Option<Actor>> {
    let mut tx = workshop.db.read().await?;
    Ok(tx.session_actor(&hash_of(secret), workshop.ambient.now()).await?)
}

/// Who an access token names, as they are now: a disabled person is nobody at once.
pub async fn actor_of_token(workshop: &Workshop, person: PersonId) -> Result<Option<Actor>> {
    Ok(workshop.db.read().await?.actor(person).await?)
}

/// Checks the password and starts a family of refresh tokens.
pub async fn sign_in_api(
    workshop: &Workshop,
    given: Credentials<'_>,
    from: Option<IpAddr>,
) -> Result<RefreshGrant> {
    let actor = verify_password(workshop, given, from).await?;
    let family: Uuid = workshop.ambient.id();
    let mut tx = workshop.db.begin().await?;
    let grant = grant(workshop, &mut tx, actor, family).await?;
    tx.commit().await?;
    Ok(grant)
}

/// Trades a refresh token for the next one. A token used twice ends its whole family: one of the two was stolen.
pub async fn refresh(workshop: &Workshop, token: &str) -> Result<RefreshGrant> {
    let now = workshop.ambient.now();
    let hash = hash_of(token);
    let mut tx = workshop.db.begin().await?;
    let row = tx.refresh_token(&hash).await?.ok_or_else(signed_out)?;
    if row.used_at.is_some() {
        tx.revoke_family(row.family).await?;
        tx.commit().await?;
        return Err(signed_out().into());
    }
    if row.expires_at <= now {
        return Err(signed_out().into());
    }
    match tx.use_refresh_token(&hash, now).await {
        Ok(()) => {}
        Err(StorageError::Changed) => return Err(signed_out().into()),
        Err(e) => return Err(e.into()),
    }
    let actor = tx.actor(row.person_id).await?.ok_or_else(signed_out)?;
    // With the next one in the same transaction: a token that was used for nothing would end its family.
    let grant = grant(workshop, &mut tx, actor, row.family).await?;
    tx.commit().await?;
    Ok(grant)
}

pub async fn sign_out_token(workshop: &Workshop, token: &str) -> Result<()> {
    let mut tx = workshop.db.begin().await?;
    if let Some(row) = tx.refresh_token(&hash_of(token)).await? {
        tx.revoke_family(row.family).await?;
    }
    Ok(tx.commit().await?)
}

/// Drops what has expired.
pub async fn tidy(workshop: &Workshop) -> Result<u64> {
    let mut tx = workshop.db.begin().await?;
    let gone = tx.tidy_sessions(workshop.ambient.now()).await?;
    tx.commit().await?;
    Ok(gone + throttle::tidy(workshop).await?)
}

async fn grant(workshop: &Workshop, tx: &mut Tx, actor: Actor, family: Uuid) -> Result<RefreshGrant> {
    let now = workshop.ambient.now();
    let refresh_token = workshop.ambient.secret();
    tx.insert_refresh_token(&hash_of(&refresh_token), family, actor.id, now, now + REFRESH).await?;
    Ok(RefreshGrant { actor, refresh_token })
}

/// The same answer and the same work whether the address is unknown, the password wrong or the person disabled.
async fn verify_password(workshop: &Workshop, given: Credentials<'_>, from: Option<IpAddr>) -> Result<Actor> {
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
    let tried = count_try(workshop, &email, person.as_ref().map(|p| p.id), from).await?;
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

/// The actor as if signed in by password, once the password was given: for one step that asks for it.
pub async fn prove_password(workshop: &Workshop, actor: &Actor, password: &str) -> Result<Actor> {
    if password.is_empty() {
        return Err(Refusal::invalid("/password", said!("password-give")).into());
    }
    let tried = count_again(workshop, actor.id).await?;
    let kept = workshop.db.read().await?.person(actor.id).await?.and_then(|p| p.password_hash);
    if fits(workshop, password, kept).await? {
        tried.was_right(workshop, actor.id).await?;
        Ok(Actor { by_pin: false, ..actor.clone() })
    } else {
        Err(Refusal::invalid("/password", said!("password-not-yours")).into())
    }
}

/// The address the actor signs in with, for browsers that fill in passwords.
pub async fn my_email(workshop: &Workshop, actor: &Actor) -> Result<String> {
    Ok(workshop.db.read().await?.person(actor.id).await?.map(|p| p.email).unwrap_or_default())
}

/// Whether it is what the hash was made of.
pub(super) async fn fits(workshop: &Workshop, given: &str, kept: Option<String>) -> Result<bool> {
    let given = given.to_owned();
    blocking(workshop, move || match kept {
        Some(hash) => PasswordHash::new(&hash)
            .is_ok_and(|hash| hasher().verify_password(given.as_bytes(), &hash).is_ok()),
        None => {
            // Spend what a real comparison would.
            let _ = hasher().hash_password_with_salt(given.as_bytes(), b"nobody-of-this-name");
            false
        }
    })
    .await
}

/// Hashes a new password into a PHC string.
pub async fn hash_password(workshop: &Workshop, password: &str) -> Result<String> {
    let length = password.chars().count();
    if !(10..=256).contains(&length) {
        return Err(Refusal::invalid("/password", said!("password-length")).into());
    }
    hashed(workshop, password).await
}

pub(super) async fn hashed(workshop: &Workshop, password: &str) -> Result<String> {
    let salt: [u8; 16] = workshop.ambient.bytes();
    let password = password.to_owned();
    let hash = blocking(workshop, move || {
        hasher()
            .hash_password_with_salt(password.as_bytes(), &salt)
            .map(|h: argon2::password_hash::phc::PasswordHash| h.to_string())
    })
    .await?;
    hash.map_err(|e| StorageError::Unreadable(format!("the password could not be hashed: {e}")).into())
}

/// Runs a hash off the event loop, few at a time.
async fn blocking<T: Send + 'static>(
    workshop: &Workshop,
    work: impl FnOnce() -> T + Send + 'static,
) -> Result<T> {
    let lost = |what: &str| StorageError::Unreadable(what.to_owned());
    let _permit = workshop.hashing.acquire().await.map_err(|_| lost("hashing has stopped"))?;
    Ok(tokio::task::spawn_blocking(work).await.map_err(|_| lost("hashing was interrupted"))?)
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
