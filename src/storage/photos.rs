//! What is known of each photo. The picture itself is in the data folder, under its content hash.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{Result, Tx};
use crate::domain::ids::{CheckId, DefectId, MachineId, PersonId, PhotoId, WorkOrderId};

#[derive(Clone, Debug, FromRow)]
pub struct PhotoRow {
    pub id: PhotoId,
    pub machine_id: MachineId,
    pub check_id: Option<CheckId>,
    pub defect_id: Option<DefectId>,
    /// Taken at the work itself.
    pub work_order_id: Option<WorkOrderId>,
    pub item: Option<String>,
    pub position: String,
    pub sha256: String,
    pub bytes: i64,
    pub by_id: PersonId,
    pub at: DateTime<Utc>,
}

macro_rules! photo {
    ($condition:literal) => {
        concat!(
            "SELECT id, machine_id, check_id, defect_id, work_order_id, item, position, sha256, bytes, by_id, at FROM photo ",
            $condition
        )
    };
}

impl Tx {
    pub async fn insert_photo(&mut self, p: &PhotoRow) -> Result<()> {
        self.run(
            "INSERT INTO photo (id, machine_id, check_id, defect_id, item, position, sha256, bytes, by_id, at, work_order_id)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)",
            &[
                &p.id,
                &p.machine_id,
                &p.check_id,
                &p.defect_id,
                &p.item,
                &p.position,
                &p.sha256,
                &p.bytes,
                &p.by_id,
                &p.at,
                &p.work_order_id,
            ],
        )
        .await?;
        Ok(())
    }

    pub async fn photo(&mut self, id: PhotoId) -> Result<Option<PhotoRow>> {
        self.maybe(photo!("WHERE id = $1"), &[&id]).await
    }

    pub async fn photos_of_check(&mut self, check: CheckId) -> Result<Vec<PhotoRow>> {
        self.all(photo!("WHERE check_id = $1 ORDER BY at, id"), &[&check]).await
    }

    pub async fn photos_of_machine(&mut self, machine: MachineId) -> Result<Vec<PhotoRow>> {
        self.all(photo!("WHERE machine_id = $1 ORDER BY at, id"), &[&machine]).await
    }

    pub async fn photos_of_order(&mut self, order: WorkOrderId) -> Result<Vec<PhotoRow>> {
        self.all(photo!("WHERE work_order_id = $1 ORDER BY at, id"), &[&order]).await
    }

    /// Photos taken of the defect itself, and of its item at the check that raised it.
    pub async fn photos_of_defect(&mut self, defect: DefectId) -> Result<Vec<PhotoRow>> {
        self.all(
            photo!(
                "WHERE defect_id = $1 OR (check_id, item, position) IN
                   (SELECT check_id, item, position FROM defect WHERE id = $1) ORDER BY at, id"
            ),
            &[&defect],
        )
        .await
    }
}
