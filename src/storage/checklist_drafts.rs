//! Checklists in the making.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{Result, Tx, guarded};
use crate::domain::ids::{ChecklistId, DraftId, PersonId};

#[derive(Clone, Debug, FromRow)]
pub struct DraftRow {
    pub id: DraftId,
    pub owner_id: PersonId,
    pub name: String,
    /// The version it began from; None for a checklist that has none yet.
    pub based_on: Option<ChecklistId>,
    pub based_on_version: i64,
    /// JSON of [`crate::domain::checklist_draft::Draft`].
    pub body: String,
    pub version: i64,
    pub created_at: DateTime<Utc>,
    pub changed_at: DateTime<Utc>,
}

macro_rules! draft {
    ($condition:literal) => {
        concat!(
            "SELECT id, owner_id, name, based_on, based_on_version, body, version, created_at, changed_at
             FROM checklist_draft ",
            $condition
        )
    };
}

impl Tx {
    pub async fn draft(&mut self, id: DraftId) -> Result<Option<DraftRow>> {
        self.maybe(draft!("WHERE id = $1"), &[&id]).await
    }

    pub async fn drafts_of(&mut self, owner: PersonId) -> Result<Vec<DraftRow>> {
        self.all(draft!("WHERE owner_id = $1 ORDER BY changed_at DESC, id"), &[&owner]).await
    }

    pub async fn draft_named(&mut self, owner: PersonId, name: &str) -> Result<Option<DraftRow>> {
        self.maybe(draft!("WHERE owner_id = $1 AND name = $2"), &[&owner, &name.to_owned()]).await
    }

    pub async fn insert_draft(&mut self, d: &DraftRow) -> Result<()> {
        self.run(
            "INSERT INTO checklist_draft (id, owner_id, name, based_on, based_on_version, body, created_at, changed_at)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
            &[
                &d.id,
                &d.owner_id,
                &d.name,
                &d.based_on,
                &d.based_on_version,
                &d.body,
                &d.created_at,
                &d.changed_at,
            ],
        )
        .await?;
        Ok(())
    }

    /// Guarded by the version it was read with.
    pub async fn save_draft(&mut self, d: &DraftRow, body: &str, now: DateTime<Utc>) -> Result<()> {
        guarded(
            self.run(
                "UPDATE checklist_draft SET body = $3, changed_at = $4, version = version + 1
                 WHERE id = $1 AND version = $2",
                &[&d.id, &d.version, &body.to_owned(), &now],
            )
            .await?,
        )
    }

    /// Guarded by the version it was read with.
    pub async fn delete_draft(&mut self, d: &DraftRow) -> Result<()> {
        guarded(
            self.run("DELETE FROM checklist_draft WHERE id = $1 AND version = $2", &[&d.id, &d.version])
                .await?,
        )
    }
}
