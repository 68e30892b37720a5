//! Defects and their sightings.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{Param, Result, Tx, guarded};
use crate::domain::checklist::{Load, System, Warmth};
use crate::domain::defect::DefectState;
use crate::domain::ids::{CheckId, ChecklistId, DefectId, MachineId, PersonId, WorkOrderId, YardId};
use crate::domain::reading::Context;
use crate::domain::standing::Severity;
use crate::domain::unit::{Hours, Measured};
use crate::domain::watched::Watched;
use crate::words::Text;

#[derive(Clone, Debug, FromRow)]
pub struct DefectRow {
    pub id: DefectId,
    pub machine_id: MachineId,
    pub yard_id: YardId,
    pub what: Text,
    pub system: System,
    pub item: Option<String>,
    pub position: String,
    /// The context it failed in.
    pub load: Load,
    pub warmth: Option<Warmth>,
    pub air: Option<Measured>,
    pub altitude_m: Option<i64>,
    pub severity: Severity,
    pub state: DefectState,
    pub rule: String,
    pub checklist_id: Option<ChecklistId>,
    #[sqlx(rename = "final")]
    pub is_final: bool,
    pub why: Text,
    pub instruction: Text,
    pub supporting: String,
    pub failed: String,
    /// JSON of [`crate::domain::risk::Assessment`], of a guided report.
    pub risk: Option<String>,
    pub good_until_at: Option<DateTime<Utc>>,
    pub good_until_hours: Option<Hours>,
    pub reported_by: PersonId,
    pub check_id: Option<CheckId>,
    pub work_order_id: Option<WorkOrderId>,
    pub prior_defect_id: Option<DefectId>,
    pub came_back: bool,
    pub said_gone_at: Option<DateTime<Utc>>,
    pub cause: String,
    pub remedy: String,
    pub repaired_by: Option<PersonId>,
    pub no_fault_found: bool,
    pub part_replaced: bool,
    /// Before it was raised, where a check arrived late.
    pub found_at: DateTime<Utc>,
    pub raised_at: DateTime<Utc>,
    pub closed_at: Option<DateTime<Utc>>,
    pub version: i64,
}

#[derive(Clone, Debug, FromRow)]
pub struct SightingRow {
    pub defect_id: DefectId,
    pub seq: i64,
    pub check_id: Option<CheckId>,
    pub by_id: PersonId,
    pub by_name: String,
    pub at: DateTime<Utc>,
    pub what: Text,
    /// What a check said of the defect under watch.
    pub said: Option<Watched>,
}

impl DefectRow {
    /// The context it failed in, which is that of its retest.
    pub fn context(&self) -> Context {
        Context {
            warmth: self.warmth,
            air: self.air.clone(),
            altitude_m: self.altitude_m.and_then(|m| i32::try_from(m).ok()),
            ..Context::of(self.load)
        }
    }

    pub fn failed_in(&mut self, context: &Context) {
        self.load = context.load;
        self.warmth = context.warmth;
        self.air.clone_from(&context.air);
        self.altitude_m = context.altitude_m.map(i64::from);
    }
}

macro_rules! defect {
    ($condition:literal) => {
        concat!(
            "SELECT id, machine_id, yard_id, what, system, item, position, load, warmth, air, altitude_m, severity,
                state, rule, checklist_id, final, why, instruction, supporting, failed, risk, good_until_at, good_until_hours,
                reported_by, check_id, work_order_id, prior_defect_id, came_back, said_gone_at, cause, remedy, repaired_by, no_fault_found, part_replaced, found_at, raised_at, closed_at,
                version
             FROM defect ",
            $condition
        )
    };
}

pub(super) const OPEN_DEFECTS: &str =
    defect!("WHERE machine_id = $1 AND closed_at IS NULL ORDER BY raised_at, id");
impl Tx {
    pub async fn defect(&mut self, id: DefectId) -> Result<Option<DefectRow>> {
        self.maybe(defect!("WHERE id = $1"), &[&id]).await
    }

    pub async fn open_defects(&mut self, machine: MachineId) -> Result<Vec<DefectRow>> {
        self.all(OPEN_DEFECTS, &[&machine]).await
    }

