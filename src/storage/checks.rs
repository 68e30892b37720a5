//! Pre-use checks and their readings. Written once, never changed: the database refuses it.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::history::point;
use super::{Param, Result, Tx};
use crate::domain::checklist::{Load, Warmth};
use crate::domain::ids::{CheckId, ChecklistId, MachineId, PersonId};
use crate::domain::reading::{Context, Outcome};
use crate::domain::standing::Standing;
use crate::domain::unit::{Hours, Measured};

pub struct NewCheck {
    pub id: CheckId,
    pub machine_id: MachineId,
    pub checklist_id: ChecklistId,
    pub operator_id: PersonId,
    pub context: Context,
    pub note: String,
    pub answers: String,
    pub fingerprint: String,
    pub verdict: Standing,
    pub begun_at: Option<DateTime<Utc>>,
    pub recorded_at: DateTime<Utc>,
    pub received_at: DateTime<Utc>,
}

/// A reading that carries a number or trouble; the rest are in the check's `answers`.
pub struct NewReading {
    pub seq: i64,
    pub item: String,
    pub position: String,
    pub outcome: Outcome,
    pub level: Option<String>,
    pub value_base: Option<f64>,
    pub value_read: Option<String>,
    pub unit: Option<String>,
    pub corrected_what: Option<String>,
    pub corrected_base: Option<f64>,
}

#[derive(Clone, Debug, FromRow)]
pub struct CheckRow {
    pub id: CheckId,
    pub machine_id: MachineId,
    pub checklist_id: ChecklistId,
    pub operator_id: PersonId,
    pub operator_name: String,
    pub load: Load,
    pub warmth: Option<Warmth>,
    pub air: Option<Measured>,
    pub altitude_m: Option<i64>,
    pub engine_hours: Option<Hours>,
    pub note: String,
    pub answers: String,
    pub fingerprint: String,
    pub verdict: Standing,
    pub answered: String,
    pub recorded_at: DateTime<Utc>,
    pub received_at: DateTime<Utc>,
}

impl CheckRow {
    /// What it was judged under.
    pub fn context(&self) -> Context {
        Context {
            engine_hours: self.engine_hours,
            warmth: self.warmth,
            air: self.air.clone(),
            altitude_m: self.altitude_m.and_then(|m| i32::try_from(m).ok()),
            ..Context::of(self.load)
        }
    }
}

/// Joins the columns of a check with a condition, so that a query stays one literal.
macro_rules! check {
    ($condition:literal) => {
        concat!(
            "SELECT c.id, c.machine_id, c.checklist_id, c.operator_id, p.name AS operator_name, c.load, c.warmth, c.air,
    c.altitude_m, c.engine_hours, c.note, c.answers, c.fingerprint, c.verdict, a.answered, c.recorded_at, c.received_at
    FROM pre_use_check c JOIN person p ON p.id = c.operator_id JOIN check_answer a ON a.check_id = c.id",
            $condition
        )
    };
}

pub(super) const CHECK_BY_ID: &str = check!(" WHERE c.id = $1");

impl Tx {
    pub async fn check(&mut self, id: CheckId) -> Result<Option<CheckRow>> {
        self.maybe(CHECK_BY_ID, &[&id]).await
    }

    pub async fn last_check(&mut self, machine: MachineId) -> Result<Option<CheckRow>> {
        self.maybe(check!(" WHERE c.machine_id = $1 ORDER BY c.recorded_at DESC LIMIT 1"), &[&machine]).await
    }

    /// What the hour meter showed at the last check until then.
    pub async fn engine_hours_at(&mut self, machine: MachineId, at: DateTime<Utc>) -> Result<Option<Hours>> {
        let row: Option<(Option<Hours>,)> = self
            .maybe(
                "SELECT engine_hours FROM pre_use_check
                 WHERE machine_id = $1 AND recorded_at <= $2 AND engine_hours IS NOT NULL
                 ORDER BY recorded_at DESC LIMIT 1",
                &[&machine, &at],
            )
            .await?;
        Ok(row.and_then(|(hours,)| hours))
    }

    pub async fn checks_of(&mut self, machine: MachineId, most: i64) -> Result<Vec<CheckRow>> {
        self.all(check!(" WHERE c.machine_id = $1 ORDER BY c.recorded_at DESC LIMIT $2"), &[&machine, &most])
            .await
    }

    pub async fn insert_check(&mut self, check: &NewCheck, readings: &[NewReading]) -> Result<()> {
        self.later(
            "INSERT INTO pre_use_check (id, machine_id, checklist_id, operator_id, load, warmth, air, altitude_m,
                engine_hours, note, answers, fingerprint, verdict, begun_at, recorded_at, received_at)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16)",
            &[
                &check.id,
                &check.machine_id,
                &check.checklist_id,
                &check.operator_id,
                &check.context.load,
                &check.context.warmth,
                &check.context.air,
                &check.context.altitude_m.map(i64::from),
                &check.context.engine_hours,
                &check.note,
                &check.answers,
                &check.fingerprint,
                &check.verdict,
                &check.begun_at,
                &check.recorded_at,
                &check.received_at,
            ],
        )
        .await?;
        let (hours, at) = (check.context.engine_hours, check.recorded_at);
        let points: Vec<Option<String>> =
            readings.iter().map(|r| r.value_base.map(|v| point(v, hours, at, &r.position))).collect();
        let rows: Vec<Vec<&dyn Param>> = readings
            .iter()
            .zip(&points)
            .map(|(r, point)| {
                vec![
                    &check.id as &dyn Param,
                    &r.seq,
                    &check.machine_id,
                    &r.item,
                    &r.position,
                    &r.outcome,
                    &r.level,
                    &r.value_base,
                    &r.value_read,
                    &r.unit,
                    &r.corrected_what,
                    &r.corrected_base,
                    &check.context.engine_hours,
                    &check.recorded_at,
                    point,
                ]
            })
            .collect();
        self.insert_rows(
            "reading (check_id, seq, machine_id, item, position, outcome, level, value_base, value_read, unit,
                corrected_what, corrected_base, engine_hours, recorded_at, point)",
            &rows,
        )
        .await
    }

    pub async fn insert_answer(&mut self, check: CheckId, answered: &str) -> Result<()> {
        self.later(
            "INSERT INTO check_answer (check_id, answered) VALUES ($1, $2)",
            &[&check, &answered.to_owned()],
        )
        .await
    }

    /// The newest value of each measured item and position, for showing beside the field.
    pub async fn last_values(&mut self, machine: MachineId) -> Result<Vec<(String, String, String, String)>> {
        self.all(
            "SELECT r.item, r.position, r.value_read, r.unit FROM reading r
             WHERE r.machine_id = $1 AND r.value_read IS NOT NULL AND r.unit IS NOT NULL
               AND r.check_id = (SELECT c.id FROM pre_use_check c WHERE c.machine_id = $1
                                 ORDER BY c.recorded_at DESC LIMIT 1)
             ORDER BY r.seq",
            &[&machine],
        )
        .await
    }
}
