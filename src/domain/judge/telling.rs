//! Saying in words what was found.

use super::Reason;
use super::matching::{Fact, Match, Sheet};
use crate::domain::checklist::Asks;
use crate::domain::reading::{Level, Outcome};
use crate::words::Text;

/// A reason is read standing up, in gloves.
pub(super) const MOST_WORDS: usize = 24;

impl Sheet<'_> {
    /// A rule that matched, with the figures behind it.
    pub(super) fn reasons(&self, found: &Match<'_>) -> Vec<Reason> {
        let reason = Reason { rule: found.rule.name.clone(), sentence: self.why(found) };
        std::iter::once(reason).chain(self.details(found)).collect()
    }

    /// The figures behind a rule, each in a sentence of its own.
    pub(super) fn details(&self, found: &Match<'_>) -> Vec<Reason> {
        let named = |fact: &Fact, sentence: &Text| {
            let sentence = if fact.stop == found.anchor {
                sentence.clone()
            } else {
                of(&self.stops[fact.stop].title(), sentence)
            };
            Reason { rule: found.rule.name.clone(), sentence }
        };
        found.facts.iter().flat_map(|f| f.details.iter().map(move |d| named(f, d))).collect()
    }

    /// One sentence: what was read, what it is held against, and the rule. Each language has room for as much as it can
    /// say in so many words.
    pub(super) fn why(&self, found: &Match<'_>) -> Text {
        let rule = by_rule(&found.rule.shown());
        let facts: Vec<(Text, Text)> = found
            .facts
            .iter()
            .map(|fact| {
                let title = self.stops[fact.stop].title();
                (of(&title, &fact.in_full()), of(&title, &fact.text))
            })
            .collect();
        Text::each(|lang| {
            let rule = rule.in_lang(lang);
            let room = MOST_WORDS.saturating_sub(words(rule));
            let mut said = String::new();
            for (full, short) in &facts {
                // The reading itself stands in the defect's title; where the sentence would grow too long it is left out.
                let fits = words(&said) + words(full.in_lang(lang)) <= room;
                let more = if fits { full.in_lang(lang) } else { short.in_lang(lang) };
                let longer = if said.is_empty() { more.to_owned() } else { format!("{said}; {more}") };
                if !said.is_empty() && words(&longer) > room {
                    break;
                }
                said = longer;
            }
            format!("{said} {rule}")
        })
    }

    /// What was seen at a stop: "1.2 mm, at least 1.5 mm".
    pub(super) fn describe(&self, stop: usize) -> Text {
        let item = self.stops[stop].item;
        let (Some(reading), Some(outcome)) = (self.reading(stop), self.outcome(stop)) else {
            return said!("judge-not-answered");
        };
        let defect = outcome == Outcome::Defect;
        if outcome == Outcome::NotApplicable {
            return said!("outcome-not-applicable");
        }
        if let (Outcome::Corrected, Some(c)) = (outcome, &reading.correction) {
            return match &c.amount {
                Some(amount) => said!("judge-corrected-by", amount = amount),
                None => said!("outcome-corrected"),
            };
        }
        match (&item.asks, reading.level, &reading.value) {
            (Asks::Measure(m), _, Some(value)) => match m.broken_limit(value, self.under) {
                Some(limit) => said!("judge-value-and-limit", value = value, limit = limit),
                None if defect => said!("judge-answered-defect", value = value),
                None => Text::each(|lang| lang.figure(&value.to_string())),
            },
            (Asks::Measure(_), _, None) if defect => said!("judge-not-measured"),
            (Asks::Level, Some(Level::Below), _) => said!("judge-below-marks"),
            (Asks::Level, Some(Level::Above), _) => said!("judge-above-marks"),
            (Asks::Level, None, _) if defect => said!("judge-not-read"),
            (Asks::Function, ..) if defect => said!("judge-does-not-work"),
            _ if defect => said!("judge-failed"),
            _ => said!(&outcome.key()),
        }
    }
}

/// "Brake pad, front left: 1.2 mm": what it is about, and what is said of it.
pub(super) fn of(title: &Text, said: &Text) -> Text {
    Text::joined([title, said], ": ")
}

/// "(rule: brake pad under its limit)."
pub(super) fn by_rule(rule: &Text) -> Text {
    said!("judge-rule", rule = rule)
}

pub(super) fn words(sentence: &str) -> usize {
    sentence.split_whitespace().count()
}
