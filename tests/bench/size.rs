//! What a record costs on the disk: checks that pass and checks that ground a machine, made as people make them, and what the
//! engine says its tables and their indexes take then. Bytes are the same from a debug build.

use std::collections::BTreeMap;

use chock::workflow;
use sqlx::{Connection, PgConnection, Row, SqliteConnection};

use crate::answers::fail;
use crate::raw::Statements;
use crate::report::Report;
use crate::world::{Engine, World};
use crate::{Outcome, Plan};

/// On so many machines, each checked equally often and then grounded once.
const MACHINES: usize = 200;
const CHECKS_EACH: usize = 50;

/// Bytes with indexes, and rows.
type Sizes = BTreeMap<String, (i64, i64)>;

pub async fn measure(plan: &Plan, engine: Engine, statements: &Statements, report: &mut Report) -> Outcome {
    let name = engine.name();
    let world = World::new(engine, MACHINES).await?;
    let w = &world.workshop;
    w.db.relax_durability().await?;
    let each = if plan.rounds == 1 { CHECKS_EACH / 10 } else { CHECKS_EACH };
    // What there is of each machine from its first check on is no part of what a check costs.
    for machine in &world.machines {
        workflow::submit_check(w, &world.operator, world.check(machine)).await?;
    }
    let before = sizes(&world).await?;
    for _ in 0..each {
        for machine in &world.machines {
            workflow::submit_check(w, &world.operator, world.check(machine)).await?;
        }
    }
    let checked = sizes(&world).await?;
    statements.forget()?;
    workflow::submit_check(w, &world.operator, world.check(&world.machines[0])).await?;
    let of_a_check = statements.heard()?.len();
    for machine in &world.machines {
        let mut check = world.check(machine);
        fail(&mut check.answers, "fuel-leak", "left-side");
        workflow::submit_check(w, &world.operator, check).await?.work_order.ok_or("it was not grounded")?;
    }
    let grounded = sizes(&world).await?;
    let checks = (each * MACHINES) as f64;
    let whole = |sizes: &Sizes| sizes.values().map(|(bytes, _)| *bytes).sum::<i64>() as f64;
    println!("\n{name}: {checks} checks that pass, then {MACHINES} that ground their machine");
    report.add(
        format!("{name}: a check that passes, with all it writes"),
        "bytes",
        None,
        vec![(whole(&checked) - whole(&before)) / checks],
    );
    report.add(format!("{name}: statements of a check that passes"), "", None, vec![of_a_check as f64]);
    report.add(
        format!("{name}: a check that grounds, with all it writes"),
        "bytes",
        None,
        vec![(whole(&grounded) - whole(&checked)) / MACHINES as f64],
    );
    for table in ["pre_use_check", "check_answer", "reading", "audit"] {
        let ((bytes, rows), (bytes_before, rows_before)) = (checked[table], before[table]);
        let made = (rows - rows_before).max(1) as f64;
        report.add(
            format!("{name}: {table}, a row"),
            "bytes",
            None,
            vec![(bytes - bytes_before) as f64 / made],
        );
        report.add(format!("{name}: {table}, rows a check"), "", None, vec![made / checks]);
    }
    for table in ["defect", "hold", "work_order", "order_spell", "outbox", "acknowledgement"] {
        let (bytes, rows) = grounded[table];
        report.add(format!("{name}: {table}, a row"), "bytes", None, vec![bytes as f64 / rows.max(1) as f64]);
        report.add(
            format!("{name}: {table}, rows a grounding"),
            "",
            None,
            vec![rows as f64 / MACHINES as f64],
        );
    }
    world.clear_away().await
}

async fn sizes(world: &World) -> Outcome<Sizes> {
    let mut sizes = Sizes::new();
    match world.config.database_url.strip_prefix("sqlite:") {
        Some(file) => {
            let mut c = SqliteConnection::connect(&format!("sqlite:{file}")).await?;
            let tables = "SELECT m.tbl_name, SUM(d.pgsize) FROM dbstat d JOIN sqlite_master m ON m.name = d.name GROUP BY 1";
            for row in sqlx::query(tables).fetch_all(&mut c).await? {
                let table: String = row.get(0);
                let count = sqlx::AssertSqlSafe(format!("SELECT COUNT(*) FROM \"{table}\""));
                let (rows,): (i64,) = sqlx::query_as(count).fetch_one(&mut c).await?;
                sizes.insert(table, (row.get(1), rows));
            }
        }
        None => {
            let mut c = PgConnection::connect(&world.config.database_url).await?;
            let tables = "SELECT relname::text, pg_total_relation_size(oid) FROM pg_class
                          WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace";
            for row in sqlx::query(tables).fetch_all(&mut c).await? {
                let table: String = row.get(0);
                let count = sqlx::AssertSqlSafe(format!("SELECT COUNT(*) FROM \"{table}\""));
                let (rows,): (i64,) = sqlx::query_as(count).fetch_one(&mut c).await?;
                sizes.insert(table, (row.get(1), rows));
            }
        }
    }
    Ok(sizes)
}
