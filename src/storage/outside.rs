//! Repairs that somebody outside does, and what was said about them.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{Result, Tx, guarded};
use crate::domain::ids::{MachineId, OutsideId, PersonId, WorkOrderId, YardId};
use crate::domain::outside::{Chase, Invoice, OutsideRepair, Promise};

/// A repair outside, with the order and machine it belongs to.
#[derive(Clone, Debug, FromRow)]
pub struct OutsideRow {
    pub id: OutsideId,
    pub work_order_id: WorkOrderId,
    pub number: i64,
    pub machine_id: MachineId,
    pub unit_number: String,
    pub yard_id: YardId,
    pub yard_name: String,
    pub zone: String,
    pub vendor: String,
    pub what: String,
    pub licensed: Option<String>,
    pub licence: Option<String>,
    pub sent_at: DateTime<Utc>,
    pub promised_at: Option<DateTime<Utc>>,
    pub told_of: Option<DateTime<Utc>>,
    pub returned_at: Option<DateTime<Utc>>,
    pub called_off_at: Option<DateTime<Utc>>,
    invoice_number: Option<String>,
    invoice_minor: Option<i64>,
    pub version: i64,
}

/// A promise, or somebody asking.
#[derive(Clone, Debug, FromRow)]
pub struct OutsideWordRow {
    pub at: DateTime<Utc>,
    pub by_id: PersonId,
    pub by_name: String,
    pub note: String,
    pub back_by: Option<DateTime<Utc>>,
}

impl OutsideRow {
    /// As the rules know it.
    pub fn repair(&self, words: &[OutsideWordRow]) -> OutsideRepair {
        let promise = |w: &OutsideWordRow| Some(Promise { made_at: w.at, back_by: w.back_by? });
        let asked = words.iter().filter(|w| w.back_by.is_none());
        OutsideRepair {
            vendor: self.vendor.clone(),
            licensed: self.licensed.clone(),
            licence: self.licence.clone(),
            sent_at: self.sent_at,
            promises: words.iter().filter_map(promise).collect(),
            chased: asked.map(|w| Chase { at: w.at, by: w.by_id, note: w.note.clone() }).collect(),
            returned_at: self.returned_at,
            invoice: self
                .invoice_number
                .clone()
                .zip(self.invoice_minor)
                .map(|(number, minor)| Invoice { number, minor }),
        }
    }

    pub fn is_away(&self) -> bool {
        self.returned_at.is_none() && self.called_off_at.is_none()
    }
}

macro_rules! outside {
    ($condition:literal) => {
        concat!(
            "SELECT o.id, o.work_order_id, w.number, w.machine_id, m.unit_number, w.yard_id, y.name AS yard_name, y.zone,
                o.vendor, o.what, o.licensed, o.licence, o.sent_at, o.promised_at, o.told_of, o.returned_at,
                o.called_off_at, o.invoice_number, o.invoice_minor, o.version
             FROM outside_repair o JOIN work_order w ON w.id = o.work_order_id JOIN machine m ON m.id = w.machine_id
             JOIN yard y ON y.id = w.yard_id ",
            $condition
        )
    };
}

impl Tx {
    pub async fn outside(&mut self, id: OutsideId) -> Result<Option<OutsideRow>> {
        self.maybe(outside!("WHERE o.id = $1"), &[&id]).await
    }

    /// Of one order, oldest first; the last one may be away now.
    pub async fn outside_of_order(&mut self, order: WorkOrderId) -> Result<Vec<OutsideRow>> {
        self.all(outside!("WHERE o.work_order_id = $1 ORDER BY o.sent_at, o.id"), &[&order]).await
    }

    /// Whatever is away now, in the yards of the viewer.
    pub async fn away_now(
        &mut self,
        viewer: PersonId,
        all_yards: bool,
        most: i64,
    ) -> Result<Vec<OutsideRow>> {
        self.all(
            outside!(
                "WHERE o.returned_at IS NULL AND o.called_off_at IS NULL
                   AND ($2 OR w.yard_id IN (SELECT yard_id FROM person_yard WHERE person_id = $1))
                 ORDER BY o.promised_at IS NULL, o.promised_at, o.sent_at LIMIT $3"
            ),
            &[&viewer, &all_yards, &most],
        )
        .await
    }

    /// Whatever is away, in every yard, and until when it was promised.
    pub async fn away_anywhere(&mut self) -> Result<Vec<(WorkOrderId, Option<DateTime<Utc>>)>> {
        self.all(
            "SELECT work_order_id, promised_at FROM outside_repair WHERE returned_at IS NULL AND called_off_at IS NULL",
            &[],
        )
        .await
    }

