use proptest::prelude::*;

use super::{Fault, parse};
use crate::domain::checklist::{Asks, Checklist, Condition, Load};
use crate::domain::shipped::SHIPPED;
use crate::domain::unit::Unit;

/// Line by line, so that a test can change one line and know where the fault must be.
const GOOD: &str = r#"name = "small"
title = "Small"
classes = ["quad"]
[[zone]]
key = "wheels"
title = "Each wheel"
stand = "Beside it."
[[zone.item]]
key = "pad"
title = "Brake pad"
todo = "Measure it."
accept = "Thick enough."
system = "brakes"
safety = true
asks = "measure"
positions = ["front left", "front right"]
[zone.item.measure]
base = "mm"
units = ["mm", "in"]
resolution = "0.1 mm"
plausible = ["0 mm", "20 mm"]
limits = [{ at_least = "0.06 in", at_most = "15 mm" }]
[[zone.item]]
key = "coolant"
title = "Coolant level"
todo = "Read it."
accept = "Between."
system = "cooling"
asks = "level"
may_be_corrected = true
corrected_unit = "L"
[[rule]]
name = "pad thin"
severity = "out of service"
when = [{ item = "pad", position = "front-left", below = "2 mm" }, { load = "laden" }]
instruction = "Stop."
[[rule]]
name = "coolant low"
severity = "monitor"
good_for_days = 3
when = [{ item = "coolant", level = "below" }]
instruction = "Watch it."
[[rule]]
name = 'other pad thin'
severity = 'out of service'
when = [{ item = 'pad', position = 'front-right', value = 'outside limits' }]
instruction = 'Stop.'
"#;

fn faults(from: &str, to: &str) -> Vec<Fault> {
    assert_eq!(GOOD.matches(from).count(), 1, "{from:?} must stand once");
    parse(&GOOD.replace(from, to)).err().unwrap_or_default()
}

#[test]
fn a_good_file_becomes_the_checklist_it_describes() {
    let list = parse(GOOD).unwrap_or_else(|f| panic!("{f:?}"));
    let pad = list.item("pad").expect("pad");
    let measure = pad.measure().expect("measure");
    assert_eq!(pad.position("front-left").map(|p| p.title.here()), Some("front left"));
    assert_eq!((measure.base, measure.resolution, measure.plausible), (Unit::Mm, 0.1, (0.0, 20.0)));
    // 0.06 in is 1.524 mm (1 in = 25.4 mm exactly, NIST SP 811).
    assert!((measure.bounds(Load::Unladen).at_least.expect("limit") - 1.524).abs() < 1e-12);
    assert!(matches!(list.item("coolant").expect("coolant").asks, Asks::Level));
    assert!(matches!(
        list.rules[0].when[..],
        [Condition::Figure { below: Some(2.0), .. }, Condition::Load { .. }]
    ));
    assert_eq!(list.rules[1].good_for_days, Some(3));
    let kept = serde_json::to_string(&list).expect("json");
    assert_eq!(serde_json::from_str::<Checklist>(&kept).expect("json"), list);
}

