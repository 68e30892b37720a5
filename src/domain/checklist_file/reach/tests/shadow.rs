//! What is said to be in another rule's shadow is tried against the judge.

use std::sync::LazyLock;

use proptest::prelude::*;

use super::ITEMS;
use crate::domain::checklist::{Checklist, Condition, Load, Place, Rule, Side, Warmth, Window};
use crate::domain::checklist_file::parse;
use crate::domain::checklist_file::reach::implied::holds_whenever;
use crate::domain::history::{CorrectedAt, History, Point, ReleasedAt, Series};
use crate::domain::judge::judge;
use crate::domain::reading::{Context, Level, Outcome, Reading};
use crate::domain::standing::Severity;
use crate::domain::unit::{Hours, Measured, Unit};
use crate::words::Text;

fn place() -> impl Strategy<Value = Place> {
    let at = |item: &str, position: Option<&str>| Place {
        item: item.into(),
        position: position.map(str::to_owned),
    };
    prop::sample::select(vec![
        at("tyre", None),
        at("tyre", Some("left")),
        at("nut", None),
        at("nut", Some("left")),
        at("coolant", None),
    ])
}

fn condition() -> impl Strategy<Value = Condition> {
    let tyre = |position: Option<&str>| Place { item: "tyre".into(), position: position.map(str::to_owned) };
    let tyres = prop::sample::select(vec![tyre(None), tyre(Some("left"))]);
    let coolant = Place { item: "coolant".into(), position: None };
    let figures = prop::sample::select(vec![60.0, 99.0, 100.0, 149.0, 150.0, 151.0, 300.0, 301.0]);
    let sides = prop::sample::select(Side::ALL.to_vec());
    let warm = prop::option::of(Just(20.0));
    prop_oneof![
        place().prop_map(|at| Condition::Outcome { at, is: Outcome::Defect }),
        (tyres.clone(), sides.clone(), warm.clone())
            .prop_map(|(at, side, at_temperature)| Condition::Limit { at, side, at_temperature }),
        (tyres.clone(), figures.clone(), any::<bool>(), warm).prop_map(|(at, f, low, at_temperature)| {
            let (below, above) = if low { (Some(f), None) } else { (None, Some(f)) };
            Condition::Figure { at, below, above, at_temperature }
        }),
        prop::sample::select(vec![Level::Below, Level::Above]).prop_map({
            let at = coolant.clone();
            move |is| Condition::Level { at: at.clone(), is }
        }),
        prop::sample::select(Load::ALL.to_vec()).prop_map(|is| Condition::Load { is }),
        prop::sample::select(Warmth::ALL.to_vec()).prop_map(|is| Condition::Warmth { is }),
        (5_u8..40).prop_map(|f| Condition::Difference {
            at: Place { item: "tyre".into(), position: None },
            more_than: f64::from(f),
            between: Vec::new(),
        }),
        (1_u32..4, prop::option::of(1_u8..3), 1_u32..12, any::<bool>()).prop_map(
            move |(times, litres, n, hours)| {
                Condition::Corrected {
                    at: coolant.clone(),
                    times: litres.is_none().then_some(times),
                    amount: litres.map(f64::from),
                    within: if hours { Window::Hours(n * 5) } else { Window::Days(n) },
                }
            }
        ),
        (place(), 1_u32..20).prop_map(|(at, within_days)| Condition::Recurs { at, within_days }),
        (tyres, sides, 10_u32..500).prop_map(|(at, side, within_hours)| Condition::Trend {
            at,
            side,
            within_hours
        }),
    ]
}

fn any_rule(name: &'static str) -> impl Strategy<Value = Rule> {
    prop::collection::vec(condition(), 1..4).prop_map(move |when| Rule {
        name: name.into(),
        title: None,
        severity: Severity::OutOfService,
        when,
        instruction: Text::typed("Do it."),
        final_: false,
        good_for_days: None,
        good_for_hours: None,
        route: None,
    })
}

/// The same kind of condition with other figures.
fn nudged(condition: &Condition, up: bool) -> Condition {
    let shift = |n: u32| if up { n + 1 } else { n.saturating_sub(1).max(1) };
    let step = if up { 25.0 } else { -25.0 };
    let mut other = condition.clone();
    match &mut other {
        Condition::Figure { below, above, .. } => {
            for figure in [below, above].into_iter().flatten() {
                *figure += step;
            }
        }
        Condition::Limit { side, .. } => *side = if up { Side::Outside } else { Side::Below },
        Condition::Difference { more_than, .. } => *more_than = (*more_than + step).max(0.0),
        Condition::Corrected { times, amount, within, .. } => {
            *times = times.map(shift);
            *amount = amount.map(|a| a + step / 40.0);
            *within = match *within {
                Window::Hours(n) => Window::Hours(n),
                Window::Days(n) => Window::Days(if times.is_none() { shift(n) } else { n }),
            };
        }
        Condition::Recurs { within_days, .. } => *within_days = if up { 20 } else { 5 },
        Condition::Trend { within_hours, .. } => *within_hours = if up { 500 } else { 10 },
        _ => {}
    }
    other
}

