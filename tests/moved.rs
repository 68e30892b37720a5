//! A site moves from its SQLite file to PostgreSQL: `chock move`. It is killed again and again on the way, and goes on.

use std::collections::BTreeMap;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use chock::storage::{Move, MoveError};
use chock::workflow;
use serde_json::Value;
use sqlx::sqlite::SqliteConnectOptions;
use sqlx::{AssertSqlSafe, Connection, Executor, PgConnection, Row, SqliteConnection};

use crate::support::process::{DEADLINE, Served, chock, chock_on, run};
use crate::support::{Bench, Engine, database};

/// A site with something of everything people do, and nobody at work on it.
async fn lived_in() -> Bench {
    let b = Bench::on_real_time(Engine::Sqlite).await;
    let w = &b.workshop;
    w.db.relax_durability().await.unwrap();
    crate::support::has_password(w, b.operator.id).await;
    for n in 0..120 {
        b.submit(b.check(b.machine, 12_001 + n)).await;
    }
    let order = b.ground(b.machine).await;
    workflow::claim(w, &b.mechanic, order).await.unwrap();
    workflow::start_labour(w, &b.mechanic, order).await.unwrap();
    workflow::issue_part(w, &b.mechanic, order, b.part, "1").await.unwrap();
    b.finish(order).await.unwrap();
    b.pass_retests(order).await;
    workflow::release(w, &b.supervisor, order, "Drove it round — “well”").await.unwrap();
    b.ground(b.second_machine).await;
    workflow::sign_head(w, &b.owner).await.unwrap();
    w.db.close().await;
    b
}

fn moving(from: &str, to: &str) -> Command {
    let mut command = chock(&["move", "--from", from]);
    command.env("DATABASE_URL", to);
    command
}

/// Killed as soon as it says that, or has said so many lines; answers what it said.
fn killed(mut command: Command, at: &str, lines: usize) -> Vec<String> {
    let mut child = command.stdout(Stdio::piped()).stderr(Stdio::null()).spawn().expect("the program starts");
    let output = BufReader::new(child.stdout.take().expect("its output")).lines().map_while(Result::ok);
    let mut said = Vec::new();
    for line in output {
        said.push(line);
        if said.len() == lines || said.last().is_some_and(|l| l.starts_with(at)) {
            break;
        }
    }
    child.kill().expect("it is there to be killed");
    child.wait().expect("it has ended");
    said
}

