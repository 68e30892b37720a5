//! Alerts through a mail server on a bad day, with the clock moved: what is tried again and when, what is final, and that nobody
//! gets more than one mail too many.

use std::collections::BTreeSet;
use std::sync::Arc;
use std::time::Duration;

use chock::domain::alert::AlertState;
use chock::notify::{MailConfig, Smtp};
use chock::tasks::{Post, deliver_once};
use chock::workflow::{self, OutboxRow, OutboxState};
use chrono::TimeDelta;

use crate::support::stubborn_mail::{Mood, StubbornMail};
use crate::support::{Bench, on_both};

on_both!(
    what_is_refused_for_now_is_tried_again_and_what_is_refused_for_good_is_not,
    a_server_that_breaks_off_after_the_final_dot_costs_one_mail_too_many,
    a_mail_is_given_up_after_five_days_and_shows,
);

const SARA: &str = "sara@yard.example";
const MATS: &str = "mats@yard.example";
const MIA: &str = "mia@yard.example";
const OLGA: &str = "olga@yard.example";
const OTTO: &str = "otto@yard.example";

fn post(server: &StubbornMail) -> Post {
    let smtp = Smtp::new(&MailConfig {
        url: format!("smtp://127.0.0.1:{}", server.port),
        from: "Chock <chock@example.org>".into(),
        user: None,
        password: None,
        timeout: Duration::from_millis(1500),
        root_certificate: None,
    });
    Post {
        mailer: Arc::new(smtp.unwrap()),
        public_url: "https://chock.example.org".into(),
        domain: "chock.example.org".into(),
    }
}

async fn deliver(b: &Bench, post: &Post) {
    while deliver_once(&b.workshop, post).await.unwrap() > 0 {}
}

async fn owed_to(b: &Bench, address: &str) -> OutboxRow {
    let outbox = workflow::outbox(&b.workshop, &b.owner, 100).await.unwrap();
    outbox.into_iter().find(|o| o.email == address).unwrap()
}

async fn what_is_refused_for_now_is_tried_again_and_what_is_refused_for_good_is_not(b: Bench) {
    let server = StubbornMail::start().await;
    let post = post(&server);
    // RFC 5321, 4.2.1 and 4.2.3: 4yz may pass, 5yz does not.
    server.next(OLGA, &[Mood::AtRcpt("421 closing down")]);
    server.next(SARA, &[Mood::AtRcpt("450 mailbox busy"), Mood::AtRcpt("451 local error")]);
    server.next(MATS, &[Mood::AtRcpt("550 no such mailbox")]);
    server.next(MIA, &[Mood::AfterData("552 too much mail")]);
    server.next(OTTO, &[Mood::Hangs]);
    b.ground(b.machine).await;
    let started = b.now();
    deliver(&b, &post).await;

    for (address, answer) in [(OLGA, "421"), (SARA, "450"), (OTTO, "no answer")] {
        let row = owed_to(&b, address).await;
        assert_eq!((row.state, row.attempts), (OutboxState::Owed, 1), "{address}");
        assert!(row.last_answer.contains(answer), "{}", row.last_answer);
        assert_eq!(row.next_at - started, TimeDelta::minutes(1), "{address}");
    }
    for (address, answer) in [(MATS, "550 no such mailbox"), (MIA, "552 too much mail")] {
        let row = owed_to(&b, address).await;
        assert_eq!((row.state, row.last_answer.as_str()), (OutboxState::Failed, answer), "{address}");
    }
    let state = || async { workflow::alert_states(&b.workshop, &b.owner).await.unwrap()[&b.machine] };
    assert_eq!(state().await, AlertState::NotDelivered, "the board shows it");

    b.wait(1);
    deliver(&b, &post).await;
    assert_eq!(owed_to(&b, OLGA).await.state, OutboxState::Delivered);
    assert_eq!(owed_to(&b, OTTO).await.state, OutboxState::Delivered);
    let sara = owed_to(&b, SARA).await;
    assert!(sara.last_answer.starts_with("451"), "{}", sara.last_answer);
    assert_eq!(sara.next_at - b.now(), TimeDelta::minutes(5));
    b.wait(5);
    deliver(&b, &post).await;
    assert_eq!(owed_to(&b, SARA).await.state, OutboxState::Delivered);

    b.wait(24 * 60);
    deliver(&b, &post).await;
    assert_eq!((server.tried(MATS), server.tried(MIA)), (1, 1), "what is final is not tried again");
    assert_eq!(state().await, AlertState::NotDelivered);
    // By hand, once the address is right again.
    for address in [MATS, MIA] {
        let row = owed_to(&b, address).await;
        workflow::resend(&b.workshop, &b.supervisor, row.id).await.unwrap();
        deliver(&b, &post).await;
        assert_eq!(server.taken(address), [format!("<{}@chock.example.org>", row.id)]);
    }
    assert_eq!(state().await, AlertState::NotAcknowledged);
    for address in [OLGA, SARA, OTTO] {
        assert_eq!(server.taken(address).len(), 1, "{address}");
    }
    b.assert_sound().await;
}

async fn a_server_that_breaks_off_after_the_final_dot_costs_one_mail_too_many(b: Bench) {
    let server = StubbornMail::start().await;
    let post = post(&server);
    server.next(SARA, &[Mood::DropsAfterDot]);
    b.ground(b.machine).await;
    deliver(&b, &post).await;
    // RFC 5321, 4.5.4.1 and RFC 1047: whether the mail was taken cannot be known, so it is sent again.
    let row = owed_to(&b, SARA).await;
    assert_eq!((row.state, row.attempts), (OutboxState::Owed, 1), "{}", row.last_answer);
    b.wait(1);
    deliver(&b, &post).await;
    b.wait(24 * 60);
    deliver(&b, &post).await;
    let taken = server.taken(SARA);
    assert_eq!(taken.len(), 2, "one mail too many");
    assert_eq!(
        BTreeSet::from_iter(taken).len(),
        1,
        "of the same Message-ID, of which a mail program shows one"
    );
    assert_eq!(server.taken(OLGA).len(), 1);
}

async fn a_mail_is_given_up_after_five_days_and_shows(b: Bench) {
    let server = StubbornMail::start().await;
    let post = post(&server);
    server.always(SARA, Mood::AtRcpt("450 mailbox busy"));
    b.ground(b.machine).await;
    let started = b.now();
    let mut waits = Vec::new();
    loop {
        deliver(&b, &post).await;
        let row = owed_to(&b, SARA).await;
        if row.state != OutboxState::Owed {
            assert_eq!(row.state, OutboxState::Failed);
            break;
        }
        waits.push((row.next_at - b.now()).num_minutes());
        b.time.set(row.next_at);
        assert!(waits.len() < 200, "never given up");
    }
    assert_eq!(waits[..6], [1, 5, 15, 30, 120, 120]);
    let lasted = b.now() - started;
    assert!(lasted <= TimeDelta::days(5) && lasted > TimeDelta::days(5) - TimeDelta::hours(3), "{lasted}");
    assert_eq!(server.tried(SARA), waits.len() + 1);
    let states = workflow::alert_states(&b.workshop, &b.owner).await.unwrap();
    assert_eq!(states[&b.machine], AlertState::NotDelivered);
}
