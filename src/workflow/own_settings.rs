//! What a person chooses for themselves: the language of their pages and mails, and the units they read and type in.

use super::{Result, Workshop};
use crate::domain::ids::PersonId;
use crate::domain::person::Actor;
use crate::domain::unit::UnitSystem;
use crate::words::Lang;

/// `None` when they never chose.
pub async fn language_of(workshop: &Workshop, person: PersonId) -> Result<Option<Lang>> {
    Ok(workshop.db.read().await?.person_language(person).await?)
}

/// Not in the audit trail, like the units: it changes no machine and nobody's rights.
pub async fn choose_language(workshop: &Workshop, actor: &Actor, lang: Lang) -> Result<()> {
    let mut tx = workshop.db.begin().await?;
    tx.set_person_language(actor.id, lang).await?;
    Ok(tx.commit().await?)
}

/// `None` when they never chose: then the unit a machine was last read in, or the checklist's first.
pub async fn units_of(workshop: &Workshop, person: PersonId) -> Result<Option<UnitSystem>> {
    Ok(workshop.db.read().await?.person_units(person).await?)
}

pub async fn choose_units(workshop: &Workshop, actor: &Actor, units: Option<UnitSystem>) -> Result<()> {
    let mut tx = workshop.db.begin().await?;
    tx.set_person_units(actor.id, units).await?;
    Ok(tx.commit().await?)
}
