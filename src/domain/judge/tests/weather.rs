//! Rules and limits that depend on the air and on the warmth of the machine, by table.

use super::looking_back::found;
use super::{checklist, measured, readings, unladen};
use crate::domain::checklist::Warmth;
use crate::domain::judge::{AIR_TEMPERATURE, History};
use crate::domain::reading::{Context, Outcome};
use crate::domain::standing::Severity;
use crate::domain::unit::Unit;

const COLD_TYRE: &str = r#"
[[rule]]
name = "tyre loses air"
severity = "out of service"
when = [{ item = "tyre", value = "below limit", at_temperature = "20 °C" }]
instruction = "Find the leak."

[[rule]]
name = "tyre low"
severity = "monitor"
good_for_days = 1
when = [{ item = "tyre", value = "below limit" }]
instruction = "Pump it up."
"#;

/// By the gas law at sea level a tyre of 100 kPa at 20 °C reads (100 + 101.325) · 268.15 / 293.15 - 101.325 = 82.8 kPa
/// at -5 °C, and 113.7 kPa at 40 °C.
#[test]
fn the_weather_explains_a_low_tyre_but_never_a_leak() {
    let list = checklist(COLD_TYRE);
    for (air, value, rule, said) in [
        // What the cold explains is still low, and still a finding.
        (
            Some(("-5", Unit::Celsius)),
            "83 kPa",
            Some("tyre low"),
            "the cold explains it, but the tyre is low all the same.",
        ),
        (Some(("23", Unit::Fahrenheit)), "83 kPa", Some("tyre low"), "the cold explains it"),
        (
            Some(("-5", Unit::Celsius)),
            "82 kPa",
            Some("tyre loses air"),
            "the cold explains that much, 1 kPa more are gone.",
        ),
        (Some(("-5", Unit::Celsius)), "60 kPa", Some("tyre loses air"), "23 kPa more are gone."),
        (Some(("-5", Unit::Celsius)), "100 kPa", None, ""),
        // Heat hides a loss.
        (
            Some(("40", Unit::Celsius)),
            "113 kPa",
            Some("tyre loses air"),
            "1 kPa are gone, more than the gauge shows.",
        ),
        (Some(("40", Unit::Celsius)), "114 kPa", None, ""),
        // Not stated: as read.
        (None, "99 kPa", Some("tyre loses air"), ""),
        (None, "100 kPa", None, ""),
        (Some(("20", Unit::Celsius)), "99 kPa", Some("tyre loses air"), ""),
        (Some(("20", Unit::Celsius)), "100 kPa", None, ""),
    ] {
        let context = Context { air: air.map(|(t, u)| measured(t, u)), ..unladen() };
        let judgement = found(&list, &context, &[&format!("tyre={value}")], &History::default());
        let finding = judgement.findings.first();
        assert_eq!(finding.map(|f| f.rule.as_str()), rule, "{air:?} {value}");
        let weather = finding.and_then(|f| f.supporting.iter().find(|r| r.rule == AIR_TEMPERATURE));
        assert_eq!(weather.is_some(), !said.is_empty(), "{air:?} {value}: {finding:?}");
        assert!(weather.is_none_or(|r| r.sentence.contains(said)), "{air:?} {value}: {weather:?}");
    }
    let context = Context { air: Some(measured("-5", Unit::Celsius)), ..unladen() };
    let finding = found(&list, &context, &["tyre=60 kPa"], &History::default()).findings.remove(0);
    assert_eq!(
        finding.why,
        "Tyre pressure: 60 kPa; 75 kPa at 20 °C, at least 100 kPa, unladen (rule: tyre loses air)."
    );
}

#[test]
fn high_up_the_weather_explains_less() {
    let list = checklist(COLD_TYRE);
    // At 2000 m the air around has 79.5 kPa: 100 kPa at 20 °C reads 84.7 kPa at -5 °C.
    for (altitude_m, rule) in [(Some(0), "tyre low"), (None, "tyre low"), (Some(2000), "tyre loses air")] {
        let context = Context { air: Some(measured("-5", Unit::Celsius)), altitude_m, ..unladen() };
        let judgement = found(&list, &context, &["tyre=84 kPa"], &History::default());
        assert_eq!(judgement.findings[0].rule, rule, "{altitude_m:?}");
    }
}

#[test]
fn limits_and_rules_may_be_of_a_cold_or_a_warm_machine() {
    let list = checklist(
        r#"
[[zone]]
key = "gauges"
title = "Gauges"
stand = "At the gauges."
[[zone.item]]
key = "oil-pressure"
title = "Oil pressure"
todo = "Read it."
accept = "Enough."
system = "engine"
asks = "measure"
[zone.item.measure]
base = "kPa"
units = ["kPa"]
resolution = "1 kPa"
plausible = ["0 kPa", "900 kPa"]
limits = [{ warmth = "cold", at_least = "200 kPa" }, { warmth = "warm", at_least = "100 kPa" }]

[[rule]]
name = "no pressure when cold"
severity = "out of service"
when = [{ item = "oil-pressure", value = "below limit" }, { warmth = "cold" }]
instruction = "Stop the engine."

[[rule]]
name = "low pressure when warm"
severity = "monitor"
good_for_days = 1
when = [{ item = "oil-pressure", value = "below limit" }, { warmth = "warm" }]
instruction = "Watch it."
"#,
    );
    for (warmth, value, rule) in [
        (Some(Warmth::Cold), "200 kPa", None),
        (Some(Warmth::Cold), "199 kPa", Some("no pressure when cold")),
        (Some(Warmth::Warm), "100 kPa", None),
        (Some(Warmth::Warm), "99 kPa", Some("low pressure when warm")),
        // Not said: the tighter limit, and the rule that stops the machine.
        (None, "200 kPa", None),
        (None, "150 kPa", Some("no pressure when cold")),
    ] {
        let context = Context { warmth, ..unladen() };
        let judgement = found(&list, &context, &[&format!("oil-pressure={value}")], &History::default());
        assert_eq!(judgement.findings.first().map(|f| f.rule.as_str()), rule, "{warmth:?} {value}");
    }
    let context = Context { warmth: None, ..unladen() };
    let finding = found(&list, &context, &["oil-pressure=150 kPa"], &History::default()).findings.remove(0);
    assert_eq!(finding.what, "Oil pressure: 150 kPa, at least 200 kPa, cold or warm");
    assert_eq!(finding.severity, Severity::OutOfService);
    assert_eq!(readings(&list, &context, &[]).iter().filter(|r| r.outcome == Outcome::Defect).count(), 0);
}
