//! Yards, machines, and the standing that follows from what is open on a machine.

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use sqlx::FromRow;

use super::{Result, Tx};
use crate::domain::ids::{MachineId, PersonId, YardId};
use crate::domain::standing::Standing;
use crate::domain::unit::Hours;

#[derive(Clone, Debug, FromRow)]
pub struct YardRow {
    pub id: YardId,
    pub name: String,
    /// IANA zone, checked when it was set.
    pub zone: String,
    pub one_person: bool,
    /// Metres above sea level.
    pub altitude_m: Option<i64>,
}

#[derive(Clone, Debug, FromRow)]
pub struct MachineRow {
    pub id: MachineId,
    pub yard_id: YardId,
    pub unit_number: String,
    pub class: String,
    pub description: String,
    pub serial: String,
    pub engine_hours: Option<Hours>,
    pub retired_at: Option<DateTime<Utc>>,
    pub version: i64,
}

/// A machine in a list, with what its standing derives from.
#[derive(Clone, Debug, FromRow)]
pub struct MachineStanding {
    pub id: MachineId,
    pub yard_id: YardId,
    pub yard_name: String,
    pub unit_number: String,
    pub class: String,
    pub description: String,
    pub engine_hours: Option<Hours>,
    pub retired: bool,
    pub open_holds: i64,
    pub open_monitored: i64,
}

/// Which machines a list shows; what is empty narrows nothing.
#[derive(Clone, Debug, Default)]
pub struct MachineFilter {
    /// Start of the key that a unit number is looked up by.
    pub key: String,
    /// The yard's name.
    pub yard: String,
    pub class: String,
    pub standing: Option<Standing>,
}

/// A line of the machine list.
#[derive(Clone, Debug, FromRow)]
pub struct ListedMachine {
    pub unit_key: String,
    #[sqlx(flatten)]
    pub machine: MachineStanding,
    /// Of its yard.
    pub zone: String,
    pub last_check_at: Option<DateTime<Utc>>,
    pub last_check_by: Option<String>,
}

impl YardRow {
    pub fn zone(&self) -> Tz {
        self.zone.parse().unwrap_or(Tz::UTC)
    }
}

impl MachineStanding {
    pub fn standing(&self) -> Standing {
        Standing::derive(self.retired, self.open_holds, self.open_monitored)
    }
}

const YARD_BY_ID: &str = "SELECT id, name, zone, one_person, altitude_m FROM yard WHERE id = $1";
pub(super) const YARD_OF_MACHINE: &str = "SELECT id, name, zone, one_person, altitude_m FROM yard
    WHERE id = (SELECT yard_id FROM machine WHERE id = $1)";
pub(super) const MACHINE_BY_ID: &str =
    "SELECT id, yard_id, unit_number, class, description, serial, engine_hours, retired_at, version
    FROM machine WHERE id = $1";

impl Tx {
    pub async fn class_of(&mut self, machine: MachineId) -> Result<String> {
        let (class,): (String,) = self.one("SELECT class FROM machine WHERE id = $1", &[&machine]).await?;
        Ok(class)
    }

    pub async fn insert_yard(
        &mut self,
        id: YardId,
        name: &str,
        zone: &str,
        one_person: bool,
        altitude_m: Option<i64>,
        now: DateTime<Utc>,
    ) -> Result<()> {
        self.run(
            "INSERT INTO yard (id, name, zone, one_person, altitude_m, created_at) VALUES ($1, $2, $3, $4, $5, $6)",
            &[&id, &name.to_owned(), &zone.to_owned(), &one_person, &altitude_m, &now],
        )
        .await?;
        Ok(())
    }

    pub async fn set_one_person(&mut self, id: YardId, one_person: bool) -> Result<()> {
        super::guarded(self.run("UPDATE yard SET one_person = $2 WHERE id = $1", &[&id, &one_person]).await?)
    }

    pub async fn set_altitude(&mut self, id: YardId, altitude_m: Option<i64>) -> Result<()> {
        super::guarded(self.run("UPDATE yard SET altitude_m = $2 WHERE id = $1", &[&id, &altitude_m]).await?)
    }

    pub async fn yard(&mut self, id: YardId) -> Result<Option<YardRow>> {
        self.maybe(YARD_BY_ID, &[&id]).await
    }

    pub async fn yards(&mut self) -> Result<Vec<YardRow>> {
        self.all("SELECT id, name, zone, one_person, altitude_m FROM yard ORDER BY name", &[]).await
    }

    pub async fn set_yard_need(&mut self, yard: YardId, class: &str, needed: i64) -> Result<()> {
        self.run(
            "INSERT INTO yard_need (yard_id, class, needed) VALUES ($1, $2, $3)
             ON CONFLICT (yard_id, class) DO UPDATE SET needed = excluded.needed",
            &[&yard, &class.to_owned(), &needed],
        )
        .await?;
        Ok(())
    }

