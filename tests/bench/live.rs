//! From a commit in one process to a board served by another: the news, and the page that shows it. On PostgreSQL, where
//! several processes share one database.

use std::net::SocketAddr;
use std::time::Instant;

use chock::workflow::{self, Credentials};
use tokio::io::{AsyncBufReadExt, AsyncWriteExt, BufReader};
use tokio::net::TcpStream;

use crate::client::Client;
use crate::process::Spawned;
use crate::report::{Aim, Report};
use crate::world::{Engine, OWNER, PASSWORD, World};
use crate::{Outcome, Plan};

const HOLDS_A_ROUND: usize = 10;

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
        loop {
            let mut line = String::new();
            if events.read_line(&mut line).await? == 0 {
                return Err("the live stream ended".into());
            }
            if line.starts_with("event: changed") {
                break;
            }
        }
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
