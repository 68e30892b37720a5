//! Every sentence that the shipped checklists can make a verdict of, said once and counted: under 25 words.

use chrono::{DateTime, TimeDelta, Utc};

use super::all;
use crate::domain::checklist::{Asks, Checklist, Condition, Item, Load, Rule, Side, Stop, Warmth, Window};
use crate::domain::history::{CorrectedAt, History, Point, ReleasedAt, Series};
use crate::domain::judge::{Finding, judge};
use crate::domain::reading::{Context, Correction, Level, Outcome, Reading};
use crate::domain::unit::{Hours, Measured, Unit};
use crate::words::Lang;

const MOST_WORDS: usize = 24;

fn now() -> DateTime<Utc> {
    "2026-11-25T06:00:00Z".parse().expect("a moment")
}

/// A figure in the unit, in as many digits as a gauge may show: nothing shorter is said than this.
fn figure(base: f64, unit: Unit) -> Measured {
    Measured::parse(&format!("{:.2}", unit.from_base(base)), unit).expect("a figure")
}

fn well(stop: &Stop<'_>, unit: usize) -> Reading {
    let value = stop.item.measure().map(|m| {
        let bounds = m.bounds(Load::Laden);
        let (least, most) =
            (bounds.at_least.unwrap_or(m.plausible.0), bounds.at_most.unwrap_or(m.plausible.1));
        figure(f64::midpoint(least, most), m.units[unit % m.units.len()])
    });
    Reading {
        item: stop.item.key.clone(),
        position: stop.position.map(|p| p.key.clone()),
        outcome: Outcome::Ok,
        level: matches!(stop.item.asks, Asks::Level).then_some(Level::Between),
        value,
        correction: None,
        note: None,
    }
}

/// What makes the condition hold, at the position of the stop or everywhere on its item.
fn fail(reading: &mut Reading, item: &Item, condition: &Condition) {
    let measure = item.measure();
    let unit = reading.value.as_ref().map(|v| v.unit);
    let mut beyond = |side: Side, figure_below: Option<f64>, figure_above: Option<f64>| {
        let (Some(m), Some(unit)) = (measure, unit) else { return };
        let bounds = m.bounds(Load::Laden);
        let low = figure_below.or(bounds.at_least).filter(|_| side != Side::Above);
        let high = figure_above.or(bounds.at_most);
        let base = match (low, high) {
            (Some(low), _) => (low - 2.0 * m.resolution).max(m.plausible.0),
            (None, Some(high)) => (high + 2.0 * m.resolution).min(m.plausible.1),
            (None, None) => return,
        };
        reading.value = Some(figure(base, unit));
        reading.outcome = Outcome::Defect;
    };
    match condition {
        Condition::Outcome { is: Outcome::Corrected, .. } | Condition::Corrected { .. } => {
            reading.outcome = Outcome::Corrected;
            let amount = item.corrected_unit.map(|u| Measured::parse("12.25", u).expect("a figure"));
            reading.correction = Some(Correction { what: "topped up".into(), amount });
        }
        Condition::Outcome { is, .. } => reading.outcome = *is,
        Condition::Level { is, .. } => (reading.level, reading.outcome) = (Some(*is), Outcome::Defect),
        Condition::Recurs { .. } => reading.outcome = Outcome::Defect,
        Condition::Limit { side, .. } => beyond(*side, None, None),
        Condition::Figure { below, above, .. } => {
            let side = if below.is_some() { Side::Below } else { Side::Above };
            beyond(side, *below, *above);
        }
        Condition::Difference { .. }
        | Condition::Trend { .. }
        | Condition::Load { .. }
        | Condition::Warmth { .. } => {}
    }
}

/// A past in which everything that a rule looks back on has happened, with figures as long as they get.
fn a_past(list: &Checklist, rule: &Rule) -> History {
    let mut history = History { now: Some(now()), ..History::default() };
    for stop in list.walk() {
        let (item, position) = (stop.item.key.clone(), stop.position.map(|p| p.key.clone()));
        for condition in rule.when.iter().filter(|c| c.at().is_some_and(|at| at.item == item)) {
            match condition {
                Condition::Recurs { within_days, .. } => history.released.push(ReleasedAt {
                    item: item.clone(),
                    position: position.clone(),
                    at: now() - TimeDelta::days(i64::from(*within_days)),
                }),
                Condition::Corrected { within, .. } => {
                    history.corrected.extend((1..12).map(|i| CorrectedAt {
                        item: item.clone(),
                        position: position.clone(),
                        at: now() - TimeDelta::minutes(i * 10),
                        engine_hours: matches!(within, Window::Hours(_)).then_some(Hours(99_990)),
                        amount_base: Some(1.25),
                    }))
                }
                Condition::Trend { side, .. } => {
                    let Some(m) = stop.item.measure() else { continue };
                    let bounds = m.bounds(Load::Unladen);
                    let falls = bounds.at_least.is_some() && *side != Side::Above;
                    let Some(limit) = (if falls { bounds.at_least } else { bounds.at_most }) else {
                        continue;
                    };
                    let step = if falls { m.resolution } else { -m.resolution };
                    let points = (1..=8_i32).rev().map(|i| Point {
                        engine_hours: Some(Hours(100_000 - i64::from(i) * 50)),
                        at: now() - TimeDelta::days(i64::from(i)),
                        base: limit + step * (f64::from(i) + 0.2 * f64::from(i % 2)),
                    });
                    history.series.push(Series {
                        item: item.clone(),
                        position: position.clone(),
                        points: points.collect(),
                    });
                }
                _ => {}
            }
        }
    }
    history
}

