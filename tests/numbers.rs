//! The numbers of a fleet and the rows behind them, worked by hand; and what the board tells besides.

use chock::domain::forecast::score::Scored;
use chock::domain::refusal::{Refusal, Thing};
use chock::domain::reliability::acknowledged::Acknowledged;
use chock::domain::reliability::coverage::Coverage;
use chock::domain::reliability::restoration::Phase;
use chock::domain::shift::Span;
use chock::domain::unit::Hours;
use chock::workflow::{self, Delivery, Looking, MeterReading, WorkflowError};
use chrono::{Days, TimeDelta};

use crate::support::browser::Browser;
use crate::support::{Bench, on_both};

on_both!(
    a_morning_in_numbers,
    a_period_begins_in_the_middle_of_repairs,
    days_without_a_check_count_the_same_once_they_are_summed,
    the_board_tells_who_was_told,
    the_board_tells_what_moved_unchecked,
    the_board_looks_a_week_ahead,
);

fn all(b: &Bench) -> Looking {
    let to = b.now();
    Looking {
        yard: String::new(),
        class: String::new(),
        period: Span::new("2026-11-24T23:00:00Z".parse().unwrap(), to),
    }
}

/// From 07:00, claimed at once; now it is 12:00.
async fn out_until_half_past_nine(b: &Bench) {
    let w = &b.workshop;
    let order = b.ground(b.machine).await;
    workflow::claim(w, &b.mechanic, order).await.unwrap();
    b.wait(120);
    b.finish(order).await.unwrap();
    b.pass_retests(order).await;
    b.wait(30);
    workflow::release(w, &b.supervisor, order, "").await.unwrap();
    b.wait(150);
}

/// From 07:00 two machines are out of service: one until 09:30, one for longer than anybody looks. What they were at when the
/// period began is known from before it.
async fn a_period_begins_in_the_middle_of_repairs(b: Bench) {
    let w = &b.workshop;
    b.wait(60);
    let at_seven = b.now();
    b.ground(b.second_machine).await;
    out_until_half_past_nine(&b).await;

    for (from, mechanic, release) in [(30, 90 + 270, 30), (135, 165, 15), (150, 150, 0), (180, 120, 0)] {
        let period = Span::new(at_seven + TimeDelta::minutes(from), b.now());
        let looking = Looking { period, ..all(&b) };
        let n = workflow::numbers(w, &b.supervisor, &looking).await.unwrap();
        let minutes = |phase: Phase| n.this.split.get(&phase).map_or(0, TimeDelta::num_minutes);
        assert_eq!(
            (minutes(Phase::Mechanic), minutes(Phase::Release)),
            (mechanic, release),
            "from {from} minutes after seven: {:?}",
            n.this.split
        );
        assert_eq!(n.this.split.values().sum::<TimeDelta>().num_minutes(), mechanic + release);
    }
}

