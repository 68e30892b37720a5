use std::sync::LazyLock;

use proptest::prelude::*;

use super::implied::holds_whenever;
use crate::domain::checklist::{Checklist, Condition, Load, Place, Rule, Side, Warmth, Window};
use crate::domain::checklist_file::{Fault, parse};
use crate::domain::history::{CorrectedAt, History, Point, ReleasedAt, Series};
use crate::domain::judge::judge;
use crate::domain::reading::{Context, Level, Outcome, Reading};
use crate::domain::standing::Severity;
use crate::domain::unit::{Hours, Measured, Unit};

const ITEMS: &str = r#"name = "small"
title = "Small"
classes = ["quad"]
[[zone]]
key = "wheels"
title = "Each wheel"
stand = "Beside it."
[[zone.item]]
key = "tyre"
title = "Tyre pressure"
todo = "Measure it."
accept = "Enough."
system = "tyres and wheels"
asks = "measure"
safety = true
positions = ["left", "right"]
may_be_corrected = true
[zone.item.measure]
base = "kPa"
units = ["kPa"]
resolution = "1 kPa"
plausible = ["0 kPa", "400 kPa"]
limits = [{ load = "unladen", at_least = "100 kPa" }, { load = "laden", at_least = "150 kPa" }, { at_most = "300 kPa" }]
[[zone.item]]
key = "coolant"
title = "Coolant level"
todo = "Read it."
accept = "Between."
system = "cooling"
asks = "level"
may_be_corrected = true
corrected_unit = "L"
[[zone.item]]
key = "nut"
title = "Wheel nuts"
todo = "Look."
accept = "Tight."
system = "tyres and wheels"
asks = "condition"
positions = ["left", "right"]
"#;
/// Where the rules of a test begin.
const FIRST: usize = 41;

fn rule(name: &str, severity: &str, when: &str) -> String {
    let watch = if severity == "monitor" { "good_for_days = 1" } else { "final = false" };
    format!(
        "[[rule]]\nname = {name:?}\nseverity = {severity:?}\n{watch}\nwhen = [{when}]\ninstruction = \"Do it.\"\n"
    )
}

fn faults(rules: &[String]) -> Vec<Fault> {
    parse(&format!("{ITEMS}{}", rules.concat())).err().unwrap_or_default()
}

