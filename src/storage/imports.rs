//! What a file is held against, and what only files change.

use chrono::{DateTime, Utc};
use sqlx::FromRow;

use super::{Result, Tx};
use crate::domain::ids::{MachineId, PartId, PersonId, YardId};
use crate::domain::unit::Hours;

#[derive(Clone, Debug, FromRow)]
pub struct KnownMachine {
    pub id: MachineId,
    pub unit_key: String,
    pub unit_number: String,
    pub yard_id: YardId,
    pub class: String,
    pub description: String,
    pub serial: String,
    pub engine_hours: Option<Hours>,
    pub retired_at: Option<DateTime<Utc>>,
    pub created_at: DateTime<Utc>,
}

#[derive(Clone, Debug, FromRow)]
pub struct KnownPart {
    pub id: PartId,
    pub number: String,
    pub name: String,
    pub unit: String,
}

/// What a yard has of a part.
#[derive(Clone, Debug, FromRow)]
pub struct KnownStock {
    pub part_id: PartId,
    pub yard_id: YardId,
    pub bin: String,
    pub on_hand: i64,
    pub worth_minor: i64,
    /// At which more is ordered.
    pub level: Option<i64>,
    /// Something stands in its ledger.
    pub moved: bool,
}

/// The hour meter as it was read once.
#[derive(Clone, Copy, Debug, PartialEq, Eq, FromRow)]
pub struct KnownReading {
    pub machine_id: MachineId,
    pub at: DateTime<Utc>,
    pub hours: Hours,
}

impl Tx {
    pub async fn known_machines(&mut self) -> Result<Vec<KnownMachine>> {
        self.all(
            "SELECT id, unit_key, unit_number, yard_id, class, description, serial, engine_hours, retired_at, created_at
             FROM machine ORDER BY unit_key",
            &[],
        )
        .await
    }

    pub async fn change_machine(
        &mut self,
        id: MachineId,
        class: &str,
        description: &str,
        serial: &str,
    ) -> Result<()> {
        self.run(
            "UPDATE machine SET class = $2, description = $3, serial = $4 WHERE id = $1",
            &[&id, &class.to_owned(), &description.to_owned(), &serial.to_owned()],
        )
        .await?;
        // Their place in the queue goes by the class.
        self.run(
            "UPDATE work_order SET class = $2
             WHERE machine_id = $1 AND state IN ('queued', 'claimed', 'in work', 'waiting', 'work done')",
            &[&id, &class.to_owned()],
        )
        .await?;
        Ok(())
    }

    pub async fn known_parts(&mut self) -> Result<Vec<KnownPart>> {
        self.all("SELECT id, number, name, unit FROM part ORDER BY number", &[]).await
    }

    pub async fn known_stock(&mut self) -> Result<Vec<KnownStock>> {
        self.all(
            "SELECT k.part_id, k.yard_id, k.bin, k.on_hand, k.worth_minor, k.level,
                    EXISTS (SELECT 1 FROM stock_movement s WHERE s.part_id = k.part_id AND s.yard_id = k.yard_id) AS moved
             FROM stock k",
            &[],
        )
        .await
    }

    pub async fn rename_part(&mut self, id: PartId, name: &str) -> Result<()> {
        self.run("UPDATE part SET name = $2 WHERE id = $1", &[&id, &name.to_owned()]).await?;
        Ok(())
    }

    /// Everything known of a machine's hour meter, oldest first.
    pub async fn meter_series(&mut self, machine: MachineId) -> Result<Vec<KnownReading>> {
        self.all(
            "SELECT machine_id, read_at AS at, engine_hours AS hours FROM meter_reading WHERE machine_id = $1
             UNION
             SELECT machine_id, recorded_at AS at, engine_hours AS hours FROM pre_use_check
             WHERE machine_id = $1 AND engine_hours IS NOT NULL
             ORDER BY 2, 3",
            &[&machine],
        )
        .await
    }

    /// Keeps a reading; the same one again changes nothing.
    pub async fn insert_meter_reading(
        &mut self,
        machine: MachineId,
        at: DateTime<Utc>,
        hours: Hours,
        by: PersonId,
        now: DateTime<Utc>,
    ) -> Result<()> {
        self.run(
            "INSERT INTO meter_reading (machine_id, read_at, engine_hours, by_id, taken_at)
             VALUES ($1, $2, $3, (SELECT id FROM person WHERE id = $4), $5)
             ON CONFLICT (machine_id, read_at) DO NOTHING",
            &[&machine, &at, &hours, &by, &now],
        )
        .await?;
        Ok(())
    }
}
