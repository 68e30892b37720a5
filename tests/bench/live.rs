//! From a commit in one process to a board served by another: the news, and the page that shows it. On PostgreSQL, where
//! several processes share one database.

use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Instant;

use chock::domain::ids::HoldId;
use chock::workflow::{self, Credentials};
use tokio::io::{AsyncBufReadExt, AsyncWriteExt, BufReader};
use tokio::net::TcpStream;

use crate::client::Client;
use crate::process::Spawned;
use crate::report::{Aim, Report};
use crate::traffic::Traffic;
use crate::world::{Engine, OPERATOR, OWNER, PASSWORD, World};
use crate::{Outcome, Plan};

const HOLDS_A_ROUND: usize = 10;
const LISTENERS: usize = 1_000;

pub async fn measure(plan: &Plan, engine: Engine, report: &mut Report) -> Outcome {
    if engine == Engine::Sqlite {
        return Ok(());
    }
    let world = World::new(engine, plan.rounds * HOLDS_A_ROUND).await?;
    let w = &world.workshop;
    workflow::set_password(w, world.owner.id, PASSWORD).await?;
    let (_, secret) = workflow::sign_in_page(w, Credentials { email: OWNER, password: PASSWORD }).await?;
    let cookie = format!("Cookie: chock={secret}\r\n");
    let other = Spawned::serving(world.folder.path(), Some(&world.config.database_url)).await?;
    let mut events = listen(other.address, &cookie).await?;
    let mut client = Client::connect(other.address).await?;
    let mut took = Vec::new();
    for machine in &world.machines {
        workflow::place_hold(w, &world.owner, w.ambient.id(), machine.id, "Looked at").await?;
        let committed = Instant::now();
        news(&mut events).await?;
        let status = client.get("/board?fragment=1", &cookie).await?;
        let shown = String::from_utf8_lossy(&client.body).contains(&machine.id.to_string());
        if status != 200 || !shown {
            return Err(format!("the board does not show it ({status})").into());
        }
        took.push(committed.elapsed().as_secs_f64());
        // What belongs to the same change is out of the way before the next.
        tokio::time::sleep(std::time::Duration::from_millis(50)).await;
    }
    report.add("PostgreSQL: commit to the board of another process", "s", Some(Aim::AtMost(0.3)), took);
    Ok(())
}

/// From a hold over HTTP to the news on the last of a thousand open boards, of the program as it is run.
pub async fn fan_out(plan: &Plan, engine: Engine, report: &mut Report) -> Outcome {
    let name = engine.name();
    let world = Arc::new(World::new(engine, plan.rounds).await?);
    let w = &world.workshop;
    let (_, secret) = workflow::sign_in_page(w, Credentials { email: OWNER, password: PASSWORD }).await?;
    let cookie = format!("Cookie: chock={secret}\r\n");
    let database = (engine == Engine::Postgres).then_some(&*world.config.database_url);
    let served = Spawned::serving(world.folder.path(), database).await?;
    let alone = served.resident_mib()?;
    let mut boards = Vec::with_capacity(LISTENERS);
    for _ in 0..LISTENERS {
        boards.push(listen(served.address, &cookie).await?);
    }
    let each = (served.resident_mib()? - alone) * 1024.0 / f64::from(u32::try_from(LISTENERS)?);
    let traffic = Traffic::new(&world, served.address, OPERATOR, PASSWORD).await?;
    let mut client = Client::connect(served.address).await?;
    let (mut answered, mut last) = (Vec::new(), Vec::new());
    for machine in &world.machines {
        let body = format!(r#"{{"machine":"{}","reason":"Looked at"}}"#, machine.id);
        let put = format!(
            "PUT /api/v1/holds/{} HTTP/1.1\r\nHost: bench\r\n{}Content-Type: application/json\r\nContent-Length: {}\r\n\r\n{body}",
            w.ambient.id::<HoldId>(),
            traffic.bearer(),
            body.len()
        );
        let began = Instant::now();
        let status = client.exchange(put.as_bytes()).await?;
        if status != 201 {
            let said = String::from_utf8_lossy(&client.body).into_owned();
            return Err(format!("a hold was answered with {status}: {said}").into());
        }
        answered.push(began.elapsed().as_secs_f64() * 1000.0);
        for board in &mut boards {
            news(board).await?;
        }
        last.push(began.elapsed().as_secs_f64() * 1000.0);
    }
    report.add(format!("{name}: a hold while {LISTENERS} boards listen"), "ms", None, answered);
    report.add(
        format!("{name}: from it to the last of {LISTENERS} boards"),
        "ms",
        Some(Aim::AtMost(300.0)),
        last,
    );
    report.add(format!("{name}: memory of each board that listens"), "KiB", None, vec![each]);
    Ok(())
}

async fn news(board: &mut BufReader<TcpStream>) -> Outcome {
    let mut line = String::new();
    while !line.starts_with("event: changed") {
        line.clear();
        if board.read_line(&mut line).await? == 0 {
            return Err("the live stream ended".into());
        }
    }
    Ok(())
}

async fn listen(address: SocketAddr, cookie: &str) -> Outcome<BufReader<TcpStream>> {
    let mut stream = TcpStream::connect(address).await?;
    stream.write_all(format!("GET /live HTTP/1.1\r\nHost: {address}\r\n{cookie}\r\n").as_bytes()).await?;
    let mut lines = BufReader::new(stream);
    let mut line = String::new();
    while !line.starts_with(": listening") {
        line.clear();
        if lines.read_line(&mut line).await? == 0 {
            return Err("no live stream".into());
        }
    }
    Ok(lines)
}
