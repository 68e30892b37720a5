//! Which rules match which stops of the walk.

use std::cell::OnceCell;
use std::collections::BTreeSet;

use super::History;
use crate::domain::answers::ItemAt;
use crate::domain::checklist::{Asks, Condition, Place, Rule, Side, Stop, Under};
use crate::domain::reading::{Context, Level, Outcome, Reading};
use crate::domain::standing::Severity;
use crate::domain::trend::Trend;
use crate::domain::unit::{Figure, Measured};
use crate::words::Text;

/// The readings laid out by their stops.
pub(super) struct Sheet<'a> {
    pub(super) stops: &'a [Stop<'a>],
    pub(super) context: &'a Context,
    pub(super) under: Under,
    pub(super) history: &'a History,
    /// Of each stop, worked out when first asked for: it is asked for by rules and for the page.
    pub(super) trends: Vec<OnceCell<Trend>>,
    readings: Vec<Option<&'a Reading>>,
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
    pub(super) text: Text,
    /// What was read there, where the text tells of something else: of history or of another position.
    pub(super) seen: Option<Text>,
    /// Sentences with the figures behind it.
    pub(super) details: Vec<Text>,
    /// Another stop that has its part in it.
    pub(super) beside: Option<usize>,
}

impl<'a> Sheet<'a> {
    pub(super) fn new(
        stops: &'a [Stop<'a>],
        readings: &'a [Reading],
        context: &'a Context,
        history: &'a History,
    ) -> Self {
        let at = |s: &Stop<'_>| {
            let key = s.position.map(|p| p.key.as_str());
            // Two readings of one stop cannot be entered; were there two, the worse one counts.
            readings.iter().filter(|r| r.is_at(&s.item.key, key)).max_by_key(|r| r.outcome == Outcome::Defect)
        };
        let trends = vec![OnceCell::new(); stops.len()];
        Self {
            stops,
            context,
            under: context.into(),
            history,
            trends,
            readings: stops.iter().map(at).collect(),
        }
    }

    pub(super) fn reading(&self, stop: usize) -> Option<&'a Reading> {
        self.readings[stop]
    }

    /// The outcome, whatever was written down: a figure or level outside its limits in this context is a defect.
    pub(super) fn outcome(&self, stop: usize) -> Option<Outcome> {
        let reading = self.reading(stop)?;
        let outside = match &self.stops[stop].item.asks {
            Asks::Measure(m) => {
                reading.value.as_ref().is_some_and(|v| m.beyond(v.base, self.under, Side::Outside))
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
            let Some(at) = condition.at() else {
                if self.is_so(condition, rule.severity) {
                    continue;
                }
                return None;
            };
            let facts: Vec<Fact> = self
                .candidates(at, anchor)
                .into_iter()
                .filter_map(|stop| self.fact(condition, stop))
                .collect();
            if facts.is_empty() {
                return None;
            }
            for fact in facts {
                found.failed.insert(fact.stop);
                found.failed.extend(fact.beside);
                // Two conditions on one stop say the same of it. The later is the more telling one, and one that looks
                // beyond this reading tells more than one that does not.
                match found.facts.iter_mut().find(|f| f.stop == fact.stop) {
                    Some(same) => {
                        let details = [std::mem::take(&mut same.details), fact.details.clone()].concat();
                        if same.seen.is_none() || fact.seen.is_some() {
                            *same = fact;
                        }
                        same.details = details;
                    }
                    None => found.facts.push(fact),
                }
            }
        }
        found.facts.sort_by_key(|f| (f.stop != anchor.index, f.stop));
        Some(found)
    }

    /// Whether a condition of the whole check holds.
    fn is_so(&self, condition: &Condition, severity: Severity) -> bool {
        match condition {
            Condition::Load { is } => *is == self.under.load,
            // Not stated: a rule that stops the machine holds, one that makes less of it does not.
            Condition::Warmth { is } => {
                self.under.warmth.map_or(severity == Severity::OutOfService, |stated| stated == *is)
            }
            _ => false,
        }
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
    fn fact(&self, condition: &Condition, stop: usize) -> Option<Fact> {
        let reading = self.reading(stop)?;
        let outcome = self.outcome(stop)?;
        let described = || Fact::of(stop, self.describe(stop));
        if outcome == Outcome::NotApplicable {
            let wanted = matches!(condition, Condition::Outcome { is: Outcome::NotApplicable, .. });
            return wanted.then(described);
        }
        match condition {
            Condition::Outcome { is, .. } => (outcome == *is).then(described),
            Condition::Level { is, .. } => (reading.level == Some(*is)).then(described),
            Condition::Limit { side, at_temperature, .. } => {
                let measure = self.stops[stop].item.measure()?;
                let value = reading.value.as_ref()?;
                let base = self.brought_to(*at_temperature, value.base);
                if !measure.beyond(base, self.under, *side) {
                    return None;
                }
                let Some(celsius) = at_temperature.filter(|_| self.context.air.is_some()) else {
                    return Some(described());
                };
                let limit = measure.limit_broken_by(base, value.unit, self.under)?;
                let brought = Figure(measure.in_unit(base, value.unit));
                let celsius = Figure(celsius.to_string());
                let text = said!("judge-at-temperature", brought = brought, celsius = celsius, limit = limit);
                Some(Fact { seen: Some(as_read(value)), ..Fact::of(stop, text) })
            }
            Condition::Figure { below, above, at_temperature, .. } => {
                let measure = self.stops[stop].item.measure()?;
                let value = reading.value.as_ref()?;
                let base = self.brought_to(*at_temperature, value.base);
                let too_low = below.filter(|f| measure.is_below(base, *f));
                let too_high = above.filter(|f| measure.is_above(base, *f));
                let say = |plain: &str, at: &str, f: f64| {
                    let figure = Figure(measure.in_unit(f, value.unit));
                    match at_temperature.filter(|_| self.context.air.is_some()) {
                        None => Fact::of(stop, said!(plain, value = value, figure = figure)),
                        Some(celsius) => {
                            let brought = Figure(measure.in_unit(base, value.unit));
                            let celsius = Figure(celsius.to_string());
                            let text = said!(at, brought = brought, celsius = celsius, figure = figure);
                            Fact { seen: Some(as_read(value)), ..Fact::of(stop, text) }
                        }
                    }
                };
                too_low
                    .map(|f| say("judge-below-figure", "judge-below-figure-at", f))
                    .or_else(|| too_high.map(|f| say("judge-above-figure", "judge-above-figure-at", f)))
            }
            Condition::Difference { more_than, between, .. } => self.difference(stop, *more_than, between),
            Condition::Corrected { times, amount, within, .. } => {
                self.corrected(stop, outcome, *times, *amount, *within)
            }
            Condition::Recurs { within_days, .. } => self.recurs(stop, outcome, *within_days),
            Condition::Trend { side, within_hours, .. } => self.may_pass(stop, *side, *within_hours),
            Condition::Load { .. } | Condition::Warmth { .. } => None,
        }
    }
}

impl Fact {
    pub(super) const fn of(stop: usize, text: Text) -> Self {
        Self { stop, text, seen: None, details: Vec::new(), beside: None }
    }

    /// The reading and what was made of it.
    pub(super) fn in_full(&self) -> Text {
        match &self.seen {
            Some(seen) => Text::joined([seen, &self.text], "; "),
            None => self.text.clone(),
        }
    }
}

fn as_read(value: &Measured) -> Text {
    Text::each(|lang| lang.figure(&value.to_string()))
}

fn is_of(stop: &Stop<'_>, place: &Place) -> bool {
    stop.item.key == place.item
        && place.position.as_ref().is_none_or(|key| stop.position.is_some_and(|p| p.key == *key))
}
