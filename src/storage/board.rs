//! The owner's board: what is grounded, what is watched, and what each yard has against what it needs.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{Result, Tx};
use crate::domain::ids::{DefectId, MachineId, PersonId, WorkOrderId, YardId};
use crate::domain::unit::Hours;
use crate::domain::work_order::{OrderWord, WaitingFor};
use crate::words::Text;

#[derive(Clone, Debug, FromRow)]
pub struct GroundedRow {
    pub machine_id: MachineId,
    pub unit_number: String,
    pub class: String,
    pub yard_id: YardId,
    pub yard_name: String,
    pub zone: String,
    /// Since when it was found unfit.
    pub since: DateTime<Utc>,
    /// When Chock came to know of it: later, where a check arrived late.
    pub placed_at: DateTime<Utc>,
    pub holds: i64,
    /// The reason of the oldest open hold.
    pub why: Text,
    pub work_order_id: Option<WorkOrderId>,
    pub work_order_number: Option<i64>,
    pub state: Option<OrderWord>,
    pub mechanic_name: String,
    pub waiting_for: Option<WaitingFor>,
    pub waiting_until: Option<DateTime<Utc>>,
    pub waiting_note: String,
    /// A part it asked for is not there, also while nobody has the order.
    pub lacks_parts: bool,
    pub cost_minor: i64,
    /// When it is foreseen to be back (JSON), as last reckoned; empty when it was not.
    pub foreseen: String,
    /// Open defects: a hold by hand has none, and nothing for a work order to repair.
    pub open_defects: i64,
    /// Alerts about this machine that could not be delivered.
    pub undelivered: i64,
}

#[derive(Clone, Debug, FromRow)]
pub struct MonitoredRow {
    pub defect_id: DefectId,
    pub machine_id: MachineId,
    pub unit_number: String,
    pub class: String,
    pub yard_id: YardId,
    pub yard_name: String,
    pub zone: String,
    pub what: Text,
    pub found_at: DateTime<Utc>,
    pub good_until_at: Option<DateTime<Utc>>,
    pub good_until_hours: Option<Hours>,
    pub engine_hours: Option<Hours>,
}

#[derive(Clone, Debug, FromRow)]
pub struct ClassCount {
    pub yard_name: String,
    pub zone: String,
    pub class: String,
    pub machines: i64,
    pub out_of_service: i64,
    pub needed: i64,
}

/// Of a yard's class, a moment at which it gains or loses a machine.
#[derive(Clone, Debug, FromRow)]
pub struct ComingRow {
    pub yard_name: String,
    pub zone: String,
    pub class: String,
    pub at: DateTime<Utc>,
}

/// A machine whose meter moved without a check.
#[derive(Clone, Debug, FromRow)]
pub struct MovedRow {
    pub machine_id: MachineId,
    pub unit_number: String,
    pub class: String,
    pub yard_name: String,
    pub zone: String,
    pub at: DateTime<Utc>,
    pub before: Hours,
    pub hours: Hours,
    pub last_check_at: Option<DateTime<Utc>>,
}

