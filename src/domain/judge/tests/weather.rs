//! Rules and limits that depend on the air and on the warmth of the machine, by table.

use super::looking_back::found;
use super::{checklist, laden, measured, readings, unladen};
use crate::domain::air::cold_morning;
use crate::domain::checklist::Warmth;
use crate::domain::judge::{AIR_TEMPERATURE, History, retest_in_its_context, what_mattered};
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

/// The same gas law: what reads 100 kPa at -5 °C reads (100 + 101.325) · 293.15 / 268.15 - 101.325 = 118.8 kPa at 20 °C.
#[test]
fn a_retest_is_judged_in_the_air_of_the_failure_and_in_todays() {
    let list = checklist(COLD_TYRE);
    let failed = [("tyre".to_owned(), None)];
    let celsius = |t: &str| measured(t, Unit::Celsius);
    for (then, now, value, passes) in [
        // Filled in a warm workshop to the limit: too little for the cold it failed in.
        ("-5", "20", "100 kPa", false),
        ("-5", "20", "118 kPa", false),
        ("-5", "20", "119 kPa", true),
        ("-5", "-5", "100 kPa", true),
        ("-5", "-5", "99 kPa", false),
        // It failed in the heat; on a cold day it is low as it is read, whatever it would be in the heat.
        ("40", "-5", "99 kPa", false),
        // And filled to the limit in the cold it is more than enough.
        ("40", "-5", "100 kPa", true),
    ] {
        let context = Context { air: Some(celsius(then)), ..unladen() };
        let given = readings(&list, &unladen(), &[&format!("tyre={value}")]);
        let air = celsius(now);
        let result = retest_in_its_context(&list, &context, Some(&air), &given, &failed);
        assert_eq!(result.passes(), passes, "failed at {then}, now {now}: {value}: {result:?}");
        assert_eq!(result.not_ok.is_empty(), passes, "{then} {now} {value}");
    }
    let context = Context { air: Some(celsius("-5")), ..unladen() };
    let given = readings(&list, &unladen(), &["tyre=118 kPa"]);
    let result = retest_in_its_context(&list, &context, Some(&celsius("20")), &given, &failed);
    assert_eq!(
        result.findings[0].why,
        "Brought from 20 °C to the -5 °C it failed in: Tyre pressure: 99 kPa, at least 100 kPa, unladen (rule: tyre low)."
    );
    // Air that was not stated has no part in it.
    let result = retest_in_its_context(
        &list,
        &unladen(),
        None,
        &readings(&list, &unladen(), &["tyre=100 kPa"]),
        &failed,
    );
    assert!(result.passes());
}

#[test]
fn of_the_context_only_what_mattered_is_kept() {
    let list = checklist(COLD_TYRE);
    let air = Some(measured("-5", Unit::Celsius));
    let context = Context { air, altitude_m: Some(240), warmth: Some(Warmth::Cold), ..laden() };
    assert!(list.asks_air() && !list.asks_warmth());
    let tyre = what_mattered(&list, &context, &[("tyre".to_owned(), None)]);
    assert_eq!((tyre.load, &tyre.air, tyre.altitude_m), (context.load, &context.air, Some(240)));
    assert_eq!(tyre.warmth, None, "nothing on this list depends on it");
    let horn = what_mattered(&list, &context, &[("horn".to_owned(), None)]);
    assert_eq!(horn, laden());
    assert_eq!(context.in_words(), "laden, cold, air at -5 °C");
}

/// 100 kPa is 14.5 psi; 82.8 kPa are 12.0 psi. At 2000 m the air weighs 79.5 kPa (U.S. Standard Atmosphere 1976), and a
/// tyre of 100 kPa reads (100 + 79.5) · 268.15 / 293.15 - 79.5 = 84.7 kPa, 12.3 psi.
#[test]
fn why_a_cold_morning_reads_low_is_told_with_figures() {
    let list = checklist(COLD_TYRE);
    let sea = cold_morning(&list, None).expect("it judges a tyre by the air");
    assert_eq!(
        sea,
        "The same air presses less when it is cold: a tyre of 14.5 psi at 20 °C reads 12 psi at -5 °C, with no air lost."
    );
    assert!(sea.to_string().split_whitespace().count() < 30, "{sea}");
    assert!(cold_morning(&list, Some(2000)).is_some_and(|high| high.contains("reads 12.3 psi")));
    assert_eq!(cold_morning(&checklist(""), None), None);
}
