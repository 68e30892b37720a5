//! What machines were out of service for, and what that time went on: for one machine, or for what somebody looks at.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{Result, Tx};
use crate::domain::checklist::System;
use crate::domain::forecast::score::Kept;
use crate::domain::ids::{DefectId, MachineId, PersonId, WorkOrderId, YardId};
use crate::domain::unit::Hours;
use crate::domain::work_order::{OrderWord, WaitingFor};
use crate::words::Text;

/// What somebody looks at: their yards, or one of them by name, or one class, in a period.
#[derive(Clone, Debug)]
pub struct Scope {
    pub viewer: PersonId,
    pub all_yards: bool,
    /// Empty for all of them.
    pub yard: String,
    pub class: String,
    pub from: DateTime<Utc>,
    pub to: DateTime<Utc>,
}

#[derive(Clone, Debug, FromRow)]
pub struct HeldRow {
    pub machine_id: MachineId,
    pub since: DateTime<Utc>,
    pub placed_at: DateTime<Utc>,
    pub lifted_at: Option<DateTime<Utc>>,
    /// A defect is behind it, and the fault was really there.
    pub failure: bool,
}

#[derive(Clone, Debug, FromRow)]
pub struct SpellRow {
    pub machine_id: MachineId,
    pub work_order_id: WorkOrderId,
    pub from_at: DateTime<Utc>,
    pub state: OrderWord,
    pub waiting_for: Option<WaitingFor>,
}

/// A machine that was there in a period.
#[derive(Clone, Debug, FromRow)]
pub struct FleetRow {
    pub id: MachineId,
    pub unit_number: String,
    pub class: String,
    pub yard_id: YardId,
    pub created_at: DateTime<Utc>,
    pub retired_at: Option<DateTime<Utc>>,
}

/// What the meter showed at a check.
#[derive(Clone, Copy, Debug, FromRow)]
pub struct MeterRow {
    pub recorded_at: DateTime<Utc>,
    pub engine_hours: Option<Hours>,
}

#[derive(Clone, Debug, FromRow)]
pub struct CostRow {
    pub machine_id: MachineId,
    pub unit_number: String,
    pub cost_minor: i64,
    pub orders: i64,
}

#[derive(Clone, Debug, FromRow)]
pub struct SystemCount {
    pub system: System,
    pub defects: i64,
    pub grounding: i64,
}

/// The same item, at the same place of the same machine, more than once.
#[derive(Clone, Debug, FromRow)]
pub struct AgainRow {
    pub machine_id: MachineId,
    pub unit_number: String,
    pub what: Text,
    pub times: i64,
    pub last_defect: DefectId,
}

#[derive(Clone, Debug, FromRow)]
pub struct FoundRow {
    pub id: DefectId,
    pub machine_id: MachineId,
    pub unit_number: String,
    pub zone: String,
    pub what: Text,
    pub system: System,
    pub severity: crate::domain::standing::Severity,
    pub found_at: DateTime<Utc>,
    pub closed_at: Option<DateTime<Utc>>,
}

/// An order that ended in the period, with what it cost.
#[derive(Clone, Debug, FromRow)]
pub struct EndedRow {
    pub id: WorkOrderId,
    pub number: i64,
    pub machine_id: MachineId,
    pub unit_number: String,
    pub zone: String,
    pub cost_minor: i64,
    pub opened_at: DateTime<Utc>,
    pub closed_at: DateTime<Utc>,
}

/// Checks of one machine, by when.
#[derive(Clone, Copy, Debug, FromRow)]
pub struct CheckedRow {
    pub machine_id: MachineId,
    pub recorded_at: DateTime<Utc>,
    pub engine_hours: Option<Hours>,
}

/// Adds to a statement whose machines are `m` what the scope leaves of them: $1 viewer, $2 all yards, $3 yard, $4 class, $5
/// from, $6 to.
macro_rules! in_scope {
    ($select:literal, $and:literal) => {
        concat!(
            $select,
            " JOIN yard y ON y.id = m.yard_id
             WHERE ($2 OR m.yard_id IN (SELECT yard_id FROM person_yard WHERE person_id = $1))
               AND ($3 = '' OR y.name = $3) AND ($4 = '' OR m.class = $4) ",
            $and
        )
    };
}

