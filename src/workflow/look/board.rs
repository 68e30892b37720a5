//! The owner's board.

use chrono::{DateTime, Utc};

use super::super::{Result, Workshop};
use crate::domain::person::{Act, Actor, Role};
use crate::storage::{ClassCount, GroundedRow, MonitoredRow};

pub struct Board {
    pub at: DateTime<Utc>,
    pub grounded: Vec<GroundedRow>,
    pub monitored: Vec<MonitoredRow>,
    pub classes: Vec<ClassCount>,
}

/// `yard` narrows it to one yard by name; empty for all the actor may see.
pub async fn board(workshop: &Workshop, actor: &Actor, yard: &str, most: i64) -> Result<Board> {
    actor.must(Act::SeeBoard)?;
    let all = actor.has(Role::Owner);
    let mut tx = workshop.db.read().await?;
    Ok(Board {
        at: workshop.ambient.now(),
        grounded: tx.grounded(actor.id, all, yard, most).await?,
        monitored: tx.monitored(actor.id, all, yard, most).await?,
        classes: tx.class_counts(actor.id, all, yard).await?,
    })
}
