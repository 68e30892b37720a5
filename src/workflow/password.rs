//! Passwords: what is kept of them, whether one fits, and changing one's own.

use argon2::password_hash::phc::PasswordHash;
use argon2::password_hash::{PasswordHasher, PasswordVerifier};
use argon2::{Algorithm, Argon2, Params, Version};

use super::own_sessions::Here;
use super::sign_in::hash_of;
use super::throttle::count_again;
use super::trail::Trail;
use super::{Result, WHO_IS_IN, Workshop};
use crate::domain::password::checked;
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::{Refusal, Thing};
use crate::domain::trail::{TrailAct, TrailState};
use crate::storage::StorageError;

/// OWASP's minimum for Argon2id: 19 MiB, two passes, one lane.
pub fn hasher() -> Argon2<'static> {
    const MEMORY_KIB: u32 = 19_456;
    let params = Params::new(MEMORY_KIB, 2, 1, None).unwrap_or_default();
    Argon2::new(Algorithm::Argon2id, Version::V0x13, params)
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
        Ok(Actor { by_pin: false, long_ago: false, ..actor.clone() })
    } else {
        Err(Refusal::invalid("/password", said!("password-not-yours")).into())
    }
}

/// The actor as one who may sign: with the password where it was given long ago, or never in this session.
pub async fn to_sign(workshop: &Workshop, actor: &Actor, here: &Here, password: &str) -> Result<Actor> {
    if !actor.by_pin && !actor.long_ago {
        return Ok(actor.clone());
    }
    let signer = prove_password(workshop, actor, password).await?;
    if let Some(secret) = &here.session {
        let mut tx = workshop.db.begin().await?;
        tx.session_proved(&hash_of(secret), workshop.ambient.now()).await?;
        tx.commit().await?;
    }
    Ok(signer)
}

/// As [`prove_password`], of somebody who may do it anyhow: before what gives rights away or makes a secret.
pub async fn prove_for(workshop: &Workshop, actor: &Actor, act: Act, password: &str) -> Result<()> {
    actor.must(act)?;
    prove_password(workshop, actor, password).await.map(|_| ())
}

/// One's own, by the one it was until now. Ends whatever else is signed in with it, and every PIN.
pub async fn change_password(
    workshop: &Workshop,
    actor: &Actor,
    here: &Here,
    present: &str,
    new: &str,
) -> Result<()> {
    prove_password(workshop, actor, present).await?;
    let person = workshop.db.read().await?.person(actor.id).await?;
    let person = person.ok_or(Refusal::NotFound(Thing::Person))?;
    let hash = hash_password(workshop, new, &[&person.name, &person.email]).await.map_err(|e| match e {
        super::WorkflowError::Refused(Refusal::Invalid { mut problems }) => {
            problems.iter_mut().for_each(|p| "/new".clone_into(&mut p.pointer));
            Refusal::Invalid { problems }.into()
        }
        other => other,
    })?;
    let mut tx = workshop.db.begin().await?;
    tx.set_password(actor.id, &hash).await?;
    super::own_sessions::end_others(&mut tx, actor.id, here, workshop.ambient.now()).await?;
    // Whoever knew the old one may have set a PIN with it. Also here, with what is open by it.
    tx.end_pins_of(actor.id).await?;
    let mut trail = Trail::new(actor, workshop.ambient.now());
    let subject = format!("person {}", person.email);
    let why = said!("trail-by-oneself");
    trail.add(TrailAct::PasswordSet, subject, TrailState::Active, TrailState::Active, why);
    trail.write(&mut tx, &format!("person {}", actor.id)).await?;
    tx.announce(WHO_IS_IN);
    Ok(tx.commit().await?)
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

/// Hashes a new password into a PHC string. `about` is what others know of the person.
pub async fn hash_password(workshop: &Workshop, password: &str, about: &[&str]) -> Result<String> {
    checked(password, about)?;
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
