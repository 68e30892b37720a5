//! The database fails at step N, for every N of each thing people do: at a beginning, at any statement, at the commit. The
//! answer is an error that asks to try again, nothing at all has changed, and the next try does it.

use std::future::Future;

use chock::domain::checklist::System;
use chock::domain::ids::HoldId;
use chock::domain::person::Role;
use chock::domain::work_order::WaitingFor;
use chock::storage::Failing;
use chock::workflow::{
    self, Counted, Credentials, DefectDone, NewMachine, NewPerson, OutsideNews, ReportDefect, SendOutside,
    WorkflowError, Workshop,
};
use chrono::TimeDelta;
use sqlx::{AssertSqlSafe, Connection, PgConnection, Row, SqliteConnection};

use crate::support::{Bench, PASSWORD, on_both, slight};

on_both!(nothing_is_half_done_whichever_step_fails);

/// Tables that remember attempts and not what was done: a try at a password counts also where the rest failed.
const OF_ATTEMPTS: [&str; 3] = ["wrong_try", "signed_in_from", "_sqlx_migrations"];

/// Looks at the whole database, past the program.
struct Whole {
    looks: Looks,
    sql: String,
}

enum Looks {
    Sqlite(SqliteConnection),
    Postgres(PgConnection),
}

impl Whole {
    async fn of(b: &Bench) -> Self {
        let is_table = |name: &String| !OF_ATTEMPTS.contains(&name.as_str()) && !name.starts_with("sqlite_");
        if let Some(file) = b.database_url.strip_prefix("sqlite:") {
            let mut c = SqliteConnection::connect(&format!("sqlite:{file}")).await.unwrap();
            let tables: Vec<(String,)> =
                sqlx::query_as("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")
                    .fetch_all(&mut c)
                    .await
                    .unwrap();
            let mut parts = Vec::new();
            for (table,) in tables.into_iter().filter(|(t,)| is_table(t)) {
                let columns = sqlx::query(AssertSqlSafe(format!("PRAGMA table_info({table})")));
                let columns: Vec<String> =
                    columns.fetch_all(&mut c).await.unwrap().iter().map(|r| r.get("name")).collect();
                let row =
                    columns.iter().map(|c| format!("quote(\"{c}\")")).collect::<Vec<_>>().join("||','||");
                parts.push(format!(
                    "SELECT '{table}' AS t, COALESCE(group_concat(r, char(10)), '') AS rows FROM (SELECT {row} AS r FROM {table} ORDER BY 1)"
                ));
            }
            Self { looks: Looks::Sqlite(c), sql: parts.join(" UNION ALL ") }
        } else {
            let mut c = PgConnection::connect(&b.database_url).await.unwrap();
            let tables: Vec<(String,)> = sqlx::query_as(
                "SELECT table_name::text FROM information_schema.tables WHERE table_schema = 'public' ORDER BY 1",
            )
            .fetch_all(&mut c)
            .await
            .unwrap();
            let tables = tables.into_iter().filter(|(t,)| is_table(t)).map(|(table,)| {
                format!("SELECT '{table}' AS t, COALESCE(string_agg(r::text, E'\\n' ORDER BY r::text), '') AS rows FROM {table} r")
            });
            let sql = tables.collect::<Vec<_>>().join(" UNION ALL ");
            Self { looks: Looks::Postgres(c), sql }
        }
    }

    /// Every row of every table.
    async fn rows(&mut self) -> Vec<(String, String)> {
        let sql = AssertSqlSafe(self.sql.clone());
        match &mut self.looks {
            Looks::Sqlite(c) => sqlx::query_as(sql).fetch_all(c).await.unwrap(),
            Looks::Postgres(c) => sqlx::query_as(sql).fetch_all(c).await.unwrap(),
        }
    }
}

/// Fails each thing at every step, and counts.
struct Steps<'a> {
    workshop: Workshop,
    failing: Failing,
    whole: Whole,
    done: Vec<(&'static str, i64)>,
    b: &'a Bench,
}

impl<'a> Steps<'a> {
    async fn new(b: &'a Bench) -> Self {
        let failing = Failing::default();
        let mut workshop = b.workshop.clone();
        workshop.db = b.workshop.db.that_fails(&failing);
        Self { workshop, failing, whole: Whole::of(b).await, done: Vec::new(), b }
    }