/// Two machines from 06:00 to 12:00; one of them out of service from 07:00 to 09:30.
async fn a_morning_in_numbers(b: Bench) {
    let w = &b.workshop;
    b.wait(60);
    out_until_half_past_nine(&b).await;

    let n = workflow::numbers(w, &b.supervisor, &all(&b)).await.unwrap();
    let t = &n.this;
    assert_eq!((t.machines, t.downs, t.failures, t.restored), (2, 1, 1, 1));
    assert_eq!((t.calendar.wanted, t.calendar.down), (TimeDelta::hours(12), TimeDelta::minutes(150)));
    assert_eq!(t.working, None);
    let minutes: Vec<(Phase, i64)> = t.split.iter().map(|(p, t)| (*p, t.num_minutes())).collect();
    assert_eq!(minutes, [(Phase::Mechanic, 120), (Phase::Release, 30)]);
    assert_eq!(t.restoring, TimeDelta::minutes(150));
    // 9.5 h up and one failure: the factors of the check values.
    let mtbf = t.mtbf.unwrap();
    assert!((mtbf.mean.unwrap() - 9.5).abs() < 1e-9 && (mtbf.low / 9.5 - 0.2108).abs() < 6e-5);
    assert_eq!(t.coverage, Coverage { checked: 1, unchecked: 0 });
    assert!(matches!(t.honesty, Scored::TooFew { counted: 0, .. }));
    assert!(n.before.is_none(), "nothing was here the day before");
    let systems: Vec<(&str, i64)> = n.systems.iter().map(|s| (s.kind.as_str(), s.count)).collect();
    assert_eq!(systems, [("fuel", 1)]);
    assert_eq!(n.steps.len(), 1);
    assert!(n.again.is_empty());

    // Nothing changes what was: a later look at the same time says the same, and names the time before.
    let then = all(&b);
    b.wait(24 * 60);
    let later = workflow::numbers(w, &b.owner, &then).await.unwrap();
    assert_eq!((later.this.calendar, later.this.split.clone()), (t.calendar, t.split.clone()));
    let next = Looking { period: Span::new(then.period.to, b.now()), ..then };
    let next = workflow::numbers(w, &b.owner, &next).await.unwrap();
    assert_eq!(next.this.calendar.share(), Some(1.0));
    assert_eq!(next.before.unwrap().downs, 1);

    let sara = Browser::of(w, &b.supervisor).await;
    let query = "yard=&class=&from=2026-11-25&to=2026-11-25";
    let page = sara.get(&format!("/numbers?{query}")).await;
    // By then the day had its 17 hours from 06:00 to midnight in Oslo, of two machines.
    page.is(200).says("92.65 %").says("once, 2 h altogether").says("waiting for a mechanic").says("80 %");
    page.says("IEC 60050-192")
        .says("fuel")
        .says("No item failed twice")
        .says("not known: 0 of 20 orders needed");
    let rows = sara.get(&format!("/numbers/rows?of=down&{query}")).await;
    rows.is(200).says("U-07").says("2 h 30 min").says("failure");
    let file = sara.get(&format!("/numbers/rows.csv?of=down&{query}")).await;
    file.is(200).says("U-07,2026-11-25T07:00:00Z,2026-11-25T09:30:00Z,2.50,yes,0.00,0.00,2.00,");
    for of in ["defects&system=fuel", "orders", "unchecked", "anything"] {
        sara.get(&format!("/numbers/rows?of={of}&{query}")).await.is(200);
        sara.get(&format!("/numbers/rows.csv?of={of}&{query}")).await.is(200);
    }
    sara.get(&format!("/numbers/rows?of=defects&system=fuel&{query}")).await.says("U-07");
    sara.get(&format!("/numbers/rows?of=defects&system=brakes&{query}")).await.says("nothing behind");
    // Days that make no period are the usual ones; a stranger has no machines to count.
    sara.get("/numbers?from=2026-13-45&to=x").await.is(200).says("Last 13 weeks");
    let stranger = b.somebody_elsewhere().await;
    let stig = sara.with_secret(Browser::of(w, &stranger).await.secret);
    stig.get(&format!("/numbers?{query}")).await.is(200).says("No machine was there").says_not("U-07");
    stig.get(&format!("/numbers/rows?of=down&{query}")).await.is(200).says_not("U-07");
    let otto = sara.with_secret(Browser::of(w, &b.operator).await.secret);
    otto.get("/numbers").await.is(403);
    b.assert_sound().await;
}

