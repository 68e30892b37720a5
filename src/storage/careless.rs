//! What the look for careless checks needs of recent checks: found by machine and day, so that its cost does not grow with
//! the years.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{Result, Tx};
use crate::domain::ids::{CheckId, ChecklistId, MachineId, YardId};
use crate::domain::unit::Hours;

#[derive(Clone, Debug, FromRow)]
pub struct RecentCheck {
    pub machine_id: MachineId,
    pub id: CheckId,
    pub checklist_id: ChecklistId,
    pub engine_hours: Option<Hours>,
    pub begun_at: Option<DateTime<Utc>>,
    pub recorded_at: DateTime<Utc>,
}

/// A figure as it was read.
#[derive(Clone, Debug, FromRow)]
pub struct RecentValue {
    pub check_id: CheckId,
    pub item: String,
    pub position: String,
    pub value_read: String,
    pub unit: String,
}

/// Machines in the order of their unit numbers.
#[derive(Clone, Debug, FromRow)]
pub struct MachineName {
    pub id: MachineId,
    pub unit_key: String,
    pub unit_number: String,
}

impl Tx {
    /// Machines of a yard that are in use, after `after` (a unit key; empty for the first page).
    pub async fn machines_in_use(
        &mut self,
        yard: YardId,
        after: &str,
        most: i64,
    ) -> Result<Vec<MachineName>> {
        self.all(
            "SELECT id, unit_key, unit_number FROM machine
             WHERE yard_id = $1 AND retired_at IS NULL AND unit_key > $2 ORDER BY unit_key LIMIT $3",
            &[&yard, &after.to_owned(), &most],
        )
        .await
    }

    /// Checks since `from` of the machines of a yard from one unit key to another.
    pub async fn recent_checks(
        &mut self,
        yard: YardId,
        (first, last): (&str, &str),
        from: DateTime<Utc>,
    ) -> Result<Vec<RecentCheck>> {
        self.all(
            "SELECT c.machine_id, c.id, c.checklist_id, c.engine_hours, c.begun_at, c.recorded_at
             FROM machine m JOIN pre_use_check c ON c.machine_id = m.id AND c.recorded_at >= $4
             WHERE m.yard_id = $1 AND m.unit_key >= $2 AND m.unit_key <= $3
             ORDER BY c.recorded_at, c.id",
            &[&yard, &first.to_owned(), &last.to_owned(), &from],
        )
        .await
    }

    /// The figures read at those checks.
    pub async fn recent_values(
        &mut self,
        yard: YardId,
        (first, last): (&str, &str),
        from: DateTime<Utc>,
    ) -> Result<Vec<RecentValue>> {
        self.all(
            "SELECT r.check_id, r.item, r.position, r.value_read, r.unit
             FROM machine m JOIN pre_use_check c ON c.machine_id = m.id AND c.recorded_at >= $4
             JOIN reading r ON r.check_id = c.id
             WHERE m.yard_id = $1 AND m.unit_key >= $2 AND m.unit_key <= $3
               AND r.value_read IS NOT NULL AND r.unit IS NOT NULL
             ORDER BY r.check_id, r.seq",
            &[&yard, &first.to_owned(), &last.to_owned(), &from],
        )
        .await
    }
}
