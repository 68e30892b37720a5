//! The mechanic queue, in the order the work should be taken.

use super::super::{Result, Workshop};
use crate::domain::person::{Act, Actor, Role};
use crate::domain::queue::{Place, place_of};
use crate::storage::QueueRow;
use crate::words::Text;

/// A work order and the reason for its place.
pub struct QueueEntry {
    pub order: QueueRow,
    pub because: Text,
}

/// Most work orders on the page; a queue this long is not read to its end.
const MOST: i64 = 500;

pub async fn queue(workshop: &Workshop, actor: &Actor) -> Result<Vec<QueueEntry>> {
    actor.must(Act::SeeQueue)?;
    let now = workshop.ambient.now();
    let mut tx = workshop.db.read().await?;
    let rows = tx.queue(actor.id, actor.has(Role::Owner), MOST).await?;
    let counts = tx.class_counts(actor.id, actor.has(Role::Owner), "").await?;
    let mut entries: Vec<(Place, QueueEntry)> = rows
        .into_iter()
        .map(|order| {
            let short = counts
                .iter()
                .find(|c| c.yard_name == order.yard_name && c.class == order.class)
                .map_or(0, |c| c.needed - (c.machines - c.out_of_service));
            let place = place_of(
                order.held_defects > 0,
                &order.class,
                short,
                order.good_until_at,
                order.opened_at,
                now,
            );
            let because = place.because.clone();
            (place, QueueEntry { order, because })
        })
        .collect();
    entries.sort_by(|a, b| a.0.key.cmp(&b.0.key).then(a.1.order.number.cmp(&b.1.order.number)));
    Ok(entries.into_iter().map(|(_, e)| e).collect())
}
