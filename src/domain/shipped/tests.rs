mod sentences;

use super::SHIPPED;
use crate::domain::checklist::{Asks, Checklist, Condition, Load, System};
use crate::domain::checklist_file;
use crate::domain::judge::{History, judge};
use crate::domain::reading::{Context, Level, Outcome, Reading};
use crate::domain::standing::{Severity, Standing};
use crate::domain::unit::{Measured, Unit};
use crate::words::Lang;

fn daily() -> Checklist {
    let (_, text) = SHIPPED.iter().find(|(name, _)| *name == "utility-vehicle-daily").expect("shipped");
    checklist_file::parse(text)
        .unwrap_or_else(|faults| panic!("{}", faults.iter().map(|f| format!("{f}\n")).collect::<String>()))
}

fn all() -> Vec<(&'static str, Checklist)> {
    let read = |(name, text): &(&'static str, &str)| {
        let list = checklist_file::parse(text).unwrap_or_else(|f| {
            panic!("{name}:\n{}", f.iter().map(|f| format!("{f}\n")).collect::<String>())
        });
        (*name, list)
    };
    SHIPPED.iter().map(read).collect()
}

/// Every stop answered, all well in either load.
fn all_well(checklist: &Checklist) -> Vec<Reading> {
    let reading = |stop: &crate::domain::checklist::Stop<'_>| Reading {
        item: stop.item.key.clone(),
        position: stop.position.map(|p| p.key.clone()),
        outcome: Outcome::Ok,
        level: matches!(stop.item.asks, Asks::Level).then_some(Level::Between),
        value: stop.item.measure().map(|m| {
            // In the middle of what the tighter load allows, or well inside the one bound there is.
            let bounds = m.bounds(Load::Laden);
            let figure = match (bounds.at_least, bounds.at_most) {
                (Some(least), Some(most)) => f64::midpoint(least, most),
                (Some(least), None) => least * 1.1 + 4.5,
                (None, Some(most)) => most / 2.0,
                (None, None) => panic!("{} has no limit", stop.item.key),
            };
            Measured::parse(&format!("{figure:.0}"), m.base).expect("a figure")
        }),
        correction: None,
        note: None,
    };
    checklist.walk().iter().map(reading).collect()
}

fn unladen() -> Context {
    Context::of(Load::Unladen)
}

#[test]
fn every_shipped_checklist_parses_under_its_own_name() {
    for (name, list) in all() {
        assert_eq!(list.name, name);
    }
}

#[test]
fn every_text_of_every_shipped_checklist_is_said_in_every_language() {
    for (name, list) in all() {
        for (place, text) in list.texts() {
            for lang in Lang::ALL {
                assert!(
                    text.has(*lang) && !text.in_lang(*lang).is_empty(),
                    "{name}, {place}: not in {lang:?}"
                );
            }
        }
        for rule in &list.rules {
            let title = rule.title.as_ref().unwrap_or_else(|| panic!("{name}: rule {}", rule.name));
            assert_eq!(title, &rule.name, "{name}: in the first language a rule is called by its name");
        }
        let shown = list.in_lang(Lang::Es);
        assert!(shown.texts().iter().all(|(_, text)| text.in_lang(Lang::En) == text.in_lang(Lang::Es)));
    }
}

#[test]
fn a_machine_with_nothing_wrong_is_fit_for_use() {
    let checklist = daily();
    let judgement = judge(&checklist, &unladen(), &all_well(&checklist), &History::default());
    assert_eq!(judgement.findings, []);
    assert_eq!(judgement.verdict(), Standing::FitForUse);
}

