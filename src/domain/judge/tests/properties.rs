//! What must hold for any rules and any readings.

use chrono::{DateTime, TimeDelta, Utc};
use proptest::prelude::*;

use super::{ITEMS, all_well, judged, laden, measured, readings, unladen};
use crate::domain::checklist::{Checklist, Condition, Load, Place, Rule, Side, Warmth, Window};
use crate::domain::checklist_file;
use crate::domain::history::{CorrectedAt, Point, ReleasedAt, Series};
use crate::domain::judge::{History, Judgement, judge};
use crate::domain::reading::{Context, Level, Outcome, Reading};
use crate::domain::standing::Severity;
use crate::domain::unit::{Hours, Quantity, Unit};
use crate::words::Text;

fn place(item: &str, position: Option<&str>) -> Place {
    Place { item: item.to_owned(), position: position.map(str::to_owned) }
}

fn any_place() -> impl Strategy<Value = Place> {
    prop::sample::select(vec![
        place("pad", None),
        place("pad", Some("left")),
        place("disc", None),
        place("disc", Some("right")),
        place("fluid", None),
        place("leak", None),
        place("tyre", None),
        place("horn", None),
    ])
}

/// Any condition a file may hold, but for two: "corrected", which is no worse form of anything, and a difference, which
/// a worse reading at the other position can close; see below.
fn any_condition() -> impl Strategy<Value = Condition> {
    prop_oneof![
        1 => (any_place(), 1_u32..20).prop_map(|(at, within_days)| Condition::Recurs { at, within_days }),
        1 => (1_u32..5, 10_u32..60).prop_map(|(times, hours)| Condition::Corrected {
            at: place("fluid", None), times: Some(times), amount: None, within: Window::Hours(hours),
        }),
        2 => (prop::sample::select(vec![place("pad", None), place("pad", Some("left"))]), 10_u32..300)
            .prop_map(|(at, within_hours)| Condition::Trend { at, side: Side::Below, within_hours }),
        1 => Just(Condition::Limit { at: place("tyre", None), side: Side::Below, at_temperature: Some(20.0) }),
        1 => prop::sample::select(Warmth::ALL.to_vec()).prop_map(|is| Condition::Warmth { is }),
        4 => any_place().prop_map(|at| Condition::Outcome { at, is: Outcome::Defect }),
        2 => prop::sample::select(vec![place("pad", None), place("tyre", None)])
            .prop_map(|at| Condition::Limit { at, side: Side::Below, at_temperature: None }),
        2 => (0.5_f64..6.0).prop_map(|f| Condition::Figure { at: place("pad", None), below: Some(f), above: None, at_temperature: None }),
        1 => (20.0_f64..200.0).prop_map(|f| Condition::Figure { at: place("tyre", None), below: Some(f), above: None, at_temperature: None }),
        1 => Just(Condition::Level { at: place("fluid", None), is: Level::Below }),
        1 => Just(Condition::Load { is: Load::Laden }),
    ]
}

fn any_rule() -> impl Strategy<Value = Rule> {
    (prop::collection::vec(any_condition(), 1..4), any::<bool>(), any::<bool>(), 1_u32..20, "[a-z]{8}")
        .prop_map(|(when, severe, final_, days, name)| Rule {
            name,
            title: None,
            severity: if severe { Severity::OutOfService } else { Severity::Monitor },
            when,
            instruction: Text::typed("Mind it."),
            final_,
            good_for_days: (!severe).then_some(days),
            good_for_hours: None,
            route: None,
        })
}

fn any_checklist() -> impl Strategy<Value = Checklist> {
    let plain = checklist_file::parse(ITEMS).expect("the items parse");
    prop::collection::vec(any_rule(), 0..8).prop_map(move |rules| Checklist { rules, ..plain.clone() })
}

/// How bad each stop is: 0 is well, and each step is worse than the one before.
fn any_badness() -> impl Strategy<Value = Vec<u8>> {
    prop::collection::vec(0_u8..4, 8)
}

/// Readings as [`crate::domain::answers::read`] gives them, each stop as bad as told.
fn as_bad_as(list: &Checklist, load: Load, badness: &[u8]) -> Vec<Reading> {
    let mut all = all_well(list);
    for (reading, bad) in all.iter_mut().zip(badness) {
        let item = list.item(&reading.item).expect("an item of the list");
        if let Some(measure) = item.measure() {
            let figure = match measure.base.quantity() {
                Quantity::Length => ["9.0", "2.5", "1.4", "0.3"],
                _ => ["200", "120", "90", "20"],
            }[usize::from(*bad)];
            let value = measured(figure, measure.base);
            let broken = measure.broken_limit(&value, load).is_some();
            reading.outcome = if broken { Outcome::Defect } else { Outcome::Ok };
            reading.value = Some(value);
        } else if *bad > 0 {
            reading.outcome = Outcome::Defect;
            if reading.level.is_some() {
                reading.level = Some(Level::Below);
            }
        }
    }
    all
}

