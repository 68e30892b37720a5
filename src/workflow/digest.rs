//! Each morning, at the hour the owner set, how a yard stands.

use chrono::{DateTime, TimeDelta, Utc};

use super::tell::{self, Asks, hears_all, zone_of};
use super::{Result, Workshop};
use crate::domain::alert::{DigestGrounded, DigestWatched, Event};
use crate::domain::forecast::When;
use crate::domain::hearing::{AlertKind, digest_due, next_digest};
use crate::domain::ids::YardId;
use crate::domain::money;
use crate::domain::person::Actor;

/// Lines of each kind: the rest stands on the board.
const MOST: i64 = 50;

/// Sends every digest that is due; answers how many.
pub async fn send_digests(workshop: &Workshop) -> Result<usize> {
    let now = workshop.ambient.now();
    let yards = workshop.db.read().await?.digest_yards().await?;
    let mut sent = 0;
    for yard in yards {
        sent += usize::from(send_one(workshop, yard.yard, now).await?);
    }
    Ok(sent)
}

/// How long until the next digest; None when no yard has one.
pub async fn until_next_digest(workshop: &Workshop) -> Result<Option<TimeDelta>> {
    let now = workshop.ambient.now();
    let mut tx = workshop.db.read().await?;
    let mut next: Option<DateTime<Utc>> = None;
    for digest in tx.digest_yards().await? {
        let Some(yard) = tx.yard(digest.yard).await? else { continue };
        let at = next_digest(now, zone_of(&yard)?, digest.at, digest.last);
        next = next.into_iter().chain(at).min();
    }
    Ok(next.map(|at| at - now))
}

async fn send_one(workshop: &Workshop, id: YardId, now: DateTime<Utc>) -> Result<bool> {
    let mut tx = workshop.db.begin().await?;
    // Two processes may look at once: the day is read again under the row's lock.
    tx.lock_yard(id).await?;
    let Some(digest) = tx.digest_yards().await?.into_iter().find(|d| d.yard == id) else { return Ok(false) };
    let Some(yard) = tx.yard(id).await? else { return Ok(false) };
    let zone = zone_of(&yard)?;
    let Some(day) = digest_due(now, zone, digest.at, digest.last) else { return Ok(false) };
    tx.set_digest(id, Some(digest.at), Some(day)).await?;
    let people = hears_all(&mut tx, id, AlertKind::Digest).await?;
    let Some(first) = people.first() else {
        tx.commit().await?;
        return Ok(false);
    };
    let actor = Actor {
        id: *first,
        name: "Chock".to_owned(),
        roles: Vec::new(),
        yards: Vec::new(),
        by_pin: false,
        long_ago: false,
    };
    let states = tx.alert_counts(*first, true).await?;
    let grounded = tx.grounded(*first, true, &yard.name, MOST).await?;
    let watched = tx.monitored(*first, true, &yard.name, MOST).await?;
    let here = |machine| grounded.iter().any(|g| g.machine_id == machine);
    let not_delivered = states.iter().filter(|s| here(s.machine_id)).map(|s| s.failed + s.in_vain).sum();
    let acknowledged = |machine| states.iter().all(|s| s.machine_id != machine || s.unacknowledged == 0);
    let event = Event::Digest {
        not_delivered,
        watched: watched
            .into_iter()
            .map(|w| DigestWatched { unit_number: w.unit_number, what: w.what, good_until: w.good_until_at })
            .collect(),
        grounded: grounded
            .iter()
            .map(|g| DigestGrounded {
                unit_number: g.unit_number.clone(),
                why: g.why.clone(),
                since: g.since,
                acknowledged: acknowledged(g.machine_id),
                likely_by: likely_by(&g.foreseen),
                cost: money::shown(g.cost_minor, &workshop.currency),
            })
            .collect(),
    };
    let key = format!("digest {id} {day}");
    let asks = Asks { event_key: "", people: &[] };
    tell::send(workshop, &mut tx, &actor, None, Some(&yard), &key, event, &people, asks, now).await?;
    tx.announce("outbox");
    tx.commit().await?;
    Ok(true)
}

/// As last reckoned; None where nothing can be said.
fn likely_by(foreseen: &str) -> Option<DateTime<Utc>> {
    match serde_json::from_str(foreseen) {
        Ok(When::Known { likely_by, .. }) => Some(likely_by),
        Ok(When::Unknown(_)) | Err(_) => None,
    }
}
