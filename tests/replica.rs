//! Numbers come from a PostgreSQL that follows the first, as long as it keeps up: a real one, by streaming replication.

use std::time::{Duration, Instant};

use chock::domain::shift::Span;
use chock::storage::Db;
use chock::workflow::{self, Looking, Workshop};
use chrono::TimeDelta;
use sqlx::{Connection, Executor, PgConnection};

use crate::support::browser::Browser;
use crate::support::cluster::Cluster;
use crate::support::process::{DEADLINE, chock_on, run};
use crate::support::{Bench, Engine};

fn this_week(b: &Bench) -> Looking {
    let period = Span::new(b.now() - TimeDelta::days(7), b.now() + TimeDelta::hours(1));
    Looking { yard: String::new(), class: String::new(), period }
}

async fn downs(b: &Bench, w: &Workshop) -> usize {
    workflow::numbers_downs(w, &b.owner, &this_week(b)).await.unwrap().len()
}

/// Says where the first is now, and waits until the other has come that far.
async fn come_through(b: &Bench, w: &Workshop) {
    workflow::beat(w).await.unwrap();
    let start = Instant::now();
    loop {
        let (mut tx, _) = w.db.read_behind(b.now()).await.unwrap();
        let seen: Option<(String,)> =
            tx.maybe("SELECT value FROM setting WHERE name = 'heartbeat'", &[]).await.unwrap();
        let (replica,): (bool,) = tx.one("SELECT pg_is_in_recovery()", &[]).await.unwrap();
        if replica && seen.is_some_and(|s| s.0 == b.now().to_rfc3339()) {
            return;
        }
        assert!(start.elapsed() < DEADLINE, "nothing comes through");
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn numbers_come_from_the_replica_while_it_keeps_up() {
    let cluster = tokio::task::block_in_place(Cluster::start);
    let b = Bench::in_database_at_six(cluster.url.clone()).await;
    let replica = tokio::task::block_in_place(|| cluster.follow());
    let w = Workshop::new(
        Db::open(&cluster.url).await.unwrap().with_replica(&replica).unwrap(),
        b.time.ambient(),
        "EUR",
    );
    // Before the first word has come through it is not read.
    assert_eq!(downs(&b, &w).await, 0);
    come_through(&b, &w).await;

    // It stands still from here on: what it says is of before.
    let mut follower = PgConnection::connect(&replica).await.unwrap();
    follower.execute("SELECT pg_wal_replay_pause()").await.unwrap();
    b.ground(b.machine).await;
    let as_of = b.now();
    b.time.set(as_of + TimeDelta::seconds(4));
    assert_eq!(downs(&b, &b.workshop).await, 1);
    assert_eq!(downs(&b, &w).await, 0, "the replica is read");
    let of = |n: workflow::Numbers| n.behind;
    assert_eq!(of(workflow::numbers(&w, &b.owner, &this_week(&b)).await.unwrap()), None, "near enough");
    b.time.set(as_of + TimeDelta::seconds(59));
    assert_eq!(
        of(workflow::numbers(&w, &b.owner, &this_week(&b)).await.unwrap()),
        Some(as_of),
        "said on the page"
    );
    let page = Browser::of(&w, &b.owner).await.get("/numbers").await;
    let shown = as_of.to_rfc3339_opts(chrono::SecondsFormat::Secs, true);
    page.is(200).says(&shown);
    // A minute behind is too far: then the first is read.
    b.time.set(as_of + TimeDelta::seconds(61));
    assert_eq!(downs(&b, &w).await, 1);
    assert_eq!(of(workflow::numbers(&w, &b.owner, &this_week(&b)).await.unwrap()), None);

    // It catches up, and is read again.
    follower.execute("SELECT pg_wal_replay_resume()").await.unwrap();
    come_through(&b, &w).await;
    assert_eq!(downs(&b, &w).await, 1);
    // What decides and what shows what one just did come from the first always.
    follower.execute("SELECT pg_wal_replay_pause()").await.unwrap();
    b.ground(b.second_machine).await;
    let board = workflow::board(&w, &b.owner, "", 50).await.unwrap();
    assert_eq!(board.grounded.len(), 2);
    let gate = workflow::gate(&w, &b.owner, b.second_machine).await.unwrap();
    assert!(!gate.holds.is_empty());
    drop(follower);
    b.time.set(b.now() + TimeDelta::seconds(2));

    // It loses power: numbers still come, and nobody waits long for them.
    tokio::task::block_in_place(|| cluster.halt_follower());
    let start = Instant::now();
    assert_eq!(downs(&b, &w).await, 2);
    let first = start.elapsed();
    let start = Instant::now();
    assert_eq!(downs(&b, &w).await, 2);
    println!("without the replica: {first:.1?} the first time, {:.1?} the next", start.elapsed());
    assert!(first < Duration::from_secs(4), "{first:?}");
    w.db.close().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_file_has_no_replica() {
    let b = Bench::on_real_time(Engine::Sqlite).await;
    b.workshop.db.close().await;
    let (code, said) = run(chock_on(&b, &["verify", "--replica-url", "postgres://chock@127.0.0.1/chock"]));
    assert!(code == 1 && said.contains("with SQLite there is none, leave the setting out"), "{code}: {said}");
}