#[test]
fn each_fault_is_told_with_its_place_and_how_to_mend_it() {
    let mut wrong = String::new();
    for (from, to, line, column, part) in [
        ("title = \"Small\"", "title = \"Small", 2, 15, "not TOML"),
        ("title = \"Small\"", "name = \"again\"", 2, 1, "not TOML"),
        ("title = \"Small\"", "title = \"\"", 2, 9, "empty"),
        ("title = \"Small\"", "title = 7", 2, 9, "put it in quotes"),
        ("title = \"Small\"", "", 1, 1, "title is missing in the checklist"),
        ("name = \"small\"", "name = \"Small One\"", 1, 8, "\"small-one\""),
        ("classes = [\"quad\"]", "classes = []", 3, 1, "at least one class"),
        ("classes = [\"quad\"]", "classes = [\"quad\", \"quad\"]", 3, 20, "second time"),
        (
            "classes = [\"quad\"]",
            "clases = [\"quad\"]\nclasses = [\"quad\"]",
            3,
            1,
            "Did you mean \"classes\"?",
        ),
        (
            "title = \"Coolant level\"",
            "title = \"Coolant level in the expansion tank\"",
            25,
            9,
            "at most 5 words",
        ),
        ("system = \"cooling\"", "system = \"colling\"", 28, 10, "Did you mean \"cooling\"?"),
        ("asks = \"level\"", "asks = \"measure\"", 23, 1, "[zone.item.measure]"),
        ("asks = \"measure\"", "asks = \"condition\"", 17, 1, "does not ask for a measure"),
        ("safety = true", "safety = \"yes\"", 14, 10, "true or false"),
        ("may_be_corrected = true\n", "", 30, 1, "may_be_corrected"),
        ("corrected_unit = \"L\"", "corrected_unit = \"l\"", 31, 18, "not one of"),
        ("\"front right\"", "\"front left\"", 16, 28, "position \"front left\" stands here a second time"),
        ("base = \"mm\"", "base = \"in\"", 18, 1, "mm, not in"),
        ("units = [\"mm\", \"in\"]", "units = [\"mm\", \"psi\"]", 19, 1, "psi is a pressure"),
        ("units = [\"mm\", \"in\"]", "units = []", 19, 1, "at least one unit"),
        ("units = [\"mm\", \"in\"]\n", "", 17, 1, "units is missing"),
        ("resolution = \"0.1 mm\"", "resolution = \"0 mm\"", 20, 14, "more than nothing"),
        ("resolution = \"0.1 mm\"", "resolution = \"0.1\"", 20, 14, "has no unit"),
        (
            "plausible = [\"0 mm\", \"20 mm\"]",
            "plausible = [\"20 mm\", \"0 mm\"]",
            21,
            1,
            "the least and the most",
        ),
        ("at_least = \"0.06 in\"", "at_least = \"3 psi\"", 22, 24, "this item measures a length"),
        ("at_least = \"0.06 in\"", "at_least = \"30 mm\"", 22, 24, "outside what is plausible"),
        ("at_least = \"0.06 in\"", "at_least = \"16 mm\"", 22, 1, "contradict"),
        ("{ at_least = \"0.06 in\", at_most = \"15 mm\" }", "", 22, 1, "at least one limit"),
        (
            "{ at_least = \"0.06 in\", at_most = \"15 mm\" }",
            "{ load = \"laden\" }",
            22,
            11,
            "at_least or at_most",
        ),
        ("name = \"pad thin\"", "name = \"coolant low\"", 38, 8, "rule \"coolant low\" stands here a second"),
        ("name = \"pad thin\"", "name = \"safety item failed\"", 33, 8, "Choose another name"),
        ("severity = \"out of service\"", "severity = \"grounded\"", 34, 12, "out of service"),
        ("item = \"pad\"", "item = \"pda\"", 35, 18, "Did you mean \"pad\"?"),
        ("position = \"front-left\"", "position = \"front-lft\"", 35, 36, "Did you mean \"front-left\"?"),
        ("below = \"2 mm\"", "below = \"2 kPa\"", 35, 58, "this item measures a length"),
        ("below = \"2 mm\"", "level = \"below\"", 35, 50, "does not ask for a level"),
        ("below = \"2 mm\"", "outcome = \"ok\"", 35, 50, "what is wrong"),
        ("below = \"2 mm\"", "outcome = \"corrected\"", 35, 50, "cannot be corrected"),
        ("below = \"2 mm\"", "outcome = \"defect\", level = \"below\"", 35, 9, "one thing"),
        ("{ load = \"laden\" }", "{ load = \"laden\", item = \"pad\" }", 35, 93, "leave item out"),
        ("level = \"below\"", "level = \"between\"", 41, 29, "level is below or above"),
        ("level = \"below\"", "value = \"below limit\"", 41, 18, "not measured"),
        (
            "{ item = \"coolant\", level = \"below\" }",
            "{ load = \"laden\" }",
            41,
            1,
            "not at the load or the warmth alone",
        ),
        ("{ item = \"coolant\", level = \"below\" }", "", 41, 1, "at least one condition"),
        ("good_for_days = 3\n", "", 39, 1, "A watch needs an end"),
        ("good_for_days = 3", "good_for_days = 0", 40, 17, "whole number from 1"),
        ("severity = \"monitor\"", "severity = \"out of service\"", 40, 1, "leave good_for out"),
    ] {
        let found = faults(from, to);
        // Beside it one more may follow from it for each rule of the item.
        let told = found.len() <= 3
            && found.iter().any(|f| {
                (f.line, f.column) == (line, column)
                    && f.sentence.contains(part)
                    && f.sentence.here().ends_with(['.', '?'])
            });
        if !told {
            wrong += &format!("{to}\n    expected {line}:{column} {part}\n    told {found:?}\n");
        }
    }
    assert!(wrong.is_empty(), "\n{wrong}");
}

