//! What a check was answered with, and who has been told.

use super::super::raise::came_back_key;
use super::super::{Answered, Result, Workshop, from_json, machine_seen};
use crate::domain::ids::CheckId;
use crate::domain::person::{Act, Actor};
use crate::domain::reading::Reading;
use crate::domain::refusal::{Refusal, Thing};
use crate::storage::{CheckRow, MachineRow, OutboxRow, PhotoRow, YardRow};

pub struct Verdict {
    pub check: CheckRow,
    pub machine: MachineRow,
    pub yard: YardRow,
    pub answered: Answered,
    pub readings: Vec<Reading>,
    pub told: Vec<OutboxRow>,
    pub photos: Vec<PhotoRow>,
    /// Whether the machine is out of service at this moment, whatever was answered then.
    pub held_now: bool,
}

pub async fn verdict(workshop: &Workshop, actor: &Actor, id: CheckId) -> Result<Verdict> {
    let mut tx = workshop.db.read().await?;
    let check = tx.check(id).await?.ok_or(Refusal::NotFound(Thing::Check))?;
    let machine = machine_seen(&mut tx, actor, Act::SeeMachines, check.machine_id)
        .await
        .map_err(|_| Refusal::NotFound(Thing::Check))?;
    let yard = super::super::yard_of(&mut tx, &machine).await?;
    let key = format!("check {id}");
    let told = tx.outbox_of_event(&key, &came_back_key(&key)).await?;
    let photos = tx.photos_of_check(id).await?;
    let held_now = tx.count_open_holds(machine.id).await? > 0;
    Ok(Verdict {
        answered: from_json(&check.answered)?,
        readings: from_json(&check.answers)?,
        check,
        machine,
        yard,
        told,
        photos,
        held_now,
    })
}
