//! Whether those who should know of a grounded machine do.

use std::collections::HashMap;

use super::super::{Result, Workshop};
use crate::domain::alert::AlertState;
use crate::domain::ids::MachineId;
use crate::domain::person::{Act, Actor, Role};

/// Of every grounded machine in the actor's yards.
pub async fn alert_states(workshop: &Workshop, actor: &Actor) -> Result<HashMap<MachineId, AlertState>> {
    actor.must(Act::SeeBoard)?;
    let rows = workshop.db.read().await?.alert_states(actor.id, actor.has(Role::Owner)).await?;
    Ok(rows
        .into_iter()
        .map(|r| (r.machine_id, AlertState::of(r.undelivered > 0, r.unacknowledged > 0)))
        .collect())
}
