//! What is known from earlier repairs of the same item: on the machine, and on machines of its class.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{Result, Tx};
use crate::domain::ids::{DefectId, MachineId, PartId};
use crate::words::Text;

/// An earlier repair of the item.
#[derive(Clone, Debug, FromRow)]
pub struct EarlierRow {
    pub defect_id: DefectId,
    pub machine_id: MachineId,
    pub unit_number: String,
    pub what: Text,
    pub cause: String,
    pub remedy: String,
    pub no_fault_found: bool,
    pub closed_at: DateTime<Utc>,
}

/// What fixed it before, and how often.
#[derive(Clone, Debug, FromRow)]
pub struct FixedByRow {
    pub cause: String,
    pub remedy: String,
    pub times: i64,
}

/// A part that was used for it before.
#[derive(Clone, Debug, FromRow)]
pub struct UsedPartRow {
    pub part_id: PartId,
    pub number: String,
    pub name: String,
    pub unit: String,
    pub times: i64,
    /// The most that one repair took.
    pub most_taken: i64,
}

impl Tx {
    pub async fn earlier_on_machine(
        &mut self,
        machine: MachineId,
        item: &str,
        most: i64,
    ) -> Result<Vec<EarlierRow>> {
        self.all(
            "SELECT d.id AS defect_id, d.machine_id, m.unit_number, d.what, d.cause, d.remedy, d.no_fault_found, d.closed_at
             FROM defect d JOIN machine m ON m.id = d.machine_id
             WHERE d.machine_id = $1 AND d.item = $2 AND d.closed_at IS NOT NULL ORDER BY d.closed_at DESC LIMIT $3",
            &[&machine, &item.to_owned(), &most],
        )
        .await
    }

    /// On other machines of the class.
    pub async fn earlier_on_class(
        &mut self,
        class: &str,
        item: &str,
        but: MachineId,
        most: i64,
    ) -> Result<Vec<EarlierRow>> {
        self.all(
            "SELECT d.id AS defect_id, d.machine_id, m.unit_number, d.what, d.cause, d.remedy, d.no_fault_found, d.closed_at
             FROM defect d JOIN machine m ON m.id = d.machine_id
             WHERE d.item = $2 AND d.closed_at IS NOT NULL AND m.class = $1 AND d.machine_id <> $3
             ORDER BY d.closed_at DESC LIMIT $4",
            &[&class.to_owned(), &item.to_owned(), &but, &most],
        )
        .await
    }

    /// Cause and remedy on machines of the class, the most frequent first; the spelling is the mechanics' own.
    pub async fn fixed_before(&mut self, class: &str, item: &str, most: i64) -> Result<Vec<FixedByRow>> {
        self.all(
            "SELECT MIN(d.cause) AS cause, MIN(d.remedy) AS remedy, COUNT(*) AS times
             FROM defect d JOIN machine m ON m.id = d.machine_id
             WHERE d.item = $2 AND d.closed_at IS NOT NULL AND m.class = $1 AND NOT d.no_fault_found AND d.remedy <> ''
             GROUP BY LOWER(d.cause), LOWER(d.remedy) ORDER BY COUNT(*) DESC, MAX(d.closed_at) DESC LIMIT $3",
            &[&class.to_owned(), &item.to_owned(), &most],
        )
        .await
    }

    /// Parts that closed orders about this item took, on machines of the class.
    pub async fn parts_used_before(
        &mut self,
        class: &str,
        item: &str,
        most: i64,
    ) -> Result<Vec<UsedPartRow>> {
        self.all(
            "SELECT p.id AS part_id, p.number, p.name, p.unit, COUNT(*) AS times,
                CAST(MAX(l.issued) AS BIGINT) AS most_taken
             FROM (SELECT DISTINCT d.work_order_id FROM defect d JOIN machine m ON m.id = d.machine_id
                   WHERE d.item = $2 AND d.closed_at IS NOT NULL AND m.class = $1) w
             JOIN part_line l ON l.work_order_id = w.work_order_id AND l.issued > 0 JOIN part p ON p.id = l.part_id
             GROUP BY p.id, p.number, p.name, p.unit ORDER BY COUNT(*) DESC, p.number LIMIT $3",
            &[&class.to_owned(), &item.to_owned(), &most],
        )
        .await
    }
}
