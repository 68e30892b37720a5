//! Saying in words what was found.

use super::Reason;
use super::matching::{Match, Sheet};
use crate::domain::checklist::Asks;
use crate::domain::reading::{Level, Outcome};

/// A reason is read standing up, in gloves.
pub(super) const MOST_WORDS: usize = 24;

impl Sheet<'_> {
    pub(super) fn reason(&self, found: &Match<'_>) -> Reason {
        Reason { rule: found.rule.name.clone(), sentence: self.why(found) }
    }

    /// One sentence: what was read, what it is held against, and the rule.
    pub(super) fn why(&self, found: &Match<'_>) -> String {
        let rule = format!("(rule: {}).", found.rule.name);
        let mut said = String::new();
        for fact in &found.facts {
            let more = format!("{}: {}", self.stops[fact.stop].title(), fact.text);
            let longer = if said.is_empty() { more } else { format!("{said}; {more}") };
            if !said.is_empty() && words(&longer) + words(&rule) > MOST_WORDS {
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
            (Asks::Measure(m), _, Some(value)) => match m.broken_limit(value, self.load) {
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
