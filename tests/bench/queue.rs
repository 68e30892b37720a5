//! The queue's first page with 100,000 open work orders against the same with 1,000: only what is shown may cost. Both take
//! turns in one run; what is read and ranked is measured, which is all that could grow.

use std::time::Instant;

use chock::domain::ids::{DefectId, MachineId, WorkOrderId};
use chock::storage::Param;
use chock::workflow;
use chrono::{DateTime, TimeDelta, Utc};

use crate::report::{Aim, Report, median};
use crate::world::{Engine, World};
use crate::{Outcome, Plan};

const FEW: usize = 1_000;
const MANY: usize = 100_000;
const CLASSES: [&str; 5] = ["utility vehicle", "quad", "compact tractor", "telehandler", "tracked carrier"];

pub async fn measure(plan: &Plan, engine: Engine, report: &mut Report) -> Outcome {
    let name = engine.name();
    let worlds = [with_orders(engine, FEW).await?, with_orders(engine, MANY).await?];
    let mut times: [Vec<f64>; 2] = Default::default();
    let mut ratios = Vec::new();
    for _ in 0..plan.rounds {
        let mut round: [Vec<f64>; 2] = Default::default();
        let start = Instant::now();
        while start.elapsed() < plan.window {
            for (world, samples) in worlds.iter().zip(&mut round) {
                let at = Instant::now();
                let found = workflow::queue(&world.workshop, &world.owner, 1).await?;
                workflow::away(&world.workshop, &world.owner).await?;
                samples.push(at.elapsed().as_secs_f64() * 1000.0);
                if found.next.len() != workflow::ON_A_PAGE || !found.more {
                    return Err(format!("{} on the first page", found.next.len()).into());
                }
            }
        }
        let [few, many] = round.map(|samples| median(&samples));
        times[0].push(few);
        times[1].push(many);
        ratios.push(many / few);
    }
    let [few, many] = times;
    report.add(format!("{name}: the queue's first page of {FEW} open orders"), "ms", None, few);
    report.add(format!("{name}: the queue's first page of {MANY} open orders"), "ms", None, many);
    report.add(format!("{name}: the queue, {MANY} ÷ {FEW} open orders"), "×", Some(Aim::AtMost(1.3)), ratios);
    Ok(())
}

/// Written past the workflows: a hundred thousand checks would take an hour.
async fn with_orders(engine: Engine, orders: usize) -> Outcome<World> {
    let world = World::new(engine, 1).await?;
    let w = &world.workshop;
    for class in &CLASSES[..2] {
        workflow::set_need(w, &world.owner, world.yard, class, 50).await?;
    }
    let now = w.ambient.now();
    let never: DateTime<Utc> = "9999-12-31T00:00:00Z".parse()?;
    let rows: Vec<Made> = (0..orders).map(|n| Made::new(w, &world, n, now, never)).collect();
    for part in rows.chunks(1_000) {
        let mut tx = w.db.begin().await?;
        let machines: Vec<Vec<&dyn Param>> = part.iter().map(Made::machine).collect();
        tx.insert_rows(
            "machine (id, yard_id, unit_number, unit_key, class, description, serial, created_at, open_holds)",
            &machines,
        )
        .await?;
        let orders: Vec<Vec<&dyn Param>> = part.iter().map(Made::order).collect();
        tx.insert_rows(
            "work_order (id, number, machine_id, yard_id, state, opened_at, class, held, remaining_minutes, due_at)",
            &orders,
        )
        .await?;
        let defects: Vec<Vec<&dyn Param>> = part.iter().map(Made::defect).collect();
        tx.insert_rows(
            "defect (id, machine_id, yard_id, what, system, item, load, severity, state, rule, final, why, instruction,
                supporting, failed, reported_by, work_order_id, found_at, raised_at)",
            &defects,
        )
        .await?;
        tx.commit().await?;
    }
    crate::past::known(w).await?;
    Ok(world)
}

struct Made {
    machine: MachineId,
    order: WorkOrderId,
    defect: DefectId,
    yard: chock::domain::ids::YardId,
    by: chock::domain::ids::PersonId,
    unit: String,
    class: String,
    number: i64,
    held: bool,
    holds: i64,
    minutes: i64,
    due: DateTime<Utc>,
    at: DateTime<Utc>,
    word: [String; 10],
}

impl Made {
    fn new(
        w: &workflow::Workshop,
        world: &World,
        n: usize,
        now: DateTime<Utc>,
        never: DateTime<Utc>,
    ) -> Self {
        let number = i64::try_from(n).unwrap_or_default() + 1;
        let held = !n.is_multiple_of(3);
        let words = ["queued", "Horn: fails", "electrics", "horn", "unladen", "", "", "rule", "[]", ""];
        let mut word = words.map(str::to_owned);
        word[5] = if held { "out of service" } else { "monitor" }.to_owned();
        word[6] = if held { "held" } else { "monitored" }.to_owned();
        Self {
            machine: w.ambient.id(),
            order: w.ambient.id(),
            defect: w.ambient.id(),
            yard: world.yard,
            by: world.operator.id,
            unit: format!("Z{n}"),
            class: CLASSES[n % CLASSES.len()].to_owned(),
            number,
            held,
            holds: i64::from(held),
            // Scattered, and the same in every run.
            minutes: 15 + number * 7_919 % 600,
            due: if held { never } else { now + TimeDelta::hours(number * 104_729 % 2_000) },
            at: now - TimeDelta::minutes(number * 15_485_863 % 50_000),
            word,
        }
    }

    fn machine(&self) -> Vec<&dyn Param> {
        let empty = &self.word[9];
        vec![
            &self.machine,
            &self.yard,
            &self.unit,
            &self.unit,
            &self.class,
            empty,
            empty,
            &self.at,
            &self.holds,
        ]
    }

    fn order(&self) -> Vec<&dyn Param> {
        vec![
            &self.order,
            &self.number,
            &self.machine,
            &self.yard,
            &self.word[0],
            &self.at,
            &self.class,
            &self.held,
            &self.minutes,
            &self.due,
        ]
    }

    fn defect(&self) -> Vec<&dyn Param> {
        let [_, what, system, item, load, severity, state, rule, list, empty] = &self.word;
        vec![
            &self.defect,
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
            &self.order,
            &self.at,
            &self.at,
        ]
    }
}
