//! Time on work orders: several mechanics, entries that never overlap, clocks that end with the shift, what it all costs.

use chock::domain::alert::{Alert, Event};
use chock::domain::labour::ForgottenBecause;
use chock::domain::refusal::Refusal;
use chock::domain::shift::Span;
use chock::workflow::{self, WorkflowError};
use chrono::{DateTime, TimeDelta, Utc};

use crate::support::{Bench, on_both};

on_both!(
    two_mechanics_work_on_one_order_and_one_has_it,
    a_forgotten_clock_ends_with_the_shift,
    overtime_is_reckoned_over_the_whole_week,
    a_grade_costs_what_its_rate_says_from_a_day_on,
    wrong_times_are_refused_with_a_sentence,
    many_clients_of_one_mechanic_never_overlap,
);

fn at(text: &str) -> DateTime<Utc> {
    text.parse().expect("a time")
}

async fn cost(b: &Bench, order: chock::domain::ids::WorkOrderId) -> i64 {
    workflow::order_page(&b.workshop, &b.owner, order).await.unwrap().order.cost_minor
}

fn week() -> [String; 7] {
    std::array::from_fn(|n| if n < 5 { "07:00-15:00".to_owned() } else { String::new() })
}

async fn two_mechanics_work_on_one_order_and_one_has_it(b: Bench) {
    let order = b.ground(b.machine).await;
    let helps_with_nothing = workflow::start_labour(&b.workshop, &b.other_mechanic, order).await;
    assert!(
        matches!(helps_with_nothing, Err(WorkflowError::Refused(Refusal::Conflict(_)))),
        "nobody has it yet"
    );
    workflow::claim(&b.workshop, &b.mechanic, order).await.unwrap();
    workflow::start_labour(&b.workshop, &b.mechanic, order).await.unwrap();
    workflow::start_labour(&b.workshop, &b.other_mechanic, order).await.unwrap();
    b.time.set(b.now() + TimeDelta::hours(1));
    let page = workflow::order_page(&b.workshop, &b.owner, order).await.unwrap();
    assert_eq!(page.order.mechanic_id, Some(b.mechanic.id), "who helps does not take it over");
    assert_eq!(page.labour.iter().filter(|l| l.ended_at.is_none()).count(), 2);
    workflow::stop_labour(&b.workshop, &b.other_mechanic, order).await.unwrap();
    workflow::stop_labour(&b.workshop, &b.mechanic, order).await.unwrap();
    // 60.00 and 45.00 an hour, as the test's people are set up.
    assert_eq!(cost(&b, order).await, 6_000 + 4_500);
    b.assert_sound().await;
}

async fn a_forgotten_clock_ends_with_the_shift(b: Bench) {
    workflow::set_week(&b.workshop, &b.owner, b.yard, &week()).await.unwrap();
    let order = b.ground(b.machine).await;
    workflow::claim(&b.workshop, &b.mechanic, order).await.unwrap();
    // Wednesday 25 November 2026, 13:00 in Oslo (UTC+1 in winter).
    b.time.set(at("2026-11-25T12:00:00Z"));
    workflow::start_labour(&b.workshop, &b.mechanic, order).await.unwrap();
    b.time.set(at("2026-11-25T13:59:59Z"));
    assert_eq!(workflow::close_forgotten_timers(&b.workshop).await.unwrap(), 0, "the shift is not over");
    assert_eq!(workflow::until_next_timer_end(&b.workshop).await.unwrap(), Some(TimeDelta::seconds(1)));
    // Nobody looks until the next morning.
    b.time.set(at("2026-11-26T05:00:00Z"));
    assert_eq!(workflow::close_forgotten_timers(&b.workshop).await.unwrap(), 1);
    assert_eq!(workflow::close_forgotten_timers(&b.workshop).await.unwrap(), 0, "once");
    let page = workflow::order_page(&b.workshop, &b.owner, order).await.unwrap();
    let entry = &page.labour[0];
    assert_eq!(entry.ended_at, Some(at("2026-11-25T14:00:00Z")), "15:00 by the yard's clock");
    assert_eq!(entry.closed_because, Some(ForgottenBecause::ShiftEnded));
    assert_eq!(page.order.cost_minor, 2 * 6_000);
    // The mechanic is told, once.
    let owed = workflow::outbox(&b.workshop, &b.owner, 100).await.unwrap();
    let told: Vec<_> = owed.iter().filter(|row| row.kind.as_str() == "timer closed").collect();
    assert_eq!(told.len(), 1);
    assert_eq!(told[0].person_id, b.mechanic.id);
    let alert: Alert = serde_json::from_str(&told[0].alert).unwrap();
    assert!(matches!(alert.event, Event::TimerClosed { because: ForgottenBecause::ShiftEnded, .. }));
    // And puts it right.
    let mine = workflow::my_time(&b.workshop, &b.mechanic, b.now()).await.unwrap();
    assert_eq!(mine.forgotten.len(), 1);
    let right = Span::new(at("2026-11-25T12:00:00Z"), at("2026-11-25T12:45:00Z"));
    let not_yours =
        workflow::put_labour_right(&b.workshop, &b.other_mechanic, entry.id, right, "not mine").await;
    assert!(matches!(not_yours, Err(WorkflowError::Refused(Refusal::Forbidden(_)))));
    workflow::put_labour_right(&b.workshop, &b.mechanic, entry.id, right, "left early").await.unwrap();
    assert_eq!(cost(&b, order).await, 4_500, "three quarters of an hour");
    assert!(workflow::my_time(&b.workshop, &b.mechanic, b.now()).await.unwrap().forgotten.is_empty());
    b.assert_sound().await;
}

