//! Whoever hears of a hold says that they have seen it: on its page, or by the link in their mail. Where nobody has, the
//! next in line is told.

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use chrono::{DateTime, TimeDelta, Utc};
use hmac::{Hmac, KeyInit, Mac};
use sha2::Sha256;

use super::tell::{self, Asks, wait};
use super::trail::Trail;
use super::{Result, Workshop, from_json, machine_for, token_key, yard_of};
use crate::domain::alert::{Alert, Event};
use crate::domain::hearing::USUAL_WAIT;
use crate::domain::ids::{AlertId, PersonId};
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::{Refusal, Thing};
use crate::domain::trail::{TrailAct, TrailState};
use crate::storage::{OutboxRow, StorageError, Tx};

/// A hold that somebody is asked to acknowledge, as the link in their mail shows it.
pub struct AskedToAcknowledge {
    pub alert: Alert,
    pub person_name: String,
    pub acknowledged_at: Option<DateTime<Utc>>,
    pub acknowledged_by: String,
    /// No hold is open on the machine any more.
    pub over: bool,
}

/// For so long after it was sent a link in a mail is good.
const LINK_GOOD_FOR: TimeDelta = TimeDelta::days(14);

/// Proves that a link was made here for this alert, and for nothing else.
pub fn mark_of(key: &[u8], id: AlertId) -> String {
    URL_SAFE_NO_PAD.encode(mac(key, id).finalize().into_bytes())
}

fn mac(key: &[u8], id: AlertId) -> Hmac<Sha256> {
    let mut mac = Hmac::<Sha256>::new_from_slice(key).expect("HMAC takes a key of any length");
    mac.update(b"acknowledge ");
    mac.update(id.0.as_bytes());
    mac
}

/// What the link in a mail leads to. Changes nothing: mail programs open links by themselves.
pub async fn asked_by_link(workshop: &Workshop, id: AlertId, mark: &str) -> Result<AskedToAcknowledge> {
    let key = token_key(workshop).await?;
    let mut tx = workshop.db.read().await?;
    let row = by_link(workshop, &mut tx, &key, id, mark).await?;
    let over = match row.machine_id {
        Some(machine) => tx.count_open_holds(machine).await? == 0,
        None => true,
    };
    Ok(AskedToAcknowledge {
        alert: from_json(&row.alert)?,
        person_name: row.person_name,
        acknowledged_at: row.acknowledged_at,
        acknowledged_by: row.acknowledged_by.unwrap_or_default(),
        over,
    })
}

/// Acknowledges in the name of whoever the mail was sent to. Good once: an event is acknowledged by one person.
pub async fn acknowledge_by_link(workshop: &Workshop, id: AlertId, mark: &str) -> Result<()> {
    let key = token_key(workshop).await?;
    let mut tx = workshop.db.begin().await?;
    let row = by_link(workshop, &mut tx, &key, id, mark).await?;
    let actor = tx.actor(row.person_id).await?.ok_or(Refusal::NotFound(Thing::Alert))?;
    acknowledged(workshop, tx, &actor, &row, said!("ack-by-link")).await
}

/// By somebody signed in who was asked, or who looks after the outbox of the machine's yard.
pub async fn acknowledge(workshop: &Workshop, actor: &Actor, id: AlertId) -> Result<()> {
    let mut tx = workshop.db.begin().await?;
    let row = tx.outbox_row(id).await?.ok_or(Refusal::NotFound(Thing::Alert))?;
    let machine = row.machine_id.ok_or(Refusal::NotFound(Thing::Alert))?;
    machine_for(&mut tx, actor, Act::SeeMachines, machine).await?;
    if row.person_id != actor.id {
        actor.must(Act::SeeOutbox)?;
    }
    acknowledged(workshop, tx, actor, &row, said!("ack-on-page")).await
}

async fn by_link(workshop: &Workshop, tx: &mut Tx, key: &[u8], id: AlertId, mark: &str) -> Result<OutboxRow> {
    let nothing = || Refusal::NotFound(Thing::Alert);
    let given = URL_SAFE_NO_PAD.decode(mark).map_err(|_| nothing())?;
    // In constant time.
    mac(key, id).verify_slice(&given).map_err(|_| nothing())?;
    let row = tx.outbox_row(id).await?.ok_or_else(nothing)?;
    let fresh = workshop.ambient.now() - row.created_at <= LINK_GOOD_FOR;
    if row.asks_for.is_none() || !fresh { Err(nothing().into()) } else { Ok(row) }
}