    /// What is away past its promise, and nobody was told yet.
    pub async fn late_untold(&mut self, now: DateTime<Utc>) -> Result<Vec<OutsideId>> {
        let rows: Vec<(OutsideId,)> = self
            .all(
                "SELECT id FROM outside_repair WHERE returned_at IS NULL AND called_off_at IS NULL AND promised_at < $1
                   AND (told_of IS NULL OR told_of <> promised_at) ORDER BY promised_at",
                &[&now],
            )
            .await?;
        Ok(rows.into_iter().map(|(id,)| id).collect())
    }

    pub async fn insert_outside(
        &mut self,
        id: OutsideId,
        order: WorkOrderId,
        repair: &OutsideRepair,
        what: &str,
        by: PersonId,
    ) -> Result<()> {
        self.run(
            "INSERT INTO outside_repair (id, work_order_id, vendor, what, licensed, sent_at, sent_by)
             VALUES ($1, $2, $3, $4, $5, $6, $7)",
            &[&id, &order, &repair.vendor, &what.to_owned(), &repair.licensed, &repair.sent_at, &by],
        )
        .await?;
        Ok(())
    }

    /// Saves what became of it, guarded by the version it was read with.
    pub async fn save_outside(
        &mut self,
        row: &OutsideRow,
        to: &OutsideRepair,
        now: DateTime<Utc>,
    ) -> Result<()> {
        let invoiced = to.invoice.as_ref();
        guarded(
            self.run(
                "UPDATE outside_repair SET licence = $3, promised_at = $4, returned_at = $5, invoice_number = $6,
                    invoice_minor = $7, invoiced_at = $8, version = version + 1 WHERE id = $1 AND version = $2",
                &[
                    &row.id,
                    &row.version,
                    &to.licence,
                    &to.back_by(),
                    &to.returned_at,
                    &invoiced.map(|i| i.number.clone()),
                    &invoiced.map(|i| i.minor),
                    &invoiced.map(|_| now),
                ],
            )
            .await?,
        )
    }

    pub async fn call_off_outside(&mut self, id: OutsideId, now: DateTime<Utc>) -> Result<()> {
        guarded(
            self.run(
                "UPDATE outside_repair SET called_off_at = $2, version = version + 1
                 WHERE id = $1 AND returned_at IS NULL AND called_off_at IS NULL",
                &[&id, &now],
            )
            .await?,
        )
    }

    /// The supervisors were told that this promise has passed.
    pub async fn told_of_late(&mut self, row: &OutsideRow) -> Result<()> {
        self.run("UPDATE outside_repair SET told_of = promised_at WHERE id = $1", &[&row.id]).await?;
        Ok(())
    }

    pub async fn outside_words(&mut self, id: OutsideId) -> Result<Vec<OutsideWordRow>> {
        self.all(
            "SELECT w.at, w.by_id, p.name AS by_name, w.note, w.back_by FROM outside_word w JOIN person p ON p.id = w.by_id
             WHERE w.outside_repair_id = $1 ORDER BY w.seq",
            &[&id],
        )
        .await
    }

    pub async fn insert_outside_word(
        &mut self,
        id: OutsideId,
        by: PersonId,
        at: DateTime<Utc>,
        note: &str,
        back_by: Option<DateTime<Utc>>,
    ) -> Result<()> {
        self.run(
            "INSERT INTO outside_word (outside_repair_id, seq, at, by_id, note, back_by)
             SELECT $1, COALESCE(MAX(seq), 0) + 1, $2, $3, $4, $5 FROM outside_word WHERE outside_repair_id = $1",
            &[&id, &at, &by, &note.to_owned(), &back_by],
        )
        .await?;
        Ok(())
    }

    /// The first promise of each repair that came back, and when it was back.
    pub async fn outside_that_came(&mut self, most: i64) -> Result<Vec<(DateTime<Utc>, DateTime<Utc>)>> {
        self.all(
            "SELECT w.back_by, o.returned_at FROM outside_repair o JOIN outside_word w ON w.outside_repair_id = o.id
             WHERE o.returned_at IS NOT NULL AND w.back_by IS NOT NULL AND w.seq = (SELECT MIN(v.seq) FROM outside_word v
                WHERE v.outside_repair_id = o.id AND v.back_by IS NOT NULL) ORDER BY o.returned_at DESC LIMIT $1",
            &[&most],
        )
        .await
    }
}