    /// Does it with the first step failing, then the second, until it succeeds; answers with that.
    async fn each<T, F>(&mut self, what: &'static str, act: impl Fn(Workshop) -> F) -> T
    where
        T: std::fmt::Debug,
        F: Future<Output = Result<T, WorkflowError>>,
    {
        let before = self.whole.rows().await;
        for step in 1.. {
            assert!(step < 1_000, "{what} never ends");
            self.failing.at(step);
            let outcome = act(self.workshop.clone()).await;
            if !self.failing.has_failed() {
                let done = outcome.unwrap_or_else(|e| panic!("{what}, with nothing failing: {e:?}"));
                assert_ne!(self.whole.rows().await, before, "{what} changes nothing, so this shows nothing");
                self.done.push((what, step - 1));
                return done;
            }
            match outcome {
                Err(e) => assert!(e.is_unavailable(), "{what}, step {step}: {e:?}"),
                Ok(done) => panic!("{what}, step {step} failed and it says it was done: {done:?}"),
            }
            let after = self.whole.rows().await;
            for ((table, was), (_, is)) in before.iter().zip(&after) {
                assert_eq!(was, is, "{what}: step {step} failed and “{table}” is another");
            }
            if step % 32 == 0 {
                // What was undone leaves nothing open behind it, either.
                self.b.assert_sound().await;
            }
        }
        unreachable!("the steps go on")
    }
}

async fn nothing_is_half_done_whichever_step_fails(b: Bench) {
    // Made once and for all, when it is first needed.
    workflow::token_key(&b.workshop).await.unwrap();
    let mut s = Steps::new(&b).await;
    let check = b.failed_check(b.machine, 20_000, "fuel-leak", "left-side");
    let check = chock::workflow::SubmitCheck { hours_confirmed: true, ..check };
    let answered = s
        .each("submit a check that fails", |w: Workshop| {
            let (check, operator) = (check.clone(), b.operator.clone());
            async move { workflow::submit_check(&w, &operator, check).await }
        })
        .await;
    let order = answered.work_order.expect("a work order");
    let report = ReportDefect {
        id: b.workshop.ambient.id(),
        machine: b.second_machine,
        what: "Squeaks when turning".into(),
        answers: slight(System::Steering),
    };
    s.each("report a defect", |w| {
        let (report, operator) = (report.clone(), b.operator.clone());
        async move { workflow::report_defect(&w, &operator, report).await }
    })
    .await;
    let hold: HoldId = b.workshop.ambient.id();
    let (supervisor, mechanic, owner) = (&b.supervisor, &b.mechanic, &b.owner);
    let second = b.second_machine;
    s.each("place a hold", |w| async move {
        workflow::place_hold(&w, supervisor, hold, second, "Borrowed without a check").await
    })
    .await;
    s.each("lift a hold", |w| async move { workflow::lift_hold(&w, supervisor, hold, "It is back").await })
        .await;
    s.each("claim", |w| async move { workflow::claim(&w, mechanic, order).await }).await;
    s.each("start labour", |w| async move { workflow::start_labour(&w, mechanic, order).await }).await;
    b.wait(25);
    s.each("stop labour", |w| async move { workflow::stop_labour(&w, mechanic, order).await }).await;
    let (from, to) = (b.now() - TimeDelta::hours(2), b.now() - TimeDelta::hours(1));
    s.each("enter labour", |w| async move { workflow::enter_labour(&w, mechanic, order, from, to).await })
        .await;
    let (part, yard) = (b.part, b.yard);
    s.each(
        "reserve",
        |w| async move { workflow::reserve_part(&w, mechanic, order, part, "5").await.map(|_| ()) },
    )
    .await;
    s.each(
        "receive",
        |w| async move { workflow::receive_part(&w, owner, part, yard, "4", "120.00", "").await },
    )
    .await;
    s.each("issue", |w| async move { workflow::issue_part(&w, mechanic, order, part, "2").await }).await;
    s.each("return", |w| async move { workflow::return_part(&w, mechanic, order, part, "1").await }).await;
    let sheet = b.workshop.ambient.id();
    s.each("count the stock", |w| {
        // Three, four received, two issued, one back.
        let counted = Counted { part, booked: "6".into(), counted: "5".into() };
        async move { workflow::count_stock(&w, owner, sheet, yard, &[counted]).await }
    })
    .await;
    s.each("wait for access", |w| async move {
        workflow::wait_for(&w, mechanic, order, WaitingFor::Access, None, "The key of the shed").await
    })
    .await;
    let back_by = b.now() + TimeDelta::days(2);
    let outside = s
        .each("send outside", |w| {
            let sent = SendOutside {
                vendor: "Fjord Fuel Systems".into(),
                what: "Tank".into(),
                back_by: Some(back_by),
                ..SendOutside::default()
            };
            async move { workflow::send_outside(&w, mechanic, order, sent).await }
        })
        .await;
    s.each("back from outside", |w| async move {
        let news = OutsideNews::Back { licence: String::new() };
        workflow::tell_of_outside(&w, mechanic, order, outside, news).await
    })
    .await;
    let page = workflow::order_page(&b.workshop, owner, order).await.unwrap();
    let open: Vec<_> =
        page.defects.iter().filter(|d| d.defect.closed_at.is_none()).map(|d| d.defect.id).collect();
    s.each("finish", |w| {
        let done = open.iter().map(|defect| DefectDone {
            defect: *defect,
            cause: "Chafed".into(),
            remedy: "Replaced".into(),
            no_fault_found: false,
            part_replaced: false,
        });
        let done = done.collect();
        async move { workflow::finish_work(&w, mechanic, order, done, None).await }
    })
    .await;
    for (defect, given) in b.passing_retests(order).await {
        s.each("retest", |w| {
            let given = given.clone();
            async move { workflow::retest(&w, mechanic, order, defect, given).await.map(|r| r.passed) }
        })
        .await;
    }
    s.each("release", |w| async move { workflow::release(&w, supervisor, order, "").await.map(|_| ()) })
        .await;
    let mia = workflow::people(&b.workshop, owner).await.unwrap();
    let mia = mia.into_iter().find(|(p, _, _)| p.id == b.other_mechanic.id).expect("she is here").0;
    s.each("change a person", |w| {
        let to = NewPerson {
            name: "Mia Mechanic".into(),
            email: mia.email.clone(),
            roles: vec![Role::Mechanic, Role::Supervisor],
            yards: vec![yard],
            rate_minor: 4_700,
        };
        async move { workflow::change_person(&w, owner, mia.id, to).await }
    })
    .await;
    let operator = b.operator.id;
    s.each("set a password", |w| async move { workflow::set_password(&w, operator, PASSWORD).await }).await;
    let grant = s
        .each("sign in", |w| async move {
            let given = Credentials { email: "otto@yard.example", password: PASSWORD };
            workflow::sign_in_api(&w, given, None).await.map(|g| g.refresh_token)
        })
        .await;
    s.each("refresh a token", |w| {
        let token = grant.clone();
        async move { workflow::refresh(&w, &token).await.map(|g| g.refresh_token) }
    })
    .await;
    s.each("disable a person", |w| async move { workflow::disable_person(&w, owner, operator, true).await })
        .await;
    s.each("add a machine", |w| async move {
        let machine = NewMachine {
            yard,
            unit_number: "U-09".into(),
            class: "utility vehicle".into(),
            description: String::new(),
            serial: String::new(),
            engine_hours: None,
        };
        workflow::add_machine(&w, owner, machine).await
    })
    .await;
    s.each("take what is due to be mailed", |w| async move {
        workflow::lease_deliveries(&w, 3).await.map(|d| d.len())
    })
    .await;
    s.each("sign a head", |w| async move { workflow::sign_head_when_due(&w).await }).await;
    s.each("retire a machine", |w| async move { workflow::retire_machine(&w, owner, second, "Sold").await })
        .await;
    b.assert_sound().await;
    let steps: i64 = s.done.iter().map(|(_, steps)| steps).sum();
    println!("{} things people do, {steps} steps failed one by one, nothing half done:", s.done.len());
    for (what, steps) in &s.done {
        println!("  {what}: {steps}");
    }
}
