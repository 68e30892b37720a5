//! Work that only the skilled do: who may take it, help with it and say that it is done.

use std::collections::BTreeSet;

use super::Result;
use super::look::queue::{skill, skills_for};
use crate::domain::checklist::System;
use crate::domain::ids::{PersonId, WorkOrderId};
use crate::domain::person::Actor;
use crate::domain::queue::order::{NotForYou, Skill};
use crate::domain::refusal::Refusal;
use crate::storage::Tx;
use crate::words::Text;

/// What an order asks for, and who of those concerned has it.
pub struct SkillAsked {
    /// The systems, in words.
    pub systems: Text,
    /// Whoever looks.
    pub mine: bool,
    /// Whoever has the order; false while nobody has.
    pub of_claimant: bool,
}

/// Whoever takes an order, or says that its work is done, has every skill that its open defects ask for.
pub async fn must_be_skilled(tx: &mut Tx, actor: &Actor, order: WorkOrderId) -> Result<()> {
    match lacking(tx, actor.id, order).await? {
        None => Ok(()),
        Some(sentence) => Err(Refusal::Forbidden(sentence).into()),
    }
}

/// Whoever lacks a skill works under somebody who has it, never alone: the claimant answers for the work.
pub async fn must_be_skilled_or_help(
    tx: &mut Tx,
    actor: &Actor,
    order: WorkOrderId,
    claimant: Option<PersonId>,
) -> Result<()> {
    let Some(sentence) = lacking(tx, actor.id, order).await? else { return Ok(()) };
    match claimant {
        Some(other) if other != actor.id && lacking(tx, other, order).await?.is_none() => Ok(()),
        _ => Err(Refusal::Forbidden(said!("order-work-with-the-skilled", lacking = sentence)).into()),
    }
}

/// None where the order asks for no skill.
pub async fn skill_asked(
    tx: &mut Tx,
    viewer: PersonId,
    order: WorkOrderId,
    claimant: Option<PersonId>,
) -> Result<Option<SkillAsked>> {
    let asked = systems_asked(tx, order).await?;
    if asked.is_empty() {
        return Ok(None);
    }
    let systems =
        Text::each(|lang| asked.iter().map(|s| t_in!(lang, &s.key())).collect::<Vec<_>>().join(", "));
    let mine = asked.is_subset(&tx.skills_of(viewer).await?);
    let of_claimant = match claimant {
        Some(by) => asked.is_subset(&tx.skills_of(by).await?),
        None => false,
    };
    Ok(Some(SkillAsked { systems, mine, of_claimant }))
}

async fn systems_asked(tx: &mut Tx, order: WorkOrderId) -> Result<BTreeSet<System>> {
    let needed = tx.skills_needed().await?;
    if needed.is_empty() {
        return Ok(needed);
    }
    Ok(tx.systems_of_order(order).await?.into_iter().filter(|s| needed.contains(s)).collect())
}

/// What somebody lacks for an order, in a sentence.
async fn lacking(tx: &mut Tx, person: PersonId, order: WorkOrderId) -> Result<Option<Text>> {
    let needed = tx.skills_needed().await?;
    let asked = skills_for(tx, order, &needed).await?;
    if asked.is_empty() {
        return Ok(None);
    }
    let has: BTreeSet<Skill> = tx.skills_of(person).await?.iter().map(skill).collect();
    let lacks: BTreeSet<Skill> = asked.difference(&has).cloned().collect();
    Ok(if lacks.is_empty() { None } else { NotForYou::Lacks(lacks).skills_lacking() })
}
