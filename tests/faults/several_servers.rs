//! Several servers on one PostgreSQL: what happens by itself happens once, and a page at one of them shows what another has
//! committed, also what was committed while it could not listen.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::{Duration, Instant};

use chock::domain::alert::AlertState;
use chock::domain::hearing::AlertKind;
use chock::domain::ids::MachineId;
use chock::notify::{Courier, Http, Memory};
use chock::storage::Db;
use chock::tasks::{self, Post};
use chock::workflow::{
    self, Credentials, NewMachine, NewWebhook, OutboxState, SendOutside, TURN, Turn, Workshop,
};
use chrono::{NaiveTime, TimeDelta};
use sqlx::{AssertSqlSafe, Connection, Executor, PgConnection, Row};
use uuid::Uuid;

use crate::support::link::{Link, Signal};
use crate::support::listener::Listener;
use crate::support::process::{DEADLINE, Served, chock};
use crate::support::{Bench, Engine, PASSWORD, database, postgres};

async fn of(c: &mut PgConnection, sql: &str) -> i64 {
    c.fetch_one(AssertSqlSafe(sql.to_owned())).await.unwrap().get(0)
}

/// A third one.
async fn a_machine(b: &Bench) -> MachineId {
    let machine = NewMachine {
        yard: b.yard,
        unit_number: "U-09".into(),
        class: "utility vehicle".into(),
        description: "Two-seat".into(),
        serial: String::new(),
        engine_hours: None,
    };
    workflow::add_machine(&b.workshop, &b.owner, machine).await.unwrap()
}

