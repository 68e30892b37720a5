//! Forecasts held against what came, through the work itself; and what is said where there are too many open orders.

use chock::domain::forecast::score::Scored;
use chock::domain::ids::{MachineId, WorkOrderId};
use chock::domain::unit::Hours;
use chock::workflow::{self, NewMachine};
use chrono::{DateTime, Utc};

use crate::support::browser::Browser;
use crate::support::{Bench, on_both};

on_both!(forecasts_are_scored_by_what_came, beyond_what_can_be_played_the_first_are_foreseen);

async fn machine(b: &Bench, n: usize) -> MachineId {
    let machine = NewMachine {
        yard: b.yard,
        unit_number: format!("F-{n}"),
        class: "utility vehicle".into(),
        description: String::new(),
        serial: String::new(),
        engine_hours: Some(Hours(1_000)),
    };
    workflow::add_machine(&b.workshop, &b.owner, machine).await.unwrap()
}

async fn every_day(b: &Bench) {
    let days: [String; 7] = std::array::from_fn(|_| "00:00-12:00, 12:00-24:00".to_owned());
    workflow::set_week(&b.workshop, &b.owner, b.yard, &days).await.unwrap();
}

/// What was said of an order first, and when its work was done.
struct Said {
    opened_at: DateTime<Utc>,
    likely_by: DateTime<Utc>,
    almost_surely_by: Option<DateTime<Utc>>,
    done_at: DateTime<Utc>,
}

/// From a leak to a release, with so many minutes of work; foreseen when it is opened.
async fn repaired(b: &Bench, n: usize, minutes: i64) -> Said {
    let w = &b.workshop;
    let opened_at = b.now();
    let order = b.ground(machine(b, n).await).await;
    workflow::foresee(w).await.unwrap();
    let forecast = workflow::order_page(w, &b.owner, order).await.unwrap().more.forecast.unwrap();
    workflow::claim(w, &b.mechanic, order).await.unwrap();
    workflow::start_labour(w, &b.mechanic, order).await.unwrap();
    b.wait(minutes);
    b.finish(order).await.unwrap();
    let done_at = b.now();
    b.wait(1);
    b.pass_retests(order).await;
    workflow::release(w, &b.supervisor, order, "").await.unwrap();
    b.wait(1);
    Said {
        opened_at,
        likely_by: forecast.likely_by.expect("somebody works round the clock"),
        almost_surely_by: forecast.almost_surely_by,
        done_at,
    }
}

/// Twenty-four repairs; every figure of the page is worked out here again, from what was said and what came.
async fn forecasts_are_scored_by_what_came(b: Bench) {
    const MINUTES: [i64; 24] = [
        50, 95, 40, 130, 70, 25, 220, 60, 85, 45, 110, 30, 75, 310, 55, 65, 90, 35, 150, 80, 48, 100, 62, 700,
    ];
    let w = &b.workshop;
    every_day(&b).await;
    let mats = Browser::of(w, &b.mechanic).await;
    let mut all = Vec::new();
    for (n, minutes) in MINUTES.into_iter().enumerate() {
        if n == 19 {
            mats.get("/forecasts").await.is(200).says("19 work orders with a forecast are done. From 20 on");
        }
        all.push(repaired(&b, n, minutes).await);
    }
    let hours = |a: DateTime<Utc>, b: DateTime<Utc>| (a - b).abs().as_seconds_f64() / 3600.0;
    let n = all.len() as f64;
    let likely = all.iter().filter(|s| s.done_at <= s.likely_by).count() as f64 / n;
    let surely =
        all.iter().filter(|s| s.almost_surely_by.is_none_or(|by| s.done_at <= by)).count() as f64 / n;
    let error = all.iter().map(|s| hours(s.likely_by, s.done_at)).sum::<f64>() / n;
    // As long as the repair before took, from opened to done; the first had none before it.
    let naive: Vec<(f64, f64)> = all
        .windows(2)
        .map(|two| {
            let as_last_time = two[1].opened_at + (two[0].done_at - two[0].opened_at);
            (hours(two[1].likely_by, two[1].done_at), hours(as_last_time, two[1].done_at))
        })
        .collect();
    let (ours, last) =
        (naive.iter().map(|e| e.0).sum::<f64>() / 23.0, naive.iter().map(|e| e.1).sum::<f64>() / 23.0);

    let page = workflow::forecasts(w, &b.owner).await.unwrap();
    let Scored::Score(score) = page.scored else { panic!("24 are enough") };
    assert_eq!(score.counted, 24);
    let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-6, "{a} is not {b}");
    near(score.likely_held, likely);
    near(score.almost_surely_held, surely);
    near(score.mean_error_hours, error);
    let beside = score.beside_last_time.expect("23 of them had a last time");
    assert_eq!(beside.counted, 23);
    near(beside.ours_hours, ours);
    near(beside.last_time_hours, last);
    // It is no matter of course: some held and some did not, and the two forecasts differ.
    assert!(likely > 0.0 && likely < 1.0 && surely > likely, "{likely} {surely}");
    let shown = mats.get("/forecasts").await;
    shown.is(200).says(&format!("{:.0} %", likely * 100.0)).says(&format!("{:.0} %", surely * 100.0));
    shown.says(&format!("{error:.1} h"));
    shown.says(&format!("{ours:.1} h off, against {last:.1} h by “as long as last time” (23 work orders"));
    b.assert_sound().await;
}

async fn beyond_what_can_be_played_the_first_are_foreseen(b: Bench) {
    let w = &b.workshop;
    every_day(&b).await;
    let mut orders: Vec<WorkOrderId> = Vec::new();
    for n in 0..5 {
        orders.push(b.ground(machine(&b, n).await).await);
        b.wait(5);
    }
    // Somebody has the last one: it occupies them, whatever stands before it.
    workflow::claim(w, &b.mechanic, orders[4]).await.unwrap();
    let foreseen = async || {
        let mut found = Vec::new();
        for order in &orders {
            let page = workflow::order_page(w, &b.owner, *order).await.unwrap();
            found.push(page.more.forecast.is_some());
        }
        found
    };
    assert_eq!(workflow::foresee_first(w, 3).await.unwrap(), 3);
    assert_eq!(
        foreseen().await,
        [true, true, false, false, true],
        "what is taken, and the first of the queue"
    );
    let mats = Browser::of(w, &b.mechanic).await;
    let says = "2 more work orders are open of which nothing is said";
    mats.get("/forecasts").await.is(200).says(says);
    // The queue's order decides, not the age: a supervisor's word brings another forward, and what falls behind is not
    // shown with what was said of it before.
    workflow::pin_order(w, &b.supervisor, orders[3]).await.unwrap();
    assert_eq!(workflow::foresee_first(w, 3).await.unwrap(), 3);
    assert_eq!(foreseen().await, [true, false, false, true, true]);
    // Where all can be played through, all are.
    assert_eq!(workflow::foresee(w).await.unwrap(), 5);
    assert_eq!(foreseen().await, [true; 5]);
    mats.get("/forecasts").await.says_not("of which nothing is said");
    let mut tx = w.db.read().await.unwrap();
    assert!(tx.more_open_than(4).await.unwrap() && !tx.more_open_than(5).await.unwrap());
    drop(tx);
    b.assert_sound().await;
}