    #[expect(clippy::too_many_arguments, reason = "one argument a column")]
    pub async fn insert_machine(
        &mut self,
        id: MachineId,
        yard: YardId,
        unit_number: &str,
        unit_key: &str,
        class: &str,
        description: &str,
        serial: &str,
        engine_hours: Option<Hours>,
        now: DateTime<Utc>,
    ) -> Result<()> {
        self.run(
            "INSERT INTO machine (id, yard_id, unit_number, unit_key, class, description, serial, engine_hours, created_at)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
            &[
                &id,
                &yard,
                &unit_number.to_owned(),
                &unit_key.to_owned(),
                &class.to_owned(),
                &description.to_owned(),
                &serial.to_owned(),
                &engine_hours,
                &now,
            ],
        )
        .await?;
        Ok(())
    }

    /// Locks the machine and loads it: from here to the commit nobody else changes its defects, holds or work orders.
    pub async fn machine_for_change(&mut self, id: MachineId) -> Result<Option<MachineRow>> {
        self.maybe(
            "UPDATE machine SET version = version + 1 WHERE id = $1
             RETURNING id, yard_id, unit_number, class, description, serial, engine_hours, retired_at, version",
            &[&id],
        )
        .await
    }

    /// Locks the machine as [`Tx::machine_for_change`] does, if it is still as it was read: nobody has changed its defects,
    /// holds or work orders since. Else [`super::StorageError::Changed`], perhaps only at the next question or the commit.
    /// Writes down what the meter shows, where that is known.
    pub async fn lock_unchanged(&mut self, machine: &MachineRow, hours: Option<Hours>) -> Result<()> {
        let same = "UPDATE machine SET version = version + 1, engine_hours = COALESCE($3, engine_hours)
             WHERE id = $1 AND version = $2";
        self.later_guarded(same, &[&machine.id, &machine.version, &hours]).await
    }

    pub async fn machine(&mut self, id: MachineId) -> Result<Option<MachineRow>> {
        self.maybe(MACHINE_BY_ID, &[&id]).await
    }

    pub async fn machine_by_key(&mut self, unit_key: &str) -> Result<Option<MachineRow>> {
        self.maybe(
            "SELECT id, yard_id, unit_number, class, description, serial, engine_hours, retired_at, version
             FROM machine WHERE unit_key = $1",
            &[&unit_key.to_owned()],
        )
        .await
    }

    /// What the unit number is looked up by.
    pub async fn unit_key(&mut self, id: MachineId) -> Result<Option<String>> {
        let row: Option<(String,)> = self.maybe("SELECT unit_key FROM machine WHERE id = $1", &[&id]).await?;
        Ok(row.map(|r| r.0))
    }

    pub async fn set_engine_hours(&mut self, id: MachineId, hours: Hours) -> Result<()> {
        self.run("UPDATE machine SET engine_hours = $2 WHERE id = $1", &[&id, &hours]).await?;
        Ok(())
    }

    pub async fn set_retired(&mut self, id: MachineId, at: Option<DateTime<Utc>>) -> Result<()> {
        self.run("UPDATE machine SET retired_at = $2 WHERE id = $1", &[&id, &at]).await?;
        Ok(())
    }

    /// Machines the viewer may see, in order of unit number, after `after` (a unit key; empty for the first page).
    pub async fn machines_seen_by(
        &mut self,
        viewer: PersonId,
        all_yards: bool,
        after: &str,
        most: i64,
    ) -> Result<Vec<(String, MachineStanding)>> {
        #[derive(FromRow)]
        struct Row {
            unit_key: String,
            #[sqlx(flatten)]
            machine: MachineStanding,
        }
        let rows: Vec<Row> = self
            .all(
                "SELECT m.unit_key, m.id, m.yard_id, y.name AS yard_name, m.unit_number, m.class, m.description, m.engine_hours,
                        m.retired_at IS NOT NULL AS retired,
                        (SELECT COUNT(*) FROM hold h WHERE h.machine_id = m.id AND h.lifted_at IS NULL) AS open_holds,
                        (SELECT COUNT(*) FROM defect d WHERE d.machine_id = m.id AND d.closed_at IS NULL
                           AND d.severity = 'monitor') AS open_monitored
                 FROM machine m JOIN yard y ON y.id = m.yard_id
                 WHERE ($2 OR m.yard_id IN (SELECT yard_id FROM person_yard WHERE person_id = $1))
                   AND m.unit_key > $3
                 ORDER BY m.unit_key LIMIT $4",
                &[&viewer, &all_yards, &after.to_owned(), &most],
            )
            .await?;
        Ok(rows.into_iter().map(|r| (r.unit_key, r.machine)).collect())
    }

    /// Unit number and class of machines in use that the viewer may see and no checklist covers.
    pub async fn machines_not_covered(
        &mut self,
        viewer: PersonId,
        all_yards: bool,
        most: i64,
    ) -> Result<Vec<(String, String)>> {
        self.all(
            "SELECT m.unit_number, m.class FROM machine m
             WHERE m.retired_at IS NULL
               AND ($2 OR m.yard_id IN (SELECT yard_id FROM person_yard WHERE person_id = $1))
               AND NOT EXISTS (SELECT 1 FROM checklist_class k JOIN checklist c ON c.id = k.checklist_id
                               WHERE k.class = m.class AND c.retired_at IS NULL)
             ORDER BY m.unit_key LIMIT $3",
            &[&viewer, &all_yards, &most],
        )
        .await
    }

