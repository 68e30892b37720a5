//! What a growing past and a growing fleet cost: the pages of 10,000 machines with 10,000 to 10,000,000 rows of past repairs; those
//! of 10 to 100,000 machines; and the numbers of five years.

use std::time::Instant;

use chock::domain::ids::MachineId;
use chock::domain::shift::Span;
use chock::workflow::{self, Looking};
use chrono::TimeDelta;

use crate::past::{GROUNDED, ROWS_A_REPAIR, YEARS, checks, with_past};
use crate::report::{Aim, Report, median};
use crate::world::{Engine, World};
use crate::{Outcome, Plan};

const MACHINES: usize = 10_000;
/// Rows of past repairs.
const PASTS: [usize; 4] = [10_000, 100_000, 1_000_000, 10_000_000];
/// As many as the board shows.
const MOST: i64 = 500;
const ON_A_PAGE: i64 = 50;

/// Checks of each of two machines.
const CHECKED: [usize; 2] = [100, 3_000];

const FLEETS: [usize; 3] = [10, 1_000, 100_000];

const FLEET: usize = 200;
/// Times out of service a machine and year.
const DOWNS: usize = 12;

/// What somebody looks at.
#[derive(Clone, Copy)]
enum Page {
    Board,
    Queue,
    Gate,
    Machines,
    Record,
    Numbers,
}

/// What is open is all that these may cost; the record and the numbers are about what was.
const OPEN: [Page; 4] = [Page::Board, Page::Queue, Page::Gate, Page::Machines];
const PAST: [Page; 2] = [Page::Record, Page::Numbers];

impl Page {
    const fn name(self) -> &'static str {
        match self {
            Page::Board => "the board",
            Page::Queue => "the queue's first page",
            Page::Gate => "a gate page",
            Page::Machines => "the list of machines",
            Page::Record => "a machine's record",
            Page::Numbers => "the numbers of 13 weeks",
        }
    }

    /// Reads what the page shows; answers how long it took, in milliseconds.
    async fn look(self, world: &World, machine: MachineId) -> Outcome<f64> {
        let (w, owner) = (&world.workshop, &world.owner);
        let at = Instant::now();
        match self {
            Page::Board => {
                workflow::board(w, owner, "", MOST).await?;
            }
            Page::Queue => {
                workflow::queue(w, owner, 1).await?;
            }
            Page::Gate => {
                workflow::gate(w, owner, machine).await?;
            }
            Page::Machines => {
                workflow::machines(w, owner, "", ON_A_PAGE).await?;
            }
            Page::Record => {
                workflow::machine_record(w, owner, machine, 30).await?;
                workflow::machine_figures(w, owner, machine).await?;
            }
            Page::Numbers => {
                let to = w.ambient.now();
                let period = Span::new(to - TimeDelta::weeks(13), to);
                let looking = Looking { yard: String::new(), class: String::new(), period };
                workflow::numbers(w, owner, &looking).await?;
            }
        }
        Ok(milliseconds(at))
    }
}

/// Each page with few and with many past repairs, in turns.
pub async fn history(plan: &Plan, engine: Engine, report: &mut Report) -> Outcome {
    let name = engine.name();
    let mut worlds = Vec::new();
    for rows in PASTS {
        let world = with_past(engine, MACHINES, rows / ROWS_A_REPAIR).await?;
        let board = workflow::board(&world.workshop, &world.owner, "", MOST).await?;
        if board.grounded.len() != MACHINES / GROUNDED {
            return Err(format!("{} grounded", board.grounded.len()).into());
        }
        let machine = one_of(&world).await?;
        worlds.push((world, machine));
    }
    for page in OPEN.into_iter().chain(PAST) {
        let (mut times, mut ratios) = (PASTS.map(|_| Vec::new()), Vec::new());
        for _ in 0..plan.rounds {
            let mut round = PASTS.map(|_| Vec::new());
            let start = Instant::now();
            while start.elapsed() < plan.window {
                for ((world, machine), samples) in worlds.iter().zip(&mut round) {
                    samples.push(page.look(world, *machine).await?);
                }
            }
            let medians = round.map(|samples| median(&samples));
            ratios.push(medians[PASTS.len() - 1] / medians[0]);
            for (all, one) in times.iter_mut().zip(medians) {
                all.push(one);
            }
        }
        let what = format!("{name}: {}, {MACHINES} machines", page.name());
        for (rows, samples) in PASTS.into_iter().zip(times) {
            report.add(format!("{what}, {rows} rows of past repairs"), "ms", None, samples);
        }
        let aim = matches!(page, Page::Board | Page::Queue | Page::Gate | Page::Machines);
        let [few, .., many] = PASTS;
        report.add(format!("{what}, {many} ÷ {few}"), "×", aim.then_some(Aim::AtMost(1.3)), ratios);
    }
    Ok(())
}