#[test]
fn all_faults_are_told_at_once_in_the_order_of_the_file() {
    let broken = GOOD
        .replace("classes = [\"quad\"]", "classes = []")
        .replace("system = \"cooling\"", "system = \"cool\"")
        .replace("item = \"pad\"", "item = \"tyre\"");
    let lines: Vec<usize> = parse(&broken).expect_err("faults").iter().map(|f| f.line).collect();
    assert_eq!(lines, [3, 28, 35]);
    let twice = faults("key = \"coolant\"", "key = \"pad\"");
    assert_eq!((twice[0].line, twice[0].column), (24, 7));
    assert!(twice[0].sentence.contains("\"pad\" stands here a second time"), "{twice:?}");
    assert_eq!(twice[1].line, 41, "the rule that named the item is told as well: {twice:?}");
}

#[test]
fn columns_are_counted_in_characters() {
    let list = GOOD.replace("todo = \"Read it.\"", "todo = \"Lire à 20 °C\" # été\nstop = 1");
    let found = parse(&list).expect_err("a fault");
    assert_eq!((found[0].line, found[0].column), (27, 1), "{found:?}");
    let inline = GOOD.replace("{ load = \"laden\" }", "{ \"é\" = 1, load = \"laden\", lod = 1 }");
    let columns: Vec<usize> = parse(&inline).expect_err("faults").iter().map(|f| f.column).collect();
    assert_eq!(columns, [70, 95]);
}

#[test]
fn an_empty_file_and_a_huge_one_are_told_plainly() {
    let empty = parse("").expect_err("faults");
    assert!(empty.iter().all(|f| (f.line, f.column) == (1, 1)), "{empty:?}");
    assert!(empty.iter().any(|f| f.sentence.contains("[[zone]]")), "{empty:?}");
    let huge = parse(&"#".repeat(600 * 1024)).expect_err("a fault");
    assert!(huge[0].sentence.contains("too large"), "{huge:?}");
    assert_eq!(huge[0].to_string().split(':').next(), Some("line 1, column 1"));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Whatever is cut out of a good file, the answer is a checklist or faults within the text, never a panic.
    #[test]
    fn a_mangled_file_never_panics(from in 0_usize..2000, length in 1_usize..60, put in "[ -~]{0,6}") {
        let text = SHIPPED[0].1;
        let cut: String = text.chars().skip(3000 + from).skip(length).collect();
        let mangled: String = text.chars().take(3000 + from).chain(put.chars()).collect::<String>() + &cut;
        if let Err(found) = parse(&mangled) {
            let lines = mangled.lines().count();
            prop_assert!(!found.is_empty());
            prop_assert!(found.iter().all(|f| (1..=lines + 1).contains(&f.line) && f.column >= 1));
        }
    }
}
