//! Yards, machines, and the standing that follows from what is open on a machine.

use chrono::{DateTime, Utc};
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

impl MachineStanding {
    pub fn standing(&self) -> Standing {
        Standing::derive(self.retired, self.open_holds, self.open_monitored)
    }
}

impl Tx {
    pub async fn insert_yard(
        &mut self,
        id: YardId,
        name: &str,
        zone: &str,
        one_person: bool,
        now: DateTime<Utc>,
    ) -> Result<()> {
        self.run(
            "INSERT INTO yard (id, name, zone, one_person, created_at) VALUES ($1, $2, $3, $4, $5)",
            &[&id, &name.to_owned(), &zone.to_owned(), &one_person, &now],
        )
        .await?;
        Ok(())
    }

    pub async fn set_one_person(&mut self, id: YardId, one_person: bool) -> Result<()> {
        super::guarded(self.run("UPDATE yard SET one_person = $2 WHERE id = $1", &[&id, &one_person]).await?)
    }

    pub async fn yard(&mut self, id: YardId) -> Result<Option<YardRow>> {
        self.maybe("SELECT id, name, zone, one_person FROM yard WHERE id = $1", &[&id]).await
    }

    pub async fn yards(&mut self) -> Result<Vec<YardRow>> {
        self.all("SELECT id, name, zone, one_person FROM yard ORDER BY name", &[]).await
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

    pub async fn machine(&mut self, id: MachineId) -> Result<Option<MachineRow>> {
        self.maybe(
            "SELECT id, yard_id, unit_number, class, description, serial, engine_hours, retired_at, version
             FROM machine WHERE id = $1",
            &[&id],
        )
        .await
    }

    pub async fn machine_by_key(&mut self, unit_key: &str) -> Result<Option<MachineRow>> {
        self.maybe(
            "SELECT id, yard_id, unit_number, class, description, serial, engine_hours, retired_at, version
             FROM machine WHERE unit_key = $1",
            &[&unit_key.to_owned()],
        )
        .await
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

    pub async fn classes(&mut self) -> Result<Vec<String>> {
        let rows: Vec<(String,)> = self.all("SELECT DISTINCT class FROM machine ORDER BY class", &[]).await?;
        Ok(rows.into_iter().map(|r| r.0).collect())
    }
}