#[test]
fn a_rule_that_can_never_hold_is_told_where_it_stands() {
    assert_eq!(ITEMS.lines().count() + 1, FIRST);
    for (when, column, part) in [
        (
            r#"{ item = "tyre", below = "0 kPa" }"#,
            9,
            "No reading can be below 0 kPa: the least that is taken is 0 kPa.",
        ),
        (r#"{ item = "tyre", above = "400 kPa" }"#, 9, "No reading can be above 400 kPa"),
        (
            r#"{ item = "tyre", below = "90 kPa", above = "80 kPa" }"#,
            9,
            "Every reading is below 90 kPa or above 80 kPa",
        ),
        (r#"{ item = "tyre", apart = "400 kPa" }"#, 9, "No two readings can be more than 400 kPa apart"),
        (r#"{ item = "tyre", below = "80 kPa" }, { item = "tyre", above = "90 kPa" }"#, 46, "contradicts"),
        (r#"{ item = "tyre", below = "80 kPa" }, { item = "tyre", above = "79 kPa" }"#, 46, "contradicts"),
        (
            r#"{ item = "coolant", level = "below" }, { item = "coolant", level = "above" }"#,
            48,
            "contradicts",
        ),
        (
            r#"{ item = "coolant", level = "below" }, { item = "coolant", outcome = "corrected" }"#,
            48,
            "contradicts",
        ),
        (
            r#"{ item = "tyre", value = "below limit" }, { item = "tyre", outcome = "corrected" }"#,
            51,
            "contradicts",
        ),
        (
            r#"{ item = "nut", outcome = "defect" }, { load = "laden" }, { load = "unladen" }"#,
            67,
            "contradicts",
        ),
        (
            r#"{ item = "nut", outcome = "defect" }, { warmth = "cold" }, { warmth = "warm" }"#,
            68,
            "contradicts",
        ),
    ] {
        let found = faults(&[rule("odd", "out of service", when)]);
        let [fault] = &found[..] else { panic!("{when}: {found:?}") };
        assert_eq!((fault.line, fault.column), (FIRST + 4, column), "{when}: {fault}");
        assert!(fault.sentence.contains(part), "{when}: {fault}");
    }
    for when in [
        r#"{ item = "tyre", below = "80 kPa" }, { item = "tyre", above = "78 kPa" }"#,
        r#"{ item = "tyre", below = "70 kPa", above = "80 kPa" }"#,
        r#"{ item = "coolant", outcome = "corrected" }, { item = "coolant", corrected_times = 3, within_days = 9 }"#,
        // Two wheels may well differ.
        r#"{ item = "coolant", level = "below" }, { item = "tyre", below = "80 kPa" }, { item = "tyre", above = "90 kPa" }"#,
        r#"{ item = "tyre", position = "left", below = "80 kPa" }, { item = "tyre", position = "right", above = "90 kPa" }"#,
    ] {
        assert_eq!(faults(&[rule("even", "out of service", when)]), [], "{when}");
    }
}

/// What the file reader says of conditions that look back, sideways or at the weather.
#[test]
fn a_condition_that_says_too_little_too_much_or_the_wrong_thing_is_told() {
    // The mark ^ stands where the fault must be.
    for (marked, part) in [
        (r#"{ item = "tyre", apart = ^"2 mm" }"#, "this item measures a pressure"),
        (r#"{ item = ^"coolant", apart = "2 kPa" }"#, "is not measured"),
        (r#"{ item = "tyre", apart = "9 kPa", between = [^"left", "right"] }"#, "a list of lists"),
        (r#"{ item = "tyre", apart = "9 kPa", between = [^["left"]] }"#, "at least two positions"),
        (r#"{ item = "tyre", apart = "9 kPa", between = [["left", ^"rigt"]] }"#, "Did you mean \"right\"?"),
        (
            r#"{ item = "tyre", ^between = [["left", "right"]], below = "9 kPa" }"#,
            "between goes with apart only",
        ),
        (r#"{ item = "coolant", ^corrected_times = 3 }"#, "within_hours or within_days"),
        (
            r#"{ item = "coolant", ^corrected_times = 3, within_hours = 9, within_days = 9 }"#,
            "one of the two",
        ),
        (
            r#"{ item = "coolant", corrected_amount = ^"1 kPa", within_days = 9 }"#,
            "this item measures a volume",
        ),
        (r#"{ item = "tyre", corrected_amount = ^"1 L", within_days = 9 }"#, "Give it a corrected_unit"),
        (r#"{ item = "nut", ^corrected_times = 3, within_days = 9 }"#, "cannot be corrected"),
        (r#"{ item = "nut", back_within_days = ^"soon" }"#, "whole number from 1"),
        (r#"{ item = "tyre", ^trend = "below limit" }"#, "A trend needs within_hours"),
        (r#"{ item = "tyre", trend = ^"below", within_hours = 9 }"#, "below limit"),
        (r#"{ item = ^"nut", trend = "below limit", within_hours = 9 }"#, "is not measured"),
        (
            r#"{ item = "tyre", value = "below limit", at_temperature = ^"20 kPa" }"#,
            "this item measures a temperature",
        ),
        (r#"{ item = "tyre", value = "below limit", at_temperature = ^"90 °C" }"#, "no air temperature"),
        (r#"{ item = "tyre", outcome = "defect", ^at_temperature = "20 °C" }"#, "at_temperature goes with"),
        (r#"{ item = ^"tyre", warmth = "cold" }"#, "of the whole check"),
        (r#"^{ item = "tyre" }"#, "A condition says one thing"),
    ] {
        let when = marked.replace('^', "");
        let column = "when = [".chars().count() + marked.chars().position(|c| c == '^').expect("a mark") + 1;
        let found = faults(&[rule("odd", "out of service", &when)]);
        let told =
            found.iter().any(|f| (f.line, f.column) == (FIRST + 4, column) && f.sentence.contains(part));
        assert!(told, "{marked}: {found:?}");
    }
    let of_engine = ITEMS.replacen("tyres and wheels", "engine", 1);
    let warm = rule(
        "odd",
        "out of service",
        r#"{ item = "tyre", value = "below limit", at_temperature = "20 °C" }"#,
    );
    let found = parse(&format!("{of_engine}{warm}")).expect_err("a fault");
    assert!(found[0].sentence.contains("the pressure of a tyre"), "{found:?}");
}

#[test]
fn a_rule_in_the_shadow_of_a_more_severe_one_is_told() {
    let stops = "out of service";
    for (wide, narrow) in [
        (
            r#"{ item = "nut", outcome = "defect" }"#,
            r#"{ item = "nut", outcome = "defect" }, { load = "laden" }"#,
        ),
        (
            r#"{ item = "nut", outcome = "defect" }"#,
            r#"{ item = "nut", position = "left", outcome = "defect" }"#,
        ),
        (r#"{ item = "nut", outcome = "defect" }"#, r#"{ item = "nut", back_within_days = 9 }"#),
        (r#"{ item = "coolant", outcome = "defect" }"#, r#"{ item = "coolant", level = "below" }"#),
        (r#"{ item = "tyre", value = "outside limits" }"#, r#"{ item = "tyre", value = "below limit" }"#),
        (r#"{ item = "tyre", value = "below limit" }"#, r#"{ item = "tyre", below = "100 kPa" }"#),
        (r#"{ item = "tyre", below = "150 kPa" }"#, r#"{ item = "tyre", value = "below limit" }"#),
        (r#"{ item = "tyre", below = "90 kPa" }"#, r#"{ item = "tyre", below = "80 kPa" }"#),
        (r#"{ item = "tyre", apart = "10 kPa" }"#, r#"{ item = "tyre", apart = "20 kPa" }"#),
        (
            r#"{ item = "coolant", corrected_times = 2, within_days = 9 }"#,
            r#"{ item = "coolant", corrected_times = 3, within_days = 8 }"#,
        ),
        (
            r#"{ item = "tyre", trend = "below limit", within_hours = 50 }"#,
            r#"{ item = "tyre", trend = "below limit", within_hours = 20 }"#,
        ),
    ] {
        let found = faults(&[rule("wide", stops, wide), rule("narrow", "monitor", narrow)]);
        let told = found.iter().find(|f| f.sentence.contains("\"wide\" is more severe"));
        assert_eq!(told.map(|f| (f.line, f.column)), Some((FIRST + 7, 8)), "{narrow}: {found:?}");
    }
    for (wide, narrow) in [
        (
            r#"{ item = "nut", outcome = "defect" }, { load = "laden" }"#,
            r#"{ item = "nut", outcome = "defect" }"#,
        ),
        (r#"{ item = "nut", outcome = "defect" }"#, r#"{ item = "coolant", outcome = "defect" }"#),
        (r#"{ item = "tyre", below = "50 kPa" }"#, r#"{ item = "tyre", value = "below limit" }"#),
        // Below 120 kPa is within the limit of an empty machine.
        (r#"{ item = "tyre", value = "below limit" }"#, r#"{ item = "tyre", below = "120 kPa" }"#),
        (
            r#"{ item = "tyre", value = "below limit", at_temperature = "20 °C" }"#,
            r#"{ item = "tyre", value = "below limit" }"#,
        ),
    ] {
        assert_eq!(faults(&[rule("wide", stops, wide), rule("narrow", "monitor", narrow)]), [], "{narrow}");
    }
    let twice = [
        rule("one", stops, r#"{ item = "nut", outcome = "defect" }"#),
        rule("two", stops, r#"{ item = "nut", outcome = "defect" }"#),
    ];
    let found = faults(&twice);
    assert!(found[0].sentence.contains("\"one\" stands before it and says the same"), "{found:?}");
}

#[test]
fn a_watch_on_a_safety_item_that_is_stopped_anyway_is_told() {
    let found = faults(&[rule("soft", "monitor", r#"{ item = "tyre", below = "90 kPa" }"#)]);
    assert!(found[0].sentence.contains("a failed safety item is out of service before a watch"), "{found:?}");
    // With a rule that says what its failure means, the watch can decide.
    let both = [
        rule("soft", "monitor", r#"{ item = "tyre", below = "90 kPa" }"#),
        rule("low", "monitor", r#"{ item = "tyre", value = "below limit" }"#),
    ];
    assert_eq!(faults(&both), []);
}

#[test]
fn forgotten_positions_and_a_list_that_stops_nothing_are_told() {
    let left = rule("left", "out of service", r#"{ item = "nut", position = "left", outcome = "defect" }"#);
    let found = faults(std::slice::from_ref(&left));
    assert_eq!((found[0].line, found[0].column), (FIRST + 4, 9));
    assert!(found[0].sentence.contains("The rules of \"nut\" leave right out"), "{found:?}");
    let right = rule("right", "monitor", r#"{ item = "nut", position = "right", outcome = "defect" }"#);
    assert_eq!(faults(&[left, right.clone()]), []);

    let harmless = format!(
        "{}{}",
        ITEMS.replace("safety = true\n", ""),
        rule("nut", "monitor", r#"{ item = "nut", outcome = "defect" }"#)
    );
    let found = parse(&harmless).expect_err("a fault");
    assert!(found[0].sentence.contains("No reading can put this machine out of service"), "{found:?}");
}

#[test]
fn limits_that_nothing_can_break_or_meet_are_told() {
    let limits = r#"{ load = "unladen", at_least = "100 kPa" }, { load = "laden", at_least = "150 kPa" }, { at_most = "300 kPa" }"#;
    for (new, part) in [
        (r#"{ at_least = "0 kPa" }"#, "No reading that is taken can break this limit"),
        (r#"{ at_least = "90 kPa" }, { at_least = "100 kPa" }"#, "bound the same side"),
        (r#"{ warmth = "cold", at_least = "200 kPa" }, { at_most = "150 kPa" }"#, "Nothing can pass cold"),
        (
            r#"{ load = "laden", at_least = "200 kPa" }, { warmth = "warm", at_most = "150 kPa" }"#,
            "Nothing can pass laden warm",
        ),
    ] {
        let found = parse(&ITEMS.replace(limits, new)).expect_err(new);
        assert!(found.iter().any(|f| f.sentence.contains(part) && f.line == 23), "{new}: {found:?}");
    }
}

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
        severity: Severity::OutOfService,
        when,
        instruction: "Do it.".into(),
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
