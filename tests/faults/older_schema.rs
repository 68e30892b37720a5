//! A database of the first schema, with data in it, is brought to the newest by the migrations, and is sound afterwards. There is
//! no release yet, so the first schema is what `migrations/0001` makes today; with the first release its dump is frozen here.

use std::path::Path;

use chock::clock::Ambient;
use chock::domain::standing::Standing;
use chock::storage::Db;
use chock::workflow::{self, Workshop};
use sqlx::migrate::Migrator;
use sqlx::{AssertSqlSafe, Connection, Executor, PgConnection, Row, SqliteConnection};

use crate::support::{Bench, Engine, database, on_both};

on_both!(a_database_of_the_first_schema_is_brought_to_the_newest);

async fn first_step(folder: &Path) -> Migrator {
    let name = "0001_main_job.sql";
    std::fs::copy(Path::new(env!("CARGO_MANIFEST_DIR")).join("migrations").join(name), folder.join(name))
        .unwrap();
    Migrator::new(folder).await.unwrap()
}

async fn a_database_of_the_first_schema_is_brought_to_the_newest(b: Bench) {
    // A machine that was repaired, one that is held, one that is watched, parts and labour.
    let w = &b.workshop;
    let order = b.ground(b.machine).await;
    workflow::claim(w, &b.mechanic, order).await.unwrap();
    workflow::start_labour(w, &b.mechanic, order).await.unwrap();
    workflow::issue_part(w, &b.mechanic, order, b.part, "1").await.unwrap();
    b.wait(40);
    b.finish(order).await.unwrap();
    b.pass_retests(order).await;
    workflow::release(w, &b.supervisor, order, "").await.unwrap();
    b.ground(b.second_machine).await;
    b.submit(b.failed_check(b.machine, 20_100, "oil-leak", "")).await;
    let before = workflow::verify(w).await.unwrap();
    assert!(before.sound(), "{:?}", before.breaches);
    w.db.close().await;

    let folder = tempfile::tempdir().unwrap();
    let steps = tempfile::tempdir().unwrap();
    let migrator = first_step(steps.path()).await;
    let older = match b.database_url.strip_prefix("sqlite:") {
        Some(newest) => {
            let url = format!("sqlite:{}", folder.path().join("older.db").display());
            let mut c = SqliteConnection::connect(&format!("{url}?mode=rwc")).await.unwrap();
            migrator.run(&mut c).await.unwrap();
            c.execute("PRAGMA foreign_keys = OFF").await.unwrap();
            c.execute(AssertSqlSafe(format!("ATTACH '{newest}' AS newest"))).await.unwrap();
            let tables = "SELECT name FROM main.sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%' AND name NOT LIKE '\\_sqlx%' ESCAPE '\\'";
            for table in c.fetch_all(tables).await.unwrap() {
                let table: String = table.get(0);
                let columns =
                    c.fetch_all(AssertSqlSafe(format!("PRAGMA main.table_info({table})"))).await.unwrap();
                let columns: Vec<String> =
                    columns.iter().map(|r| format!("\"{}\"", r.get::<String, _>("name"))).collect();
                let columns = columns.join(", ");
                let copy = format!(
                    "DELETE FROM main.{table}; INSERT INTO main.{table} ({columns}) SELECT {columns} FROM newest.{table}"
                );
                c.execute(AssertSqlSafe(copy)).await.unwrap();
            }
            // Whoever was told then was not asked to acknowledge: the first schema keeps no look on that.
            c.execute("UPDATE main.outbox SET asks_for = NULL").await.unwrap();
            c.close().await.unwrap();
            url
        }
        None => {
            let url = database(Engine::Postgres, &folder).await;
            let mut newest = PgConnection::connect(&b.database_url).await.unwrap();
            let mut c = PgConnection::connect(&url).await.unwrap();
            migrator.run(&mut c).await.unwrap();
            c.execute("SET session_replication_role = replica").await.unwrap();
            let tables = "SELECT table_name::text FROM information_schema.tables WHERE table_schema = 'public' AND table_name NOT LIKE '\\_sqlx%'";
            for table in c.fetch_all(tables).await.unwrap() {
                let table: String = table.get(0);
                let rows = newest
                    .fetch_one(AssertSqlSafe(format!(
                        "SELECT COALESCE(json_agg(t), '[]')::text FROM {table} t"
                    )))
                    .await;
                let rows: String = rows.unwrap().get(0);
                c.execute(AssertSqlSafe(format!("DELETE FROM {table}"))).await.unwrap();
                let copy = format!(
                    "INSERT INTO {table} SELECT * FROM json_populate_recordset(NULL::{table}, $1::json)"
                );
                sqlx::query(AssertSqlSafe(copy)).bind(rows).execute(&mut c).await.unwrap();
            }
            c.execute("UPDATE outbox SET asks_for = NULL").await.unwrap();
            c.close().await.unwrap();
            url
        }
    };

    let db = Db::open(&older).await.expect("the migrations run");
    assert_eq!(db.read().await.unwrap().migrations_apart().await.unwrap(), Vec::<i64>::new());
    let w = Workshop::new(db, Ambient::real(), "EUR");
    let after = workflow::verify(&w).await.unwrap();
    assert!(after.sound(), "{:#?}", after.breaches);
    assert_eq!((after.chains, after.entries), (before.chains, before.entries), "the trail came along whole");
    // And it is worked on with.
    let gate = workflow::gate(&w, &b.owner, b.second_machine).await.unwrap();
    assert_eq!(gate.standing, Standing::OutOfService);
    let order = gate.order.expect("its work order").id;
    workflow::claim(&w, &b.mechanic, order).await.unwrap();
    workflow::sign_head(&w, &b.owner).await.unwrap();
    let after = workflow::verify(&w).await.unwrap();
    assert!(after.sound(), "{:#?}", after.breaches);
    w.db.close().await;
    println!("from the first schema to the newest: {} audit entries and all they stand for", before.entries);
}