macro_rules! scope {
    ($scope:ident $(, $more:expr)*) => {
        &[&$scope.viewer, &$scope.all_yards, &$scope.yard, &$scope.class, &$scope.from, &$scope.to $(, $more)*]
    };
}
pub(super) use scope;

impl Tx {
    /// From now on the order is at this, until it is at something else. A clock that was put back does not put its spells
    /// out of order.
    pub(super) async fn begin_spell(
        &mut self,
        order: WorkOrderId,
        machine: MachineId,
        state: OrderWord,
        waiting_for: Option<WaitingFor>,
        now: DateTime<Utc>,
    ) -> Result<()> {
        let (last,): (Option<DateTime<Utc>>,) =
            self.one("SELECT MAX(from_at) FROM order_spell WHERE work_order_id = $1", &[&order]).await?;
        let now = last.map_or(now, |last| last.max(now));
        self.run(
            "INSERT INTO order_spell (work_order_id, from_at, machine_id, state, waiting_for) VALUES ($1, $2, $3, $4, $5)
             ON CONFLICT (work_order_id, from_at) DO UPDATE SET state = excluded.state, waiting_for = excluded.waiting_for",
            &[&order, &now, &machine, &state, &waiting_for],
        )
        .await?;
        Ok(())
    }

    pub async fn holds_ever(&mut self, machine: MachineId) -> Result<Vec<HeldRow>> {
        self.all(
            "SELECT h.machine_id, h.since, h.placed_at, h.lifted_at, h.defect_id IS NOT NULL
                AND NOT EXISTS (SELECT 1 FROM defect d WHERE d.id = h.defect_id AND d.no_fault_found) AS failure
             FROM hold h WHERE h.machine_id = $1 ORDER BY h.since, h.placed_at",
            &[&machine],
        )
        .await
    }

    pub async fn spells_ever(&mut self, machine: MachineId) -> Result<Vec<SpellRow>> {
        self.all(
            "SELECT machine_id, work_order_id, from_at, state, waiting_for FROM order_spell
             WHERE machine_id = $1 ORDER BY work_order_id, from_at",
            &[&machine],
        )
        .await
    }

    /// Oldest first.
    pub async fn meter_at_checks(&mut self, machine: MachineId) -> Result<Vec<MeterRow>> {
        self.all(
            "SELECT recorded_at, engine_hours FROM pre_use_check
             WHERE machine_id = $1 AND engine_hours IS NOT NULL ORDER BY recorded_at",
            &[&machine],
        )
        .await
    }

    /// What orders of the machine cost that ended in a span.
    pub async fn cost_between(
        &mut self,
        machine: MachineId,
        from: DateTime<Utc>,
        to: DateTime<Utc>,
    ) -> Result<i64> {
        let (cost,): (i64,) = self
            .one(
                "SELECT CAST(COALESCE(SUM(cost_minor), 0) AS BIGINT) FROM work_order
                 WHERE machine_id = $1 AND closed_at >= $2 AND closed_at < $3",
                &[&machine, &from, &to],
            )
            .await?;
        Ok(cost)
    }

    pub async fn machine_since(&mut self, machine: MachineId) -> Result<DateTime<Utc>> {
        let (at,): (DateTime<Utc>,) =
            self.one("SELECT created_at FROM machine WHERE id = $1", &[&machine]).await?;
        Ok(at)
    }

    /// Machines that were there in the period, by unit number.
    pub async fn fleet(&mut self, scope: &Scope) -> Result<Vec<FleetRow>> {
        self.all(
            in_scope!(
                "SELECT m.id, m.unit_number, m.class, m.yard_id, m.created_at, m.retired_at FROM machine m",
                "AND m.created_at < $6 AND (m.retired_at IS NULL OR m.retired_at > $5) ORDER BY m.unit_key"
            ),
            scope!(scope),
        )
        .await
    }

