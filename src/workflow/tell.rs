//! Puts what people are owed into the outbox, in the transaction of the event itself.

use chrono::{DateTime, Utc};

use super::{Result, Workshop, to_json};
use crate::domain::alert::{Alert, Event};
use crate::domain::ids::PersonId;
use crate::domain::person::Actor;
use crate::storage::{MachineRow, StorageError, Tx, YardRow};

/// One event, told to the yard's supervisors and mechanics, every owner, and `also`; each once.
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
    let mut people = tx.yard_audience(yard.id).await?;
    for person in also {
        if !people.contains(person) {
            people.push(*person);
        }
    }
    write(workshop, tx, actor, machine, yard, event_key, event, &people, now).await
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
    let alert = Alert {
        machine: machine.id,
        unit_number: machine.unit_number.clone(),
        yard_name: yard.name.clone(),
        at: now,
        zone: yard
            .zone
            .parse()
            .map_err(|_| StorageError::Unreadable(format!("{} is no time zone", yard.zone)))?,
        by: actor.name.clone(),
        by_id: actor.id,
        event,
    };
    let ids: Vec<_> = people.iter().map(|_| workshop.ambient.id()).collect();
    tx.insert_outbox(&ids, event_key, alert.event.kind(), people, machine.id, &to_json(&alert)?, now).await?;
    Ok(())
}