/// What everybody sees, without the moment at which they look.
async fn board(served: &Served, token: &str) -> Value {
    let asked = crate::support::client().build().expect("a client");
    let asked = asked.get(format!("{}/api/v1/board", served.base)).bearer_auth(token).send().await.unwrap();
    assert_eq!(asked.status(), 200);
    let mut board: Value = asked.json().await.unwrap();
    board.as_object_mut().expect("an object").remove("at");
    board
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_move_that_is_killed_again_and_again_arrives_whole() {
    let b = lived_in().await;
    let client = crate::support::client().build().expect("a client");
    let served = Served::on(&b);
    let token = served.token(&client, "otto@yard.example").await;
    let target = database(Engine::Postgres, &b.folder).await;
    let (code, said) = run(moving(&b.database_url, &target));
    assert!(code == 1 && said.contains("a server or another program uses it"), "{code}: {said}");
    // The server goes on, and nothing is under way any more.
    let start = Instant::now();
    let before = loop {
        let board = board(&served, &token).await;
        if !board["grounded"].as_array().expect("those out of service").is_empty()
            && board["grounded"].as_array().unwrap().iter().all(|g| g["alerts"]["under_way"] == 0)
        {
            break board;
        }
        assert!(start.elapsed() < DEADLINE, "{board}");
        tokio::time::sleep(Duration::from_millis(50)).await;
    };
    assert_eq!(served.stop().0, 0);

    let never = "whole";
    for (at, lines) in [
        (never, 1),
        (never, 2),
        (never, 5),
        (never, 5),
        ("All rows are there", 99),
        ("Comparing every row", 99),
    ] {
        let said = killed(moving(&b.database_url, &target), at, lines);
        assert!(said.len() == lines || said.last().unwrap().starts_with(at), "{said:#?}");
        // What is half there is nobody's to work on.
        let (code, said) = run(chock(&["verify", "--database-url", &target]));
        assert!(code == 1 && said.contains("a move into this database is not finished"), "{code}: {said}");
    }
    let (code, said) = run(moving(&b.database_url, &target));
    assert_eq!(code, 0, "{said}");
    assert!(said.starts_with("Going on where the move of this file was broken off."), "{said}");
    assert!(said.contains("0 breaches"), "{said}");

    // Everything there is, and who was signed in still is.
    let folder = tempfile::tempdir().unwrap();
    let serve = || {
        let mut command = chock(&["serve", "--data", folder.path().to_str().unwrap()]);
        command.env("DATABASE_URL", &target);
        Served::start(command)
    };
    let served = serve();
    assert_eq!(board(&served, &token).await, before);
    let anew = served.token(&client, "otto@yard.example").await;
    assert_eq!(board(&served, &anew).await, before);
    assert_eq!(served.stop().0, 0);
    assert_eq!(run(chock(&["verify", "--database-url", &target])).0, 0);
    assert_eq!(run(chock_on(&b, &["verify"])).0, 0, "the file is as it was");

    // Nothing is written over what is there.
    let (code, said) = run(moving(&b.database_url, &target));
    assert!(code == 1 && said.contains("the target is not empty"), "{code}: {said}");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_file_that_changed_since_it_was_begun_is_not_mixed_with_itself() {
    let b = lived_in().await;
    let target = database(Engine::Postgres, &b.folder).await;
    assert_eq!(killed(moving(&b.database_url, &target), "Comparing", 8).len(), 8);
    assert_eq!(run(chock_on(&b, &["user", "disable", "mia@yard.example"])).0, 0);
    let (code, said) = run(moving(&b.database_url, &target));
    assert!(code == 1 && said.contains("this one before it was changed"), "{code}: {said}");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_cannot_be_moved_is_said_and_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let other = folder.path().join("other.db");
    let target = database(Engine::Postgres, &folder).await;
    let url = |file: &Path| format!("sqlite:{}", file.display());
    let refused = |from: &str, to: &str, why: &str| {
        let (code, said) = run(moving(from, to));
        assert!(code == 1 && said.contains(why), "{from} to {to}: {code}: {said}");
    };
    refused(&target, &url(&other), "nothing goes the other way");
    refused(&url(&other), &url(&other), "and not into that");
    refused(&url(&other), &target, "there is no such file");
    let mut c = SqliteConnection::connect(&format!("{}?mode=rwc", url(&other))).await.unwrap();
    c.execute("CREATE TABLE machine (id INTEGER); CREATE TABLE audit (id INTEGER)").await.unwrap();
    c.close().await.unwrap();
    let kept = std::fs::read(&other).unwrap();
    refused(&url(&other), &target, "it is no database of Chock");
    assert!(std::fs::read(&other).unwrap() == kept, "it is not ours to touch");

    // A character that only one of the two can keep is pointed at.
    let b = Bench::on_real_time(Engine::Sqlite).await;
    b.workshop.db.close().await;
    let mut c = SqliteConnection::connect(&b.database_url).await.unwrap();
    c.execute("UPDATE machine SET description = 'two' || char(0) || 'seats'").await.unwrap();
    c.close().await.unwrap();
    refused(&b.database_url, &target, "table machine, column description, row 1: PostgreSQL keeps no text");
    // One that somebody has begun to use is not written over, however little is in it.
    let used = database(Engine::Postgres, &folder).await;
    assert_eq!(run(chock(&["user", "list", "--database-url", &used])).0, 0);
    let mut pg = PgConnection::connect(&used).await.unwrap();
    pg.execute("INSERT INTO setting VALUES ('currency', 'EUR')").await.unwrap();
    refused(&b.database_url, &used, "the target is not empty (setting has rows");
}

/// One row in every table, every column filled: a table or a kind of column that is forgotten is missed here.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn every_column_of_every_table_goes_over() {
    let b = Bench::on_real_time(Engine::Sqlite).await;
    b.workshop.db.close().await;
    // Of what the bench made nothing stays.
    let file = b.folder.path().join("filled.db");
    let from = format!("sqlite:{}", file.display());
    chock::storage::Db::open(&from).await.unwrap().close().await;
    let options = SqliteConnectOptions::new().filename(&file).foreign_keys(false);
    let mut c = SqliteConnection::connect_with(&options).await.unwrap();
    c.execute("DELETE FROM counter").await.unwrap();
    let tables = "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%' AND name <> '_sqlx_migrations'";
    let mut expected: BTreeMap<String, usize> = BTreeMap::new();
    for table in c.fetch_all(tables).await.unwrap() {
        let table: String = table.get(0);
        let columns = c.fetch_all(AssertSqlSafe(format!("PRAGMA table_info({table})"))).await.unwrap();
        let value = |row: &sqlx::sqlite::SqliteRow| {
            let (name, kind) = (row.get::<String, _>("name"), row.get::<String, _>("type"));
            // Where a rule of the table asks for more than that there is something.
            match (table.as_str(), name.as_str(), kind.as_str()) {
                ("overtime", "per", _) => "'week'",
                ("work_order", "waiting_for", _) => "NULL",
                ("absence", "to_at", _) => "'2026-11-26T06:00:00.000001+00:00'",
                (_, _, "UUID") => "x'0123456789abcdef0123456789abcdef'",
                (_, _, "BIGINT" | "BOOLEAN") => "1",
                (_, _, "DOUBLE PRECISION") => "0.1",
                (_, _, "TIMESTAMPTZ") => "'2026-11-25T06:00:00.123456+00:00'",
                // What COPY writes in a way of its own, and what looks like nothing to it.
                _ => r"'\N tab' || char(9) || 'line' || char(10) || '\. “é” ''' || char(13)",
            }
        };
        let values: Vec<&str> = columns.iter().map(value).collect();
        let filled = values.iter().filter(|v| **v != "NULL").count();
        let insert = format!("INSERT INTO \"{table}\" VALUES ({})", values.join(", "));
        c.execute(AssertSqlSafe(insert)).await.unwrap_or_else(|e| panic!("{table}: {e}"));
        expected.insert(table, filled);
    }
    c.close().await.unwrap();
    assert!(expected.len() > 70, "{}", expected.len());

    let target = database(Engine::Postgres, &b.folder).await;
    let mut moving = Move::begin(&from, &target).await.unwrap();
    // While it is held, nobody writes the file or gives it a log.
    let options = SqliteConnectOptions::new().filename(&file).busy_timeout(Duration::ZERO);
    let mut other = SqliteConnection::connect_with(&options).await.unwrap();
    other.execute("UPDATE counter SET value = 2").await.unwrap_err();
    other.execute("PRAGMA journal_mode = WAL").await.unwrap_err();
    other.close().await.unwrap();
    // Nor does another program: locks of a process are told apart only by another one.
    let (code, said) = run(chock(&["user", "list", "--database-url", &from]));
    assert!(code == 1 && said.contains("locked"), "{code}: {said}");
    assert!(matches!(Move::begin(&from, &target).await, Err(MoveError::AnotherAtWork)));
    for n in 0..moving.tables() {
        moving.copy(n, |_, _| {}).await.unwrap();
    }
    moving.lay_rules().await.unwrap();
    let compared = moving.compare().await.unwrap();
    for table in &compared {
        assert!(table.alike && table.rows == 1, "{}: {} rows", table.table, table.rows);
    }
    // What is not the same is seen, in a table of any kind.
    let mut pg = PgConnection::connect(&target).await.unwrap();
    pg.execute("UPDATE reading SET value_base = 0.10000000000000002").await.unwrap();
    pg.execute("UPDATE machine SET created_at = created_at + INTERVAL '1 microsecond'").await.unwrap();
    pg.execute("DELETE FROM setting").await.unwrap();
    let unlike: Vec<String> =
        moving.compare().await.unwrap().into_iter().filter(|c| !c.alike).map(|c| c.table).collect();
    assert_eq!(unlike, ["machine", "reading", "setting"]);
    moving.finish().await.unwrap();

    // The target has every table that the file has, with as many values; and its own rules again.
    let there = "SELECT table_name::text FROM information_schema.tables
                 WHERE table_schema = 'public' AND table_name <> '_sqlx_migrations' ORDER BY 1";
    let there: Vec<String> = pg.fetch_all(there).await.unwrap().iter().map(|r| r.get(0)).collect();
    assert_eq!(there, expected.keys().cloned().collect::<Vec<_>>());
    for (table, filled) in expected.iter().filter(|(t, _)| *t != "setting") {
        let sql = format!(
            "SELECT (SELECT COUNT(*) FROM jsonb_each(to_jsonb(t)) e WHERE e.value <> 'null') FROM \"{table}\" t"
        );
        let values: i64 = pg.fetch_one(AssertSqlSafe(sql)).await.unwrap().get(0);
        assert_eq!(usize::try_from(values).unwrap(), *filled, "{table}");
    }
    let new = database(Engine::Postgres, &b.folder).await;
    chock::storage::Db::open(&new).await.unwrap().close().await;
    let mut new = PgConnection::connect(&new).await.unwrap();
    assert_eq!(rules(&mut pg).await, rules(&mut new).await);
}

/// Every index and every constraint, as the database writes them.
async fn rules(c: &mut PgConnection) -> Vec<String> {
    let sql = "SELECT pg_get_indexdef(indexrelid) FROM pg_index i JOIN pg_class c ON c.oid = i.indrelid
                 WHERE c.relnamespace = 'public'::regnamespace
               UNION ALL SELECT conrelid::regclass || ' ' || conname || ' ' || pg_get_constraintdef(oid) FROM pg_constraint
                 WHERE connamespace = 'public'::regnamespace ORDER BY 1";
    c.fetch_all(sql).await.unwrap().iter().map(|r| r.get(0)).collect()
}
