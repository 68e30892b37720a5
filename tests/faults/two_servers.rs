//! Two servers on one PostgreSQL, and one is killed while it hands over a mail: the other sees to it. No alert is lost, and
//! nobody gets more than one mail too many, which a mail program shows once, for it has the same Message-ID.

use std::collections::BTreeSet;
use std::time::{Duration, Instant};

use chock::workflow;
use sqlx::{Connection, Executor, PgConnection};

use super::rounds;
use crate::support::process::{DEADLINE, Served, chock_on};
use crate::support::stubborn_mail::{Mood, StubbornMail};
use crate::support::{Bench, Engine};

const EVERYBODY: [&str; 5] =
    ["olga@yard.example", "sara@yard.example", "mats@yard.example", "mia@yard.example", "otto@yard.example"];

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn one_that_dies_while_it_sends_leaves_no_alert_behind() {
    let (mut twice, mut mails) = (0, 0);
    let count = rounds(2, 12);
    for round in 0..count {
        let b = Bench::on_real_time(Engine::Postgres).await;
        let mail = StubbornMail::start().await;
        // It takes one and breaks off before it can say so, and keeps the next waiting for ever: there the first server dies.
        let (cut_off, waiting) = (EVERYBODY[round % 5], EVERYBODY[(round + 1) % 5]);
        mail.next(cut_off, &[Mood::DropsAfterDot]);
        mail.next(waiting, &[Mood::Hangs]);
        let url = format!("smtp://127.0.0.1:{}", mail.port);
        let serve = || {
            let mut command = chock_on(&b, &["serve"]);
            command.args(["--mail-url", &url, "--mail-from", "Chock <chock@yard.example>"]);
            Served::start(command)
        };
        let mut first = serve();
        b.ground(b.machine).await;
        until(|| mail.tried(waiting) > 0, "the first server sends").await;
        let second = serve();
        first.kill();
        // What the dead one had taken is free when its lease runs out. Nobody waits five minutes for it here.
        let mut c = PgConnection::connect(&b.database_url).await.unwrap();
        let shorten =
            "UPDATE outbox SET lease_until = now(), next_at = now() WHERE state IN ('owed', 'sending')";
        let start = Instant::now();
        while EVERYBODY.iter().any(|to| mail.taken(to).is_empty()) {
            assert!(start.elapsed() < DEADLINE, "an alert is lost: {:?}", EVERYBODY.map(|to| mail.taken(to)));
            c.execute(shorten).await.unwrap();
            // Any change wakes the second server.
            let operator = &b.operator;
            let id = b.workshop.ambient.id();
            workflow::place_hold(&b.workshop, operator, id, b.second_machine, "Looks odd").await.unwrap();
            workflow::lift_hold(&b.workshop, operator, id, "It is well").await.unwrap();
            tokio::time::sleep(Duration::from_millis(300)).await;
        }
        assert_eq!(second.stop().0, 0);
        let outbox = workflow::outbox(&b.workshop, &b.owner, 500).await.unwrap();
        let of_first = outbox.iter().filter(|o| o.machine_id == Some(b.machine));
        let mut ids = BTreeSet::new();
        for row in of_first {
            let id = format!("<{}@yard.example>", row.id);
            let times = mail.taken(&row.email).iter().filter(|taken| **taken == id).count();
            assert!((1..=2).contains(&times), "{}: {times} times", row.email);
            twice += times - 1;
            mails += 1;
            assert!(ids.insert(id), "two alerts of one id");
        }
        b.assert_sound().await;
    }
    println!(
        "{count} servers killed while sending: {mails} alerts, none lost, {twice} sent twice under the same Message-ID"
    );
}

async fn until(what: impl Fn() -> bool, said: &str) {
    let start = Instant::now();
    while !what() {
        assert!(start.elapsed() < DEADLINE, "{said}: not yet");
        tokio::time::sleep(Duration::from_millis(10)).await;
    }
}