fn of(load: Load) -> Context {
    if load == Load::Laden { laden() } else { unladen() }
}

fn any_load() -> impl Strategy<Value = Load> {
    prop::sample::select(Load::ALL.to_vec())
}

/// A past of every kind: wear at both pads, steady or scattered, fluid topped up, and defects released.
fn any_history() -> impl Strategy<Value = History> {
    let noise = prop::collection::vec(-0.6_f64..0.6, 0..14);
    let places = prop::sample::select(vec![
        ("disc", Some("right")),
        ("fluid", None),
        ("horn", None),
        ("pad", Some("left")),
    ]);
    (
        noise,
        0.0_f64..0.8,
        prop::collection::vec(0_i64..12, 0..5),
        prop::collection::vec((places, 0_i64..25), 0..4),
    )
        .prop_map(|(noise, wear, topped, released)| {
            let ago = |days: i64| now() - TimeDelta::days(days);
            let count = i64::try_from(noise.len()).unwrap_or(0);
            let series = ["left", "right"].map(|position| Series {
                item: "pad".into(),
                position: Some(position.into()),
                points: (0_i64..)
                    .zip(&noise)
                    .map(|(i, e)| Point {
                        engine_hours: Some(Hours(10_000 - (count - i) * 80)),
                        at: ago(count - i),
                        base: 9.5 - wear * f64::from(i32::try_from(i).unwrap_or(0)) + e,
                    })
                    .collect(),
            });
            let corrected = topped.into_iter().map(|days| CorrectedAt {
                item: "fluid".into(),
                position: None,
                at: ago(days),
                engine_hours: Some(Hours(10_000 - days * 70)),
                amount_base: None,
            });
            let released = released.into_iter().map(|((item, position), days)| ReleasedAt {
                item: item.into(),
                position: position.map(str::to_owned),
                at: ago(days),
            });
            History {
                now: Some(now()),
                series: series.to_vec(),
                corrected: corrected.collect(),
                released: released.collect(),
                renewed: Vec::new(),
            }
        })
}

fn now() -> DateTime<Utc> {
    DateTime::from_timestamp(1_750_000_000, 0).expect("a moment")
}

/// Air stated or not, in either unit; cold, warm or not said.
fn any_context() -> impl Strategy<Value = Context> {
    let air = prop::sample::select(vec![
        None,
        Some(measured("-15", Unit::Celsius)),
        Some(measured("95", Unit::Fahrenheit)),
    ]);
    let warmth = prop::sample::select(vec![None, Some(Warmth::Cold), Some(Warmth::Warm)]);
    (any_load(), air, warmth, any::<bool>()).prop_map(|(load, air, warmth, hours)| Context {
        air,
        warmth,
        engine_hours: hours.then_some(Hours(10_040)),
        ..Context::of(load)
    })
}

