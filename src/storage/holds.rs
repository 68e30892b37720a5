//! Holds: what keeps a machine from use.

use std::collections::BTreeSet;

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{Param, Result, Tx, guarded};
use crate::domain::ids::{DefectId, HoldId, MachineId, PersonId, ReleaseId, WorkOrderId, YardId};
use crate::domain::unit::Hours;
use crate::words::Text;

#[derive(Clone, Debug, FromRow)]
pub struct HoldRow {
    pub id: HoldId,
    pub machine_id: MachineId,
    pub yard_id: YardId,
    pub defect_id: Option<DefectId>,
    pub reason: Text,
    pub placed_by: PersonId,
    pub placed_by_name: String,
    /// Since when the machine was found unfit: before it was placed, where a check arrived late.
    pub since: DateTime<Utc>,
    pub placed_at: DateTime<Utc>,
    pub hours_at: Option<Hours>,
    pub lifted_at: Option<DateTime<Utc>>,
    pub lift_reason: Option<String>,
}

/// Counts the open holds of a machine anew, for the counts of its yard.
macro_rules! count_holds {
    ($condition:literal) => {
        concat!(
            "UPDATE machine SET open_holds = (SELECT COUNT(*) FROM hold h WHERE h.machine_id = machine.id
                AND h.lifted_at IS NULL) WHERE ",
            $condition
        )
    };
}

macro_rules! hold {
    ($condition:literal) => {
        concat!(
            "SELECT h.id, h.machine_id, h.yard_id, h.defect_id, h.reason, h.placed_by, p.name AS placed_by_name,
                h.since, h.placed_at, h.hours_at, h.lifted_at, h.lift_reason
             FROM hold h JOIN person p ON p.id = h.placed_by ",
            $condition
        )
    };
}

pub(super) const OPEN_HOLDS: &str =
    hold!("WHERE h.machine_id = $1 AND h.lifted_at IS NULL ORDER BY h.since, h.id");

impl Tx {
    pub async fn insert_holds(&mut self, holds: &[HoldRow]) -> Result<()> {
        let rows: Vec<Vec<&dyn Param>> = holds
            .iter()
            .map(|h| {
                vec![
                    &h.id as &dyn Param,
                    &h.machine_id,
                    &h.yard_id,
                    &h.defect_id,
                    &h.reason,
                    &h.placed_by,
                    &h.since,
                    &h.placed_at,
                    &h.hours_at,
                ]
            })
            .collect();
        self.insert_rows(
            "hold (id, machine_id, yard_id, defect_id, reason, placed_by, since, placed_at, hours_at)",
            &rows,
        )
        .await?;
        for machine in holds.iter().map(|h| h.machine_id).collect::<BTreeSet<_>>() {
            self.run(count_holds!("id = $1"), &[&machine]).await?;
        }
        Ok(())
    }

    pub async fn hold(&mut self, id: HoldId) -> Result<Option<HoldRow>> {
        self.maybe(hold!("WHERE h.id = $1"), &[&id]).await
    }

    /// Every hold it ever had, oldest first.
    pub async fn holds_of(&mut self, machine: MachineId) -> Result<Vec<HoldRow>> {
        self.all(hold!("WHERE h.machine_id = $1 ORDER BY h.since, h.id"), &[&machine]).await
    }

    pub async fn open_holds(&mut self, machine: MachineId) -> Result<Vec<HoldRow>> {
        self.all(OPEN_HOLDS, &[&machine]).await
    }

    /// Of every machine the viewer may see.
    pub async fn open_holds_seen_by(&mut self, viewer: PersonId, all_yards: bool) -> Result<Vec<HoldRow>> {
        self.all(
            hold!(
                "WHERE h.lifted_at IS NULL
                   AND ($2 OR h.yard_id IN (SELECT yard_id FROM person_yard WHERE person_id = $1))
                 ORDER BY h.since, h.id"
            ),
            &[&viewer, &all_yards],
        )
        .await
    }

    pub async fn count_open_holds(&mut self, machine: MachineId) -> Result<i64> {
        Ok(self
            .one::<(i64,)>(
                "SELECT COUNT(*) FROM hold WHERE machine_id = $1 AND lifted_at IS NULL",
                &[&machine],
            )
            .await?
            .0)
    }

    /// A check that arrived late shows that the machine was unfit before its open hold says so.
    pub async fn hold_counts_from(&mut self, defect: DefectId, since: DateTime<Utc>) -> Result<u64> {
        self.run(
            "UPDATE hold SET since = $2 WHERE defect_id = $1 AND lifted_at IS NULL AND since > $2",
            &[&defect, &since],
        )
        .await
    }

    /// Lifts a hold that was placed by hand. One that came from a defect is not touched: only a release lifts it.
    pub async fn lift_hand_hold(
        &mut self,
        id: HoldId,
        by: PersonId,
        at: DateTime<Utc>,
        reason: &str,
    ) -> Result<()> {
        guarded(
            self.run(
                "UPDATE hold SET lifted_at = $2, lifted_by = $3, lift_reason = $4
                 WHERE id = $1 AND lifted_at IS NULL AND defect_id IS NULL",
                &[&id, &at, &by, &reason.to_owned()],
            )
            .await?,
        )?;
        self.run(count_holds!("id = (SELECT machine_id FROM hold WHERE id = $1)"), &[&id]).await?;
        Ok(())
    }

    /// Lifts the hold of one defect whose severity a supervisor lowered; the signed act is on record as a release.
    pub async fn lift_hold_of_defect(
        &mut self,
        defect: DefectId,
        release: ReleaseId,
        by: PersonId,
        at: DateTime<Utc>,
    ) -> Result<()> {
        guarded(
            self.run(
                "UPDATE hold SET lifted_at = $3, lifted_by = $4, lift_reason = 'severity lowered', release_id = $2
                 WHERE lifted_at IS NULL AND defect_id = $1",
                &[&defect, &release, &at, &by],
            )
            .await?,
        )?;
        self.run(count_holds!("id = (SELECT machine_id FROM defect WHERE id = $1)"), &[&defect]).await?;
        Ok(())
    }

    /// Lifts the holds of every defect that the release closes.
    pub async fn lift_holds_by_release(
        &mut self,
        order: WorkOrderId,
        release: ReleaseId,
        by: PersonId,
        at: DateTime<Utc>,
    ) -> Result<u64> {
        let lifted = self
            .run(
                "UPDATE hold SET lifted_at = $3, lifted_by = $4, lift_reason = 'released', release_id = $2
                 WHERE lifted_at IS NULL AND defect_id IN (SELECT id FROM defect WHERE work_order_id = $1)",
                &[&order, &release, &at, &by],
            )
            .await?;
        self.run(count_holds!("id = (SELECT machine_id FROM work_order WHERE id = $1)"), &[&order]).await?;
        Ok(lifted)
    }
}