/// A check that passes, on a machine that was checked a hundred times and on one that was checked daily for eight years. On
/// SQLite nobody waits for the disk here, which would hide what is read.
pub async fn aged(plan: &Plan, engine: Engine, report: &mut Report) -> Outcome {
    let name = engine.name();
    let world = World::new(engine, CHECKED.len()).await?;
    world.workshop.db.relax_durability().await?;
    for (machine, times) in world.machines.iter().zip(CHECKED) {
        for _ in 0..times {
            workflow::submit_check(&world.workshop, &world.operator, world.check(machine)).await?;
        }
    }
    let (mut times, mut ratios) = ([Vec::new(), Vec::new()], Vec::new());
    for _ in 0..plan.rounds {
        let mut round = [Vec::new(), Vec::new()];
        for _ in 0..ON_A_PAGE {
            for (machine, samples) in world.machines.iter().zip(&mut round) {
                let check = world.check(machine);
                let at = Instant::now();
                workflow::submit_check(&world.workshop, &world.operator, check).await?;
                samples.push(milliseconds(at));
            }
        }
        let [few, many] = round.map(|samples| median(&samples));
        times[0].push(few);
        times[1].push(many);
        ratios.push(many / few);
    }
    let [few, many] = times;
    let [young, old] = CHECKED;
    report.add(format!("{name}: a check on a machine with {young} behind it"), "ms", None, few);
    report.add(format!("{name}: a check on a machine with {old} behind it"), "ms", None, many);
    report.add(format!("{name}: a check, {old} ÷ {young} behind it"), "×", Some(Aim::AtMost(1.3)), ratios);
    Ok(())
}

/// The pages as the fleet grows: every fiftieth machine is out of service, and each has one repair behind it.
pub async fn fleet(plan: &Plan, engine: Engine, report: &mut Report) -> Outcome {
    let name = engine.name();
    let mut smallest: Vec<f64> = Vec::new();
    for machines in FLEETS {
        let world = with_past(engine, machines, machines).await?;
        let machine = one_of(&world).await?;
        for (nth, page) in OPEN.into_iter().chain(PAST).enumerate() {
            let mut times = Vec::new();
            for _ in 0..plan.rounds * 4 {
                times.push(page.look(&world, machine).await?);
            }
            let middle = median(&times);
            report.add(format!("{name}: {}, {machines} machines", page.name()), "ms", None, times);
            match smallest.get(nth) {
                None => smallest.push(middle),
                Some(few) => {
                    let what = format!("{name}: {}, {machines} ÷ {} machines", page.name(), FLEETS[0]);
                    report.add(what, "×", None, vec![middle / few]);
                }
            }
        }
    }
    Ok(())
}

/// One of those that have a past.
async fn one_of(world: &World) -> Outcome<MachineId> {
    let mut tx = world.workshop.db.read().await?;
    let found: Option<(MachineId,)> =
        tx.maybe("SELECT machine_id FROM defect WHERE closed_at IS NOT NULL LIMIT 1", &[]).await?;
    Ok(found.ok_or("a machine without a past")?.0)
}

/// The numbers of five years.
pub async fn years(plan: &Plan, engine: Engine, report: &mut Report) -> Outcome {
    let name = engine.name();
    let world = with_past(engine, FLEET, FLEET * DOWNS * usize::try_from(YEARS)?).await?;
    checks(&world).await?;
    workflow::sum_checked_days(&world.workshop).await?;
    let to = world.workshop.ambient.now();
    let looking = Looking {
        yard: String::new(),
        class: String::new(),
        period: Span::new(to - TimeDelta::days(365 * YEARS), to),
    };
    let mut taken = Vec::new();
    for _ in 0..plan.rounds {
        let at = Instant::now();
        let n = workflow::numbers(&world.workshop, &world.owner, &looking).await?;
        taken.push(milliseconds(at));
        if n.this.downs < FLEET * DOWNS || n.this.coverage.checked < 100_000 {
            return Err(format!("{} times down, {:?}", n.this.downs, n.this.coverage).into());
        }
    }
    let what = format!("{name}: the numbers of {YEARS} years of {FLEET} machines");
    report.add(what, "ms", Some(Aim::AtMost(500.0)), taken);
    Ok(())
}

fn milliseconds(since: Instant) -> f64 {
    since.elapsed().as_secs_f64() * 1000.0
}
