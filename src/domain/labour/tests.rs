use chrono::{DateTime, NaiveTime, TimeDelta, Utc, Weekday};
use chrono_tz::Tz;
use proptest::prelude::*;
use uuid::Uuid;

use super::super::currency::{Amount, Currency};
use super::cost::{Grade, Rate, RateFault, Rates, costs};
use super::overtime::{OvertimeRule, Step, weeks_around};
use super::*;
use crate::domain::shift::{Shift, Week};

fn at(text: &str) -> DateTime<Utc> {
    text.parse().expect("a moment")
}

fn order(n: u128) -> WorkOrderId {
    WorkOrderId(Uuid::from_u128(n))
}

fn entry(n: u128, from: &str, to: Option<&str>) -> Entry {
    Entry { id: LabourId(Uuid::from_u128(n)), order: order(n), from: at(from), to: to.map(at) }
}

fn oslo() -> Tz {
    "Europe/Oslo".parse().expect("a zone")
}

#[test]
fn entries_of_a_mechanic_never_overlap() {
    let have = [
        entry(1, "2026-03-02T07:00:00Z", Some("2026-03-02T09:00:00Z")),
        entry(2, "2026-03-02T10:00:00Z", None),
    ];
    let now = at("2026-03-02T12:00:00Z");
    let try_it = |from, to| enter(&have, Span::new(at(from), at(to)), None, now);
    assert!(try_it("2026-03-02T09:00:00Z", "2026-03-02T10:00:00Z").is_ok(), "they may touch");
    assert!(
        matches!(try_it("2026-03-02T08:59:59Z", "2026-03-02T09:30:00Z"), Err(LabourFault::Overlaps { order: o, .. }) if o == order(1))
    );
    assert!(matches!(
        try_it("2026-03-02T11:00:00Z", "2026-03-02T11:30:00Z"),
        Err(LabourFault::Overlaps { to: None, .. })
    ));
    assert_eq!(try_it("2026-03-02T09:30:00Z", "2026-03-02T09:30:00Z"), Err(LabourFault::EndsBeforeItBegins));
    assert_eq!(try_it("2026-03-02T09:30:00Z", "2026-03-02T12:00:01Z"), Err(LabourFault::InTheFuture { now }));
    assert_eq!(
        try_it("2026-03-01T07:59:59Z", "2026-03-02T00:00:00Z"),
        Err(LabourFault::TooLong { most: LONGEST })
    );
    let longer = Span::new(at("2026-03-02T07:00:00Z"), at("2026-03-02T09:30:00Z"));
    assert!(enter(&have, longer, Some(have[0].id), now).is_ok(), "an entry does not stand in its own way");
}

#[test]
fn a_timer_starts_once_and_never_stops_another() {
    let have = [entry(1, "2026-03-02T07:00:00Z", None)];
    let now = at("2026-03-02T08:00:00Z");
    assert_eq!(start(&have, order(1), now), Ok(Started::Already));
    assert_eq!(
        start(&have, order(2), now),
        Err(LabourFault::RunningOn { order: order(1), since: have[0].from })
    );
    assert_eq!(start(&[], order(2), now), Ok(Started::Now));
    let set_back = [entry(1, "2026-03-02T07:00:00Z", Some("2026-03-02T08:30:00Z"))];
    assert!(
        matches!(start(&set_back, order(2), now), Err(LabourFault::Overlaps { .. })),
        "a clock that was set back"
    );
    assert_eq!(stop(&have, order(1), now), Ok((have[0].id, Span::new(have[0].from, now))));
    assert_eq!(
        stop(&have, order(1), at("2026-03-02T06:00:00Z")).map(|s| s.1.length()),
        Ok(TimeDelta::zero())
    );
    assert_eq!(stop(&have, order(2), now), Err(LabourFault::NotRunning));
}

#[test]
fn a_forgotten_timer_ends_with_its_shift() {
    let time = |h, m| NaiveTime::from_hms_opt(h, m, 0).expect("a time");
    let nights = [Weekday::Sat, Weekday::Sun].map(|day| Shift { day, from: time(22, 0), to: time(6, 0) });
    let calendar = Calendar::new(oslo(), Week::new(nights.to_vec()).expect("a week"));
    for (from, closed, because, what) in [
        (
            "2026-03-28T22:00:00Z",
            "2026-03-29T04:00:00Z",
            ForgottenBecause::ShiftEnded,
            "06:00, an hour was left out",
        ),
        (
            "2026-10-24T22:00:00Z",
            "2026-10-25T05:00:00Z",
            ForgottenBecause::ShiftEnded,
            "06:00, an hour came twice",
        ),
        ("2026-03-28T20:15:00Z", "2026-03-29T04:00:00Z", ForgottenBecause::ShiftEnded, "came early"),
        ("2026-03-27T20:15:00Z", "2026-03-28T00:15:00Z", ForgottenBecause::OutsideShifts, "a free Friday"),
    ] {
        let running = entry(1, from, None);
        assert_eq!(closes(running.from, &calendar), Forgotten { closed_at: at(closed), because }, "{what}");
        assert_eq!(
            forgotten(&running, &calendar, at(closed) - TimeDelta::seconds(1)),
            None,
            "{what}: not yet"
        );
        assert!(forgotten(&running, &calendar, at(closed)).is_some(), "{what}");
        let ended = Entry { to: Some(at(closed)), ..running };
        assert_eq!(forgotten(&ended, &calendar, at(closed)), None, "{what}: was stopped");
    }
}