    pub async fn held_in(&mut self, scope: &Scope) -> Result<Vec<HeldRow>> {
        self.all(
            in_scope!(
                "SELECT h.machine_id, h.since, h.placed_at, h.lifted_at, h.defect_id IS NOT NULL
                    AND NOT EXISTS (SELECT 1 FROM defect d WHERE d.id = h.defect_id AND d.no_fault_found) AS failure
                 FROM (SELECT machine_id, since, placed_at, lifted_at, defect_id FROM hold WHERE lifted_at > $5
                       UNION ALL
                       SELECT machine_id, since, placed_at, lifted_at, defect_id FROM hold WHERE lifted_at IS NULL) h
                 CROSS JOIN machine m",
                "AND m.id = h.machine_id AND h.since < $6"
            ),
            scope!(scope),
        )
        .await
    }

    /// What began in the period, and before it what the orders had been at that had not ended then: no more is read than the
    /// period has, however long the past. By machine, order and time.
    pub async fn spells_in(&mut self, scope: &Scope) -> Result<Vec<SpellRow>> {
        // CROSS JOIN is how SQLite is told to begin with the orders.
        let mut spells: Vec<SpellRow> = self
            .all(
                in_scope!(
                    "SELECT s.machine_id, s.work_order_id, s.from_at, s.state, s.waiting_for
                     FROM (SELECT machine_id, work_order_id, from_at, state, waiting_for FROM order_spell
                           WHERE from_at >= $5 AND from_at < $6
                           UNION ALL
                           SELECT s.machine_id, s.work_order_id, s.from_at, s.state, s.waiting_for
                           FROM work_order w CROSS JOIN order_spell s
                           WHERE w.closed_at > $5 AND w.opened_at < $5 AND s.work_order_id = w.id AND s.from_at < $5
                           UNION ALL
                           SELECT s.machine_id, s.work_order_id, s.from_at, s.state, s.waiting_for
                           FROM work_order w CROSS JOIN order_spell s
                           WHERE w.state IN ('queued', 'claimed', 'in work', 'waiting', 'work done')
                             AND s.work_order_id = w.id AND s.from_at < $5) s
                     JOIN machine m ON m.id = s.machine_id",
                    "AND m.created_at < $6 AND (m.retired_at IS NULL OR m.retired_at > $5)"
                ),
                scope!(scope),
            )
            .await?;
        spells.sort_unstable_by_key(|s| (s.machine_id, s.work_order_id, s.from_at));
        Ok(spells)
    }

    pub async fn found_by_system(&mut self, scope: &Scope) -> Result<Vec<SystemCount>> {
        self.all(
            in_scope!(
                "SELECT d.system, COUNT(*) AS defects,
                    COUNT(CASE WHEN d.severity = 'out of service' THEN 1 END) AS grounding
                 FROM defect d JOIN machine m ON m.id = d.machine_id",
                "AND d.found_at >= $5 AND d.found_at < $6 GROUP BY d.system"
            ),
            scope!(scope),
        )
        .await
    }

    /// Most often first.
    pub async fn found_again(&mut self, scope: &Scope, most: i64) -> Result<Vec<AgainRow>> {
        self.all(
            in_scope!(
                "SELECT g.machine_id, m.unit_number, d.what, g.times, d.id AS last_defect
                 FROM (SELECT d.machine_id, d.item, d.position, COUNT(*) AS times, MAX(d.found_at) AS last_at FROM defect d
                       WHERE d.found_at >= $5 AND d.found_at < $6 AND d.item IS NOT NULL
                       GROUP BY d.machine_id, d.item, d.position HAVING COUNT(*) > 1) g
                 JOIN machine m ON m.id = g.machine_id
                 JOIN defect d ON d.machine_id = g.machine_id AND d.item = g.item AND d.position = g.position
                     AND d.found_at = g.last_at",
                "ORDER BY g.times DESC, m.unit_key, d.id LIMIT $7"
            ),
            scope!(scope, &most),
        )
        .await
    }