/// The issue's own list of what must be out of service; beside a leak, brake fluid outside its marks as well.
#[test]
fn what_must_stop_the_machine_stops_it_for_good() {
    let checklist = daily();
    for item in [
        "fuel-leak",
        "brake-leak",
        "brake-pad",
        "brake-pedal",
        "accelerator",
        "belt-webbing",
        "belt-latch",
        "belt-retractor",
        "shift-lock",
    ] {
        for position in checklist.item(item).expect(item).positions_or_none() {
            let mut readings = all_well(&checklist);
            let key = position.map(|p| p.key.as_str());
            readings.iter_mut().find(|r| r.is_at(item, key)).expect(item).outcome = Outcome::Defect;
            let judgement = judge(&checklist, &unladen(), &readings, &History::default());
            assert_eq!(judgement.verdict(), Standing::OutOfService, "{item} {key:?}");
            let [finding] = &judgement.findings[..] else { panic!("{item}: {:?}", judgement.findings) };
            assert!(finding.final_, "{item}");
            assert_eq!(finding.failed, [(item.to_owned(), key.map(str::to_owned))]);
        }
    }
}

#[test]
fn brake_fluid_outside_its_marks_stops_the_machine_only_with_a_leak_or_a_soft_pedal() {
    let checklist = daily();
    for (level, other, expected) in [
        (Level::Below, None, Standing::Monitored),
        (Level::Above, None, Standing::Monitored),
        (Level::Below, Some("brake-leak"), Standing::OutOfService),
        (Level::Above, Some("brake-leak"), Standing::OutOfService),
        (Level::Below, Some("brake-pedal"), Standing::OutOfService),
    ] {
        let mut readings = all_well(&checklist);
        let fluid = readings.iter_mut().find(|r| r.item == "brake-fluid-level").expect("item");
        (fluid.level, fluid.outcome) = (Some(level), Outcome::Defect);
        if let Some(other) = other {
            readings.iter_mut().find(|r| r.item == other).expect(other).outcome = Outcome::Defect;
        }
        let judgement = judge(&checklist, &unladen(), &readings, &History::default());
        assert_eq!(judgement.verdict(), expected, "{level} {other:?}");
        if let Some(other) = other {
            let fluid = judgement.findings.iter().find(|f| f.item == "brake-fluid-level").expect("finding");
            assert_eq!(fluid.severity, Severity::OutOfService);
            assert!(fluid.failed.contains(&(other.to_owned(), None)), "{:?}", fluid.failed);
        }
    }
}

/// Common practice, no source: pad 1.5 mm; tyre 14.5 psi (100 kPa) empty, 21.7 psi (150 kPa) loaded.
#[test]
fn limits_are_those_of_common_practice() {
    let checklist = daily();
    for (item, load, figure, unit, well) in [
        ("brake-pad", Load::Unladen, "1.5", Unit::Mm, true),
        ("brake-pad", Load::Unladen, "1.4", Unit::Mm, false),
        ("brake-pad", Load::Laden, "0.06", Unit::Inch, true),
        ("tyre-pressure", Load::Unladen, "14.5", Unit::Psi, true),
        ("tyre-pressure", Load::Unladen, "14.4", Unit::Psi, false),
        ("tyre-pressure", Load::Unladen, "1", Unit::Bar, true),
        ("tyre-pressure", Load::Unladen, "99", Unit::KPa, false),
        ("tyre-pressure", Load::Laden, "21.7", Unit::Psi, true),
        ("tyre-pressure", Load::Laden, "21.6", Unit::Psi, false),
        ("tyre-pressure", Load::Laden, "150", Unit::KPa, true),
        ("tyre-pressure", Load::Laden, "149", Unit::KPa, false),
    ] {
        let measure = checklist.item(item).and_then(|i| i.measure()).expect(item);
        let value = Measured::parse(figure, unit).expect(figure);
        let broken = measure.broken_limit(&value, load);
        assert_eq!(broken.is_none(), well, "{item} {figure} {unit} {load}: {broken:?}");
    }
}

