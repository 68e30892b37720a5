//! Which rules match which stops of the walk.

use std::collections::BTreeSet;

use super::History;
use crate::domain::answers::ItemAt;
use crate::domain::checklist::{Asks, Condition, Load, Place, Rule, Side, Stop};
use crate::domain::reading::{Context, Level, Outcome, Reading};

/// The readings laid out by their stops.
pub(super) struct Sheet<'a> {
    pub(super) stops: &'a [Stop<'a>],
    pub(super) load: Load,
    readings: Vec<Option<&'a Reading>>,
    _history: &'a History,
}

/// A rule that holds at one stop.
pub(super) struct Match<'a> {
    pub(super) rule: &'a Rule,
    /// The rule's place in the checklist, which breaks ties.
    pub(super) order: usize,
    pub(super) anchor: usize,
    /// The anchor's own fact first.
    pub(super) facts: Vec<Fact>,
    /// Stops that must pass the retest.
    pub(super) failed: BTreeSet<usize>,
}

/// What was seen at a stop that made a condition hold.
#[derive(Clone, PartialEq)]
pub(super) struct Fact {
    pub(super) stop: usize,
    pub(super) text: String,
}

impl<'a> Sheet<'a> {
    pub(super) fn new(
        stops: &'a [Stop<'a>],
        readings: &'a [Reading],
        context: &Context,
        history: &'a History,
    ) -> Self {
        let at = |s: &Stop<'_>| {
            let key = s.position.map(|p| p.key.as_str());
            // Two readings of one stop cannot be entered; were there two, the worse one counts.
            readings.iter().filter(|r| r.is_at(&s.item.key, key)).max_by_key(|r| r.outcome == Outcome::Defect)
        };
        Self { stops, load: context.load, readings: stops.iter().map(at).collect(), _history: history }
    }

    pub(super) fn reading(&self, stop: usize) -> Option<&'a Reading> {
        self.readings[stop]
    }

    /// The outcome, whatever was written down: a figure or level outside its limits in this load is a defect.
    pub(super) fn outcome(&self, stop: usize) -> Option<Outcome> {
        let reading = self.reading(stop)?;
        let outside = match &self.stops[stop].item.asks {
            Asks::Measure(m) => {
                reading.value.as_ref().is_some_and(|v| m.beyond(v.base, self.load, Side::Outside))
            }
            Asks::Level => reading.level.is_some_and(|l| l != Level::Between),
            Asks::Condition | Asks::Function => false,
        };
        let doubtful = outside && reading.outcome != Outcome::NotApplicable;
        Some(if doubtful { Outcome::Defect } else { reading.outcome })
    }

    pub(super) fn at(&self, stop: usize) -> ItemAt {
        let place = self.stops[stop].place();
        (place.item, place.position)
    }

    /// Everywhere the rule holds: once per position of the first item it names.
    pub(super) fn matches(&self, rule: &'a Rule, order: usize) -> Vec<Match<'a>> {
        let Some(anchor) = rule.anchor() else { return Vec::new() };
        let holds = |stop: &Stop<'_>| self.holds_at(rule, order, stop);
        self.stops.iter().filter(|s| is_of(s, anchor)).filter_map(holds).collect()
    }

    fn holds_at(&self, rule: &'a Rule, order: usize, anchor: &Stop<'_>) -> Option<Match<'a>> {
        let mut found = Match {
            rule,
            order,
            anchor: anchor.index,
            facts: Vec::new(),
            failed: BTreeSet::from([anchor.index]),
        };
        for condition in &rule.when {
            if let Condition::Load { is } = condition {
                if *is != self.load {
                    return None;
                }
                continue;
            }
            let facts: Vec<Fact> = self
                .candidates(condition.at()?, anchor)
                .into_iter()
                .filter_map(|stop| self.fact(condition, stop).map(|text| Fact { stop, text }))
                .collect();
            if facts.is_empty() {
                return None;
            }
            for fact in facts {
                found.failed.insert(fact.stop);
                // Two conditions on one stop say the same of it; the later is the more telling one.
                match found.facts.iter_mut().find(|f| f.stop == fact.stop) {
                    Some(same) => *same = fact,
                    None => found.facts.push(fact),
                }
            }
        }
        found.facts.sort_by_key(|f| (f.stop != anchor.index, f.stop));
        Some(found)
    }

    /// Where a condition looks: at the position it names; else at the position the finding is about, when the item
    /// has it too (the same wheel); else anywhere on the item.
    fn candidates(&self, at: &Place, anchor: &Stop<'_>) -> Vec<usize> {
        let here = anchor.position.map(|p| p.key.as_str());
        let on_item = || self.stops.iter().filter(|s| s.item.key == at.item);
        let wanted = match &at.position {
            Some(key) => Some(key.as_str()),
            None => here.filter(|key| on_item().any(|s| s.is(&at.item, Some(key)))),
        };
        on_item()
            .filter(|s| wanted.is_none() || s.position.map(|p| p.key.as_str()) == wanted)
            .map(|s| s.index)
            .collect()
    }

    /// What makes the condition hold at the stop, in words; None when it does not hold.
    fn fact(&self, condition: &Condition, stop: usize) -> Option<String> {
        let reading = self.reading(stop)?;
        let outcome = self.outcome(stop)?;
        if outcome == Outcome::NotApplicable {
            let wanted = matches!(condition, Condition::Outcome { is: Outcome::NotApplicable, .. });
            return wanted.then(|| self.describe(stop));
        }
        match condition {
            Condition::Outcome { is, .. } => (outcome == *is).then(|| self.describe(stop)),
            Condition::Level { is, .. } => (reading.level == Some(*is)).then(|| self.describe(stop)),
            Condition::Limit { side, .. } => {
                let measure = self.stops[stop].item.measure()?;
                let value = reading.value.as_ref()?;
                measure.beyond(value.base, self.load, *side).then(|| self.describe(stop))
            }
            Condition::Figure { below, above, .. } => {
                let measure = self.stops[stop].item.measure()?;
                let value = reading.value.as_ref()?;
                let too_low = below.filter(|f| measure.is_below(value.base, *f));
                let too_high = above.filter(|f| measure.is_above(value.base, *f));
                let say = |side: &str, f: f64| format!("{value}, {side} {}", measure.in_unit(f, value.unit));
                too_low.map(|f| say("below", f)).or_else(|| too_high.map(|f| say("above", f)))
            }
            Condition::Load { .. } => None,
        }
    }
}

fn is_of(stop: &Stop<'_>, place: &Place) -> bool {
    stop.item.key == place.item
        && place.position.as_ref().is_none_or(|key| stop.position.is_some_and(|p| p.key == *key))
}
