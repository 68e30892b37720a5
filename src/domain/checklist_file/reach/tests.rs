mod shadow;

use crate::domain::checklist_file::{Fault, parse};

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