fn severity_at(judgement: &Judgement, item: &str, position: Option<&String>) -> Option<Severity> {
    let here = |f: &&crate::domain::judge::Finding| f.item == item && f.position.as_ref() == position;
    judgement.findings.iter().find(here).map(|f| f.severity)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn the_order_of_readings_never_matters(
        (list, context, badness, history) in (any_checklist(), any_context(), any_badness(), any_history()),
        keys in prop::collection::vec(any::<u32>(), 8),
    ) {
        let all = as_bad_as(&list, context.load, &badness);
        let mut shuffled: Vec<_> = keys.iter().zip(all.clone()).collect();
        shuffled.sort_by_key(|(key, _)| **key);
        let shuffled: Vec<Reading> = shuffled.into_iter().map(|(_, r)| r).collect();
        let mut stirred = history.clone();
        stirred.series.reverse();
        stirred.series.iter_mut().for_each(|s| s.points.reverse());
        stirred.corrected.reverse();
        stirred.released.reverse();
        prop_assert_eq!(judge(&list, &context, &all, &history), judge(&list, &context, &shuffled, &stirred));
    }

    #[test]
    fn judging_twice_is_the_same(
        (list, context, badness, history) in (any_checklist(), any_context(), any_badness(), any_history()),
    ) {
        let all = as_bad_as(&list, context.load, &badness);
        let once = judge(&list, &context, &all, &history);
        let kept = serde_json::to_string(&list).expect("json");
        let list: Checklist = serde_json::from_str(&kept).expect("json");
        prop_assert_eq!(once, judge(&list, &context, &all, &history));
    }

    #[test]
    fn a_worse_reading_never_gives_a_milder_verdict(
        (list, context, badness, history) in (any_checklist(), any_context(), any_badness(), any_history()),
        (stop, worse) in (0_usize..8, 1_u8..4),
    ) {
        let mut worsened = badness.clone();
        worsened[stop] = worsened[stop].max(worse);
        let before = judge(&list, &context, &as_bad_as(&list, context.load, &badness), &history);
        let after = judge(&list, &context, &as_bad_as(&list, context.load, &worsened), &history);
        prop_assert!(after.verdict() >= before.verdict(), "{:?}\n{:?}", before, after);
        for f in &before.findings {
            let now = severity_at(&after, &f.item, f.position.as_ref());
            prop_assert!(now >= Some(f.severity), "{}: {:?} then {:?}", f.what, f.severity, now);
        }
    }

    #[test]
    fn every_failed_item_has_exactly_one_finding(
        (list, context, badness, history) in (any_checklist(), any_context(), any_badness(), any_history()),
    ) {
        let all = as_bad_as(&list, context.load, &badness);
        let judgement = judge(&list, &context, &all, &history);
        for r in &all {
            let found = judgement.findings.iter().filter(|f| r.is_at(&f.item, f.position.as_deref())).count();
            prop_assert!(found <= 1);
            if r.outcome == Outcome::Defect {
                prop_assert_eq!(found, 1, "{:?}", r);
            }
        }
        for f in &judgement.findings {
            let own = (f.item.clone(), f.position.clone());
            prop_assert_eq!(f.failed.first(), Some(&own));
            prop_assert_eq!(f.severity == Severity::Monitor, f.good_for_days.is_some());
        }
    }

    /// A difference is between two readings, so a worse reading at the other position can close it. Where the worse
    /// reading is taken, the verdict is never milder for it.
    #[test]
    fn a_worse_reading_never_makes_its_own_position_milder(
        (list, context, badness) in (any_checklist(), any_context(), any_badness()),
        (apart, right, worse) in (1_u8..60, any::<bool>(), 1_u8..4),
    ) {
        let mut list = list;
        list.rules.push(Rule {
            name: "differs".into(),
            title: None,
            severity: Severity::OutOfService,
            when: vec![Condition::Difference {
                at: place("pad", None), more_than: f64::from(apart) / 10.0, between: Vec::new(),
            }],
            instruction: Text::typed("Mind it."),
            final_: false,
            good_for_days: None,
            good_for_hours: None,
            route: None,
        });
        let (stop, position) = if right { (2, "right") } else { (0, "left") };
        let mut worsened = badness.clone();
        worsened[stop] = worsened[stop].max(worse);
        let severity = |badness: &[u8]| {
            let all = as_bad_as(&list, context.load, badness);
            severity_at(&judge(&list, &context, &all, &History::default()), "pad", Some(&position.to_owned()))
        };
        prop_assert!(severity(&worsened) >= severity(&badness));
    }

    /// A figure on the gauge's grid, written in another unit finely enough, gives the same verdict.
    #[test]
    fn the_unit_of_entry_never_changes_a_verdict(
        list in any_checklist(), load in any_load(), kpa in 0_i32..400, tenths in 0_i32..200,
    ) {
        let context = of(load);
        let mm = f64::from(tenths) / 10.0;
        let plain = [format!("tyre={kpa} kPa"), format!("pad/left={mm} mm")];
        let psi = Unit::Psi.from_base(f64::from(kpa));
        let bar = Unit::Bar.from_base(f64::from(kpa));
        let inch = Unit::Inch.from_base(mm);
        let reference = judged(&list, &context, &[&plain[0], &plain[1]]);
        for other in [
            [format!("tyre={psi:.2} psi"), format!("pad/left={inch:.3} in")],
            [format!("tyre={bar:.2} bar"), format!("pad/left={inch:.4} in")],
        ] {
            let judgement = judged(&list, &context, &[&other[0], &other[1]]);
            let rules = |j: &Judgement| -> Vec<(String, Severity, String, usize)> {
                j.findings.iter().map(|f| (f.item.clone(), f.severity, f.rule.clone(), f.supporting.len())).collect()
            };
            prop_assert_eq!(rules(&reference), rules(&judgement), "{:?} against {:?}", plain, other);
        }
    }
}

#[test]
fn the_badness_of_these_tests_does_reach_both_severities() {
    let list = checklist_file::parse(ITEMS).expect("the items parse");
    let all = readings(&list, &unladen(), &[]);
    assert_eq!(all.len(), 8);
    for (badness, severity) in [
        ([0, 0, 0, 0, 0, 0, 0, 1], Severity::Monitor),
        ([2, 0, 0, 0, 0, 0, 0, 0], Severity::OutOfService),
        ([0, 0, 0, 0, 1, 0, 0, 0], Severity::OutOfService),
    ] {
        let all = as_bad_as(&list, Load::Unladen, &badness);
        let judgement = judge(&list, &unladen(), &all, &History::default());
        assert_eq!(judgement.findings.iter().map(|f| f.severity).max(), Some(severity));
    }
}
