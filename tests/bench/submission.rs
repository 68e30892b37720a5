//! Submitting a check over HTTP against the same transaction straight on the database driver.
//!
//! Over HTTP: a server of this process with as many workers as `chock serve` takes, its tasks running; clients put full
//! `utility-vehicle-daily` checks, all well, every one with a new id and a meter that has moved. Straight: the very
//! statements that such a check leads to, with the same values, on the same database while the server is idle (see `raw`):
//! what a check looks back on grows as it runs, for both alike. Rounds of each take turns; the ratio is taken within a round.
//! Beside it in the same rounds, as yardsticks of the machine and of the web server under it: an answer that says nothing, and a
//! gate page made anew.

use std::sync::Arc;

use chock::workflow::{self, Credentials};

use crate::gate::{PHONES, per_second};
use crate::raw::{Raw, Statements};
use crate::report::{Aim, Report};
use crate::traffic::Traffic;
use crate::world::{Engine, OPERATOR, OWNER, PASSWORD, World};
use crate::{Outcome, Plan};

const CLIENTS: [usize; 3] = [1, 16, MOST];
const MOST: usize = 64;
const MACHINES: usize = 200;

pub async fn measure(plan: &Plan, engine: Engine, statements: &Statements, report: &mut Report) -> Outcome {
    let name = engine.name();
    let world = Arc::new(World::new(engine, MACHINES).await?);
    // The first check of a server also loads the checklist.
    for _ in 0..2 {
        statements.forget()?;
        let check = world.check(&world.machines[0]);
        workflow::submit_check(&world.workshop, &world.operator, check).await?;
    }
    let heard = statements.heard()?;
    let raw = Arc::new(Raw::new(&world, &heard).await?);
    for machine in &world.machines[1..] {
        // A chain is there from a machine's first check on.
        workflow::submit_check(&world.workshop, &world.operator, world.check(machine)).await?;
    }
    let served = world.serve().await?;
    let traffic = Arc::new(Traffic::new(&world, served.address, OPERATOR, PASSWORD).await?);
    println!(
        "\n{name}: a check is {} answers in {} bytes of HTTP, and {} statements of which {} rows are readings",
        world.answers.len(),
        traffic.bytes(),
        heard.len(),
        raw.readings(),
    );
    let given = Credentials { email: OWNER, password: PASSWORD };
    let (_, secret) = workflow::sign_in_page(&world.workshop, given).await?;
    let nothing = ["GET /livez HTTP/1.1\r\nHost: bench\r\n\r\n".to_owned()];
    let pages: Vec<String> = world
        .machines
        .iter()
        // A page with something to say once is never kept.
        .map(|m| {
            format!(
                "GET /machines/{}?done=held HTTP/1.1\r\nHost: bench\r\nCookie: chock={secret}\r\n\r\n",
                m.id
            )
        })
        .collect();
    let mut yardsticks: [Vec<f64>; 2] = Default::default();
    let (mut straights, mut slowest_straight) = (Vec::new(), Vec::new());
    let mut over_http: [Vec<f64>; CLIENTS.len()] = Default::default();
    let mut slowest: [Vec<f64>; CLIENTS.len()] = Default::default();
    traffic.pace(64, plan.window / 4).await?;
    raw.pace(plan.window / 4).await?;
    for _ in 0..plan.rounds {
        for ((clients, samples), slowest) in CLIENTS.into_iter().zip(&mut over_http).zip(&mut slowest) {
            let pace = traffic.pace(clients, plan.window).await?;
            samples.push(pace.per_second);
            slowest.push(pace.slowest_of_100_ms);
        }
        let straight = raw.pace(plan.window).await?;
        straights.push(straight.per_second);
        slowest_straight.push(straight.slowest_of_100_ms);
        for (requests, samples) in [&nothing[..], &pages[..]].into_iter().zip(&mut yardsticks) {
            samples.push(per_second(served.address, requests, 200, plan.window / 4).await?);
        }
    }
    let against = |other: &[f64]| -> Vec<f64> {
        over_http[CLIENTS.len() - 1].iter().zip(other).map(|(h, o)| h / o).collect()
    };
    let ratios = against(&straights);
    let beside = yardsticks.each_ref().map(|samples| against(samples));
    report.add(format!("{name}: the transaction straight on the driver"), "a second", None, straights);
    for (clients, samples) in CLIENTS.into_iter().zip(over_http) {
        report.add(format!("{name}: checks over HTTP, {clients} clients"), "a second", None, samples);
    }
    // SQLite writes one at a time, and only sharing commits and statements can beat it; PostgreSQL has 16 connections.
    let aim = if engine == Engine::Sqlite { 2.0 } else { 0.9 };
    report.add(format!("{name}: HTTP, {MOST} clients ÷ straight"), "×", Some(Aim::AtLeast(aim)), ratios);
    let named = ["an answer that says nothing", "a gate page made anew"];
    for ((what, per_second), ratio) in named.into_iter().zip(yardsticks).zip(beside) {
        report.add(format!("{name}: {what}, {PHONES} clients"), "a second", None, per_second);
        report.add(format!("{name}: checks over HTTP ÷ {what}"), "×", None, ratio);
    }
    let what = format!("{name}: 99 of 100 transactions straight on the driver within");
    report.add(what, "ms", None, slowest_straight);
    for (clients, samples) in CLIENTS.into_iter().zip(slowest) {
        let what = format!("{name}: 99 of 100 checks acknowledged within, {clients} clients");
        report.add(what, "ms", (clients == MOST).then_some(Aim::AtMost(50.0)), samples);
    }
    served.stop().await;
    drop((traffic, raw));
    Arc::into_inner(world).ok_or("a client is still running")?.clear_away().await
}
