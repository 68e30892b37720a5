//! What Chock costs, where it can be as ratios of two things measured in the same run: `tests/bench/run`, which is `cargo bench` with a
//! PostgreSQL of its own. Each is printed with its aim beside it and kept in `target/bench/latest.json`, with what an earlier run
//! said of other parts.
//!
//!   tests/bench/run                 everything, on both engines (`cargo bench` by itself: on SQLite)
//!   tests/bench/run board process   only these parts (forecast, judge, submission, board, gate, queue,
//!                                   reach, fleet, aged, years, live, listeners, process, size)
//!   tests/bench/run --quick          one short round: to see that it runs, not for figures
//!   tests/bench/run --check          exit 1 when an aim is missed; otherwise a missed aim is only printed
//!
//! Never part of the tests: a shared computer's figures swing by a quarter. Leave it alone while it measures.

mod bare;
mod board;
mod client;
mod forecast;
mod gate;
mod judge;
mod live;
mod past;
mod process;
mod queue;
mod raw;
mod reach;
mod report;
mod size;
mod submission;
mod traffic;
mod world;

#[path = "../support/answers.rs"]
mod answers;

use std::process::ExitCode;

use report::Report;
use world::Engine;

/// As `chock` has it.
#[global_allocator]
static MEMORY: mimalloc::MiMalloc = mimalloc::MiMalloc;

pub type Outcome<T = ()> = Result<T, Box<dyn std::error::Error + Send + Sync>>;

const PARTS: [&str; 14] = [
    "forecast",
    "judge",
    "submission",
    "board",
    "gate",
    "queue",
    "reach",
    "fleet",
    "aged",
    "years",
    "live",
    "listeners",
    "process",
    "size",
];

/// How long to measure, and what.
pub struct Plan {
    pub rounds: usize,
    pub window: std::time::Duration,
    parts: Vec<String>,
    check: bool,
}

fn main() -> ExitCode {
    let plan = match Plan::from_arguments(std::env::args().skip(1)) {
        Ok(plan) => plan,
        Err(e) => {
            eprintln!("bench: {e}");
            return ExitCode::from(2);
        }
    };
    let statements = raw::Statements::listening();
    let mut report = Report::default();
    // As `chock serve` does: tasks on this thread, handlers on threads of their own.
    let ran = actix_web::rt::System::new().block_on(all(&plan, &statements, &mut report));
    report.print();
    if let Err(e) = report.keep() {
        eprintln!("bench: the figures could not be kept: {e}");
    }
    match ran {
        Err(e) => {
            eprintln!("bench: could not run to its end: {e}");
            let mut below = e.source();
            while let Some(cause) = below {
                eprintln!("  because: {cause}");
                below = cause.source();
            }
            ExitCode::from(1)
        }
        Ok(()) if plan.check && report.missed() > 0 => ExitCode::from(1),
        Ok(()) => ExitCode::SUCCESS,
    }
}

async fn all(plan: &Plan, statements: &raw::Statements, report: &mut Report) -> Outcome {
    let mut engines = vec![Engine::Sqlite];
    if std::env::var_os("CHOCK_TEST_POSTGRES").is_some() {
        engines.push(Engine::Postgres);
    } else {
        println!("CHOCK_TEST_POSTGRES is not set: SQLite only.");
    }
    if plan.has("forecast") {
        forecast::measure(plan, report)?;
    }
    if plan.has("judge") {
        judge::in_domain(plan, report)?;
    }
    for engine in engines {
        if plan.has("judge") {
            judge::loading(engine, statements, report).await?;
        }
        if plan.has("submission") {
            submission::measure(plan, engine, statements, report).await?;
        }
        if plan.has("board") {
            board::measure(plan, engine, report).await?;
        }
        if plan.has("gate") {
            gate::measure(plan, engine, report).await?;
        }
        if plan.has("queue") {
            queue::measure(plan, engine, report).await?;
        }
        if plan.has("reach") {
            reach::history(plan, engine, report).await?;
        }
        if plan.has("aged") {
            reach::aged(plan, engine, report).await?;
        }
        if plan.has("fleet") {
            reach::fleet(plan, engine, report).await?;
        }
        if plan.has("years") {
            reach::years(plan, engine, report).await?;
        }
        if plan.has("size") {
            size::measure(plan, engine, statements, report).await?;
        }
        if plan.has("live") {
            live::measure(plan, engine, report).await?;
        }
        if plan.has("listeners") {
            live::fan_out(plan, engine, report).await?;
        }
    }
    if plan.has("process") {
        process::measure(plan, report).await?;
    }
    Ok(())
}

impl Plan {
    fn from_arguments(arguments: impl Iterator<Item = String>) -> Result<Self, String> {
        let mut plan =
            Self { rounds: 5, window: std::time::Duration::from_secs(2), parts: Vec::new(), check: false };
        for argument in arguments {
            match argument.as_str() {
                // Cargo adds it.
                "--bench" => {}
                "--check" => plan.check = true,
                "--quick" => {
                    plan.rounds = 1;
                    plan.window = std::time::Duration::from_millis(500);
                }
                part if PARTS.contains(&part) => plan.parts.push(argument),
                other => return Err(format!("{other}: give --quick, --check or a part of {PARTS:?}")),
            }
        }
        Ok(plan)
    }

    fn has(&self, part: &str) -> bool {
        self.parts.is_empty() || self.parts.iter().any(|p| p == part)
    }
}