    /// Machines the viewer may see and that are not retired, in order of unit number.
    pub async fn machines_in_use_seen_by(
        &mut self,
        viewer: PersonId,
        all_yards: bool,
        most: i64,
    ) -> Result<Vec<MachineStanding>> {
        self.all(
            "SELECT m.id, m.yard_id, y.name AS yard_name, m.unit_number, m.class, m.description, m.engine_hours,
                    FALSE AS retired,
                    (SELECT COUNT(*) FROM hold h WHERE h.machine_id = m.id AND h.lifted_at IS NULL) AS open_holds,
                    (SELECT COUNT(*) FROM defect d WHERE d.machine_id = m.id AND d.closed_at IS NULL
                       AND d.severity = 'monitor') AS open_monitored
             FROM machine m JOIN yard y ON y.id = m.yard_id
             WHERE m.retired_at IS NULL
               AND ($2 OR m.yard_id IN (SELECT yard_id FROM person_yard WHERE person_id = $1))
             ORDER BY m.unit_key LIMIT $3",
            &[&viewer, &all_yards, &most],
        )
        .await
    }

    /// One page of the machines a viewer may see, narrowed, in the order of their unit numbers, after `after`.
    pub async fn listed_machines(
        &mut self,
        viewer: PersonId,
        all_yards: bool,
        filter: &MachineFilter,
        after: &str,
        most: i64,
    ) -> Result<Vec<ListedMachine>> {
        let standing = filter.standing.map(|s| s.to_string()).unwrap_or_default();
        self.all(
            "SELECT * FROM (
                SELECT m.unit_key, m.id, m.yard_id, y.name AS yard_name, y.zone, m.unit_number, m.class, m.description,
                       m.engine_hours, m.retired_at IS NOT NULL AS retired,
                       (SELECT COUNT(*) FROM hold h WHERE h.machine_id = m.id AND h.lifted_at IS NULL) AS open_holds,
                       (SELECT COUNT(*) FROM defect d WHERE d.machine_id = m.id AND d.closed_at IS NULL
                          AND d.severity = 'monitor') AS open_monitored,
                       (SELECT c.recorded_at FROM pre_use_check c WHERE c.machine_id = m.id
                          ORDER BY c.recorded_at DESC LIMIT 1) AS last_check_at,
                       (SELECT p.name FROM pre_use_check c JOIN person p ON p.id = c.operator_id
                          WHERE c.machine_id = m.id ORDER BY c.recorded_at DESC LIMIT 1) AS last_check_by
                FROM machine m JOIN yard y ON y.id = m.yard_id
                WHERE ($2 OR m.yard_id IN (SELECT yard_id FROM person_yard WHERE person_id = $1))
                  AND m.unit_key > $3 AND m.unit_key LIKE $5 AND ($6 = '' OR y.name = $6) AND ($7 = '' OR m.class = $7)
             ) listed
             WHERE $8 = '' OR $8 = CASE WHEN retired THEN 'retired' WHEN open_holds > 0 THEN 'out of service'
                                        WHEN open_monitored > 0 THEN 'monitored' ELSE 'fit for use' END
             ORDER BY unit_key LIMIT $4",
            &[
                &viewer,
                &all_yards,
                &after.to_owned(),
                &most,
                // A key has letters and digits only, so nothing in it is a pattern.
                &format!("{}%", filter.key),
                &filter.yard,
                &filter.class,
                &standing,
            ],
        )
        .await
    }

    pub async fn machine_standing(&mut self, id: MachineId) -> Result<Option<MachineStanding>> {
        self.maybe(
            "SELECT m.id, m.yard_id, y.name AS yard_name, m.unit_number, m.class, m.description, m.engine_hours,
                    m.retired_at IS NOT NULL AS retired,
                    (SELECT COUNT(*) FROM hold h WHERE h.machine_id = m.id AND h.lifted_at IS NULL) AS open_holds,
                    (SELECT COUNT(*) FROM defect d WHERE d.machine_id = m.id AND d.closed_at IS NULL
                       AND d.severity = 'monitor') AS open_monitored
             FROM machine m JOIN yard y ON y.id = m.yard_id WHERE m.id = $1",
            &[&id],
        )
        .await
    }

    /// Whether a machine that the viewer sees has the class, in use or not.
    pub async fn class_seen(&mut self, viewer: PersonId, all_yards: bool, class: &str) -> Result<bool> {
        let found: Option<(i64,)> = self
            .maybe(
                "SELECT CAST(1 AS BIGINT) FROM machine WHERE class = $3
                   AND ($2 OR yard_id IN (SELECT yard_id FROM person_yard WHERE person_id = $1)) LIMIT 1",
                &[&viewer, &all_yards, &class.to_owned()],
            )
            .await?;
        Ok(found.is_some())
    }

    pub async fn classes(&mut self) -> Result<Vec<String>> {
        let rows: Vec<(String,)> = self.all("SELECT DISTINCT class FROM machine ORDER BY class", &[]).await?;
        Ok(rows.into_iter().map(|r| r.0).collect())
    }
}
