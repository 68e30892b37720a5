//! What years leave behind: machines, repairs that are over and a few that are not, and checks. Written past the workflows:
//! as checks it would take days.

use chock::domain::ids::{MachineId, PersonId, YardId};
use chock::storage::Param;
use chock::workflow::Workshop;
use chrono::{DateTime, TimeDelta, Utc};
use uuid::Uuid;

use crate::Outcome;
use crate::bare::Bare;
use crate::world::{Engine, World};

/// Over how long the past is scattered.
pub const YEARS: i64 = 5;
/// Every fiftieth machine is out of service.
pub const GROUNDED: usize = 50;
/// What one repair that is over leaves: its order, defect and hold, and three spells of the order.
pub const ROWS_A_REPAIR: usize = 6;

/// A world with so many machines besides its one, and so many repairs that are over.
pub async fn with_past(engine: Engine, machines: usize, past: usize) -> Outcome<World> {
    let world = World::new(engine, 1).await?;
    let w = &world.workshop;
    w.db.relax_durability().await?;
    let now = w.ambient.now();
    let fleet: Vec<Made> = (0..machines).map(|n| Made::new(w, &world, n, now)).collect();
    for part in fleet.chunks(1_000) {
        let mut tx = w.db.begin().await?;
        let rows: Vec<Vec<&dyn Param>> = part.iter().map(Made::row).collect();
        let into = "machine (id, yard_id, unit_number, unit_key, class, description, serial, created_at, open_holds)";
        tx.insert_rows(into, &rows).await?;
        tx.commit().await?;
    }
    let open = (0..machines).step_by(GROUNDED).map(|n| Repair::open(w, &fleet[n], &world, n, now));
    let open: Vec<Repair> = open.collect();
    insert(w, &open).await?;
    let bare = Bare::strip(&world, &["work_order", "defect", "hold", "order_spell"]).await?;
    for from in (0..past).step_by(2_000) {
        let until = (from + 2_000).min(past);
        let repairs: Vec<Repair> =
            (from..until).map(|n| Repair::past(w, &fleet[n % machines], &world, machines + n, now)).collect();
        insert(w, &repairs).await?;
    }
    bare.dress(&world).await?;
    known(w).await?;
    Ok(world)
}

struct Made {
    id: MachineId,
    yard: YardId,
    unit: String,
    class: &'static str,
    class_kept: String,
    empty: String,
    at: DateTime<Utc>,
    holds: i64,
}

impl Made {
    fn new(w: &Workshop, world: &World, n: usize, now: DateTime<Utc>) -> Self {
        let class = ["utility vehicle", "quad", "compact tractor", "telehandler"][n % 4];
        Self {
            id: w.ambient.id(),
            yard: world.yard,
            unit: format!("Z{n}"),
            class,
            class_kept: class.to_owned(),
            empty: String::new(),
            at: now - TimeDelta::days(365 * YEARS + 30),
            holds: i64::from(n.is_multiple_of(GROUNDED)),
        }
    }

    fn row(&self) -> Vec<&dyn Param> {
        let e = &self.empty;
        vec![&self.id, &self.yard, &self.unit, &self.unit, &self.class_kept, e, e, &self.at, &self.holds]
    }
}

/// A defect, its hold, its work order and what that was at.
struct Repair {
    machine: MachineId,
    yard: YardId,
    by: PersonId,
    ids: [Uuid; 4],
    number: i64,
    class: String,
    words: [String; 9],
    states: [String; 3],
    found: DateTime<Utc>,
    begun: DateTime<Utc>,
    done: Option<DateTime<Utc>>,
    lifted: Option<DateTime<Utc>>,
    lifted_by: Option<PersonId>,
    release: Option<Uuid>,
    state: String,
    minutes: i64,
    due: DateTime<Utc>,
    cost: i64,
}

impl Repair {
    fn open(w: &Workshop, m: &Made, world: &World, n: usize, now: DateTime<Utc>) -> Self {
        let number = i64::try_from(n).unwrap_or_default() + 1;
        Self::new(w, m, world, number, now - TimeDelta::hours(1 + number % 90), None)
    }

    fn past(w: &Workshop, m: &Made, world: &World, n: usize, now: DateTime<Utc>) -> Self {
        let number = i64::try_from(n).unwrap_or_default() + 1;
        // Scattered over the years, and the same in every run.
        let found = now - TimeDelta::minutes(5 * 24 * 60 + number * 15_485_863 % (365 * YEARS * 24 * 60));
        Self::new(w, m, world, number, found, Some(found + TimeDelta::minutes(60 + number * 7_919 % 5_000)))
    }

    fn new(
        w: &Workshop,
        m: &Made,
        world: &World,
        number: i64,
        found: DateTime<Utc>,
        lifted: Option<DateTime<Utc>>,
    ) -> Self {
        let systems = ["brakes", "fuel", "electrical", "cooling", "steering"];
        let system = systems[usize::try_from(number % 5).unwrap_or_default()];
        let state = if lifted.is_some() { "closed" } else { "held" };
        let words = ["Fails", system, "item", "unladen", "out of service", state, "rule", "[]", ""];
        let new = || w.ambient.id::<MachineId>().0;
        Self {
            machine: m.id,
            yard: m.yard,
            by: world.operator.id,
            ids: [new(), new(), new(), new()],
            number,
            class: m.class.to_owned(),
            words: words.map(str::to_owned),
            states: ["queued", "in work", "closed"].map(str::to_owned),
            found,
            begun: found + lifted.map_or(TimeDelta::zero(), |l| (l - found) / 3),
            done: lifted,
            lifted,
            lifted_by: lifted.map(|_| world.operator.id),
            release: lifted.map(|_| new()),
            state: if lifted.is_some() { "closed" } else { "queued" }.to_owned(),
            minutes: 60,
            due: found + TimeDelta::days(9_000),
            cost: 1_000 + number * 104_729 % 50_000,
        }
    }

