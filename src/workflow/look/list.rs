//! The list of machines: which are there, and what each may be used for now.

use super::super::{Result, Workshop};
use super::named::yards_named;
use crate::domain::person::{Act, Actor, Role};
use crate::storage::{ListedMachine, MachineFilter};

/// One page of the machines the actor may see, in the order of their unit numbers; `after` is the unit key that the page
/// before ended with.
pub async fn list_machines(
    workshop: &Workshop,
    actor: &Actor,
    filter: &MachineFilter,
    after: &str,
    most: i64,
) -> Result<Vec<ListedMachine>> {
    actor.must(Act::SeeMachines)?;
    let mut tx = workshop.db.read().await?;
    if !filter.yard.is_empty() {
        yards_named(&mut tx, actor, &filter.yard).await?;
    }
    Ok(tx.listed_machines(actor.id, actor.has(Role::Owner), filter, after, most).await?)
}

/// The classes there are machines of.
pub async fn machine_classes(workshop: &Workshop, actor: &Actor) -> Result<Vec<String>> {
    actor.must(Act::SeeMachines)?;
    Ok(workshop.db.read().await?.classes().await?)
}
