//! Guessing at passwords: slow from where it is done, and no lock-out of whoever knows theirs.

use std::net::IpAddr;

use chock::domain::refusal::Refusal;
use chock::workflow::{self, Credentials, WorkflowError, Workshop};
use futures_util::future::join_all;

use crate::support::{Bench, PASSWORD, on_both};

const OTTO: &str = "otto@yard.example";

on_both!(
    slips_cost_nothing_and_guessing_waits,
    a_guesser_elsewhere_keeps_nobody_out,
    one_place_at_many_names_is_slowed_down,
    a_hundred_at_once_are_a_hundred,
    whoever_sits_at_an_open_page_guesses_no_faster,
);

#[derive(Debug, PartialEq)]
enum Got {
    In,
    Wrong,
    Wait(i64),
}

async fn tried(w: &Workshop, email: &str, password: &str, from: &str) -> Got {
    let from: IpAddr = from.parse().unwrap();
    match workflow::sign_in_page_on(w, Credentials { email, password }, Some(from), None).await {
        Ok(_) => Got::In,
        Err(WorkflowError::Refused(Refusal::Forbidden(_))) => Got::Wrong,
        Err(WorkflowError::Refused(Refusal::TooSoon { seconds })) => Got::Wait(seconds),
        Err(e) => panic!("{e}"),
    }
}

async fn slips_cost_nothing_and_guessing_waits(b: Bench) {
    let w = &b.workshop;
    crate::support::has_password(w, b.operator.id).await;
    for _ in 0..4 {
        assert_eq!(tried(w, OTTO, "slipped in gloves", "198.51.100.7").await, Got::Wrong);
    }
    assert_eq!(tried(w, OTTO, PASSWORD, "198.51.100.7").await, Got::In, "four slips cost nothing");
    for _ in 0..5 {
        assert_eq!(tried(w, OTTO, "guessed at random", "198.51.100.7").await, Got::Wrong, "counted anew");
    }
    let Got::Wait(seconds) = tried(w, OTTO, PASSWORD, "198.51.100.200").await else {
        panic!("the right one is not looked at either, nor from the next address of the same network")
    };
    assert!((1..=2).contains(&seconds), "{seconds}");
    b.wait(1);
    assert_eq!(tried(w, OTTO, PASSWORD, "198.51.100.7").await, Got::In, "never longer than a minute");
    b.assert_sound().await;
}

/// Many places at one name: a new place waits, the one where its owner signs in does not.
async fn a_guesser_elsewhere_keeps_nobody_out(b: Bench) {
    let w = &b.workshop;
    crate::support::has_password(w, b.operator.id).await;
    assert_eq!(tried(w, OTTO, PASSWORD, "203.0.113.9").await, Got::In);
    let mut waited = 0;
    for net in 0..60 {
        match tried(w, OTTO, "guessed at random", &format!("198.18.{net}.1")).await {
            Got::Wrong => {}
            Got::Wait(_) => waited += 1,
            Got::In => panic!("in by guessing"),
        }
    }
    assert_eq!(waited, 40, "twenty are looked at, wherever they come from");
    assert_eq!(tried(w, OTTO, PASSWORD, "203.0.113.9").await, Got::In, "from where he usually is");
    assert!(matches!(tried(w, OTTO, PASSWORD, "192.0.2.1").await, Got::Wait(_)), "from a new place, later");
    b.wait(1);
    assert_eq!(tried(w, OTTO, PASSWORD, "192.0.2.1").await, Got::In);
    b.assert_sound().await;
}

async fn one_place_at_many_names_is_slowed_down(b: Bench) {
    let w = &b.workshop;
    for n in 0..40 {
        let name = format!("name{n}@yard.example");
        assert_eq!(tried(w, &name, "Spring2026!", "2001:db8:5:1::1").await, Got::Wrong, "{n}");
    }
    let next = tried(w, "one.more@yard.example", "Spring2026!", "2001:db8:5:9::1").await;
    assert!(matches!(next, Got::Wait(_)), "{next:?}");
    assert_eq!(tried(w, "one.more@yard.example", "Spring2026!", "2001:db8:6::1").await, Got::Wrong);
    b.assert_sound().await;
}

/// Counted before they are looked at, so speed buys nothing.
async fn a_hundred_at_once_are_a_hundred(b: Bench) {
    let w = &b.workshop;
    crate::support::has_password(w, b.operator.id).await;
    let guesses =
        (0..100).map(|n| async move { tried(w, OTTO, &format!("guess number {n}"), "198.51.100.7").await });
    let got = join_all(guesses).await;
    assert_eq!(got.iter().filter(|g| **g == Got::Wrong).count(), 5, "{got:?}");
    b.assert_sound().await;
}

async fn whoever_sits_at_an_open_page_guesses_no_faster(b: Bench) {
    let w = &b.workshop;
    crate::support::has_password(w, b.operator.id).await;
    for n in 0..8 {
        let proved = workflow::prove_password(w, &b.operator, &format!("guess number {n}")).await;
        let Err(WorkflowError::Refused(refusal)) = proved else { panic!("{proved:?}") };
        assert_eq!(matches!(refusal, Refusal::TooSoon { .. }), n >= 5, "{n}: {refusal}");
    }
    b.wait(1);
    workflow::prove_password(w, &b.operator, PASSWORD).await.unwrap();
    b.assert_sound().await;
}
