//! Saying in words what was found.

use super::Reason;
use super::matching::{Fact, Match, Sheet};
use crate::domain::checklist::Asks;
use crate::domain::reading::{Level, Outcome};

/// A reason is read standing up, in gloves.
pub(super) const MOST_WORDS: usize = 24;

impl Sheet<'_> {
    /// A rule that matched, with the figures behind it.
    pub(super) fn reasons(&self, found: &Match<'_>) -> Vec<Reason> {
        let reason = Reason { rule: found.rule.name.clone(), sentence: self.why(found).into() };
        std::iter::once(reason).chain(self.details(found)).collect()
    }

    /// The figures behind a rule, each in a sentence of its own.
    pub(super) fn details(&self, found: &Match<'_>) -> Vec<Reason> {
        let named = |fact: &Fact, sentence: &String| {
            let sentence = if fact.stop == found.anchor {
                sentence.clone()
            } else {
                format!("{}: {sentence}", self.stops[fact.stop].title())
            };
            Reason { rule: found.rule.name.clone(), sentence: sentence.into() }
        };
        found.facts.iter().flat_map(|f| f.details.iter().map(move |d| named(f, d))).collect()
    }

    /// One sentence: what was read, what it is held against, and the rule.
    pub(super) fn why(&self, found: &Match<'_>) -> String {
        let rule = format!("(rule: {}).", found.rule.name);
        let room = MOST_WORDS.saturating_sub(words(&rule));
        let mut said = String::new();
        for fact in &found.facts {
            let title = self.stops[fact.stop].title();
            let full = format!("{title}: {}", fact.in_full());
            // The reading itself stands in the defect's title; where the sentence would grow too long it is left out.
            let more =
                if words(&said) + words(&full) <= room { full } else { format!("{title}: {}", fact.text) };
            let longer = if said.is_empty() { more } else { format!("{said}; {more}") };
            if !said.is_empty() && words(&longer) > room {
                break;
            }
            said = longer;
        }
        format!("{said} {rule}")
    }

    /// What was seen at a stop: "1.2 mm, at least 1.5 mm".
    pub(super) fn describe(&self, stop: usize) -> String {
        let item = self.stops[stop].item;
        let (Some(reading), Some(outcome)) = (self.reading(stop), self.outcome(stop)) else {
            return "not answered".to_owned();
        };
        let defect = outcome == Outcome::Defect;
        if outcome == Outcome::NotApplicable {
            return Outcome::NotApplicable.to_string();
        }
        if let (Outcome::Corrected, Some(c)) = (outcome, &reading.correction) {
            let amount = c.amount.as_ref().map(|a| format!(" ({a})")).unwrap_or_default();
            return format!("corrected{amount}");
        }
        match (&item.asks, reading.level, &reading.value) {
            (Asks::Measure(m), _, Some(value)) => match m.broken_limit(value, self.under) {
                Some(limit) => format!("{value}, {limit}"),
                None if defect => format!("{value}, answered defect"),
                None => value.to_string(),
            },
            (Asks::Measure(_), _, None) if defect => "could not be measured".to_owned(),
            (Asks::Level, Some(Level::Below), _) => "below its marks".to_owned(),
            (Asks::Level, Some(Level::Above), _) => "above its marks".to_owned(),
            (Asks::Level, None, _) if defect => "could not be read".to_owned(),
            (Asks::Function, ..) if defect => "does not work".to_owned(),
            _ if defect => "failed".to_owned(),
            _ => outcome.to_string(),
        }
    }
}

pub(super) fn words(sentence: &str) -> usize {
    sentence.split_whitespace().count()
}
