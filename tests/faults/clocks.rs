//! The clock jumps: forward as after a long sleep, and back as when a wrong one is put right. Nothing is held back, sent in a
//! loop, counted below nothing or set free.

use std::sync::Arc;

use chock::domain::standing::Standing;
use chock::notify::Memory;
use chock::tasks::{Post, deliver_once};
use chock::workflow::{self, Credentials, NewWebhook, OutboxState};
use chrono::TimeDelta;

use crate::support::{Bench, PASSWORD, on_both};

on_both!(
    a_clock_put_back_holds_no_alert_back,
    a_clock_put_back_counts_no_work_below_nothing,
    a_jump_ends_sessions_and_watches_as_their_time_says,
);

fn jump(b: &Bench, by: TimeDelta) {
    b.time.set(b.now() + by);
}

async fn a_clock_put_back_holds_no_alert_back(b: Bench) {
    // The clock is two days ahead when a machine is stopped, and a server has just taken some of the mails.
    jump(&b, TimeDelta::days(2));
    let hook = NewWebhook { url: "https://other.example.org/".into(), ..NewWebhook::default() };
    workflow::add_webhook(&b.workshop, &b.owner, hook, false).await.unwrap();
    b.ground(b.machine).await;
    let leased = workflow::lease_deliveries(&b.workshop, 2).await.unwrap();
    assert_eq!(leased.len(), 2);
    let messages = workflow::lease_webhook_deliveries(&b.workshop, 9).await.unwrap();
    assert!(!messages.is_empty());
    // That server dies, and the clock is put right.
    jump(&b, -TimeDelta::days(2));
    let again = workflow::lease_webhook_deliveries(&b.workshop, 9).await.unwrap();
    assert_eq!(again.len(), messages.len(), "what another program was to hear, too");
    for message in &again {
        workflow::webhook_not_delivered(&b.workshop, message, false, "503").await.unwrap();
    }
    assert!(
        workflow::lease_webhook_deliveries(&b.workshop, 9).await.unwrap().is_empty(),
        "not without a pause"
    );
    let memory = Arc::new(Memory::new());
    let post = Post {
        mailer: memory.clone(),
        public_url: "https://chock.example.org".into(),
        domain: "chock.example.org".into(),
    };
    for _ in 0..5 {
        deliver_once(&b.workshop, &post).await.unwrap();
    }
    assert_eq!(memory.sent().len(), 5, "all five, and each once");

    // What is refused for now waits as ever, although it is from a time to come.
    jump(&b, TimeDelta::days(2));
    b.ground(b.second_machine).await;
    jump(&b, -TimeDelta::days(2));
    let mut tried = 0;
    loop {
        let leased = workflow::lease_deliveries(&b.workshop, 10).await.unwrap();
        if leased.is_empty() {
            break;
        }
        tried += leased.len();
        assert!(tried <= 5, "tried without a pause");
        for delivery in &leased {
            workflow::not_delivered(&b.workshop, delivery, false, "450 busy").await.unwrap();
        }
    }
    assert_eq!(tried, 5);
    let outbox = workflow::outbox(&b.workshop, &b.owner, 100).await.unwrap();
    let owed: Vec<_> = outbox.iter().filter(|o| o.state == OutboxState::Owed).collect();
    assert!(
        owed.len() == 5 && owed.iter().all(|o| o.next_at == b.now() + TimeDelta::minutes(1)),
        "{owed:#?}"
    );
    b.assert_sound().await;
}

async fn a_clock_put_back_counts_no_work_below_nothing(b: Bench) {
    let w = &b.workshop;
    let order = b.ground(b.machine).await;
    b.wait(10);
    workflow::claim(w, &b.mechanic, order).await.unwrap();
    workflow::start_labour(w, &b.mechanic, order).await.unwrap();
    // An hour too far ahead: put right while the clock of the work runs.
    jump(&b, -TimeDelta::hours(1));
    workflow::close_forgotten_timers(w).await.unwrap();
    b.assert_sound().await;
    workflow::stop_labour(w, &b.mechanic, order).await.unwrap();
    b.assert_sound().await;
    let page = workflow::order_page(w, &b.owner, order).await.unwrap();
    assert!(page.labour.iter().all(|l| l.cost_minor >= 0), "{:?}", page.labour);
    assert!(
        page.labour.iter().all(|l| l.ended_at.is_none_or(|end| end >= l.started_at)),
        "{:?}",
        page.labour
    );
    // Work goes on, and what the order was at is told in the order in which it was.
    workflow::hand_back(w, &b.mechanic, order).await.unwrap();
    workflow::claim(w, &b.other_mechanic, order).await.unwrap();
    b.assert_sound().await;
    jump(&b, TimeDelta::days(400));
    workflow::close_forgotten_timers(w).await.unwrap();
    workflow::end_watches(w).await.unwrap();
    workflow::pass_on(w).await.unwrap();
    workflow::send_digests(w).await.unwrap();
    assert!(workflow::sign_head_when_due(w).await.unwrap());
    jump(&b, -TimeDelta::days(400));
    assert!(workflow::sign_head_when_due(w).await.unwrap(), "a head from a time to come holds none back");
    assert!(!workflow::sign_head_when_due(w).await.unwrap(), "and is not signed over and over");
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService, "no jump sets a machine free");
    b.assert_sound().await;
}

async fn a_jump_ends_sessions_and_watches_as_their_time_says(b: Bench) {
    let w = &b.workshop;
    crate::support::has_password(w, b.operator.id).await;
    let given = || Credentials { email: "otto@yard.example", password: PASSWORD };
    let (_, secret) = workflow::sign_in_page(w, given()).await.unwrap();
    let seen = async || workflow::actor_of_session(w, &secret).await.unwrap().is_some();
    // A defect that is only watched.
    b.submit(b.failed_check(b.machine, 12_100, "oil-leak", "")).await;
    assert_eq!(b.standing(b.machine).await, Standing::Monitored);
    jump(&b, -TimeDelta::days(3));
    assert!(seen().await, "nobody is put out because the clock was wrong");
    assert_eq!(workflow::end_watches(w).await.unwrap(), 0);
    assert_eq!(b.standing(b.machine).await, Standing::Monitored);
    // Far ahead: what has an end has ended, and stays so when the clock comes back.
    jump(&b, TimeDelta::days(400));
    assert!(!seen().await);
    workflow::end_watches(w).await.unwrap();
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService);
    workflow::tidy(w).await.unwrap();
    jump(&b, -TimeDelta::days(397));
    assert!(!seen().await, "a session that has ended does not come back");
    assert_eq!(b.standing(b.machine).await, Standing::OutOfService, "in doubt it stays out");
    let (_, again) = workflow::sign_in_page(w, given()).await.expect("signing in works on");
    assert!(workflow::actor_of_session(w, &again).await.unwrap().is_some());
    b.assert_sound().await;
}
