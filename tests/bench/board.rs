//! The board of 50 grounded machines against its query alone: how much the page and the API add to what the database
//! takes. One asks after the other; each round takes turns.

use std::time::Instant;

use chock::workflow::{self, Credentials};

use crate::answers::fail;
use crate::client::Client;
use crate::report::{Aim, Report, median};
use crate::traffic::Traffic;
use crate::world::{Engine, OWNER, PASSWORD, World};
use crate::{Outcome, Plan};

const MACHINES: usize = 500;
const GROUNDED: usize = 50;
const MONITORED: usize = 50;
/// As many as the board shows.
const MOST: i64 = 200;

pub async fn measure(plan: &Plan, engine: Engine, report: &mut Report) -> Outcome {
    let name = engine.name();
    let world = std::sync::Arc::new(World::new(engine, MACHINES).await?);
    let w = &world.workshop;
    for (n, machine) in world.machines.iter().enumerate().take(GROUNDED + MONITORED) {
        let mut check = world.check(machine);
        if n < GROUNDED {
            fail(&mut check.answers, "fuel-leak", "left-side");
        } else {
            fail(&mut check.answers, "oil-leak", "");
        }
        workflow::submit_check(w, &world.operator, check).await?;
    }
    let board = workflow::board(w, &world.owner, "", MOST).await?;
    if board.grounded.len() != GROUNDED || board.monitored.len() != MONITORED {
        return Err(format!("{} grounded, {} monitored", board.grounded.len(), board.monitored.len()).into());
    }
    let served = world.serve().await?;
    let traffic = Traffic::new(&world, served.address, OWNER, PASSWORD).await?;
    let given = Credentials { email: OWNER, password: PASSWORD };
    let (_, secret) = workflow::sign_in_page(w, given).await?;
    let asks = [
        ("page", "/board", format!("Cookie: chock={secret}\r\n")),
        ("API", "/api/v1/board", traffic.bearer()),
    ];
    let mut client = Client::connect(served.address).await?;
    let mut ratios: [Vec<f64>; 2] = Default::default();
    let mut times: [Vec<f64>; 3] = Default::default();
    for _ in 0..plan.rounds {
        let mut query = Vec::new();
        let mut asked: [Vec<f64>; 2] = Default::default();
        let start = Instant::now();
        while start.elapsed() < plan.window {
            let at = Instant::now();
            workflow::board(w, &world.owner, "", MOST).await?;
            query.push(milliseconds(at));
            for ((what, path, extra), samples) in asks.iter().zip(&mut asked) {
                let at = Instant::now();
                let status = client.get(path, extra).await?;
                samples.push(milliseconds(at));
                if status != 200 {
                    return Err(format!("the board's {what} was answered with {status}").into());
                }
            }
        }
        let query = median(&query);
        times[0].push(query);
        for n in 0..2 {
            let asked = median(&asked[n]);
            times[n + 1].push(asked);
            ratios[n].push(asked / query);
        }
    }
    let [query, page, api] = times;
    report.add(format!("{name}: the board's query, {GROUNDED} of {MACHINES} grounded"), "ms", None, query);
    for ((what, _, _), (times, ratios)) in asks.into_iter().zip([page, api].into_iter().zip(ratios)) {
        report.add(format!("{name}: the board's {what} over HTTP"), "ms", None, times);
        report.add(format!("{name}: the board's {what} ÷ its query"), "×", Some(Aim::AtMost(2.0)), ratios);
    }
    served.stop().await;
    drop(traffic);
    std::sync::Arc::into_inner(world).ok_or("a client is still there")?.clear_away().await
}

fn milliseconds(since: Instant) -> f64 {
    since.elapsed().as_secs_f64() * 1000.0
}