fn currency(code: &str) -> Currency {
    Currency::parse(code).expect("a code")
}

fn rate(grade: &str, from: &str, minor: i64) -> Rate {
    Rate {
        grade: Grade(grade.into()),
        from: from.parse().expect("a day"),
        an_hour: Amount { minor, currency: currency("NOK") },
    }
}

fn cost_of(spans: &[(&str, &str)], rates: Vec<Rate>, rule: &OvertimeRule) -> Vec<i64> {
    let rates = Rates::new(currency("NOK"), rates).expect("rates");
    let entries: Vec<_> = spans
        .iter()
        .zip(1..)
        .map(|((from, to), n)| (LabourId(Uuid::from_u128(n)), Span::new(at(from), at(to))))
        .collect();
    let costs = costs(&entries, &Grade("mechanic".into()), &rates, rule, oslo()).expect("costs");
    costs.iter().map(|c| c.minor).collect()
}

fn rule(day: &[(u32, u32)], week: &[(u32, u32)]) -> OvertimeRule {
    let steps = |s: &[(u32, u32)]| {
        s.iter().map(|(h, percent)| Step { after_minutes: h * 60, percent: *percent }).collect()
    };
    OvertimeRule { day: steps(day), week: steps(week), week_begins: Weekday::Mon }
}

/// Worked by hand.
#[test]
fn rates_are_of_the_day() {
    let rates = vec![
        rate("mechanic", "2026-01-01", 50_000),
        rate("mechanic", "2026-03-03", 60_000),
        rate("apprentice", "2026-01-01", 1),
    ];
    let none = OvertimeRule::default();
    // Midnight in Oslo is 23:00 UTC: one hour at the old rate, two at the new one.
    assert_eq!(cost_of(&[("2026-03-02T22:00:00Z", "2026-03-03T01:00:00Z")], rates.clone(), &none), [170_000]);
    let grade = Grade("mechanic".into());
    let early: chrono::NaiveDate = "2025-12-31".parse().expect("a day");
    let known = Rates::new(currency("NOK"), rates.clone()).expect("rates");
    assert_eq!(known.on(&grade, early), Err(RateFault::NoRate { grade: grade.clone(), day: early }));
    assert!(matches!(Rates::new(currency("SEK"), rates), Err(RateFault::OtherCurrency(_))));
    assert!(matches!(
        Rates::new(currency("NOK"), vec![rate("m", "2026-01-01", -1)]),
        Err(RateFault::Absurd(_))
    ));
}

/// Worked by hand: an hour costs 1.00.
#[test]
fn overtime_by_day_and_by_week() {
    let hour = || vec![rate("mechanic", "2026-01-01", 100)];
    let long_day =
        [("2026-03-02T06:00:00Z", "2026-03-02T11:00:00Z"), ("2026-03-02T12:00:00Z", "2026-03-02T20:00:00Z")];
    // 13 h: 8 plain, 4 at 50 %, 1 at 100 %.
    assert_eq!(cost_of(&long_day, hour(), &rule(&[(8, 50), (12, 100)], &[])), [500, 1_100]);
    let week: Vec<_> = ["02", "03", "04", "05", "06"]
        .iter()
        .map(|d| (format!("2026-03-{d}T06:00:00Z"), format!("2026-03-{d}T15:00:00Z")))
        .collect();
    let week: Vec<_> = week.iter().map(|(a, b)| (a.as_str(), b.as_str())).collect();
    // 45 h: the ninth of each day at 50 %; from the 41st on at 100 %, which is the higher one. The 41st is Friday's fifth.
    assert_eq!(cost_of(&week, hour(), &rule(&[(8, 50)], &[(40, 100)])), [950, 950, 950, 950, 400 + 1_000]);
    // The next week begins anew, by the clock of Oslo: Sunday 23:00 UTC is Monday. One plain and one double, twice.
    let sunday = [("2026-03-08T21:00:00Z", "2026-03-09T01:00:00Z")];
    assert_eq!(cost_of(&sunday, hour(), &rule(&[], &[(1, 100)])), [600]);
}

/// A night in which an hour comes twice has nine hours of work, and all nine are paid.
#[test]
fn the_hour_that_comes_twice_is_paid_twice() {
    let night = [("2026-10-24T20:00:00Z", "2026-10-25T05:00:00Z")];
    assert_eq!(cost_of(&night, vec![rate("mechanic", "2026-01-01", 100)], &OvertimeRule::default()), [900]);
    let short = [("2026-03-28T21:00:00Z", "2026-03-29T04:00:00Z")];
    assert_eq!(cost_of(&short, vec![rate("mechanic", "2026-01-01", 100)], &OvertimeRule::default()), [700]);
}