/// The first of them makes the schema, the others find it; where a guard is gone it is laid again.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn servers_that_start_at_once_all_start() {
    let folder = tempfile::tempdir().unwrap();
    let url = database(Engine::Postgres, &folder).await;
    for round in 0..4 {
        let opened = futures_util::future::join_all((0..6).map(|_| Db::open(&url))).await;
        for db in opened {
            db.unwrap_or_else(|e| panic!("round {round}: {e:?}")).close().await;
        }
        let mut c = PgConnection::connect(&url).await.unwrap();
        let refused = c.execute("TRUNCATE audit").await.unwrap_err().to_string();
        assert!(refused.contains("append-only"), "{refused}");
        c.execute("DROP TRIGGER audit_append_only ON audit").await.unwrap();
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_happens_by_itself_happens_once() {
    let b = Bench::new(Engine::Postgres).await;
    let w = &b.workshop;
    // Of each kind something that will be due: a watch that ends, a hold that nobody acknowledges, a clock that nobody
    // stops, a promise that is broken, a digest, a head, forecasts, mails and webhooks.
    b.submit(b.failed_check(b.machine, 12_010, "oil-leak", "")).await;
    let worked_on = b.ground(a_machine(&b).await).await;
    workflow::claim(w, &b.other_mechanic, worked_on).await.unwrap();
    workflow::start_labour(w, &b.other_mechanic, worked_on).await.unwrap();
    let held = b.ground(b.second_machine).await;
    workflow::claim(w, &b.mechanic, held).await.unwrap();
    let sent = SendOutside {
        vendor: "Fjord Fuel Systems".into(),
        what: "Tank".into(),
        back_by: Some(b.now() + TimeDelta::hours(3)),
        ..SendOutside::default()
    };
    workflow::send_outside(w, &b.mechanic, held, sent).await.unwrap();
    workflow::place_hold(w, &b.operator, w.ambient.id(), b.second_machine, "Looks odd").await.unwrap();
    workflow::set_digest(w, &b.owner, b.yard, NaiveTime::from_hms_opt(5, 0, 0)).await.unwrap();
    let listener = Listener::start().await;
    let webhook = NewWebhook { url: listener.url(), ..NewWebhook::default() };
    let (webhook, _) = workflow::add_webhook(w, &b.owner, webhook, true).await.unwrap();
    b.time.set(b.now() + TimeDelta::days(40));

    let memory = Arc::new(Memory::new());
    let post = Post {
        mailer: memory.clone(),
        public_url: "https://chock.example.org".into(),
        domain: "yard.example".into(),
    };
    let courier: Arc<dyn Courier> = Arc::new(Http::new(true, Duration::from_secs(5)).unwrap());
    let mut servers = Vec::new();
    for _ in 0..3 {
        let db = Db::open(&b.database_url).await.unwrap();
        let workshop = Workshop::new(db, b.time.ambient(), "EUR");
        servers.push((tasks::start(&workshop, &post, &courier), workshop));
    }
    // Until nothing is owed any more, and for a while after.
    let start = Instant::now();
    let mut quiet_since = Instant::now();
    let mut c = PgConnection::connect(&b.database_url).await.unwrap();
    while quiet_since.elapsed() < Duration::from_secs(1) {
        for owed in [
            "SELECT COUNT(*) FROM outbox WHERE state IN ('owed', 'sending')",
            "SELECT COUNT(*) FROM webhook_message WHERE state IN ('owed', 'sending')",
            "SELECT COUNT(*) FROM defect WHERE severity = 'monitor' AND closed_at IS NULL",
            "SELECT COUNT(*) FROM labour WHERE ended_at IS NULL",
            "SELECT 1 - COUNT(*) FROM trail_head",
            "SELECT CAST(CASE WHEN COUNT(*) = 0 THEN 1 ELSE 0 END AS BIGINT) FROM forecast_now",
        ] {
            if of(&mut c, owed).await > 0 {
                assert!(start.elapsed() < DEADLINE, "owed for ever: {owed}");
                quiet_since = Instant::now();
            }
        }
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    let turns = "SELECT COUNT(*) FROM task_turn WHERE task IN ('foresee', 'tidy', 'remove')";
    assert_eq!(of(&mut c, turns).await, 3, "one server has each");
    for (tasks, workshop) in servers {
        tasks.stop().await;
        workshop.db.close().await;
    }

    let mut mails: BTreeMap<String, usize> = BTreeMap::new();
    for mail in memory.sent() {
        *mails.entry(mail.message_id).or_default() += 1;
    }
    assert!(mails.values().all(|n| *n == 1), "a mail was sent twice: {mails:#?}");
    let outbox = workflow::outbox(w, &b.owner, 500).await.unwrap();
    assert!(outbox.iter().all(|o| o.state == OutboxState::Delivered));
    assert_eq!(mails.len(), outbox.len());
    let mut heard: BTreeMap<String, usize> = BTreeMap::new();
    for one in listener.heard() {
        *heard.entry(one.headers["webhook-id"].clone()).or_default() += 1;
    }
    assert!(heard.values().all(|n| *n == 1), "a program was told twice: {heard:#?}");
    assert_eq!(heard.len(), workflow::webhook(w, &b.owner, webhook, 500).await.unwrap().1.len());
    // Each person once of each thing: who heard twice of one kind heard of two things.
    for kind in [AlertKind::Digest, AlertKind::OutsideLate] {
        let told = outbox.iter().filter(|o| o.kind == kind);
        let mut people: BTreeMap<&str, usize> = BTreeMap::new();
        told.for_each(|o| *people.entry(&o.email).or_default() += 1);
        assert!(!people.is_empty() && people.values().all(|n| *n == 1), "{kind:?}: {people:?}");
    }
    assert!(outbox.iter().any(|o| o.kind == AlertKind::NotAcknowledged));
    for (what, sql) in [
        ("the end of the watch", "SELECT COUNT(*) FROM audit WHERE act = 'good-until passed'"),
        ("the clock that nobody stopped", "SELECT COUNT(*) FROM audit WHERE act = 'timer closed'"),
        ("the head", "SELECT COUNT(*) FROM trail_head"),
        ("turns that nobody gave up, and one", "SELECT COUNT(*) + 1 FROM task_turn"),
    ] {
        assert_eq!(of(&mut c, sql).await, 1, "{what}");
    }
    assert_eq!(workflow::alert_states(w, &b.owner).await.unwrap()[&b.machine], AlertState::NotAcknowledged);
    b.assert_sound().await;
    println!("three servers: {} mails, {} webhooks, each once", mails.len(), heard.len());
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_turn_passes_on_from_a_server_that_died() {
    let b = Bench::new(Engine::Postgres).await;
    let w = &b.workshop;
    let (a, other): (Uuid, Uuid) = (w.ambient.id(), w.ambient.id());
    let (mut first, mut second) = (Turn::new("foresee", a), Turn::new("foresee", other));
    assert!(first.is_mine(w).await.unwrap());
    assert!(!second.is_mine(w).await.unwrap());
    assert!(Turn::new("tidy", other).is_mine(w).await.unwrap(), "another task is another turn");
    // As long as it says so now and then, it keeps it.
    for _ in 0..4 {
        b.wait(2);
        assert!(first.is_mine(w).await.unwrap() && !second.is_mine(w).await.unwrap());
    }
    // Killed: from then on nothing is heard of it.
    b.wait(TURN.num_minutes() + 1);
    assert!(second.is_mine(w).await.unwrap());
    assert!(!first.is_mine(w).await.unwrap(), "it was taken for dead");
    // Told to stop, it gives way at once.
    workflow::give_up_turns(w, other).await.unwrap();
    assert!(first.is_mine(w).await.unwrap());
}

/// The stream of a page that is open at one server.
struct Live {
    answer: reqwest::Response,
    text: String,
}

impl Live {
    async fn open(base: &str, cookie: &str) -> Self {
        let client = crate::support::client().build().expect("a client");
        let answer = client.get(format!("{base}/live")).header("cookie", cookie).send().await.unwrap();
        assert_eq!(answer.status(), 200);
        let mut live = Self { answer, text: String::new() };
        live.hears(": listening").await;
        live
    }

    /// Reads on until this comes; what is after it is read next time.
    async fn hears(&mut self, what: &str) {
        let read = async {
            loop {
                if let Some(at) = self.text.find(what) {
                    self.text.drain(..at + what.len());
                    return;
                }
                let bytes = self.answer.chunk().await.unwrap().expect("the stream goes on");
                self.text.push_str(&String::from_utf8_lossy(&bytes));
            }
        };
        let read = tokio::time::timeout(DEADLINE, read).await;
        assert!(read.is_ok(), "{what} was not heard");
    }

    /// What comes in this time, but the heartbeat.
    async fn comes_in(&mut self, so_long: Duration) -> String {
        let mut come = std::mem::take(&mut self.text);
        let end = Instant::now() + so_long;
        while let Ok(bytes) = tokio::time::timeout(end - Instant::now(), self.answer.chunk()).await {
            let bytes = bytes.unwrap().expect("the stream goes on");
            come.push_str(&String::from_utf8_lossy(&bytes));
        }
        come.replace(": still here\n\n", "")
    }
}

/// As the page looks: again, where the server has only just noticed that its connections are gone.
async fn board_shows(base: &str, cookie: &str, machine: MachineId) -> bool {
    let client = crate::support::client().build().expect("a client");
    let start = Instant::now();
    loop {
        let board = client.get(format!("{base}/board?fragment=1")).header("cookie", cookie);
        let board = board.send().await.unwrap();
        if board.status() == 200 {
            return board.text().await.unwrap().contains(&machine.to_string());
        }
        assert!(board.status() == 503 && start.elapsed() < DEADLINE, "{}", board.status());
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_was_missed_while_nobody_listened_is_caught_up_with() {
    let b = Bench::on_real_time(Engine::Postgres).await;
    let w = &b.workshop;
    crate::support::has_password(w, b.operator.id).await;
    let given = Credentials { email: "olga@yard.example", password: PASSWORD };
    let (_, secret) = workflow::sign_in_page(w, given).await.unwrap();
    let cookie = format!("chock={secret}");
    let mut admin = PgConnection::connect(postgres()).await.unwrap();
    let (before, after) = b.database_url.split_once('@').expect("a URL with a password");
    let (server, name) = after.split_once('/').expect("a URL with a database");
    // Those of this test, which are not ended with the others.
    let ours = format!("SELECT pid FROM pg_stat_activity WHERE datname = '{name}'");
    let ours = admin.fetch_all(AssertSqlSafe(ours)).await.unwrap();
    let ours: Vec<i32> = ours.iter().map(|row| row.get(0)).collect();
    let first = Served::on(&b);
    // The second reaches its database over a line that can be cut.
    let line = Link::to(server).await;
    let folder = tempfile::tempdir().unwrap();
    let mut command = chock(&["serve", "--data", folder.path().to_str().unwrap()]);
    command.env("DATABASE_URL", format!("{before}@{}/{name}", line.url.trim_start_matches("http://")));
    let second = Served::start(command);
    let mut live = Live::open(&second.base, &cookie).await;

    // What the first server commits, the page at the second hears of and shows.
    let client = crate::support::client().build().expect("a client");
    let token = first.token(&client, "otto@yard.example").await;
    let hold = format!("{}/api/v1/holds/{}", first.base, w.ambient.id::<Uuid>());
    let placed = serde_json::json!({ "machine": b.machine, "reason": "Looks odd" });
    let placed = client.put(hold).bearer_auth(&token).json(&placed).send().await.unwrap();
    assert_eq!(placed.status(), 201, "{}", placed.text().await.unwrap());
    live.hears("event: changed").await;
    assert!(board_shows(&second.base, &cookie, b.machine).await);
    // Whatever else belongs to it is over.
    while !live.comes_in(Duration::from_millis(700)).await.is_empty() {}

    // Its listening is ended, and it may not come back yet: what is committed now it does not hear of.
    let allow = |yes: bool| AssertSqlSafe(format!("ALTER DATABASE \"{name}\" ALLOW_CONNECTIONS {yes}"));
    admin.execute(allow(false)).await.unwrap();
    let end =
        "SELECT COUNT(pg_terminate_backend(pid)) FROM pg_stat_activity WHERE datname = $1 AND pid <> ALL($2)";
    let ended: (i64,) = sqlx::query_as(end).bind(name).bind(&ours).fetch_one(&mut admin).await.unwrap();
    assert!(ended.0 >= 2, "each server has one that listens");
    workflow::place_hold(w, &b.operator, w.ambient.id(), b.second_machine, "Smells of fuel").await.unwrap();
    assert_eq!(live.comes_in(Duration::from_millis(500)).await, "", "nobody listens for it");
    admin.execute(allow(true)).await.unwrap();
    let allowed = Instant::now();
    live.hears("data: reconnected").await;
    let terminated = allowed.elapsed();
    assert!(board_shows(&second.base, &cookie, b.second_machine).await);

    // The same when the line itself is cut, of which no word comes from the database.
    line.becomes(Signal::Refuses);
    let third = a_machine(&b).await;
    workflow::place_hold(w, &b.operator, w.ambient.id(), third, "Horn is dead").await.unwrap();
    tokio::time::sleep(Duration::from_millis(300)).await;
    line.becomes(Signal::Good);
    let mended = Instant::now();
    live.hears("data: reconnected").await;
    let cut = mended.elapsed();
    assert!(board_shows(&second.base, &cookie, third).await);
    drop(live);
    assert_eq!(first.stop().0, 0);
    assert_eq!(second.stop().0, 0);
    println!(
        "heard of what was missed after {terminated:.1?} when ended by the database, {cut:.1?} when cut"
    );
}