fn apart(readings: &mut [Reading], list: &Checklist, condition: &Condition) {
    let Condition::Difference { at, more_than, between } = condition else { return };
    let Some(item) = list.item(&at.item) else { return };
    let Some(m) = item.measure() else { return };
    let keys: Vec<&str> = match between.first() {
        Some(group) => group.iter().map(String::as_str).collect(),
        None => item.positions.iter().map(|p| p.key.as_str()).collect(),
    };
    let value = |readings: &[Reading], key: &str| {
        readings.iter().find(|r| r.is_at(&at.item, Some(key))).and_then(|r| r.value.clone())
    };
    let Some(first) = value(readings, keys[0]) else { return };
    let high_is_worse = m.limits.iter().all(|l| l.at_least.is_none());
    let shift = (more_than + 2.0 * m.resolution) * if high_is_worse { 1.0 } else { -1.0 };
    if let Some(r) = readings.iter_mut().find(|r| r.is_at(&at.item, Some(keys[1]))) {
        r.value = Some(figure(first.base + shift, first.unit));
    }
}

fn contexts() -> impl Iterator<Item = Context> {
    let airs = [None, Some("-12"), Some("104")];
    Load::ALL.iter().flat_map(move |load| {
        airs.into_iter().flat_map(move |air| {
            [None, Some(Warmth::Cold), Some(Warmth::Warm)].map(|warmth| Context {
                engine_hours: Some(Hours(100_000)),
                warmth,
                air: air.map(|t| Measured::parse(t, Unit::Fahrenheit).expect("a figure")),
                ..Context::of(*load)
            })
        })
    })
}

/// Every sentence of a finding that is shown as one, in every language.
fn sentences(f: &Finding) -> impl Iterator<Item = &str> {
    let all = [&f.why, &f.what].into_iter().chain(f.supporting.iter().map(|r| &r.sentence));
    all.flat_map(|said| Lang::ALL.iter().map(|lang| said.in_lang(*lang)))
}

fn count(sentence: &str) -> usize {
    sentence.split_whitespace().count()
}

#[test]
fn every_rule_of_every_shipped_checklist_is_told_in_under_25_words() {
    let (mut said, mut rules, mut long, mut silent) = (0, 0, Vec::new(), Vec::new());
    for (name, list) in all() {
        for rule in &list.rules {
            rules += 1;
            let past = a_past(&list, rule);
            let mut told = false;
            for (context, unit) in contexts().flat_map(|c| (0..3).map(move |u| (c.clone(), u))) {
                let mut readings: Vec<Reading> = list.walk().iter().map(|s| well(s, unit)).collect();
                for condition in &rule.when {
                    apart(&mut readings, &list, condition);
                    let Some(at) = condition.at() else { continue };
                    let item = list.item(&at.item).expect("of the list");
                    for r in readings.iter_mut().filter(|r| {
                        r.item == at.item
                            && at.position.as_ref().is_none_or(|p| r.position.as_ref() == Some(p))
                    }) {
                        fail(r, item, condition);
                    }
                }
                for found in judge(&list, &context, &readings, &past).findings {
                    let of_rule =
                        found.rule == rule.name || found.supporting.iter().any(|r| r.rule == rule.name);
                    told |= of_rule;
                    for sentence in sentences(&found) {
                        said += 1;
                        if count(sentence) > MOST_WORDS {
                            long.push(format!("{name}: {} words: {sentence}", count(sentence)));
                        }
                    }
                    let instructions = Lang::ALL.iter().map(|lang| found.instruction.in_lang(*lang));
                    for instruction in instructions.flat_map(|said| said.split_inclusive(['.', ';'])) {
                        if count(instruction) > MOST_WORDS {
                            long.push(format!("{name}: {} words: {instruction}", count(instruction)));
                        }
                    }
                }
            }
            if !told {
                silent.push(format!("{name}: {}", rule.name));
            }
        }
    }
    long.sort();
    long.dedup();
    assert!(silent.is_empty(), "rules that no generated reading made speak:\n{}", silent.join("\n"));
    assert!(long.is_empty(), "{} sentences are too long:\n{}", long.len(), long.join("\n"));
    assert!(rules > 60 && said > 10_000, "{rules} rules, {said} sentences");
}

/// Failures that no rule speaks of, and safety items that nobody answered.
#[test]
fn what_no_rule_speaks_of_is_told_in_under_25_words() {
    let mut said = 0;
    for (name, list) in all() {
        let walk = list.walk();
        for (i, stop) in walk.iter().enumerate() {
            for outcome in [Some(Outcome::Defect), None] {
                let mut readings: Vec<Reading> = walk.iter().map(|s| well(s, 1)).collect();
                match outcome {
                    Some(outcome) => readings[i].outcome = outcome,
                    None => drop(readings.remove(i)),
                }
                for found in judge(&list, &Context::of(Load::Laden), &readings, &History::default()).findings
                {
                    for sentence in sentences(&found) {
                        said += 1;
                        assert!(count(sentence) <= MOST_WORDS, "{name}, {}: {sentence}", stop.title());
                    }
                }
            }
        }
    }
    assert!(said > 500, "{said}");
}