async fn overtime_is_reckoned_over_the_whole_week(b: Bench) {
    workflow::set_overtime(&b.workshop, &b.owner, b.yard, ("8", "50"), ("", "")).await.unwrap();
    let (one, two) = (b.ground(b.machine).await, b.ground(b.second_machine).await);
    for order in [one, two] {
        workflow::claim(&b.workshop, &b.mechanic, order).await.unwrap();
    }
    b.time.set(at("2026-11-25T20:00:00Z"));
    // Afternoon first: six hours, no overtime.
    let enter = |order, from: &str, to: &str| {
        let (w, who, from, to) = (b.workshop.clone(), b.mechanic.clone(), at(from), at(to));
        async move { workflow::enter_labour(&w, &who, order, from, to).await.unwrap() }
    };
    enter(two, "2026-11-25T11:00:00Z", "2026-11-25T17:00:00Z").await;
    assert_eq!(cost(&b, two).await, 6 * 6_000);
    // Then the morning before it, on another order: the afternoon's last two hours are overtime now.
    enter(one, "2026-11-25T07:00:00Z", "2026-11-25T11:00:00Z").await;
    assert_eq!(cost(&b, one).await, 4 * 6_000);
    assert_eq!(cost(&b, two).await, 4 * 6_000 + 2 * 9_000);
    b.assert_sound().await;
}

async fn a_grade_costs_what_its_rate_says_from_a_day_on(b: Bench) {
    let set = |from: &'static str, rate: &'static str| {
        let (w, owner) = (b.workshop.clone(), b.owner.clone());
        async move { workflow::set_rate(&w, &owner, "journeyman", from, rate).await.unwrap() }
    };
    set("2026-01-01", "70.00").await;
    set("2026-11-25", "80.00").await;
    workflow::set_grades(&b.workshop, &b.owner, &[(b.mechanic.id, Some("journeyman".into()))]).await.unwrap();
    let order = b.ground(b.machine).await;
    workflow::claim(&b.workshop, &b.mechanic, order).await.unwrap();
    b.time.set(at("2026-11-25T10:00:00Z"));
    // From 23:00 to 01:00 in Oslo: an hour at the old rate, an hour at the new one.
    let (from, to) = (at("2026-11-24T22:00:00Z"), at("2026-11-25T00:00:00Z"));
    workflow::enter_labour(&b.workshop, &b.mechanic, order, from, to).await.unwrap();
    assert_eq!(cost(&b, order).await, 7_000 + 8_000);
    for (rate, grade) in [("-1", "x"), ("much", "x"), ("1.234", "x"), ("5", "")] {
        let refused = workflow::set_rate(&b.workshop, &b.owner, grade, "2026-11-25", rate).await;
        assert!(matches!(refused, Err(WorkflowError::Refused(Refusal::Invalid { .. }))), "{rate} {grade:?}");
    }
    let unknown =
        workflow::set_grades(&b.workshop, &b.owner, &[(b.mechanic.id, Some("master".into()))]).await;
    assert!(matches!(unknown, Err(WorkflowError::Refused(Refusal::Invalid { .. }))));
    b.assert_sound().await;
}

async fn wrong_times_are_refused_with_a_sentence(b: Bench) {
    let order = b.ground(b.machine).await;
    workflow::claim(&b.workshop, &b.mechanic, order).await.unwrap();
    let now = b.now();
    let enter = |from: TimeDelta, to: TimeDelta| {
        let (w, who) = (b.workshop.clone(), b.mechanic.clone());
        async move { workflow::enter_labour(&w, &who, order, now + from, now + to).await }
    };
    let hours = TimeDelta::hours;
    enter(hours(-2), hours(-1)).await.unwrap();
    for (from, to, why) in [
        (hours(-3), hours(-4), "ends before it begins"),
        (hours(-1), hours(1), "not worked yet"),
        (hours(-30), hours(-10), "too long"),
        (TimeDelta::minutes(-90), TimeDelta::minutes(-80), "overlaps"),
        (hours(-4), hours(0), "overlaps all of it"),
    ] {
        assert!(matches!(enter(from, to).await, Err(WorkflowError::Refused(_))), "{why}");
    }
    enter(hours(-1), hours(0)).await.unwrap();
    b.assert_sound().await;
}

/// Invariants 3 and 5, with twelve clients that start, stop and enter for one mechanic at once.
async fn many_clients_of_one_mechanic_never_overlap(b: Bench) {
    let (one, two) = (b.ground(b.machine).await, b.ground(b.second_machine).await);
    for order in [one, two] {
        workflow::claim(&b.workshop, &b.mechanic, order).await.unwrap();
    }
    let now = b.now();
    let mut clients = Vec::new();
    for n in 0..12_i64 {
        let (w, who) = (b.workshop.clone(), b.mechanic.clone());
        let order = if n % 2 == 0 { one } else { two };
        clients.push(tokio::spawn(async move {
            match n % 3 {
                0 => workflow::start_labour(&w, &who, order).await.is_ok(),
                1 => workflow::stop_labour(&w, &who, order).await.is_ok(),
                // Each shares time with the next one.
                _ => {
                    let from = now - TimeDelta::hours(10) + TimeDelta::minutes(n * 30);
                    workflow::enter_labour(&w, &who, order, from, from + TimeDelta::minutes(100))
                        .await
                        .is_ok()
                }
            }
        }));
    }
    let mut done = 0;
    for client in clients {
        done += usize::from(client.await.unwrap());
    }
    assert!(done > 0, "some of them came through");
    b.assert_sound().await;
}