#[test]
fn each_entry_is_rounded_once_and_halves_go_to_even() {
    // 1 s and 3 s at 18.00 an hour are half a unit and one and a half.
    let spans =
        [("2026-03-02T06:00:00Z", "2026-03-02T06:00:01Z"), ("2026-03-02T07:00:00Z", "2026-03-02T07:00:03Z")];
    assert_eq!(
        cost_of(&spans, vec![rate("mechanic", "2026-01-01", 1_800)], &OvertimeRule::default()),
        [0, 2]
    );
    // Cut at midnight, yet rounded as one: 2 × 0.5.
    let over = [("2026-03-02T22:59:59Z", "2026-03-02T23:00:01Z")];
    assert_eq!(cost_of(&over, vec![rate("mechanic", "2026-01-01", 1_800)], &OvertimeRule::default()), [1]);
}

#[test]
fn whole_weeks_are_looked_at() {
    let around = weeks_around(
        Span::new(at("2026-03-08T22:30:00Z"), at("2026-03-08T23:30:00Z")),
        &OvertimeRule::default(),
        oslo(),
    );
    assert_eq!(around, Span::new(at("2026-03-01T23:00:00Z"), at("2026-03-15T23:00:00Z")));
}

proptest! {
    /// Invariant 3, whatever is tried in whatever order.
    #[test]
    fn never_two_at_once(tries in prop::collection::vec((0..3_u8, 0..2_000_i64, 1..600_i64, 1..4_u128), 1..60)) {
        let mut have: Vec<Entry> = Vec::new();
        let mut now = at("2026-03-02T06:00:00Z");
        for ((what, minute, length, of), next) in tries.into_iter().zip(1..) {
            now += TimeDelta::minutes(length);
            match what {
                0 => if start(&have, order(of), now) == Ok(Started::Now) {
                    have.push(Entry { id: LabourId(Uuid::from_u128(next)), order: order(of), from: now, to: None });
                },
                1 => if let Ok((id, span)) = stop(&have, order(of), now) {
                    have.iter_mut().filter(|e| e.id == id).for_each(|e| e.to = Some(span.to));
                },
                _ => {
                    let from = at("2026-03-02T06:00:00Z") + TimeDelta::minutes(minute);
                    if let Ok(span) = enter(&have, Span::new(from, from + TimeDelta::minutes(length)), None, now) {
                        have.push(Entry { id: LabourId(Uuid::from_u128(next)), order: order(of), from: span.from, to: Some(span.to) });
                    }
                }
            }
            for (n, a) in have.iter().enumerate() {
                prop_assert!(a.to.is_none_or(|to| to <= now), "nothing lies in the future");
                for b in &have[n + 1..] {
                    let (a_to, b_to) = (a.to.unwrap_or(now), b.to.unwrap_or(now));
                    prop_assert!(a_to <= b.from || b_to <= a.from, "{a:?} {b:?}");
                }
            }
        }
    }

    /// Pieces are all of the time, cost never falls when the rule is stricter, and without a rule it is rate × time.
    #[test]
    fn pieces_are_the_whole(begins in prop::collection::vec((0..1_500_i64, 1..40_000_i64), 1..30), day in 0..12_u32, week in 0..50_u32, percent in 0..200_u32) {
        let mut from = at("2026-10-19T00:00:00Z");
        let mut entries = Vec::new();
        for ((idle, seconds), n) in begins.into_iter().zip(1..) {
            from += TimeDelta::minutes(idle);
            let to = from + TimeDelta::seconds(seconds);
            entries.push((LabourId(Uuid::from_u128(n)), Span::new(from, to)));
            from = to;
        }
        let rates = Rates::new(currency("NOK"), vec![rate("mechanic", "2026-01-01", 37_123)]).expect("rates");
        let grade = Grade("mechanic".into());
        let strict = rule(&[(day, percent)], &[(week, percent / 2)]);
        let plain = costs(&entries, &grade, &rates, &OvertimeRule::default(), oslo()).expect("costs");
        let dear = costs(&entries, &grade, &rates, &strict, oslo()).expect("costs");
        for (((_, span), plain), dear) in entries.iter().zip(&plain).zip(&dear) {
            prop_assert_eq!(plain.seconds, span.length().num_seconds());
            prop_assert_eq!(dear.seconds, plain.seconds);
            prop_assert_eq!(plain.minor, crate::domain::money::labour_cost(37_123, plain.seconds));
            prop_assert!(dear.minor >= plain.minor);
            let most = crate::domain::money::labour_cost(37_123 * i64::from(100 + percent), plain.seconds);
            prop_assert!(dear.minor <= most / 100 + 1);
        }
    }
}