impl Tx {
    /// Machines with an open hold, longest down first. The newest open work order of each is shown.
    pub async fn grounded(
        &mut self,
        viewer: PersonId,
        all_yards: bool,
        yard: &str,
        most: i64,
    ) -> Result<Vec<GroundedRow>> {
        self.all(
            "SELECT m.id AS machine_id, m.unit_number, m.class, m.yard_id, y.name AS yard_name, y.zone, g.since, g.holds,
                (SELECT h.reason FROM hold h WHERE h.machine_id = m.id AND h.lifted_at IS NULL
                   ORDER BY h.since, h.id LIMIT 1) AS why,
                g.placed_at, w.id AS work_order_id, w.number AS work_order_number, w.state, COALESCE(p.name, '') AS mechanic_name,
                w.waiting_for, w.waiting_until, COALESCE(w.waiting_note, '') AS waiting_note,
                COALESCE(w.lacks_parts, FALSE) AS lacks_parts,
                COALESCE(w.cost_minor, 0) AS cost_minor,
                COALESCE((SELECT f.said FROM forecast_now f WHERE f.work_order_id = w.id), '') AS foreseen,
                (SELECT COUNT(*) FROM defect d WHERE d.machine_id = m.id AND d.closed_at IS NULL) AS open_defects,
                (SELECT COUNT(*) FROM outbox o WHERE o.machine_id = m.id AND o.state = 'failed'
                   AND o.created_at >= g.since) AS undelivered
             FROM (SELECT machine_id, MIN(since) AS since, MIN(placed_at) AS placed_at, COUNT(*) AS holds FROM hold
                   WHERE lifted_at IS NULL GROUP BY machine_id) g
             JOIN machine m ON m.id = g.machine_id
             JOIN yard y ON y.id = m.yard_id
             LEFT JOIN work_order w ON w.id = (SELECT o.id FROM work_order o WHERE o.machine_id = m.id
                 AND o.state IN ('queued', 'claimed', 'in work', 'waiting', 'work done')
                 ORDER BY o.opened_at DESC LIMIT 1)
             LEFT JOIN person p ON p.id = w.mechanic_id
             WHERE m.retired_at IS NULL AND ($3 = '' OR y.name = $3)
               AND ($2 OR m.yard_id IN (SELECT yard_id FROM person_yard WHERE person_id = $1))
             ORDER BY g.since, m.id LIMIT $4",
            &[&viewer, &all_yards, &yard.to_owned(), &most],
        )
        .await
    }

    /// Open monitored defects, the one whose watch ends first on top.
    pub async fn monitored(
        &mut self,
        viewer: PersonId,
        all_yards: bool,
        yard: &str,
        most: i64,
    ) -> Result<Vec<MonitoredRow>> {
        self.all(
            "SELECT d.id AS defect_id, m.id AS machine_id, m.unit_number, m.class, m.yard_id, y.name AS yard_name, y.zone, d.what,
                d.found_at, d.good_until_at, d.good_until_hours, m.engine_hours
             FROM defect d JOIN machine m ON m.id = d.machine_id JOIN yard y ON y.id = m.yard_id
             WHERE d.closed_at IS NULL AND d.severity = 'monitor' AND m.retired_at IS NULL AND ($3 = '' OR y.name = $3)
               AND ($2 OR m.yard_id IN (SELECT yard_id FROM person_yard WHERE person_id = $1))
             ORDER BY d.good_until_at IS NULL, d.good_until_at, d.found_at LIMIT $4",
            &[&viewer, &all_yards, &yard.to_owned(), &most],
        )
        .await
    }

    pub async fn class_counts(
        &mut self,
        viewer: PersonId,
        all_yards: bool,
        yard: &str,
    ) -> Result<Vec<ClassCount>> {
        self.all(
            // Those that can be used are counted in an index of their own, those that cannot are few: no row of a machine is read
            // to say how many there are.
            "SELECT y.name AS yard_name, y.zone, c.class, CAST(SUM(c.fit + c.held) AS BIGINT) AS machines,
                CAST(SUM(c.held) AS BIGINT) AS out_of_service,
                CAST(COALESCE(MAX(n.needed), 0) AS BIGINT) AS needed
             FROM (SELECT yard_id, class, COUNT(*) AS fit, 0 AS held FROM machine
                   WHERE retired_at IS NULL AND open_holds = 0 GROUP BY yard_id, class
                   UNION ALL
                   SELECT m.yard_id, m.class, 0 AS fit, COUNT(*) AS held
                   FROM (SELECT DISTINCT machine_id FROM hold WHERE lifted_at IS NULL) g
                   JOIN machine m ON m.id = g.machine_id WHERE m.retired_at IS NULL GROUP BY m.yard_id, m.class) c
             JOIN yard y ON y.id = c.yard_id
             LEFT JOIN yard_need n ON n.yard_id = c.yard_id AND n.class = c.class
             WHERE ($3 = '' OR y.name = $3)
               AND ($2 OR c.yard_id IN (SELECT yard_id FROM person_yard WHERE person_id = $1))
             GROUP BY y.name, y.zone, c.class ORDER BY y.name, c.class",
            &[&viewer, &all_yards, &yard.to_owned()],
        )
        .await
    }

