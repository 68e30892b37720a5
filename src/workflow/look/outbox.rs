//! Was everybody told?

use super::super::deliver::may_see;
use super::super::{Result, Workshop, from_json, machine_seen};
use crate::domain::alert::Alert;
use crate::domain::ids::AlertId;
use crate::domain::person::{Act, Actor, Role};
use crate::domain::refusal::{Refusal, Thing};
use crate::storage::OutboxRow;

/// The newest.
pub async fn outbox(workshop: &Workshop, actor: &Actor, most: i64) -> Result<Vec<OutboxRow>> {
    Ok(outbox_page(workshop, actor, OutboxAsked { most, ..OutboxAsked::default() }).await?.alerts)
}

#[derive(Clone, Copy, Debug, Default)]
pub struct OutboxAsked {
    /// Those older than this one; from the newest when there is none.
    pub before: Option<AlertId>,
    pub only_not_delivered: bool,
    pub most: i64,
}

pub struct OutboxPage {
    /// Newest first.
    pub alerts: Vec<OutboxRow>,
    /// There are older ones.
    pub more: bool,
    /// On this page or not: given up on, or tried in vain so far.
    pub not_delivered: i64,
}

pub async fn outbox_page(workshop: &Workshop, actor: &Actor, asked: OutboxAsked) -> Result<OutboxPage> {
    actor.must(Act::SeeOutbox)?;
    let all = actor.has(Role::Owner);
    let mut tx = workshop.db.read().await?;
    let place = match asked.before {
        // Only its place in the order is taken from it.
        Some(id) => {
            let row = tx.outbox_row(id).await?.ok_or(Refusal::NotFound(Thing::Alert))?;
            Some((row.created_at, row.id))
        }
        None => None,
    };
    let one_more = asked.most.saturating_add(1);
    let mut alerts = if asked.only_not_delivered {
        tx.not_delivered(actor.id, all, place, one_more).await?
    } else {
        tx.outbox(actor.id, all, place, one_more).await?
    };
    let more = i64::try_from(alerts.len()).unwrap_or(i64::MAX) > asked.most;
    alerts.truncate(usize::try_from(asked.most).unwrap_or(usize::MAX));
    Ok(OutboxPage { alerts, more, not_delivered: tx.count_not_delivered(actor.id, all).await? })
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
