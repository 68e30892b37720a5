//! Checklists, each version kept as it was uploaded and as it was understood.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{Param, Result, Tx};
use crate::domain::ids::{ChecklistId, PersonId, YardId};
use crate::words::Text;

#[derive(Clone, Debug, FromRow)]
pub struct ChecklistRow {
    pub id: ChecklistId,
    pub name: String,
    pub version: i64,
    pub title: Text,
    pub source: String,
    /// JSON of [`crate::domain::checklist::Checklist`].
    pub body: String,
    pub created_at: DateTime<Utc>,
    pub retired_at: Option<DateTime<Utc>>,
    /// Who retired it; None where a later version took its place.
    pub retired_by: Option<PersonId>,
}

/// When somebody retired it; no row while it is in use or only replaced by a later version.
pub(super) const CHECKLIST_RETIRED_AT: &str =
    "SELECT retired_at FROM checklist WHERE id = $1 AND retired_by IS NOT NULL AND retired_at IS NOT NULL";

impl Tx {
    pub async fn checklist(&mut self, id: ChecklistId) -> Result<Option<ChecklistRow>> {
        self.maybe(
            "SELECT id, name, version, title, source, body, created_at, retired_at, retired_by FROM checklist WHERE id = $1",
            &[&id],
        )
        .await
    }

    /// The newest version in use for a class of machine.
    pub async fn checklist_for_class(&mut self, class: &str) -> Result<Option<ChecklistRow>> {
        self.maybe(
            "SELECT c.id, c.name, c.version, c.title, c.source, c.body, c.created_at, c.retired_at, c.retired_by
             FROM checklist_class k JOIN checklist c ON c.id = k.checklist_id
             WHERE k.class = $1 AND c.retired_at IS NULL ORDER BY c.created_at DESC, c.version DESC LIMIT 1",
            &[&class.to_owned()],
        )
        .await
    }

    /// Without reading the checklist itself.
    pub async fn is_class_covered(&mut self, class: &str) -> Result<bool> {
        let found: Option<(i64,)> = self
            .maybe(
                "SELECT CAST(1 AS BIGINT) FROM checklist_class k JOIN checklist c ON c.id = k.checklist_id
                 WHERE k.class = $1 AND c.retired_at IS NULL LIMIT 1",
                &[&class.to_owned()],
            )
            .await?;
        Ok(found.is_some())
    }

    pub async fn checklists(&mut self) -> Result<Vec<ChecklistRow>> {
        self.all(
            "SELECT id, name, version, title, source, body, created_at, retired_at, retired_by
             FROM checklist ORDER BY name, version DESC",
            &[],
        )
        .await
    }

    pub async fn newest_version(&mut self, name: &str) -> Result<i64> {
        Ok(self
            .one::<(i64,)>(
                "SELECT CAST(COALESCE(MAX(version), 0) AS BIGINT) FROM checklist WHERE name = $1",
                &[&name.to_owned()],
            )
            .await?
            .0)
    }

    /// Every version of the name; none of them is used for a new check any more.
    pub async fn retire_checklist(&mut self, name: &str, by: PersonId, now: DateTime<Utc>) -> Result<u64> {
        self.run(
            "UPDATE checklist SET retired_at = COALESCE(retired_at, $3), retired_by = $2 WHERE name = $1 AND retired_by IS NULL",
            &[&name.to_owned(), &by, &now],
        )
        .await
    }

    /// Machines in use, by unit number and yard, whose class has no checklist in use but of this name.
    pub async fn machines_left_without(&mut self, name: &str) -> Result<Vec<(String, YardId)>> {
        self.all(
            "SELECT m.unit_number, m.yard_id FROM machine m WHERE m.retired_at IS NULL
                   AND EXISTS (SELECT 1 FROM checklist_class k JOIN checklist c ON c.id = k.checklist_id
                               WHERE k.class = m.class AND c.name = $1 AND c.retired_at IS NULL)
                   AND NOT EXISTS (SELECT 1 FROM checklist_class k JOIN checklist c ON c.id = k.checklist_id
                               WHERE k.class = m.class AND c.name <> $1 AND c.retired_at IS NULL)
                 ORDER BY m.unit_key",
            &[&name.to_owned()],
        )
        .await
    }

    pub async fn insert_checklist(
        &mut self,
        row: &ChecklistRow,
        classes: &[String],
        by: Option<PersonId>,
    ) -> Result<()> {
        self.run(
            "INSERT INTO checklist (id, name, version, title, source, body, created_at, created_by)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
            &[&row.id, &row.name, &row.version, &row.title, &row.source, &row.body, &row.created_at, &by],
        )
        .await?;
        let rows: Vec<Vec<&dyn Param>> = classes.iter().map(|c| vec![&row.id as _, c as _]).collect();
        self.insert_rows("checklist_class (checklist_id, class)", &rows).await
    }

    /// Earlier versions of the name are retired; checks made with them keep them.
    pub async fn retire_earlier_checklists(
        &mut self,
        name: &str,
        version: i64,
        now: DateTime<Utc>,
    ) -> Result<u64> {
        self.run(
            "UPDATE checklist SET retired_at = $3 WHERE name = $1 AND version < $2 AND retired_at IS NULL",
            &[&name.to_owned(), &version, &now],
        )
        .await
    }
}
