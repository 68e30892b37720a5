//! Parts that were fitted to machines.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{Result, Tx, guarded};
use crate::domain::ids::{DefectId, FittedId, MachineId, PartId, PersonId, RoundId, WorkOrderId, YardId};
use crate::words::Text;

#[derive(Clone, Debug, FromRow)]
pub struct FittedRow {
    pub id: FittedId,
    pub machine_id: MachineId,
    pub yard_id: YardId,
    pub unit_number: String,
    pub part_id: PartId,
    pub part_name: String,
    pub work_order_id: WorkOrderId,
    pub order_number: i64,
    pub defect_id: Option<DefectId>,
    /// What was wrong there.
    pub what: Option<Text>,
    pub item: String,
    pub position: String,
    pub quantity: i64,
    pub serial: String,
    pub batch: String,
    pub fitted_at: DateTime<Utc>,
    pub by_name: String,
    pub removed_at: Option<DateTime<Utc>>,
}

macro_rules! fitted {
    ($condition:literal) => {
        concat!(
            "SELECT f.id, f.machine_id, m.yard_id, m.unit_number, f.part_id, p.name AS part_name, f.work_order_id,
                w.number AS order_number, f.defect_id, d.what, f.item, f.position, f.quantity, f.serial, f.batch, f.fitted_at,
                b.name AS by_name, f.removed_at
             FROM part_fitted f JOIN machine m ON m.id = f.machine_id JOIN part p ON p.id = f.part_id
             JOIN work_order w ON w.id = f.work_order_id JOIN person b ON b.id = f.by_id
             LEFT JOIN defect d ON d.id = f.defect_id ",
            $condition
        )
    };
}

impl Tx {
    /// Wherever the part was fitted, the newest first.
    pub async fn fitted_of_part(&mut self, part: PartId) -> Result<Vec<FittedRow>> {
        self.all(fitted!("WHERE f.part_id = $1 ORDER BY f.fitted_at DESC, f.id"), &[&part]).await
    }

    pub async fn fitted_by_order(&mut self, order: WorkOrderId) -> Result<Vec<FittedRow>> {
        self.all(fitted!("WHERE f.work_order_id = $1 ORDER BY f.fitted_at, f.id"), &[&order]).await
    }

    pub async fn fitted_to_machine(&mut self, machine: MachineId) -> Result<Vec<FittedRow>> {
        self.all(fitted!("WHERE f.machine_id = $1 ORDER BY f.fitted_at, f.id"), &[&machine]).await
    }

    pub async fn insert_fitted(&mut self, row: &FittedRow, by: PersonId) -> Result<()> {
        self.run(
            "INSERT INTO part_fitted (id, machine_id, part_id, work_order_id, defect_id, item, position, quantity, serial,
                batch, fitted_at, by_id)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)",
            &[
                &row.id,
                &row.machine_id,
                &row.part_id,
                &row.work_order_id,
                &row.defect_id,
                &row.item,
                &row.position,
                &row.quantity,
                &row.serial,
                &row.batch,
                &row.fitted_at,
                &by,
            ],
        )
        .await?;
        Ok(())
    }

    pub async fn remove_fitted(&mut self, id: FittedId, at: DateTime<Utc>) -> Result<()> {
        guarded(
            self.run(
                "UPDATE part_fitted SET removed_at = $2 WHERE id = $1 AND removed_at IS NULL",
                &[&id, &at],
            )
            .await?,
        )
    }

    pub async fn set_fitted_quantity(&mut self, id: FittedId, quantity: i64) -> Result<()> {
        guarded(self.run("UPDATE part_fitted SET quantity = $2 WHERE id = $1", &[&id, &quantity]).await?)
    }
}

impl Tx {
    /// The defect that a round raised on a machine, where it has been there.
    pub async fn raised_in_round(&mut self, round: RoundId, machine: MachineId) -> Result<Option<DefectId>> {
        let row: Option<(DefectId,)> = self
            .maybe(
                "SELECT defect_id FROM defect_round WHERE id = $1 AND machine_id = $2",
                &[&round, &machine],
            )
            .await?;
        Ok(row.map(|r| r.0))
    }

    pub async fn round(&mut self, round: RoundId) -> Result<Vec<(MachineId, String, DefectId)>> {
        self.all(
            "SELECT r.machine_id, m.unit_number, r.defect_id FROM defect_round r JOIN machine m ON m.id = r.machine_id
             WHERE r.id = $1 ORDER BY m.unit_key",
            &[&round],
        )
        .await
    }

    pub async fn insert_round(
        &mut self,
        round: RoundId,
        machine: MachineId,
        defect: DefectId,
        found_first: DefectId,
        at: DateTime<Utc>,
    ) -> Result<()> {
        self.run(
            "INSERT INTO defect_round (id, machine_id, defect_id, found_first, at) VALUES ($1, $2, $3, $4, $5)",
            &[&round, &machine, &defect, &found_first, &at],
        )
        .await?;
        Ok(())
    }
}
