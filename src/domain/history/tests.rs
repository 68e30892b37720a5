use chrono::{DateTime, TimeDelta, Utc};

use super::{CorrectedAt, History, Point, ReleasedAt, Series};
use crate::domain::checklist::{Checklist, Condition, Window};
use crate::domain::checklist_file::parse;
use crate::domain::shipped::SHIPPED;
use crate::domain::unit::Hours;

fn now() -> DateTime<Utc> {
    DateTime::from_timestamp(1_750_000_000, 0).expect("a moment")
}

fn corrected(position: Option<&str>, days_ago: i64, hours: Option<i64>, amount: Option<f64>) -> CorrectedAt {
    CorrectedAt {
        item: "coolant".into(),
        position: position.map(str::to_owned),
        at: now() - TimeDelta::days(days_ago),
        engine_hours: hours.map(Hours),
        amount_base: amount,
    }
}

fn released(days_ago: i64) -> ReleasedAt {
    ReleasedAt { item: "coolant".into(), position: None, at: now() - TimeDelta::days(days_ago) }
}

#[test]
fn corrections_are_counted_within_hours_or_days() {
    let mut history = History {
        now: Some(now()),
        corrected: vec![
            corrected(None, 2, Some(9_800), Some(0.3)),
            corrected(None, 5, Some(9_500), Some(0.5)),
            corrected(None, 9, Some(9_100), None),
            corrected(Some("left"), 1, Some(9_900), Some(7.0)),
        ],
        ..History::default()
    };
    let hours = Some(Hours(10_000));
    for (within, expected) in [
        (Window::Hours(20), (1, 0.3)),
        (Window::Hours(19), (0, 0.0)),
        (Window::Hours(50), (2, 0.8)),
        (Window::Hours(90), (3, 0.8)),
        (Window::Days(1), (0, 0.0)),
        (Window::Days(2), (1, 0.3)),
        (Window::Days(9), (3, 0.8)),
    ] {
        assert_eq!(history.corrections("coolant", None, within, hours), expected, "{within:?}");
    }
    // A repair begins a new count.
    history.released = vec![released(4), released(8)];
    assert_eq!(history.corrections("coolant", None, Window::Days(9), hours), (1, 0.3));
}

#[test]
fn where_hours_cannot_be_compared_the_calendar_decides() {
    let history = History {
        now: Some(now()),
        corrected: vec![
            corrected(None, 1, None, None),
            corrected(None, 3, None, None),
            // Of the meter before this one.
            corrected(None, 2, Some(80_000), None),
        ],
        ..History::default()
    };
    for (hours, within, expected) in
        [(24, "one day", 1), (48, "two days", 2), (71, "less than three", 2), (72, "three", 3)]
    {
        let found = history.corrections("coolant", None, Window::Hours(hours), Some(Hours(100)));
        assert_eq!(found.0, expected, "{within:?}");
    }
    assert_eq!(history.corrections("coolant", None, Window::Hours(48), None).0, 2);
}

#[test]
fn the_moment_is_now_or_the_latest_thing_known() {
    let mut history = History { released: vec![released(3)], ..History::default() };
    assert_eq!(history.moment(), Some(now() - TimeDelta::days(3)));
    let point = Point { engine_hours: None, at: now() - TimeDelta::days(1), base: 1.0 };
    history.series = vec![Series { item: "pad".into(), position: None, points: vec![point] }];
    assert_eq!(history.moment(), Some(now() - TimeDelta::days(1)));
    assert_eq!(history.days_since_release("coolant", None), Some(2));
    assert_eq!(history.days_since_release("coolant", Some("left")), None);
    history.now = Some(now());
    assert_eq!(history.days_since_release("coolant", None), Some(3));
    assert_eq!(History::default().moment(), None);
}

#[test]
fn what_was_put_right_begins_a_new_series() {
    let point = |days_ago: i64, base: f64| Point {
        engine_hours: Some(Hours(10_000 - days_ago * 80)),
        at: now() - TimeDelta::days(days_ago),
        base,
    };
    // It sags 2 mm a day, was tightened six days ago, and sags on from there.
    let points: Vec<Point> = (0..16)
        .map(|ago| {
            point(
                ago,
                12.0 + 2.0
                    * f64::from(if ago > 6 {
                        16 - i32::try_from(ago).unwrap_or(0)
                    } else {
                        6 - i32::try_from(ago).unwrap_or(0)
                    }),
            )
        })
        .collect();
    let series = Series { item: "coolant".into(), position: None, points };
    let mut history = History { now: Some(now()), series: vec![series], ..History::default() };
    let slope_over =
        |history: &History| history.trend("coolant", None, None).line().map(|l| (l.points, l.slope));
    assert_eq!(slope_over(&history), None, "a saw has no line");
    history.corrected = vec![corrected(None, 6, None, None), corrected(Some("left"), 1, None, None)];
    let (points, slope) = slope_over(&history).expect("a line");
    assert_eq!(points, 7, "the value it was left at is the first");
    assert!((slope - 0.25).abs() < 1e-9, "{slope}");
}

#[test]
fn an_empty_document_is_an_empty_history() {
    assert_eq!(serde_json::from_str::<History>("{}").expect("json"), History::default());
}

/// Of what a phone takes along only that is left which a rule may go by; that it judges the same is held by
/// tests/judged_alike.rs.
#[test]
fn a_lean_history_has_nothing_that_no_rule_goes_by() {
    let lists = SHIPPED.iter().map(|(_, text)| parse(text).expect("a sound list"));
    let follows_pads = |c: &Checklist| {
        let mut conditions = c.rules.iter().flat_map(|r| &r.when);
        conditions.any(|c| matches!(c, Condition::Trend { at, .. } if at.item == "brake-pad"))
    };
    let list = lists.into_iter().find(follows_pads).expect("a list that follows brake pads");
    let points = |count: i64| {
        let point = |n: i64| Point {
            engine_hours: Some(Hours(1_000 - n * 10)),
            at: now() - TimeDelta::days(n),
            base: 5.0,
        };
        (1..=count).map(point).collect()
    };
    let series = |item: &str, count| Series { item: item.into(), position: None, points: points(count) };
    let history = History {
        series: vec![series("brake-pad", 30), series("tyre-pressure", 30)],
        corrected: vec![
            CorrectedAt { item: "brake-pad".into(), ..corrected(None, 10, None, None) },
            corrected(None, 3, None, None),
            corrected(None, 6, None, None),
            corrected(None, 7, None, None),
        ],
        released: vec![released(9), released(5)],
        ..History::default()
    };
    let lean = history.lean_for(&list);
    let left: Vec<usize> = lean.series.iter().map(|s| s.points.len()).collect();
    assert_eq!(left, [10, 1], "since the pads were put right, and the tyre's last");
    assert_eq!(lean.series[1].points[0].at, now() - TimeDelta::days(1));
    assert_eq!(lean.released, [released(5)]);
    assert_eq!(lean.corrected, history.corrected[..2], "the pads' last, and the coolant's since its release");
    assert_eq!(lean.lean_for(&list), lean);
}
