//! Delivering what the outbox owes: claim with a lease and commit, send, mark. Nothing is sent inside a transaction.

use chrono::{DateTime, TimeDelta, Utc};

use super::acknowledge::mark_of;
use super::trail::Trail;
use super::{Result, Workshop, from_json, machine_for, token_key};
use crate::domain::alert::Alert;
use crate::domain::ids::{AlertId, YardId};
use crate::domain::person::{Act, Actor, Role};
use crate::domain::refusal::{Refusal, Thing};
use crate::domain::trail::TrailAct;
use crate::words::Lang;

/// One mail that is owed.
#[derive(Clone, Debug)]
pub struct Delivery {
    pub id: AlertId,
    pub to_name: String,
    pub to_address: String,
    /// Of whoever gets it.
    pub lang: Lang,
    pub alert: Alert,
    pub attempts: i64,
    /// Path of the page on which they say that they have seen it, where they are asked to.
    pub acknowledge: Option<String>,
}

/// Longer than any mailer's own time-out, so that nobody else takes a row that is still being sent.
const LEASE: TimeDelta = TimeDelta::minutes(5);

/// Leases up to `most` mails that are due.
pub async fn lease_deliveries(workshop: &Workshop, most: i64) -> Result<Vec<Delivery>> {
    let now = workshop.ambient.now();
    // Most changes owe nobody a mail: looking does not keep others from writing.
    if !workshop.db.read().await?.outbox_is_due(now, now + LEASE).await? {
        return Ok(Vec::new());
    }
    let key = token_key(workshop).await?;
    let mut tx = workshop.db.begin().await?;
    let ids = tx.lease_outbox(now, now + LEASE, most).await?;
    let mut deliveries = Vec::with_capacity(ids.len());
    for id in ids {
        let Some(row) = tx.outbox_row(id).await? else { continue };
        deliveries.push(Delivery {
            id,
            to_name: row.person_name,
            to_address: row.email,
            lang: row.language.as_deref().and_then(Lang::of_tag).unwrap_or_default(),
            alert: from_json(&row.alert)?,
            attempts: row.attempts,
            acknowledge: row
                .asks_for
                .filter(|_| row.acknowledged_at.is_none())
                .map(|_| format!("/told/{id}/{}", mark_of(&key, id))),
        });
    }
    tx.commit().await?;
    Ok(deliveries)
}

pub async fn delivered(workshop: &Workshop, delivery: &Delivery, answer: &str) -> Result<()> {
    let mut tx = workshop.db.begin().await?;
    tx.outbox_delivered(delivery.id, answer, workshop.ambient.now()).await?;
    Ok(tx.commit().await?)
}

/// Tried again after 1, 5, 15 and 30 minutes, then every two hours up to five days; a permanent refusal is not tried
/// again. What is given up on shows as failed.
pub async fn not_delivered(
    workshop: &Workshop,
    delivery: &Delivery,
    permanent: bool,
    answer: &str,
) -> Result<()> {
    let now = workshop.ambient.now();
    let next_at = if permanent { None } else { next_attempt(delivery.alert.at, now, delivery.attempts) };
    let mut tx = workshop.db.begin().await?;
    tx.outbox_not_delivered(delivery.id, answer, next_at, now).await?;
    tx.announce("outbox");
    Ok(tx.commit().await?)
}

pub(super) fn next_attempt(first: DateTime<Utc>, now: DateTime<Utc>, attempts: i64) -> Option<DateTime<Utc>> {
    let minutes = match attempts {
        ..=1 => 1,
        2 => 5,
        3 => 15,
        4 => 30,
        _ => 120,
    };
    let next = now + TimeDelta::minutes(minutes);
    (next - first <= TimeDelta::days(5)).then_some(next)
}

/// When something will next be due.
pub async fn next_delivery_at(workshop: &Workshop) -> Result<Option<DateTime<Utc>>> {
    Ok(workshop.db.read().await?.outbox_next().await?)
}

/// Puts a mail back into the queue by hand; it keeps its Message-ID.
pub async fn resend(workshop: &Workshop, actor: &Actor, id: AlertId) -> Result<()> {
    actor.must(Act::SeeOutbox)?;
    let mut tx = workshop.db.begin().await?;
    let row = tx.outbox_row(id).await?.ok_or(Refusal::NotFound(Thing::Alert))?;
    let stream = match row.machine_id {
        Some(machine) => {
            format!("machine {}", machine_for(&mut tx, actor, Act::SeeOutbox, machine).await?.id)
        }
        None if may_see(actor, row.yard_id) => format!("person {}", row.person_id),
        None => return Err(Refusal::NotFound(Thing::Alert).into()),
    };
    let now = workshop.ambient.now();
    tx.resend_outbox(id, now).await?;
    let mut trail = Trail::new(actor, now);
    trail.add(TrailAct::AlertSentAgain, format!("person {}", row.email), row.state.as_str(), "", row.kind);
    trail.write(&mut tx, &stream).await?;
    tx.announce("outbox");
    Ok(tx.commit().await?)
}

/// What is about no machine: of a yard of theirs, or of the whole site where they own it.
pub fn may_see(actor: &Actor, yard: Option<YardId>) -> bool {
    match yard {
        Some(yard) => actor.may_in(Act::SeeOutbox, yard),
        None => actor.has(Role::Owner),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn waits_grow_and_end_after_five_days() {
        let first = DateTime::UNIX_EPOCH;
        let waits: Vec<i64> = (1..=5)
            .filter_map(|attempts| next_attempt(first, first, attempts))
            .map(|at| (at - first).num_minutes())
            .collect();
        assert_eq!(waits, [1, 5, 15, 30, 120]);
        assert_eq!(next_attempt(first, first + TimeDelta::days(5), 60), None);
    }
}
