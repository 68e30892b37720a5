//! What no reading can reach: rules that never hold or never decide, positions that the rules forget, and a checklist
//! that cannot stop a machine. Looked for once the file says nothing wrong otherwise.

mod implied;

use super::rules::Placed;
use super::table::Faults;
use crate::domain::checklist::{Checklist, Condition, Measure, Place, Rule, Side, Under};
use crate::domain::judge::says_all_of;
use crate::domain::reading::{Level, Outcome};
use crate::domain::standing::Severity;
use crate::domain::unit::Figure;
use implied::{holds_whenever, spot};

pub(super) fn check(checklist: &Checklist, placed: &[Placed], faults: &Faults) {
    let mut possible = Vec::new();
    for p in placed {
        let before = faults.count();
        each_condition(checklist, p, faults);
        conditions_together(checklist, p, faults);
        if faults.count() == before {
            possible.push(p);
        }
    }
    shadowed(checklist, &possible, faults);
    forgotten_positions(checklist, placed, faults);
    let stops = checklist.items().any(|i| i.safety)
        || possible.iter().any(|p| p.rule.severity == Severity::OutOfService);
    if !stops {
        faults.add(0, said!("file-stops-nothing"));
    }
}

/// Conditions that hold for no reading, or for every one.
fn each_condition(checklist: &Checklist, placed: &Placed, faults: &Faults) {
    for (condition, at) in placed.rule.when.iter().zip(&placed.when_at) {
        let Some(measure) = measure_of(checklist, condition) else { continue };
        let (least, most) = measure.plausible;
        let base = |f: f64| Figure(measure.in_unit(f, measure.base));
        match condition {
            Condition::Figure { below, above, at_temperature: None, .. } => {
                if let Some(f) = below.filter(|f| !measure.is_below(least, *f)) {
                    let (f, least) = (base(f), base(least));
                    faults.add(*at, said!("file-never-below", figure = f, least = least));
                }
                if let Some(f) = above.filter(|f| !measure.is_above(most, *f)) {
                    let (f, most) = (base(f), base(most));
                    faults.add(*at, said!("file-never-above", figure = f, most = most));
                }
                if let (Some(low), Some(high)) = (below, above)
                    && measure.is_above(*low, *high)
                {
                    let (low, high) = (base(*low), base(*high));
                    let sentence = said!("file-always", low = low, high = high);
                    faults.add(*at, sentence);
                }
            }
            Condition::Limit { side, at_temperature: None, .. }
                if !Under::all().any(|under| can_break(measure, under, *side)) =>
            {
                faults.add(*at, said!("file-never", side = side));
            }
            Condition::Difference { more_than, .. } if !measure.is_above(most - least, *more_than) => {
                let sentence = said!("file-never-apart", figure = base(*more_than));
                faults.add(*at, sentence);
            }
            _ => {}
        }
    }
}

fn can_break(measure: &Measure, under: Under, side: Side) -> bool {
    measure.beyond(measure.plausible.0, under, side) || measure.beyond(measure.plausible.1, under, side)
}

/// Conditions of one rule that contradict each other.
fn conditions_together(checklist: &Checklist, placed: &Placed, faults: &Faults) {
    let rule = &placed.rule;
    for (i, second) in rule.when.iter().enumerate() {
        for first in &rule.when[..i] {
            if contradict(checklist, rule, first, second) {
                let sentence = said!("file-contradicts", rule = format!("{:?}", rule.name));
                faults.add(placed.when_at[i], sentence);
            }
        }
    }
}

fn contradict(checklist: &Checklist, rule: &Rule, first: &Condition, second: &Condition) -> bool {
    match (first, second) {
        (Condition::Load { is: a }, Condition::Load { is: b }) => return a != b,
        (Condition::Warmth { is: a }, Condition::Warmth { is: b }) => return a != b,
        _ => {}
    }
    let (Some(at), Some(also_at), Some(anchor)) = (first.at(), second.at(), rule.anchor()) else {
        return false;
    };
    let here = spot(checklist, at, anchor);
    if here.is_anywhere() || here != spot(checklist, also_at, anchor) {
        return false;
    }
    let measure = measure_of(checklist, first);
    if let (Some(measure), Some((below, above))) =
        (measure, between(first, second).or_else(|| between(second, first)))
    {
        // The next figure the gauge can show above one must still be below the other.
        return !measure.is_below(above + measure.resolution, below);
    }
    match (outcome_needed(first), outcome_needed(second)) {
        (Some(a), Some(b)) if a != b => true,
        _ => matches!(
            (first, second),
            (Condition::Level { is: Level::Below, .. }, Condition::Level { is: Level::Above, .. })
                | (Condition::Level { is: Level::Above, .. }, Condition::Level { is: Level::Below, .. })
        ),
    }
}

