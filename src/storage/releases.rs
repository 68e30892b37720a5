//! Retests and releases.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{Result, Tx};
use crate::domain::checklist::Load;
use crate::domain::ids::{DefectId, MachineId, PersonId, ReleaseId, RetestId, WorkOrderId};
use crate::domain::unit::Measured;
use crate::words::Text;

#[derive(Clone, Debug, FromRow)]
pub struct RetestRow {
    pub id: RetestId,
    pub work_order_id: WorkOrderId,
    pub defect_id: DefectId,
    pub by_id: PersonId,
    pub by_name: String,
    pub at: DateTime<Utc>,
    pub load: Load,
    pub air: Option<Measured>,
    pub answers: String,
    pub passed: bool,
    pub why: Text,
}

#[derive(Clone, Debug, FromRow)]
pub struct ReleaseRow {
    pub id: ReleaseId,
    pub machine_id: MachineId,
    pub work_order_id: WorkOrderId,
    pub by_id: PersonId,
    pub by_name: String,
    pub at: DateTime<Utc>,
    pub note: Text,
    pub released_by_repairer: bool,
}

macro_rules! release {
    ($condition:literal) => {
        concat!(
            "SELECT r.id, r.machine_id, r.work_order_id, r.by_id, p.name AS by_name, r.at, r.note, r.released_by_repairer
             FROM release r JOIN person p ON p.id = r.by_id ",
            $condition
        )
    };
}

impl Tx {
    pub async fn insert_retest(&mut self, r: &RetestRow) -> Result<()> {
        self.run(
            "INSERT INTO retest (id, work_order_id, defect_id, by_id, at, load, air, answers, passed, why)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
            &[
                &r.id,
                &r.work_order_id,
                &r.defect_id,
                &r.by_id,
                &r.at,
                &r.load,
                &r.air,
                &r.answers,
                &r.passed,
                &r.why,
            ],
        )
        .await?;
        Ok(())
    }

    pub async fn retests_of_order(&mut self, order: WorkOrderId) -> Result<Vec<RetestRow>> {
        self.all(
            "SELECT r.id, r.work_order_id, r.defect_id, r.by_id, p.name AS by_name, r.at, r.load, r.air, r.answers,
                r.passed, r.why
             FROM retest r JOIN person p ON p.id = r.by_id WHERE r.work_order_id = $1 ORDER BY r.at, r.id",
            &[&order],
        )
        .await
    }

    pub async fn insert_release(&mut self, r: &ReleaseRow) -> Result<()> {
        self.run(
            "INSERT INTO release (id, machine_id, work_order_id, by_id, at, note, released_by_repairer)
             VALUES ($1, $2, $3, $4, $5, $6, $7)",
            &[&r.id, &r.machine_id, &r.work_order_id, &r.by_id, &r.at, &r.note, &r.released_by_repairer],
        )
        .await?;
        Ok(())
    }

    pub async fn release_of_order(&mut self, order: WorkOrderId) -> Result<Option<ReleaseRow>> {
        self.maybe(release!("WHERE r.work_order_id = $1 ORDER BY r.at DESC LIMIT 1"), &[&order]).await
    }

    pub async fn releases_of(&mut self, machine: MachineId, most: i64) -> Result<Vec<ReleaseRow>> {
        self.all(release!("WHERE r.machine_id = $1 ORDER BY r.at DESC LIMIT $2"), &[&machine, &most]).await
    }
}
