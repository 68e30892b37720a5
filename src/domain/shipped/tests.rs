use super::SHIPPED;
use crate::domain::checklist::{Asks, Checklist, Condition, Load};
use crate::domain::checklist_file;
use crate::domain::judge::{History, judge};
use crate::domain::reading::{Context, Level, Outcome, Reading};
use crate::domain::standing::{Severity, Standing};
use crate::domain::unit::{Measured, Unit};

fn daily() -> Checklist {
    let (_, text) = SHIPPED.iter().find(|(name, _)| *name == "utility-vehicle-daily").expect("shipped");
    checklist_file::parse(text)
        .unwrap_or_else(|faults| panic!("{}", faults.iter().map(|f| format!("{f}\n")).collect::<String>()))
}

/// Every stop answered, all well, machine empty.
fn all_well(checklist: &Checklist) -> Vec<Reading> {
    let reading = |stop: &crate::domain::checklist::Stop<'_>| Reading {
        item: stop.item.key.clone(),
        position: stop.position.map(|p| p.key.clone()),
        outcome: Outcome::Ok,
        level: matches!(stop.item.asks, Asks::Level).then_some(Level::Between),
        value: stop.item.measure().map(|m| {
            let (figure, unit) = if m.base == Unit::Mm { ("6.0", Unit::Mm) } else { ("160", Unit::KPa) };
            Measured::parse(figure, unit).expect("a figure")
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
    for (name, text) in SHIPPED {
        let checklist = checklist_file::parse(text).unwrap_or_else(|f| panic!("{name}: {f:?}"));
        assert_eq!(checklist.name, *name);
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
    let walk: Vec<String> = checklist.walk().iter().map(crate::domain::checklist::Stop::title).collect();
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
fn every_failure_on_the_list_has_a_rule_of_its_own() {
    let checklist = daily();
    for item in checklist.items() {
        let named = |c: &Condition| c.at().is_some_and(|at| at.item == item.key);
        assert!(checklist.rules.iter().any(|r| r.when.iter().all(named)), "{}", item.key);
    }
}
