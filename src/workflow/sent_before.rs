//! What a program sends under a key of its own (`Idempotency-Key`) is done once, however often it is sent. The key is taken
//! before and its answer kept after what is done in between, which has transactions of its own: whoever dies in between
//! leaves a key that is under way, and nothing is done a second time under it.

use chrono::{DateTime, TimeDelta, Utc};

use super::{Result, Workshop};
use crate::domain::person::Actor;
use crate::domain::refusal::Refusal;
use crate::storage::{SentBefore, Tx};

/// For as long a key is remembered.
const KEPT: TimeDelta = TimeDelta::hours(24);

/// Takes the key; what was answered where the same was sent under it before. `fingerprint` says what is sent.
pub async fn begin_once(
    workshop: &Workshop,
    actor: &Actor,
    key: &str,
    fingerprint: &str,
) -> Result<Option<SentBefore>> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    if tx.take_key(actor.id, key, fingerprint, now).await? {
        tx.commit().await?;
        return Ok(None);
    }
    let before = tx.sent_before(actor.id, key).await?;
    drop(tx);
    match before {
        Some(b) if b.fingerprint != fingerprint => {
            Err(Refusal::invalid("", said!("refusal-key-of-another")).into())
        }
        Some(b) if b.status.is_some() => Ok(Some(b)),
        _ => Err(Refusal::conflict(said!("refusal-key-under-way")).into()),
    }
}

pub async fn keep_answer(workshop: &Workshop, actor: &Actor, key: &str, answer: &SentBefore) -> Result<()> {
    let mut tx = workshop.db.begin().await?;
    tx.keep_answer(actor.id, key, answer).await?;
    Ok(tx.commit().await?)
}

/// Nothing was done: the same key may be sent again, with something else.
pub async fn give_key_back(workshop: &Workshop, actor: &Actor, key: &str) -> Result<()> {
    let mut tx = workshop.db.begin().await?;
    tx.give_key_back(actor.id, key).await?;
    Ok(tx.commit().await?)
}

pub async fn tidy_keys(tx: &mut Tx, now: DateTime<Utc>) -> Result<u64> {
    Ok(tx.tidy_keys(now - KEPT).await?)
}
