//! The audit trail and the store's ledger, for those who may read them.

use std::collections::BTreeMap;

use super::super::{Result, Workshop};
use crate::domain::ids::{MachineId, PartId};
use crate::domain::person::{Act, Actor};
use crate::domain::refusal::Refusal;
use crate::storage::{AuditRow, MovementRow, PartRow};

/// Newest first. `query` is looked for in who, what and why; `stream` narrows to one chain.
pub async fn audit_trail(
    workshop: &Workshop,
    actor: &Actor,
    stream: &str,
    query: &str,
    most: i64,
) -> Result<Vec<AuditRow>> {
    actor.must(Act::SeeAudit)?;
    Ok(workshop.db.read().await?.audit_rows(stream, query, most).await?)
}

/// Unit numbers, for showing whose chain an entry belongs to.
pub async fn unit_numbers(
    workshop: &Workshop,
    actor: &Actor,
    machines: impl IntoIterator<Item = MachineId>,
) -> Result<BTreeMap<MachineId, String>> {
    actor.must(Act::SeeAudit)?;
    let mut tx = workshop.db.read().await?;
    let mut found = BTreeMap::new();
    for id in machines {
        if let Some(machine) = tx.machine(id).await? {
            found.insert(id, machine.unit_number);
        }
    }
    Ok(found)
}

pub async fn store_parts(workshop: &Workshop, actor: &Actor) -> Result<Vec<PartRow>> {
    actor.must(Act::SeeStore)?;
    Ok(workshop.db.read().await?.parts().await?)
}

/// One part with the newest lines of its ledger.
pub async fn store_part(
    workshop: &Workshop,
    actor: &Actor,
    id: PartId,
    most: i64,
) -> Result<(PartRow, Vec<MovementRow>)> {
    actor.must(Act::SeeStore)?;
    let mut tx = workshop.db.read().await?;
    let part = tx.part(id).await?.ok_or(Refusal::NotFound("part"))?;
    let movements = tx.movements_of(id, most).await?;
    Ok((part, movements))
}