    /// Dearest first.
    pub async fn costs_in(&mut self, scope: &Scope) -> Result<Vec<CostRow>> {
        self.all(
            in_scope!(
                "SELECT m.id AS machine_id, m.unit_number, CAST(SUM(w.cost_minor) AS BIGINT) AS cost_minor, COUNT(*) AS orders
                 FROM work_order w JOIN machine m ON m.id = w.machine_id",
                "AND w.closed_at >= $5 AND w.closed_at < $6 AND w.state = 'closed'
                 GROUP BY m.id, m.unit_number, m.unit_key ORDER BY SUM(w.cost_minor) DESC, m.unit_key"
            ),
            scope!(scope),
        )
        .await
    }

    /// What was found in the period, newest first; of one system, or of all for an empty one.
    pub async fn found_in(&mut self, scope: &Scope, system: &str, most: i64) -> Result<Vec<FoundRow>> {
        self.all(
            in_scope!(
                "SELECT d.id, d.machine_id, m.unit_number, y.zone, d.what, d.system, d.severity, d.found_at, d.closed_at
                 FROM defect d JOIN machine m ON m.id = d.machine_id",
                "AND d.found_at >= $5 AND d.found_at < $6 AND ($7 = '' OR d.system = $7)
                 ORDER BY d.found_at DESC, d.id LIMIT $8"
            ),
            scope!(scope, &system.to_owned(), &most),
        )
        .await
    }

    /// Dearest first.
    pub async fn ended_in(&mut self, scope: &Scope, most: i64) -> Result<Vec<EndedRow>> {
        self.all(
            in_scope!(
                "SELECT w.id, w.number, w.machine_id, m.unit_number, y.zone, w.cost_minor, w.opened_at, w.closed_at
                 FROM work_order w JOIN machine m ON m.id = w.machine_id",
                "AND w.closed_at >= $5 AND w.closed_at < $6 AND w.state = 'closed'
                 ORDER BY w.cost_minor DESC, w.number LIMIT $7"
            ),
            scope!(scope, &most),
        )
        .await
    }

    /// Checks in the period, by machine and time.
    pub async fn checked_in(&mut self, scope: &Scope) -> Result<Vec<CheckedRow>> {
        self.all(
            in_scope!(
                "SELECT c.machine_id, c.recorded_at, c.engine_hours
                 FROM machine m JOIN pre_use_check c ON c.machine_id = m.id",
                "AND c.recorded_at >= $5 AND c.recorded_at < $6 ORDER BY c.machine_id, c.recorded_at"
            ),
            scope!(scope),
        )
        .await
    }

    /// The first forecast of each order that was done in the period, with what came of it.
    pub async fn foreseen_in(&mut self, scope: &Scope) -> Result<Vec<Kept>> {
        type Row = (
            WorkOrderId,
            DateTime<Utc>,
            DateTime<Utc>,
            Option<DateTime<Utc>>,
            Option<DateTime<Utc>>,
            Option<DateTime<Utc>>,
        );
        let rows: Vec<Row> = self
            .all(
                in_scope!(
                    "SELECT f.work_order_id, f.made_at, f.likely_by, f.almost_surely_by, f.same_as_last_time, w.done_at
                     FROM work_order w JOIN machine m ON m.id = w.machine_id JOIN forecast f ON f.work_order_id = w.id",
                    "AND w.done_at >= $5 AND w.done_at < $6 AND w.state <> 'cancelled'
                     AND f.made_at = (SELECT MIN(g.made_at) FROM forecast g WHERE g.work_order_id = f.work_order_id)"
                ),
                scope!(scope),
            )
            .await?;
        let kept = |(order, given_at, likely_by, almost_surely_by, as_last_time, done_at)| Kept {
            order,
            given_at,
            likely_by,
            almost_surely_by,
            as_last_time,
            done_at,
        };
        Ok(rows.into_iter().map(kept).collect())
    }
}