    fn order(&self) -> Vec<&dyn Param> {
        vec![
            &self.ids[0],
            &self.number,
            &self.machine,
            &self.yard,
            &self.state,
            &self.found,
            &self.done,
            &self.lifted,
            &self.cost,
            &self.class,
            &self.minutes,
            &self.due,
        ]
    }

    fn defect(&self) -> Vec<&dyn Param> {
        let [what, system, item, load, severity, state, rule, list, empty] = &self.words;
        vec![
            &self.ids[1],
            &self.machine,
            &self.yard,
            what,
            system,
            item,
            load,
            severity,
            state,
            rule,
            &false,
            empty,
            empty,
            list,
            list,
            &self.by,
            &self.ids[0],
            &self.found,
            &self.found,
            &self.lifted,
        ]
    }

    fn hold(&self) -> Vec<&dyn Param> {
        vec![
            &self.ids[2],
            &self.machine,
            &self.yard,
            &self.ids[1],
            &self.words[0],
            &self.by,
            &self.found,
            &self.found,
            &self.lifted,
            &self.lifted_by,
            &self.release,
        ]
    }

    fn spells(&self) -> Vec<Vec<&dyn Param>> {
        let mut rows: Vec<Vec<&dyn Param>> =
            vec![vec![&self.ids[0], &self.found, &self.machine, &self.states[0]]];
        if let Some(lifted) = &self.lifted {
            rows.push(vec![&self.ids[0], &self.begun, &self.machine, &self.states[1]]);
            rows.push(vec![&self.ids[0], lifted, &self.machine, &self.states[2]]);
        }
        rows
    }
}

async fn insert(w: &Workshop, repairs: &[Repair]) -> Outcome {
    let mut tx = w.db.begin().await?;
    let rows: Vec<Vec<&dyn Param>> = repairs.iter().map(Repair::order).collect();
    tx.insert_rows(
        "work_order (id, number, machine_id, yard_id, state, opened_at, done_at, closed_at, cost_minor, class,
            remaining_minutes, due_at)",
        &rows,
    )
    .await?;
    let rows: Vec<Vec<&dyn Param>> = repairs.iter().map(Repair::defect).collect();
    tx.insert_rows(
        "defect (id, machine_id, yard_id, what, system, item, load, severity, state, rule, final, why, instruction,
            supporting, failed, reported_by, work_order_id, found_at, raised_at, closed_at)",
        &rows,
    )
    .await?;
    let rows: Vec<Vec<&dyn Param>> = repairs.iter().map(Repair::hold).collect();
    tx.insert_rows(
        "hold (id, machine_id, yard_id, defect_id, reason, placed_by, since, placed_at, lifted_at, lifted_by, release_id)",
        &rows,
    )
    .await?;
    let rows: Vec<Vec<&dyn Param>> = repairs.iter().flat_map(Repair::spells).collect();
    tx.insert_rows("order_spell (work_order_id, from_at, machine_id, state)", &rows).await?;
    tx.commit().await?;
    Ok(())
}

/// One a day and machine, five days of seven.
pub async fn checks(world: &World) -> Outcome {
    let w = &world.workshop;
    let now = w.ambient.now();
    let machines: Vec<(MachineId,)> = w.db.read().await?.all("SELECT id FROM machine", &[]).await?;
    let (load, empty, verdict) = ("unladen".to_owned(), String::new(), "fit for use".to_owned());
    for day in (1..365 * YEARS).filter(|d| d % 7 < 5) {
        let at = now - TimeDelta::days(day);
        let hours = (365 * YEARS - day) * 60;
        let ids: Vec<Uuid> = machines.iter().map(|_| w.ambient.id::<MachineId>().0).collect();
        let rows: Vec<Vec<&dyn Param>> = ids
            .iter()
            .zip(&machines)
            .map(|(id, (machine,))| {
                let row: Vec<&dyn Param> = vec![
                    id,
                    machine,
                    &world.checklist_id,
                    &world.operator.id,
                    &load,
                    &hours,
                    &empty,
                    &empty,
                    &empty,
                    &verdict,
                    &at,
                    &at,
                ];
                row
            })
            .collect();
        let mut tx = w.db.begin().await?;
        tx.insert_rows(
            "pre_use_check (id, machine_id, checklist_id, operator_id, load, engine_hours, note, answers, fingerprint,
                verdict, recorded_at, received_at)",
            &rows,
        )
        .await?;
        tx.commit().await?;
    }
    known(w).await?;
    Ok(())
}

/// PostgreSQL finds out by itself how large its tables are, some time later. Chock never lets SQLite look, and so it does not here.
pub async fn known(w: &Workshop) -> Outcome {
    if w.db.is_sqlite() {
        return Ok(());
    }
    let mut tx = w.db.begin().await?;
    tx.run("ANALYZE", &[]).await?;
    tx.commit().await?;
    Ok(())
}
