//! The gate page, which everybody opens at once when work begins: how often a second 64 phones get it when nothing has
//! changed since they last asked, beside an answer that says nothing (`/livez`) and the page made anew each time.

use std::sync::Arc;
use std::time::{Duration, Instant};

use chock::workflow::{self, Credentials};

use crate::client::{Client, header};
use crate::report::{Aim, Report};
use crate::world::{Engine, OWNER, PASSWORD, World};
use crate::{Outcome, Plan};

const MACHINES: usize = 50;
pub const PHONES: usize = 64;
/// A second; a phone that has the page is only told so.
const AIM: f64 = 10_000.0;

pub async fn measure(plan: &Plan, engine: Engine, report: &mut Report) -> Outcome {
    let name = engine.name();
    let world = Arc::new(World::new(engine, MACHINES).await?);
    let given = Credentials { email: OWNER, password: PASSWORD };
    let (_, secret) = workflow::sign_in_page(&world.workshop, given).await?;
    let served = world.serve().await?;
    let gates: Vec<String> = world.machines.iter().map(|m| format!("/machines/{}", m.id)).collect();
    let cookie = format!("Cookie: chock={secret}\r\n");
    let asks = |extra: &str, query: &str| -> Vec<String> {
        gates
            .iter()
            .map(|g| format!("GET {g}{query} HTTP/1.1\r\nHost: bench\r\n{cookie}{extra}\r\n"))
            .collect()
    };
    let mut client = Client::connect(served.address).await?;
    let mut tagged = Vec::new();
    for ask in asks("", "") {
        client.exchange(ask.as_bytes()).await?;
        let tag = header(&client.head, "etag").ok_or("a gate page without a tag")?.to_owned();
        tagged.push(ask.replace("\r\n\r\n", &format!("\r\nIf-None-Match: {tag}\r\n\r\n")));
    }
    let kinds = [
        (
            "an answer that says nothing",
            200,
            vec!["GET /livez HTTP/1.1\r\nHost: bench\r\n\r\n".to_owned()],
            None,
        ),
        // A page with something to say once is never kept.
        ("the gate page made anew", 200, asks("", "?done=held"), None),
        ("the gate page, nothing changed", 200, asks("", ""), Some(Aim::AtLeast(AIM))),
        ("the gate page, which they have", 304, tagged, Some(Aim::AtLeast(AIM))),
    ];
    let mut counts: [Vec<f64>; 4] = Default::default();
    for _ in 0..plan.rounds {
        for ((_, status, requests, _), samples) in kinds.iter().zip(&mut counts) {
            samples.push(per_second(served.address, requests, *status, plan.window).await?);
        }
    }
    for ((what, _, _, aim), samples) in kinds.into_iter().zip(counts) {
        // Nothing is kept where other servers may change something at any moment.
        let aim = aim.filter(|_| engine == Engine::Sqlite);
        report.add(format!("{name}: {what}, {PHONES} phones"), "a second", aim, samples);
    }
    served.stop().await;
    Arc::into_inner(world).ok_or("a client is still there")?.clear_away().await
}

/// How often a second so many phones are answered, each asking one of these after the other.
pub async fn per_second(
    address: std::net::SocketAddr,
    requests: &[String],
    status: u16,
    window: Duration,
) -> Outcome<f64> {
    let requests: Arc<Vec<String>> = Arc::new(requests.to_vec());
    tokio::task::spawn_blocking(move || {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
        runtime.block_on(async {
            let mut phones = Vec::with_capacity(PHONES);
            for _ in 0..PHONES {
                phones.push(Client::connect(address).await?);
            }
            let start = Instant::now();
            let asking: Vec<_> = phones
                .into_iter()
                .enumerate()
                .map(|(nth, client)| tokio::spawn(ask(client, nth, requests.clone(), status, start + window)))
                .collect();
            let mut count = 0;
            for phone in asking {
                count += phone.await??;
            }
            Ok(f64::from(count) / start.elapsed().as_secs_f64())
        })
    })
    .await?
}

async fn ask(
    mut client: Client,
    mut nth: usize,
    requests: Arc<Vec<String>>,
    status: u16,
    until: Instant,
) -> Outcome<u32> {
    let mut count = 0;
    while Instant::now() < until {
        nth += 1;
        let answered = client.exchange(requests[nth % requests.len()].as_bytes()).await?;
        if answered != status {
            return Err(format!("answered with {answered}, not {status}").into());
        }
        count += 1;
    }
    Ok(count)
}