/// A reading that must lie below the one figure and above the other.
fn between(first: &Condition, second: &Condition) -> Option<(f64, f64)> {
    match (first, second) {
        (
            Condition::Figure { below: Some(below), above: None, at_temperature: a, .. },
            Condition::Figure { below: None, above: Some(above), at_temperature: b, .. },
        ) if a == b => Some((*below, *above)),
        _ => None,
    }
}

/// The outcome a stop must have for the condition to hold.
const fn outcome_needed(condition: &Condition) -> Option<Outcome> {
    match condition {
        Condition::Outcome { is, .. } => Some(*is),
        Condition::Level { .. }
        | Condition::Recurs { .. }
        | Condition::Limit { at_temperature: None, .. } => Some(Outcome::Defect),
        _ => None,
    }
}

/// Rules that a more severe one, or an earlier one of the same words, always decides before.
fn shadowed(checklist: &Checklist, possible: &[&Placed], faults: &Faults) {
    for (i, p) in possible.iter().enumerate() {
        let more_severe = possible
            .iter()
            .find(|o| o.rule.severity > p.rule.severity && holds_whenever(checklist, &o.rule, &p.rule));
        if let Some(o) = more_severe {
            let sentence = said!(
                "file-never-decides",
                rule = format!("{:?}", p.rule.name),
                other = format!("{:?}", o.rule.name)
            );
            faults.add(p.name_at, sentence);
            continue;
        }
        let same = |o: &&&Placed| {
            let (a, b) = (&o.rule, &p.rule);
            let weight = |r: &Rule| (r.severity, r.final_, r.good_for_days, r.good_for_hours);
            weight(a) == weight(b) && holds_whenever(checklist, a, b) && holds_whenever(checklist, b, a)
        };
        if let Some(o) = possible[..i].iter().find(same) {
            let sentence = said!(
                "file-says-the-same",
                rule = format!("{:?}", p.rule.name),
                other = format!("{:?}", o.rule.name)
            );
            faults.add(p.name_at, sentence);
            continue;
        }
        if stopped_without_a_rule(checklist, possible, &p.rule) {
            let sentence = said!("file-stopped-before", rule = format!("{:?}", p.rule.name));
            faults.add(p.name_at, sentence);
        }
    }
}

/// A watch on some failures of a safety item, where no rule makes a watch of its failures as such.
fn stopped_without_a_rule(checklist: &Checklist, possible: &[&Placed], rule: &Rule) -> bool {
    let Some(item) = rule.anchor().and_then(|at| checklist.item(&at.item)) else { return false };
    let failure = Condition::Outcome {
        at: rule.anchor().cloned().unwrap_or_else(|| Place { item: item.key.clone(), position: None }),
        is: Outcome::Defect,
    };
    let failed = Rule { when: vec![failure], ..rule.clone() };
    let says_all = |r: &Rule| r.anchor().is_some_and(|at| says_all_of(r, &at.item, at.position.as_deref()));
    let at_this_item = |r: &Rule| r.anchor().is_some_and(|at| at.item == item.key);
    item.safety
        && rule.severity == Severity::Monitor
        && !says_all(rule)
        && holds_whenever(checklist, &failed, rule)
        && !possible.iter().any(|p| at_this_item(&p.rule) && says_all(&p.rule))
}

/// Items of which the rules name some positions and forget others.
fn forgotten_positions(checklist: &Checklist, placed: &[Placed], faults: &Faults) {
    for item in checklist.items() {
        let mut named: Vec<(&str, usize)> = Vec::new();
        let mut everywhere = false;
        for p in placed {
            for (condition, at) in p.rule.when.iter().zip(&p.when_at) {
                match condition.at().filter(|place| place.item == item.key) {
                    Some(Place { position: Some(key), .. }) => named.push((key, *at)),
                    Some(Place { position: None, .. }) => everywhere = true,
                    None => {}
                }
            }
        }
        let forgotten: Vec<&str> = item
            .positions
            .iter()
            .map(|p| p.key.as_str())
            .filter(|key| !named.iter().any(|(n, _)| n == key))
            .collect();
        if let Some((_, at)) = named.first()
            && !everywhere
            && !forgotten.is_empty()
        {
            let sentence =
                said!("file-leaves-out", item = format!("{:?}", item.key), positions = forgotten.join(", "));
            faults.add(*at, sentence);
        }
    }
}

fn measure_of<'c>(checklist: &'c Checklist, condition: &Condition) -> Option<&'c Measure> {
    checklist.item(&condition.at()?.item)?.measure()
}

#[cfg(test)]
mod tests;