#[test]
fn the_walk_goes_wheel_by_wheel() {
    let checklist = daily();
    let walk: Vec<String> = checklist.walk().iter().map(|s| s.title().to_string()).collect();
    let from = walk.iter().position(|t| t == "Brake disc, front left").expect("first wheel");
    assert_eq!(
        walk[from..from + 5],
        [
            "Brake disc, front left",
            "Brake pad, front left",
            "Tyre pressure, front left",
            "Tyre and wheel, front left",
            "Brake disc, front right",
        ]
    );
    assert_eq!(walk.first().map(String::as_str), Some("Level ground"));
    assert_eq!(walk.last().map(String::as_str), Some("Horn"));
}

#[test]
fn a_caution_stands_before_every_step_that_can_hurt() {
    let checklist = daily();
    for item in
        ["coolant-level", "brake-fluid-level", "fuel-leak", "engine-oil-level", "tyre-pressure", "shift-lock"]
    {
        assert!(checklist.item(item).expect(item).caution.is_some(), "{item}");
    }
}

#[test]
fn every_failure_on_a_list_has_a_rule_of_its_own() {
    for (name, list) in all() {
        for item in list.items() {
            let named = |c: &Condition| c.at().is_some_and(|at| at.item == item.key);
            assert!(list.rules.iter().any(|r| r.when.iter().all(named)), "{name}: {}", item.key);
        }
    }
}

/// Nothing wrong anywhere, on any list, loaded or empty, cold or warm.
#[test]
fn a_machine_of_any_class_with_nothing_wrong_is_fit_for_use() {
    for (name, list) in all() {
        let empty = judge(&list, &unladen(), &all_well(&list), &History::default());
        assert_eq!(empty.findings, [], "{name}");
        let laden = judge(&list, &Context::of(Load::Laden), &all_well(&list), &History::default());
        assert_eq!(laden.findings, [], "{name}");
    }
}

/// 49 CFR 396.11(a)(1) and 29 CFR 1910.178(q)(7), as models: what affects safety keeps the machine from use.
#[test]
fn whatever_fails_on_brakes_steering_restraint_or_fuel_lines_stops_any_machine() {
    for (name, list) in all() {
        for stop in list.walk() {
            // A lamp and a level do not stop by themselves; see the rules over several items.
            let spared = ["fuel-for-the-day", "drip-tray", "belt-lamp", "brake-fluid-level"];
            if !(stop.item.system.independent() || stop.item.key == "fuel-leak")
                || spared.contains(&stop.item.key.as_str())
            {
                continue;
            }
            let mut readings = all_well(&list);
            let key = stop.position.map(|p| p.key.as_str());
            let reading = readings.iter_mut().find(|r| r.is_at(&stop.item.key, key)).expect("every stop");
            (reading.outcome, reading.value) = (Outcome::Defect, None);
            let judgement = judge(&list, &unladen(), &readings, &History::default());
            assert_eq!(judgement.verdict(), Standing::OutOfService, "{name}: {}", stop.title());
        }
    }
}

#[test]
fn a_caution_stands_before_whatever_is_hot_sharp_under_pressure_or_can_move() {
    for (name, list) in all() {
        for item in list.items() {
            let hurts = matches!(
                item.system,
                System::Fuel | System::Cooling | System::Hydraulics | System::TyresAndWheels
            ) || item.measure().is_some()
                || ["brake", "engine", "level", "pedal", "lever"]
                    .iter()
                    .any(|w| item.todo.here().to_lowercase().contains(w));
            let harmless = ["belt-lamp", "lamps"].contains(&item.key.as_str());
            assert!(!hurts || harmless || item.caution.is_some(), "{name}: {}", item.key);
        }
    }
}

#[test]
fn each_list_is_for_classes_of_its_own() {
    let mut classes: Vec<String> = all().into_iter().flat_map(|(_, list)| list.classes).collect();
    let count = classes.len();
    classes.sort();
    classes.dedup();
    assert_eq!(classes.len(), count, "no class has two lists of the same purpose");
    for class in
        ["utility vehicle", "quad", "compact tractor", "tracked carrier", "trailer", "generator", "pump set"]
    {
        assert!(classes.iter().any(|c| c == class), "{class}");
    }
}