    /// Of every machine the viewer may see.
    pub async fn open_defects_seen_by(
        &mut self,
        viewer: PersonId,
        all_yards: bool,
    ) -> Result<Vec<DefectRow>> {
        self.all(
            defect!(
                "WHERE closed_at IS NULL AND ($2 OR yard_id IN (SELECT yard_id FROM person_yard WHERE person_id = $1))
                 ORDER BY raised_at, id"
            ),
            &[&viewer, &all_yards],
        )
        .await
    }

    pub async fn defects_of_order(&mut self, order: WorkOrderId) -> Result<Vec<DefectRow>> {
        self.all(defect!("WHERE work_order_id = $1 ORDER BY raised_at, id"), &[&order]).await
    }

    pub async fn defects_of_check(&mut self, check: CheckId) -> Result<Vec<DefectRow>> {
        self.all(defect!("WHERE check_id = $1 ORDER BY raised_at, id"), &[&check]).await
    }

    pub async fn defects_of(&mut self, machine: MachineId, most: i64) -> Result<Vec<DefectRow>> {
        self.all(
            defect!("WHERE machine_id = $1 ORDER BY raised_at DESC, id DESC LIMIT $2"),
            &[&machine, &most],
        )
        .await
    }

    pub async fn defects_reported_by(&mut self, person: PersonId, most: i64) -> Result<Vec<DefectRow>> {
        self.all(defect!("WHERE reported_by = $1 ORDER BY raised_at DESC LIMIT $2"), &[&person, &most]).await
    }

    /// Monitored defects whose watch has ended, by date or by the machine's engine hours.
    pub async fn ended_watches(&mut self, now: DateTime<Utc>) -> Result<Vec<DefectId>> {
        let rows: Vec<(DefectId,)> = self
            .all(
                "SELECT d.id FROM defect d JOIN machine m ON m.id = d.machine_id
                 WHERE d.closed_at IS NULL AND d.severity = 'monitor'
                   AND (d.good_until_at <= $1 OR d.good_until_hours <= m.engine_hours)
                 ORDER BY d.raised_at, d.id",
                &[&now],
            )
            .await?;
        Ok(rows.into_iter().map(|r| r.0).collect())
    }

    /// When the next watch ends by its date.
    pub async fn next_watch_end(&mut self) -> Result<Option<DateTime<Utc>>> {
        let (at,): (Option<DateTime<Utc>>,) = self
            .one(
                "SELECT MIN(good_until_at) FROM defect WHERE closed_at IS NULL AND severity = 'monitor'",
                &[],
            )
            .await?;
        Ok(at)
    }

    /// The newest closed defect of the same item and position.
    pub async fn last_closed_defect(
        &mut self,
        machine: MachineId,
        item: &str,
        position: &str,
    ) -> Result<Option<DefectRow>> {
        self.maybe(
            defect!(
                "WHERE machine_id = $1 AND item = $2 AND position = $3 AND closed_at IS NOT NULL
                 ORDER BY closed_at DESC LIMIT 1"
            ),
            &[&machine, &item.to_owned(), &position.to_owned()],
        )
        .await
    }