/// Checked on Wednesday at 07:00 in Oslo, then on Saturday with 30 h more: 17 h fit into Wednesday.
async fn days_without_a_check_count_the_same_once_they_are_summed(b: Bench) {
    let w = &b.workshop;
    b.submit(b.check(b.machine, 12_010)).await;
    b.wait(3 * 24 * 60);
    let mut check = b.check(b.machine, 12_310);
    check.hours_confirmed = true;
    b.submit(check).await;
    b.submit(b.check(b.second_machine, 3_000)).await;
    let expected = Coverage { checked: 3, unchecked: 1 };
    b.wait(24 * 60);
    let counted = workflow::numbers(w, &b.owner, &all(&b)).await.unwrap().this.coverage;
    assert_eq!(counted, expected);
    for _ in 0..2 {
        workflow::sum_checked_days(w).await.unwrap();
        assert_eq!(workflow::numbers(w, &b.owner, &all(&b)).await.unwrap().this.coverage, expected);
    }
    // What comes after is counted on top of it; a part of the time has its part.
    b.submit(b.check(b.second_machine, 3_000)).await;
    let more = Coverage { checked: 4, unchecked: 1 };
    assert_eq!(workflow::numbers(w, &b.owner, &all(&b)).await.unwrap().this.coverage, more);
    let wednesday = Looking {
        period: Span::new(all(&b).period.from, "2026-11-25T23:00:00Z".parse().unwrap()),
        ..all(&b)
    };
    let one = workflow::numbers(w, &b.owner, &wednesday).await.unwrap().this.coverage;
    assert_eq!(one, Coverage { checked: 1, unchecked: 0 });
    // What nobody has is not shown as nothing: that would be read as all being well.
    let no_class = Looking { class: "quad".into(), ..all(&b) };
    let refused = workflow::numbers(w, &b.owner, &no_class).await.err();
    assert!(
        matches!(refused, Some(WorkflowError::Refused(Refusal::Invalid { problems })) if problems[0].pointer == "/class")
    );
    let no_yard = Looking { yard: "Nowhere".into(), ..all(&b) };
    let refused = workflow::numbers_gaps(w, &b.owner, &no_yard).await.err();
    assert!(matches!(refused, Some(WorkflowError::Refused(Refusal::NotFound(Thing::Yard)))));
    let gaps = workflow::numbers_gaps(w, &b.owner, &all(&b)).await.unwrap();
    assert_eq!((gaps.len(), gaps[0].gap.gained, gaps[0].gap.days), (1, Hours(300), 1));
}

async fn the_board_tells_who_was_told(b: Bench) {
    let w = &b.workshop;
    b.ground(b.machine).await;
    let sara = Browser::of(w, &b.supervisor).await;
    let counts = |board: &workflow::Board| {
        let a = board.alerts[&b.machine];
        (a.told, a.under_way, a.failed)
    };
    let board = workflow::board(w, &b.owner, "", 50).await.unwrap();
    let (told, owed, failed) = counts(&board);
    assert!(told == 0 && owed > 2 && failed == 0, "{told} {owed} {failed}");
    sara.get("/board").await.is(200).says("alerts still on their way");
    let leased: Vec<Delivery> = workflow::lease_deliveries(w, 50).await.unwrap();
    let (last, others) = leased.split_last().unwrap();
    for delivery in others {
        workflow::delivered(w, delivery, "250 taken").await.unwrap();
    }
    workflow::not_delivered(w, last, true, "550 no such person").await.unwrap();
    let board = workflow::board(w, &b.owner, "", 50).await.unwrap();
    assert_eq!(counts(&board), (owed - 1, 0, 1));
    // Whoever was not reached is said before all who were.
    sara.get("/board").await.says("1 alert not delivered");
    workflow::resend(w, &b.owner, last.id).await.unwrap();
    b.wait(1);
    for delivery in &workflow::lease_deliveries(w, 50).await.unwrap() {
        workflow::delivered(w, delivery, "250 taken").await.unwrap();
    }
    // It lies in their boxes, which is not to say that anybody has looked.
    sara.get("/board").await.says("not acknowledged for");
    let asked = async || {
        let looking =
            Looking { period: Span::new(all(&b).period.from, b.now() + TimeDelta::seconds(1)), ..all(&b) };
        (workflow::numbers(w, &b.owner, &looking).await.unwrap().this.acknowledged, looking)
    };
    assert_eq!(asked().await.0, Acknowledged { asked: 1, acknowledged: 0, median: None });
    b.wait(9);
    let outbox = workflow::outbox(w, &b.owner, 50).await.unwrap();
    let asks = outbox.iter().find(|o| o.asks_for.is_some() && o.person_id == b.supervisor.id).unwrap();
    workflow::acknowledge(w, &b.supervisor, asks.id).await.unwrap();
    sara.get("/board").await.says(&format!("{owed} alerts delivered"));
    // One minute until it was sent again, and nine.
    let ten = Some(TimeDelta::minutes(10));
    let (found, looking) = asked().await;
    assert_eq!(found, Acknowledged { asked: 1, acknowledged: 1, median: ten });
    sara.get("/numbers").await.says("half of them within 10 min; 1 of 1");
    sara.get("/numbers/rows?of=acknowledged").await.says("Sara Supervisor");
    let rows = workflow::numbers_asked(w, &b.owner, &looking, 50).await.unwrap();
    assert_eq!(rows.len(), 1);
    for (page, status) in
        [("board?yard=Nowhere", 404), ("board?class=quad", 422), ("machines?yard=Nowhere", 404)]
    {
        sara.get(&format!("/{page}")).await.is(status);
    }
    sara.get("/numbers?yard=Nowhere").await.is(404).says("no such yard");
    sara.get("/numbers/rows?of=acknowledged&class=quad").await.is(422).says("has this class");
    let other = Looking { class: "quad".into(), ..looking };
    assert!(workflow::numbers_asked(w, &b.owner, &other, 50).await.is_err(), "nobody has a quad");
}

