//! Which language a person reads: their pages on any device, and the mails they get.

use super::{Result, Workshop};
use crate::domain::ids::PersonId;
use crate::domain::person::Actor;
use crate::words::Lang;

/// `None` when they never chose.
pub async fn language_of(workshop: &Workshop, person: PersonId) -> Result<Option<Lang>> {
    Ok(workshop.db.read().await?.person_language(person).await?)
}

/// Not in the audit trail: it changes no machine and nobody's rights.
pub async fn choose_language(workshop: &Workshop, actor: &Actor, lang: Lang) -> Result<()> {
    let mut tx = workshop.db.begin().await?;
    tx.set_person_language(actor.id, lang).await?;
    Ok(tx.commit().await?)
}