async fn acknowledged(
    workshop: &Workshop,
    mut tx: Tx,
    actor: &Actor,
    row: &OutboxRow,
    how: crate::words::Text,
) -> Result<()> {
    let now = workshop.ambient.now();
    let asked = row.asks_for.as_ref().zip(row.machine_id);
    let (event_key, machine) = asked.ok_or_else(|| Refusal::conflict(said!("ack-not-asked")))?;
    let machine = tx.machine_for_change(machine).await?.ok_or(Refusal::NotFound(Thing::Machine))?;
    match tx.acknowledge(event_key, actor.id, now).await {
        Err(StorageError::Changed) => return Err(Refusal::conflict(said!("ack-already")).into()),
        done => done?,
    }
    let mut trail = Trail::new(actor, now);
    let subject = format!("machine {}", machine.unit_number);
    trail.add(TrailAct::AlertAcknowledged, subject, "", TrailState::Seen, how);
    trail.write_for_machine(&mut tx, machine.id).await?;
    tx.announce(machine.yard_id);
    Ok(tx.commit().await?)
}

/// Tells the next in line of every hold that nobody has acknowledged in time; answers how many were passed on.
pub async fn pass_on(workshop: &Workshop) -> Result<usize> {
    let now = workshop.ambient.now();
    let due = workshop.db.read().await?.escalations_due(now).await?;
    let mut passed = 0;
    for event_key in due {
        passed += usize::from(pass_on_one(workshop, &event_key, now).await?);
    }
    Ok(passed)
}

/// How long until the next in line is told of something; None when nobody is waited for.
pub async fn until_next_in_line(workshop: &Workshop) -> Result<Option<TimeDelta>> {
    let next = workshop.db.read().await?.next_escalation().await?;
    Ok(next.map(|at| at - workshop.ambient.now()))
}

async fn pass_on_one(workshop: &Workshop, event_key: &str, now: DateTime<Utc>) -> Result<bool> {
    let mut tx = workshop.db.begin().await?;
    let Some(seen) = tx.acknowledgement(event_key).await? else { return Ok(false) };
    let Some(machine) = tx.machine_for_change(seen.machine_id).await? else { return Ok(false) };
    let Some(asked) = tx.acknowledgement(event_key).await? else { return Ok(false) };
    if asked.acknowledged_at.is_some() || asked.next_at.is_none_or(|at| at > now) {
        return Ok(false);
    }
    if tx.count_open_holds(machine.id).await? == 0 {
        // It is over: nobody is to be woken for it.
        tx.set_escalation_step(event_key, asked.step, None).await?;
        tx.commit().await?;
        return Ok(false);
    }
    let told = tx
        .first_of_event(event_key)
        .await?
        .ok_or_else(|| StorageError::Unreadable(format!("nobody was told of {event_key}")))?;
    let held: Alert = from_json(&told.alert)?;
    let Event::MachineHeld { why, .. } = held.event else { return Ok(false) };
    let chain: Vec<(Vec<PersonId>, TimeDelta)> = match tx.next_in_line(asked.yard_id).await? {
        none if none.is_empty() => vec![(tx.owners().await?, USUAL_WAIT)],
        chain => chain.iter().map(|c| (vec![c.person_id], wait(c.wait_minutes))).collect(),
    };
    let at = usize::try_from(asked.step).unwrap_or(usize::MAX);
    let Some((people, _)) = chain.get(at) else {
        tx.set_escalation_step(event_key, asked.step, None).await?;
        tx.commit().await?;
        return Ok(false);
    };
    let next_at = chain.get(at + 1).map(|(_, wait)| now + *wait);
    tx.set_escalation_step(event_key, asked.step + 1, next_at).await?;
    let yard = yard_of(&mut tx, &machine).await?;
    // Nobody did this: it is put down to who stopped the machine, in the name of the clock.
    let actor = Actor {
        id: held.by_id,
        name: "Chock".to_owned(),
        roles: Vec::new(),
        yards: Vec::new(),
        by_pin: false,
        long_ago: false,
    };
    let event = Event::NotAcknowledged { why, held_at: asked.asked_at, held_by: held.by };
    let key = format!("{event_key} not acknowledged {}", asked.step + 1);
    let asks = Asks { event_key, people };
    tell::send(workshop, &mut tx, &actor, Some(&machine), Some(&yard), &key, event, people, asks, now)
        .await?;
    let mut names = Vec::new();
    for person in people {
        names.extend(tx.person(*person).await?.map(|p| p.name));
    }
    let mut trail = Trail::new(&actor, now);
    let subject = format!("machine {}", machine.unit_number);
    trail.add(TrailAct::AlertPassedOn, subject, "", names.join(", "), said!("ack-nobody-in-time"));
    trail.write_for_machine(&mut tx, machine.id).await?;
    tx.announce(machine.yard_id);
    tx.commit().await?;
    Ok(true)
}