async fn the_board_tells_what_moved_unchecked(b: Bench) {
    let w = &b.workshop;
    let moved = async || workflow::board(w, &b.operator, "", 50).await.unwrap().moved;
    let read = |hours| MeterReading { hours: Hours(hours), confirmed: false };
    b.submit(b.check(b.second_machine, 3_000)).await;
    b.wait(24 * 60);
    // What the workshop's own moving explains is no use.
    workflow::read_meter(w, &b.operator, b.second_machine, read(3_003)).await.unwrap();
    assert!(moved().await.is_empty());
    workflow::read_meter(w, &b.operator, b.second_machine, read(3_045)).await.unwrap();
    let found = moved().await;
    assert_eq!((found.len(), found[0].before, found[0].hours), (1, Hours(3_003), Hours(3_045)));
    assert!(found[0].last_check_at.is_some());
    let page = Browser::of(w, &b.supervisor).await.get("/board").await;
    page.is(200).says("Not checked today, though moved").says("4.2 h more than before, 304.5 h read today");
    // A check of today answers it; and tomorrow nobody asks any more.
    b.wait(5);
    b.submit(b.check(b.second_machine, 3_045)).await;
    assert!(moved().await.is_empty());
    workflow::read_meter(w, &b.operator, b.machine, read(12_100)).await.unwrap();
    assert_eq!(moved().await.len(), 1);
    // A machine that is out of service is told of otherwise.
    workflow::place_hold(w, &b.supervisor, w.ambient.id(), b.machine, "Used without a check").await.unwrap();
    assert!(moved().await.is_empty());
    let stranger = b.somebody_elsewhere().await;
    workflow::read_meter(w, &b.operator, b.second_machine, read(3_095)).await.unwrap();
    assert!(workflow::board(w, &stranger, "", 50).await.unwrap().moved.is_empty());
}

async fn the_board_looks_a_week_ahead(b: Bench) {
    let w = &b.workshop;
    workflow::set_need(w, &b.owner, b.yard, "utility vehicle", 2).await.unwrap();
    let ahead = async || workflow::board(w, &b.owner, "", 50).await.unwrap().ahead[0];
    assert_eq!(ahead().await, [2; 8]);
    // One is out of service, and nothing is foreseen yet.
    b.ground(b.machine).await;
    assert_eq!(ahead().await, [1; 8]);
    // With shifts it is foreseen, and counts from the day after it is likely back.
    let day = |n| if n < 5 { "07:00-15:00".to_owned() } else { String::new() };
    workflow::set_week(w, &b.owner, b.yard, &std::array::from_fn(day)).await.unwrap();
    workflow::foresee(w).await.unwrap();
    let found = ahead().await;
    assert_eq!((found[0], found[7]), (1, 2), "{found:?}");
    assert!(found.windows(2).all(|two| two[0] <= two[1]), "{found:?}");
    // The other one is watched, until its date.
    b.submit(b.failed_check(b.second_machine, 3_000, "oil-leak", "")).await;
    let board = workflow::board(w, &b.owner, "", 50).await.unwrap();
    let until = board.monitored[0].good_until_at.expect("a date").date_naive();
    let today = b.now().date_naive();
    let expected: [i64; 8] = std::array::from_fn(|n| {
        let day = today.checked_add_days(Days::new(n as u64)).unwrap();
        found[n] - i64::from(n > 0 && until <= day)
    });
    assert_eq!(board.ahead[0], expected);
    let page = Browser::of(w, &b.operator).await.get("/board?wall=1").await;
    page.is(200).says("Likely available against needed").says("1 of 2").says("class=\"wall\"");
}
