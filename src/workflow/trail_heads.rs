//! Signed heads: once a day, what all chains of the audit trail are is signed, kept, and mailed to whoever the owner chose.

use std::collections::BTreeMap;

use chrono::{DateTime, TimeDelta, Utc};
use ed25519_dalek::{Signature, Signer, SigningKey, Verifier, VerifyingKey};

use super::tell::{self, Asks};
use super::trail::Trail;
use super::{Result, Workshop};
use crate::domain::alert::Event;
use crate::domain::ids::PersonId;
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::{Refusal, Thing};
use crate::domain::trail::TrailAct;
use crate::domain::trail_head::{Signed, TrailHead, ends_text, write_out};
use crate::storage::{ChainEnd, HeadReaderRow, StorageError, TrailHeadRow, Tx, sha256};

const BETWEEN_HEADS: TimeDelta = TimeDelta::days(1);
/// A head from later than this from now was made while the clock was wrong.
const CLOCKS_DIFFER: TimeDelta = TimeDelta::minutes(5);
const SHOWN: usize = 31;

/// The page of the heads.
#[derive(Clone, Debug)]
pub struct TrailHeads {
    /// Newest first.
    pub heads: Vec<TrailHeadRow>,
    pub public_key: String,
    /// Empty for whoever may not choose.
    pub readers: Vec<HeadReaderRow>,
}

/// Signs a head when the last one is a day old; answers whether it did.
pub async fn sign_head_when_due(workshop: &Workshop) -> Result<bool> {
    // Most looks find nothing to do, and keep nobody from writing.
    if !is_due(&mut workshop.db.read().await?, workshop.ambient.now()).await? {
        return Ok(false);
    }
    again_when_changed!({
        let mut tx = workshop.db.begin().await?;
        // Another process may have been first.
        if !is_due(&mut tx, workshop.ambient.now()).await? {
            return Ok(false);
        }
        sign(workshop, &mut tx).await?;
        tx.commit().await?;
        Ok(true)
    })
}

/// Signs one now.
pub async fn sign_head(workshop: &Workshop, actor: &Actor) -> Result<TrailHeadRow> {
    actor.must(Act::SignTrail)?;
    again_when_changed!({
        let mut tx = workshop.db.begin().await?;
        let head = sign(workshop, &mut tx).await?;
        tx.commit().await?;
        Ok(head)
    })
}

/// Every head, oldest first.
pub async fn all_heads(workshop: &Workshop, actor: &Actor) -> Result<Vec<TrailHeadRow>> {
    actor.must(Act::SeeAudit)?;
    Ok(workshop.db.read().await?.trail_heads(0).await?)
}

pub async fn trail_heads(workshop: &Workshop, actor: &Actor) -> Result<TrailHeads> {
    actor.must(Act::SeeAudit)?;
    let public_key = hex(signing_key(workshop).await?.verifying_key().as_bytes());
    let mut tx = workshop.db.read().await?;
    let last = tx.last_trail_head().await?.map_or(0, |h| h.number);
    let mut heads = tx.trail_heads(last - SHOWN as i64).await?;
    heads.reverse();
    let readers = if actor.may(Act::SignTrail) { tx.head_readers().await? } else { Vec::new() };
    Ok(TrailHeads { heads, public_key, readers })
}

/// To these people each head is mailed.
pub async fn choose_head_readers(workshop: &Workshop, actor: &Actor, people: &[PersonId]) -> Result<()> {
    actor.must(Act::SignTrail)?;
    let now = workshop.ambient.now();
    let mut tx = workshop.db.begin().await?;
    let known = tx.head_readers().await?;
    if people.iter().any(|p| !known.iter().any(|k| k.person_id == *p)) {
        return Err(Refusal::NotFound(Thing::Person).into());
    }
    let names = |reads: &dyn Fn(&HeadReaderRow) -> bool| {
        known.iter().filter(|k| reads(k)).map(|k| k.name.as_str()).collect::<Vec<_>>().join(", ")
    };
    let (before, after) = (names(&|k| k.reads), names(&|k| people.contains(&k.person_id)));
    if before == after {
        return Ok(());
    }
    tx.set_head_readers(people).await?;
    let mut trail = Trail::new(actor, now);
    trail.add(TrailAct::HeadReadersChosen, format!("person {}", actor.id), before, after, "");
    trail.write(&mut tx, &format!("person {}", actor.id)).await?;
    Ok(tx.commit().await?)
}

async fn is_due(tx: &mut Tx, now: DateTime<Utc>) -> Result<bool> {
    Ok(match tx.last_trail_head().await? {
        Some(last) => now - last.at >= BETWEEN_HEADS || last.at - now > CLOCKS_DIFFER,
        None => !tx.ends_now().await?.is_empty(),
    })
}

