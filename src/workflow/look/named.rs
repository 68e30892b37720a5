//! Yards and classes by the names that somebody narrows what they see by. A name that is nobody's or another yard's is told
//! as such: shown as a board without a line, it would be read as "nothing is grounded".

use super::super::Result;
use crate::domain::person::{Actor, Role};
use crate::domain::refusal::{Refusal, Thing};
use crate::storage::{Tx, YardRow};

/// The yards of the actor that go by the name: all of them where none is given.
pub async fn yards_named(tx: &mut Tx, actor: &Actor, name: &str) -> Result<Vec<YardRow>> {
    let mut yards = tx.yards().await?;
    yards.retain(|y| actor.in_yard(y.id) && (name.is_empty() || y.name == name));
    match yards.is_empty() && !name.is_empty() {
        true => Err(Refusal::NotFound(Thing::Yard).into()),
        false => Ok(yards),
    }
}

/// Refuses a class that no machine in the actor's yards has or had.
pub async fn class_named(tx: &mut Tx, actor: &Actor, class: &str) -> Result<()> {
    match class.is_empty() || tx.class_seen(actor.id, actor.has(Role::Owner), class).await? {
        true => Ok(()),
        false => Err(Refusal::invalid("/class", said!("refusal-no-such-class")).into()),
    }
}