    pub async fn insert_defects(&mut self, defects: &[DefectRow]) -> Result<()> {
        let rows: Vec<Vec<&dyn Param>> = defects
            .iter()
            .map(|d| {
                vec![
                    &d.id as &dyn Param,
                    &d.machine_id,
                    &d.yard_id,
                    &d.what,
                    &d.system,
                    &d.item,
                    &d.position,
                    &d.load,
                    &d.warmth,
                    &d.air,
                    &d.altitude_m,
                    &d.severity,
                    &d.state,
                    &d.rule,
                    &d.checklist_id,
                    &d.is_final,
                    &d.why,
                    &d.instruction,
                    &d.supporting,
                    &d.failed,
                    &d.risk,
                    &d.good_until_at,
                    &d.good_until_hours,
                    &d.reported_by,
                    &d.check_id,
                    &d.work_order_id,
                    &d.prior_defect_id,
                    &d.came_back,
                    &d.found_at,
                    &d.raised_at,
                ]
            })
            .collect();
        self.insert_rows(
            "defect (id, machine_id, yard_id, what, system, item, position, load, warmth, air, altitude_m, severity,
                state, rule, checklist_id, final, why, instruction, supporting, failed, risk, good_until_at, good_until_hours,
                reported_by, check_id, work_order_id, prior_defect_id, came_back, found_at, raised_at)",
            &rows,
        )
        .await
    }

    /// Saves what can change of a defect, guarded by the version it was read with.
    pub async fn update_defect(&mut self, d: &DefectRow) -> Result<()> {
        guarded(
            self.run(
                "UPDATE defect SET severity = $3, state = $4, rule = $5, final = $6, why = $7, instruction = $8,
                    failed = $9, good_until_at = $10, good_until_hours = $11, work_order_id = $12, cause = $13,
                    remedy = $14, repaired_by = $15, no_fault_found = $16, closed_at = $17, load = $18, part_replaced = $19,
                    warmth = $20, air = $21, altitude_m = $22, said_gone_at = $23, checklist_id = $24,
                    version = version + 1
                 WHERE id = $1 AND version = $2",
                &[
                    &d.id,
                    &d.version,
                    &d.severity,
                    &d.state,
                    &d.rule,
                    &d.is_final,
                    &d.why,
                    &d.instruction,
                    &d.failed,
                    &d.good_until_at,
                    &d.good_until_hours,
                    &d.work_order_id,
                    &d.cause,
                    &d.remedy,
                    &d.repaired_by,
                    &d.no_fault_found,
                    &d.closed_at,
                    &d.load,
                    &d.part_replaced,
                    &d.warmth,
                    &d.air,
                    &d.altitude_m,
                    &d.said_gone_at,
                    &d.checklist_id,
                ],
            )
            .await?,
        )
    }

    pub async fn insert_sighting(
        &mut self,
        defect: DefectId,
        check: Option<CheckId>,
        by: PersonId,
        at: DateTime<Utc>,
        what: &Text,
        said: Option<Watched>,
    ) -> Result<()> {
        self.run(
            "INSERT INTO sighting (defect_id, seq, check_id, by_id, at, what, said)
             SELECT $1, COALESCE(MAX(seq), 0) + 1, $2, $3, $4, $5, $6 FROM sighting WHERE defect_id = $1",
            &[&defect, &check, &by, &at, what, &said],
        )
        .await?;
        Ok(())
    }

    /// Whether it was seen, and not said to be gone, after `at`.
    pub async fn seen_after(&mut self, defect: DefectId, at: DateTime<Utc>) -> Result<bool> {
        let (seen,): (i64,) = self
            .one(
                "SELECT COUNT(*) FROM sighting WHERE defect_id = $1 AND at > $2 AND COALESCE(said, '') <> 'gone'",
                &[&defect, &at],
            )
            .await?;
        Ok(seen > 0)
    }

    pub async fn sightings(&mut self, defect: DefectId) -> Result<Vec<SightingRow>> {
        self.all(
            "SELECT s.defect_id, s.seq, s.check_id, s.by_id, p.name AS by_name, s.at, s.what, s.said
             FROM sighting s JOIN person p ON p.id = s.by_id WHERE s.defect_id = $1 ORDER BY s.seq",
            &[&defect],
        )
        .await
    }

    /// Whether what keeps a defect from use was ended after `at`: its hold was lifted, or a defect of the same item and
    /// position was closed.
    pub async fn put_right_since(
        &mut self,
        machine: MachineId,
        defect: DefectId,
        place: Option<(&str, &str)>,
        at: DateTime<Utc>,
    ) -> Result<bool> {
        let (item, position) = place.unwrap_or_default();
        let (ended,): (i64,) = self
            .one(
                "SELECT (SELECT COUNT(*) FROM hold h JOIN defect d ON d.id = h.defect_id
                         WHERE h.machine_id = $1 AND h.lifted_at > $5
                           AND (d.id = $2 OR (d.item = $3 AND d.position = $4)))
                      + (SELECT COUNT(*) FROM defect d
                         WHERE d.machine_id = $1 AND d.closed_at > $5 AND d.item = $3 AND d.position = $4)",
                &[&machine, &defect, &item.to_owned(), &position.to_owned(), &at],
            )
            .await?;
        Ok(ended > 0)
    }
}
