//! Puts what people are owed into the outbox, in the transaction of the event itself.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use chrono_tz::Tz;

use super::{Result, Workshop, to_json, webhooks};
use crate::domain::alert::{Alert, Event};
use crate::domain::hearing::{AlertKind, USUAL_WAIT, Wanted};
use crate::domain::ids::{PersonId, YardId};
use crate::domain::person::Actor;
use crate::storage::{AlertTo, MachineRow, NewAlert, StorageError, Tx, YardRow};

/// One event, told to whoever hears of it in the yard, and to `also`; each once.
#[expect(clippy::too_many_arguments, reason = "who, what, where and when, each once")]
pub async fn tell(
    workshop: &Workshop,
    tx: &mut Tx,
    actor: &Actor,
    machine: &MachineRow,
    yard: &YardRow,
    event_key: &str,
    event: Event,
    also: &[PersonId],
    now: DateTime<Utc>,
) -> Result<()> {
    let mut people = hearers(tx, yard.id, event.kind(), &machine.class).await?;
    // Whoever stopped the machine knows of it: somebody else is asked whether they have seen it.
    let asked: Vec<PersonId> = match event.kind() {
        AlertKind::MachineHeld => people.iter().copied().filter(|p| *p != actor.id).collect(),
        _ => Vec::new(),
    };
    for person in also {
        if !people.contains(person) {
            people.push(*person);
        }
    }
    if !asked.is_empty() {
        let wait = tx.next_in_line(yard.id).await?.first().map_or(USUAL_WAIT, |c| wait(c.wait_minutes));
        tx.insert_acknowledgement(event_key, machine.id, yard.id, now, now + wait).await?;
    }
    let asks = Asks { event_key, people: &asked };
    send(workshop, tx, actor, Some(machine), Some(yard), event_key, event, &people, asks, now).await
}

/// One event, told to these people only.
#[expect(clippy::too_many_arguments, reason = "who, what, where and when, each once")]
pub async fn write(
    workshop: &Workshop,
    tx: &mut Tx,
    actor: &Actor,
    machine: &MachineRow,
    yard: &YardRow,
    event_key: &str,
    event: Event,
    people: &[PersonId],
    now: DateTime<Utc>,
) -> Result<()> {
    let nothing = Asks { event_key: "", people: &[] };
    send(workshop, tx, actor, Some(machine), Some(yard), event_key, event, people, nothing, now).await
}

/// Which of the people are asked to acknowledge what.
pub struct Asks<'a> {
    pub event_key: &'a str,
    pub people: &'a [PersonId],
}

/// One event, which may be about no machine, or about the whole site.
#[expect(clippy::too_many_arguments, reason = "who, what, where and when, each once")]
pub async fn send(
    workshop: &Workshop,
    tx: &mut Tx,
    actor: &Actor,
    machine: Option<&MachineRow>,
    yard: Option<&YardRow>,
    event_key: &str,
    event: Event,
    people: &[PersonId],
    asks: Asks<'_>,
    now: DateTime<Utc>,
) -> Result<()> {
    let zone = match yard {
        Some(yard) => zone_of(yard)?,
        None => Tz::UTC,
    };
    let alert = Alert {
        machine: machine.map(|m| m.id),
        unit_number: machine.map(|m| m.unit_number.clone()).unwrap_or_default(),
        yard_name: yard.map(|y| y.name.clone()).unwrap_or_default(),
        at: now,
        zone,
        by: actor.name.clone(),
        by_id: actor.id,
        event,
    };
    let kind = alert.event.kind();
    let quiet: BTreeMap<_, _> =
        if kind.is_lockout() { BTreeMap::new() } else { tx.all_quiet_hours().await?.into_iter().collect() };
    let to: Vec<AlertTo> = people
        .iter()
        .map(|person| AlertTo {
            id: workshop.ambient.id(),
            person: *person,
            asks_for: asks.people.contains(person).then(|| asks.event_key.to_owned()),
            next_at: quiet.get(person).map_or(now, |q| q.next(now, zone)),
        })
        .collect();
    let new = NewAlert {
        event_key: event_key.to_owned(),
        kind,
        machine: machine.map(|m| m.id),
        yard: yard.map(|y| y.id),
        alert: to_json(&alert)?,
        at: now,
    };
    tx.insert_outbox(&new, &to).await?;
    webhooks::owe(workshop, tx, new.yard, event_key, &alert, now).await
}

/// Who hears this kind of alert about a class of machines in a yard; the owners where nobody would.
pub async fn hearers(tx: &mut Tx, yard: YardId, kind: AlertKind, class: &str) -> Result<Vec<PersonId>> {
    let heard = heard_by(tx, yard, kind, class).await?;
    let heard: Vec<_> = heard.into_iter().filter(|(_, class)| *class).map(|(person, _)| person).collect();
    if heard.is_empty() && kind.or_the_owners() { Ok(tx.owners().await?) } else { Ok(heard) }
}

/// Whoever hears this kind of alert of any machine of the yard, whatever its class.
pub async fn hears_all(tx: &mut Tx, yard: YardId, kind: AlertKind) -> Result<Vec<PersonId>> {
    // No machine has a class without a name.
    let heard = heard_by(tx, yard, kind, "").await?;
    Ok(heard.into_iter().filter(|(_, class)| *class).map(|(person, _)| person).collect())
}

/// Each person who hears the kind, and whether of this class.
async fn heard_by(tx: &mut Tx, yard: YardId, kind: AlertKind, class: &str) -> Result<Vec<(PersonId, bool)>> {
    let mut people: BTreeMap<PersonId, (Wanted, Option<bool>, bool)> = BTreeMap::new();
    for row in tx.who_may_hear(yard, kind, class).await? {
        let wanted = row.wanted.unwrap_or_else(|| kind.usually(row.role));
        let of_class = !row.limited || row.this_class;
        let known = people.entry(row.person_id).or_insert((wanted, row.heard, of_class));
        known.0 = known.0.more(wanted);
    }
    Ok(people
        .into_iter()
        .filter(|(_, (wanted, chosen, _))| wanted.heard(*chosen))
        .map(|(person, (wanted, _, of_class))| (person, of_class || wanted == Wanted::Required))
        .collect())
}

pub fn zone_of(yard: &YardRow) -> Result<Tz> {
    Ok(yard.zone.parse().map_err(|_| StorageError::Unreadable(format!("{} is no time zone", yard.zone)))?)
}

pub fn wait(minutes: i64) -> chrono::TimeDelta {
    chrono::TimeDelta::minutes(minutes)
}