/// Two rules where the second is often the first with something added, or with other figures.
fn two_rules() -> impl Strategy<Value = (Rule, Rule)> {
    (any_rule("wide"), any_rule("narrow"), 0_u8..4).prop_map(|(wide, mut narrow, akin)| {
        match akin {
            0 => {}
            1 => narrow.when = wide.when.iter().cloned().chain(narrow.when).collect(),
            _ => narrow.when = wide.when.iter().map(|c| nudged(c, akin == 2)).collect(),
        }
        (wide, narrow)
    })
}

fn some_history(worn: f64) -> History {
    let now = chrono::DateTime::from_timestamp(1_750_000_000, 0).expect("a moment");
    let ago = |days: i64| now - chrono::TimeDelta::days(days);
    let points = (0_i32..8).map(|i| Point {
        engine_hours: Some(Hours(10_000 - i64::from(7 - i) * 100)),
        at: ago(i64::from(8 - i)),
        base: 220.0 - worn * f64::from(i) + f64::from(i % 2),
    });
    History {
        now: Some(now),
        renewed: Vec::new(),
        series: vec![Series { item: "tyre".into(), position: Some("left".into()), points: points.collect() }],
        corrected: [2, 4, 8]
            .map(|d| CorrectedAt {
                item: "coolant".into(),
                position: None,
                at: ago(d),
                engine_hours: Some(Hours(10_000 - d * 80)),
                amount_base: Some(0.6),
            })
            .to_vec(),
        released: vec![
            ReleasedAt { item: "tyre".into(), position: Some("left".into()), at: ago(6) },
            ReleasedAt { item: "nut".into(), position: Some("left".into()), at: ago(11) },
        ],
    }
}

static PLAIN: LazyLock<Checklist> = LazyLock::new(|| parse(ITEMS).expect("the items parse"));

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3000))]

    /// Whatever is told to be in another's shadow truly is: at every stop where the narrow rule holds, so does the wide.
    #[test]
    fn no_rule_is_said_to_be_shadowed_that_is_not(
        (wide, narrow) in two_rules(),
        kpa in prop::collection::vec(prop::sample::select(vec!["58", "59", "60", "98", "99", "100", "101", "148", "149", "150", "151", "300", "301", "302"]), 2),
        (low, laden, fails, worn) in (any::<bool>(), any::<bool>(), prop::collection::vec(any::<bool>(), 3), 0.0_f64..9.0),
        (air, warmth) in (prop::sample::select(vec![None, Some("-10"), Some("40")]), prop::sample::select(vec![None, Some(Warmth::Cold), Some(Warmth::Warm)])),
    ) {
        let plain = &*PLAIN;
        if !holds_whenever(plain, &wide, &narrow) {
            return Ok(());
        }
        let context = Context {
            engine_hours: Some(Hours(10_050)),
            air: air.map(|t| Measured::parse(t, Unit::Celsius).expect("a figure")),
            warmth,
            ..Context::of(if laden { Load::Laden } else { Load::Unladen })
        };
        let reading = |item: &str, position: Option<&str>, outcome| Reading {
            item: item.into(), position: position.map(str::to_owned), outcome,
            level: None, value: None, correction: None, note: None,
        };
        let failed = |f: bool| if f { Outcome::Defect } else { Outcome::Ok };
        let tyre = |position, kpa: &str| Reading {
            value: Some(Measured::parse(kpa, Unit::KPa).expect("a figure")),
            ..reading("tyre", Some(position), Outcome::Ok)
        };
        let level = if low { Level::Below } else { Level::Above };
        let coolant = Reading { level: fails[2].then_some(level), ..reading("coolant", None, failed(fails[2])) };
        let coolant = if fails[2] { coolant } else { Reading { outcome: Outcome::Corrected, ..coolant } };
        let readings = [
            tyre("left", kpa[0]), tyre("right", kpa[1]), coolant,
            reading("nut", Some("left"), failed(fails[0])), reading("nut", Some("right"), failed(fails[1])),
        ];
        let at = |rule: &Rule| -> Vec<(String, Option<String>)> {
            let list = Checklist { rules: vec![rule.clone()], ..plain.clone() };
            let found = judge(&list, &context, &readings, &some_history(worn)).findings.into_iter();
            found.filter(|f| f.rule == rule.name).map(|f| (f.item, f.position)).collect()
        };
        let wide_at = at(&wide);
        for stop in at(&narrow) {
            prop_assert!(wide_at.contains(&stop), "{:?} at {:?}", narrow, stop);
        }
    }
}
