//! Whether those who should know of a grounded machine do.

use std::collections::HashMap;

use super::super::{Result, Workshop};
use crate::domain::alert::AlertState;
use crate::domain::ids::MachineId;
use crate::domain::person::{Act, Actor, Role};
use crate::storage::AlertCount;

/// Of every grounded machine in the actor's yards.
pub async fn alert_states(workshop: &Workshop, actor: &Actor) -> Result<HashMap<MachineId, AlertState>> {
    actor.must(Act::SeeBoard)?;
    let counts = workshop.db.read().await?.alert_counts(actor.id, actor.has(Role::Owner)).await?;
    Ok(counts.iter().map(|c| (c.machine_id, alert_state(c))).collect())
}

/// What was tried in vain has not arrived either, though it will be tried again.
pub fn alert_state(count: &AlertCount) -> AlertState {
    AlertState::of(count.failed + count.in_vain > 0, count.unacknowledged > 0)
}
