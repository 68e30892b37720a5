//! PostgreSQL is told to commit, and the line to it breaks before it has answered: nobody can tell whether it was done. So nobody
//! is told that nothing was changed, and nothing is done a second time.

use std::sync::{Arc, Mutex};

use actix_web::test::TestRequest;
use chock::storage::Db;
use serde_json::json;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::{TcpListener, TcpStream};

use super::Api;
use crate::support::{Bench, Engine};

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_may_have_been_done_is_not_done_twice() {
    let mut b = Bench::new(Engine::Postgres).await;
    let line = Line::to(&b.database_url).await;
    b.workshop.db.close().await;
    b.workshop.db = Db::open(&line.url).await.unwrap();
    let api = Api::new(&b).await;
    let (owner, operator) = (api.sign_in(&b, &b.owner).await, api.sign_in(&b, &b.operator).await);

    let part = json!({ "number": "H-9", "name": "Hose", "unit": "m" });
    let send = async |key: &str| {
        owner.api.sending.replace(part.clone());
        let request = TestRequest::post().insert_header(("Idempotency-Key", key));
        owner.send(request.set_json(&part), "/parts").await
    };
    let how_many = async || {
        let parts = owner.get("/parts").await.with(200);
        parts["parts"].as_array().unwrap().iter().filter(|p| p["number"] == "H-9").count()
    };
    // The first commit takes the key, the second one makes the part.
    line.breaks(Breaks::InsteadOf(2));
    let unsure = send("one").await.problem(503);
    assert!(unsure["detail"].as_str().unwrap().contains("may have been done"), "{unsure}");
    assert_eq!((line.has_broken(), how_many().await), (true, 0));
    let again = send("one").await.problem(409);
    assert!(again["detail"].as_str().unwrap().contains("under way"), "{again}");
    line.breaks(Breaks::After(2));
    let unsure = send("two").await.problem(503);
    assert!(unsure["detail"].as_str().unwrap().contains("may have been done"), "{unsure}");
    assert_eq!((line.has_broken(), how_many().await), (true, 1));
    send("two").await.problem(409);

    // A check has an id of its own: sent again it is taken once, and answered.
    for (breaks, then) in [(Breaks::InsteadOf(1), 201), (Breaks::After(1), 200)] {
        let (id, check) = operator.check(b.machine).await;
        let path = format!("/checks/{id}");
        line.breaks(breaks);
        let unsure = operator.put(&path, check.clone()).await.problem(503);
        assert!(unsure["detail"].as_str().unwrap().contains("may have been done"), "{unsure}");
        assert!(line.has_broken());
        operator.put(&path, check).await.with(then);
    }
    b.assert_sound().await;
    api.was_as_promised();
}

/// The line from Chock to its PostgreSQL.
struct Line {
    url: String,
    breaks: Arc<Mutex<Option<Breaks>>>,
}

/// At which commit from now on.
#[derive(Clone, Copy)]
enum Breaks {
    /// It does not arrive.
    InsteadOf(usize),
    /// It is done, and its answer does not arrive.
    After(usize),
}

impl Line {
    async fn to(database: &str) -> Self {
        let (before, place) = database.rsplit_once('@').expect("a user");
        let (server, name) = place.split_once('/').expect("a database");
        let listener = TcpListener::bind("127.0.0.1:0").await.expect("a port");
        let url = format!("{before}@{}/{name}", listener.local_addr().expect("its address"));
        let (breaks, server): (Arc<Mutex<Option<Breaks>>>, _) = (Arc::default(), server.to_owned());
        let shared = breaks.clone();
        tokio::spawn(async move {
            while let Ok((chock, _)) = listener.accept().await {
                let (server, breaks) =
                    (TcpStream::connect(&server).await.expect("it is there"), shared.clone());
                // A broken connection is what this is for.
                tokio::spawn(async move { carry(chock, server, &breaks).await.ok() });
            }
        });
        Self { url, breaks }
    }

    fn breaks(&self, at: Breaks) {
        *self.breaks.lock().unwrap() = Some(at);
    }

    fn has_broken(&self) -> bool {
        self.breaks.lock().unwrap().is_none()
    }
}

async fn carry(
    mut chock: TcpStream,
    mut server: TcpStream,
    breaks: &Mutex<Option<Breaks>>,
) -> std::io::Result<()> {
    let (mut asked, mut answered) = (vec![0; 64 * 1024], vec![0; 64 * 1024]);
    loop {
        tokio::select! {
            read = chock.read(&mut asked) => {
                let said = &asked[..read?];
                if said.is_empty() {
                    return Ok(());
                }
                match if said.windows(6).any(|w| w == b"COMMIT") { at_commit(breaks) } else { None } {
                    Some(Breaks::InsteadOf(_)) => return Ok(()),
                    Some(Breaks::After(_)) => {
                        server.write_all(said).await?;
                        // It answers when it is done.
                        assert!(server.read(&mut answered).await? > 0, "an answer");
                        return Ok(());
                    }
                    None => server.write_all(said).await?,
                }
            }
            read = server.read(&mut answered) => {
                let said = &answered[..read?];
                if said.is_empty() {
                    return Ok(());
                }
                chock.write_all(said).await?;
            }
        }
    }
}

/// Whether it breaks now.
fn at_commit(breaks: &Mutex<Option<Breaks>>) -> Option<Breaks> {
    let mut breaks = breaks.lock().unwrap();
    match &mut *breaks {
        Some(Breaks::InsteadOf(left) | Breaks::After(left)) if *left > 1 => {
            *left -= 1;
            None
        }
        _ => breaks.take(),
    }
}