async fn sign(workshop: &Workshop, tx: &mut Tx) -> Result<TrailHeadRow> {
    let now = workshop.ambient.now();
    let key = key_in(workshop, tx).await?;
    let last = tx.last_trail_head().await?;
    // One statement sees all chains as they were at one moment.
    let mut ends = tx.ends_now().await?;
    in_order(&mut ends);
    let signed: BTreeMap<String, i64> =
        tx.ends_signed_last().await?.into_iter().map(|e| (e.stream, e.seq)).collect();
    let moved: Vec<ChainEnd> =
        ends.iter().filter(|e| signed.get(&e.stream) != Some(&e.seq)).cloned().collect();
    let head = TrailHead {
        number: last.as_ref().map_or(1, |l| l.number + 1),
        at: now,
        chains: ends.len() as i64,
        entries: ends.iter().map(|e| e.seq).sum(),
        digest: digest(&ends),
        prev_hash: last.map(|l| l.hash).unwrap_or_default(),
    };
    let text = head.signed_text();
    let signed = Signed {
        signature: hex(&key.sign(text.as_bytes()).to_bytes()),
        public_key: hex(key.verifying_key().as_bytes()),
        head,
    };
    let hash = sha256(&text);
    tx.insert_trail_head(&hash, &signed, &moved).await?;
    mail(workshop, tx, &hash, &signed, now).await?;
    let Signed { head, signature, public_key } = signed;
    Ok(TrailHeadRow {
        number: head.number,
        at: head.at,
        chains: head.chains,
        entries: head.entries,
        digest: head.digest,
        prev_hash: head.prev_hash,
        hash,
        signature,
        public_key,
    })
}

async fn mail(
    workshop: &Workshop,
    tx: &mut Tx,
    hash: &str,
    signed: &Signed,
    now: DateTime<Utc>,
) -> Result<()> {
    let readers: Vec<PersonId> =
        tx.head_readers().await?.into_iter().filter(|r| r.reads).map(|r| r.person_id).collect();
    let Some(first) = readers.first() else { return Ok(()) };
    let actor = Actor {
        id: *first,
        name: "Chock".to_owned(),
        roles: Vec::new(),
        yards: Vec::new(),
        by_pin: false,
        long_ago: false,
    };
    let event = Event::TrailHead { number: signed.head.number, written: write_out(hash, signed) };
    let key = format!("trail head {}", signed.head.number);
    let asks = Asks { event_key: "", people: &[] };
    tell::send(workshop, tx, &actor, None, None, &key, event, &readers, asks, now).await?;
    tx.announce("outbox");
    Ok(())
}

/// By their bytes: the order of a database depends on its locale.
pub(super) fn in_order(ends: &mut [ChainEnd]) {
    ends.sort_by(|a, b| a.stream.as_bytes().cmp(b.stream.as_bytes()));
}

pub(super) fn digest(ends: &[ChainEnd]) -> String {
    sha256(&ends_text(ends.iter().map(|e| (e.stream.as_str(), e.seq, e.hash.as_str()))))
}

/// Whether the key signed it. A key or a signature that is none did not.
pub(super) fn is_signed(signed: &Signed) -> bool {
    let key = bytes::<32>(&signed.public_key).and_then(|k| VerifyingKey::from_bytes(&k).ok());
    let signature = bytes::<64>(&signed.signature).map(|s| Signature::from_bytes(&s));
    match (key, signature) {
        (Some(key), Some(signature)) => key.verify(signed.head.signed_text().as_bytes(), &signature).is_ok(),
        _ => false,
    }
}

async fn signing_key(workshop: &Workshop) -> Result<SigningKey> {
    let mut tx = workshop.db.begin().await?;
    let key = key_in(workshop, &mut tx).await?;
    tx.commit().await?;
    Ok(key)
}

/// Made when it is first needed. Whoever reads the database can sign as well: what proves something is a head that was kept
/// elsewhere.
async fn key_in(workshop: &Workshop, tx: &mut Tx) -> Result<SigningKey> {
    const NAME: &str = "head key";
    let kept = match tx.setting(NAME).await? {
        Some(kept) => kept,
        None => {
            tx.set_setting_once(NAME, &hex(&workshop.ambient.bytes::<32>())).await?;
            tx.setting(NAME).await?.unwrap_or_default()
        }
    };
    let seed =
        bytes::<32>(&kept).ok_or_else(|| StorageError::Unreadable("the key for signing heads".into()))?;
    Ok(SigningKey::from_bytes(&seed))
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

fn bytes<const N: usize>(hex: &str) -> Option<[u8; N]> {
    if hex.len() != 2 * N || !hex.is_ascii() {
        return None;
    }
    let mut out = [0; N];
    for (i, byte) in out.iter_mut().enumerate() {
        *byte = u8::from_str_radix(&hex[2 * i..2 * i + 2], 16).ok()?;
    }
    Some(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_signed_is_verified_by_the_printed_key_and_nothing_else() {
        let key = SigningKey::from_bytes(&[7; 32]);
        let head = TrailHead {
            number: 1,
            at: DateTime::UNIX_EPOCH,
            chains: 1,
            entries: 1,
            digest: "00".repeat(32),
            prev_hash: String::new(),
        };
        let signed = Signed {
            signature: hex(&key.sign(head.signed_text().as_bytes()).to_bytes()),
            public_key: hex(key.verifying_key().as_bytes()),
            head,
        };
        assert!(is_signed(&signed));
        let mut other = signed.clone();
        other.head.entries = 2;
        assert!(!is_signed(&other));
        let other_key = SigningKey::from_bytes(&[8; 32]).verifying_key();
        assert!(!is_signed(&Signed { public_key: hex(other_key.as_bytes()), ..signed.clone() }));
        assert!(!is_signed(&Signed { signature: "00".repeat(64), ..signed.clone() }));
        assert!(!is_signed(&Signed { signature: "no".into(), ..signed }));
    }

    /// The secret and the public key of RFC 8032, 7.1, TEST 1 (from memory).
    #[test]
    fn a_key_in_hexadecimal_is_the_one_of_the_rfc() {
        let secret = "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60";
        let public = "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a";
        let key = SigningKey::from_bytes(&bytes::<32>(secret).unwrap());
        assert_eq!(hex(key.verifying_key().as_bytes()), public);
    }
}
