//! Was everybody told?

use super::super::deliver::may_see;
use super::super::{Result, Workshop, from_json, machine_seen};
use crate::domain::alert::Alert;
use crate::domain::ids::AlertId;
use crate::domain::person::{Act, Actor, Role};
use crate::domain::refusal::{Refusal, Thing};
use crate::storage::OutboxRow;

pub async fn outbox(workshop: &Workshop, actor: &Actor, most: i64) -> Result<Vec<OutboxRow>> {
    actor.must(Act::SeeOutbox)?;
    let mut tx = workshop.db.read().await?;
    Ok(tx.outbox(actor.id, actor.has(Role::Owner), most).await?)
}

/// One alert with its facts, from which its mail can be composed again.
pub async fn alert_of(workshop: &Workshop, actor: &Actor, id: AlertId) -> Result<(OutboxRow, Alert)> {
    let mut tx = workshop.db.read().await?;
    let row = tx.outbox_row(id).await?.ok_or(Refusal::NotFound(Thing::Alert))?;
    let own = row.person_id == actor.id;
    match row.machine_id {
        _ if own => {}
        Some(machine) => drop(machine_seen(&mut tx, actor, Act::SeeOutbox, machine).await?),
        None if may_see(actor, row.yard_id) => {}
        None => return Err(Refusal::NotFound(Thing::Alert).into()),
    }
    let alert = from_json(&row.alert)?;
    Ok((row, alert))
}