    /// When machines out of service are likely back. Of one with several orders the last; of one of which nothing is
    /// foreseen, nothing.
    pub async fn likely_returns(&mut self, viewer: PersonId, all_yards: bool) -> Result<Vec<ComingRow>> {
        self.all(
            "SELECT y.name AS yard_name, y.zone, m.class, MAX(f.likely_by) AS at
             FROM (SELECT DISTINCT machine_id FROM hold WHERE lifted_at IS NULL) g
             JOIN machine m ON m.id = g.machine_id JOIN yard y ON y.id = m.yard_id
             JOIN work_order w ON w.machine_id = m.id AND w.held
                AND w.state IN ('queued', 'claimed', 'in work', 'waiting', 'work done')
             LEFT JOIN forecast_now f ON f.work_order_id = w.id
             WHERE m.retired_at IS NULL
               AND ($2 OR m.yard_id IN (SELECT yard_id FROM person_yard WHERE person_id = $1))
             GROUP BY m.id, y.name, y.zone, m.class HAVING COUNT(*) = COUNT(f.likely_by)",
            &[&viewer, &all_yards],
        )
        .await
    }

    /// When machines that can be used now lose that, unless somebody looks after them first.
    pub async fn watches_that_end(
        &mut self,
        viewer: PersonId,
        all_yards: bool,
        until: DateTime<Utc>,
    ) -> Result<Vec<ComingRow>> {
        self.all(
            "SELECT y.name AS yard_name, y.zone, m.class, MIN(d.good_until_at) AS at
             FROM defect d JOIN machine m ON m.id = d.machine_id JOIN yard y ON y.id = m.yard_id
             WHERE d.closed_at IS NULL AND d.severity = 'monitor' AND d.good_until_at <= $3
               AND m.retired_at IS NULL AND m.open_holds = 0
               AND ($2 OR m.yard_id IN (SELECT yard_id FROM person_yard WHERE person_id = $1))
             GROUP BY m.id, y.name, y.zone, m.class",
            &[&viewer, &all_yards, &until],
        )
        .await
    }

    /// Machines that can be used, whose meter moved since a moment and since their last check; the newest first.
    pub async fn moved_unchecked(
        &mut self,
        viewer: PersonId,
        all_yards: bool,
        yard: &str,
        since: DateTime<Utc>,
        most: i64,
    ) -> Result<Vec<MovedRow>> {
        self.all(
            "SELECT k.machine_id, m.unit_number, m.class, y.name AS yard_name, y.zone, k.at, k.before, k.hours,
                (SELECT MAX(c.recorded_at) FROM pre_use_check c WHERE c.machine_id = m.id) AS last_check_at
             FROM meter_moved k CROSS JOIN machine m JOIN yard y ON y.id = m.yard_id
             WHERE m.id = k.machine_id AND k.at >= $4 AND m.retired_at IS NULL AND m.open_holds = 0 AND ($3 = '' OR y.name = $3)
               AND ($2 OR m.yard_id IN (SELECT yard_id FROM person_yard WHERE person_id = $1))
             ORDER BY k.at DESC, m.id LIMIT $5",
            &[&viewer, &all_yards, &yard.to_owned(), &since, &most],
        )
        .await
    }

    pub async fn meter_moved(
        &mut self,
        machine: MachineId,
        before: Hours,
        hours: Hours,
        now: DateTime<Utc>,
    ) -> Result<()> {
        self.run(
            "INSERT INTO meter_moved (machine_id, at, before, hours) VALUES ($1, $2, $3, $4)
             ON CONFLICT (machine_id) DO UPDATE SET at = excluded.at, before = excluded.before, hours = excluded.hours",
            &[&machine, &now, &before, &hours],
        )
        .await?;
        Ok(())
    }
}
