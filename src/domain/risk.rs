//! The risk of a defect that somebody reports outside a check: guided questions give a severity category and a
//! probability level, and these a risk level, after MIL-STD-882E Tables I to III.

use serde::{Deserialize, Serialize};

use super::checklist::System;
use super::standing::Severity;
use super::words::words;
use crate::words::{Lang, Spoken, Text, Value};

words! {
    /// Table I: the worst that can be expected to come of it.
    Category {
        Catastrophic = "catastrophic",
        Critical = "critical",
        Marginal = "marginal",
        Negligible = "negligible",
    }
}

words! {
    /// Table II: how likely it is to happen to this machine.
    Probability {
        Frequent = "frequent",
        Probable = "probable",
        Occasional = "occasional",
        Remote = "remote",
        Improbable = "improbable",
        Eliminated = "eliminated",
    }
}

words! {
    /// Table III, the least first.
    RiskLevel {
        Eliminated = "eliminated",
        Low = "low",
        Medium = "medium",
        Serious = "serious",
        High = "high",
    }
}

words! {
    /// "Can it hurt somebody?"
    Harm {
        Deadly = "could kill or disable for life",
        Hospital = "could put somebody in hospital",
        DayOff = "could cost a day off work",
        Nobody = "cannot hurt anybody",
        NotSure = "not sure",
    }
}

words! {
    /// "Can it burn?" and "Is it getting worse?"
    YesOrNo {
        Yes = "yes",
        No = "no",
        NotSure = "not sure",
    }
}

words! {
    /// "How do you know?"
    Certain {
        Seen = "seen or felt",
        Likely = "likely",
        Suspected = "suspected",
        NotSure = "not sure",
    }
}

/// The answers of somebody who reports a defect. A question left open is "not sure".
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Answers {
    /// None when the reporter is not sure.
    pub affects: Option<System>,
    /// It burns, smoulders, or fuel or oil can reach something hot.
    pub fire: YesOrNo,
    pub harm: Harm,
    pub worse: YesOrNo,
    pub certain: Certain,
}

/// What the answers amount to, with the answers themselves: kept with the defect.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Assessment {
    pub answers: Answers,
    pub category: Category,
    pub probability: Probability,
    pub level: RiskLevel,
    /// From this risk level on the machine is out of service.
    pub out_of_service_from: RiskLevel,
    pub severity: Severity,
    /// Decided by what is affected, whatever the risk level: nobody may lower it.
    #[serde(rename = "final")]
    pub final_: bool,
    /// What decided, as a rule's name does for a check.
    pub rule: String,
    pub why: Text,
}

/// What a defect can put out of action.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Effect {
    Fire,
    On(System),
    /// Nobody can tell yet, so one of those that can kill.
    NotKnown,
}

pub const CERTAIN_EFFECT: &str = "certain effect on what can kill";
pub const DOUBTFUL_EFFECT: &str = "doubt about what can kill";
pub const BY_RISK_LEVEL: &str = "risk level of the report";

/// Table III.
pub const fn risk(category: Category, probability: Probability) -> RiskLevel {
    use Category::{Catastrophic, Critical, Marginal, Negligible};
    use Probability::{Eliminated, Frequent, Improbable, Occasional, Probable, Remote};
    match (category, probability) {
        (_, Eliminated) => RiskLevel::Eliminated,
        (Catastrophic, Frequent | Probable | Occasional) | (Critical, Frequent | Probable) => RiskLevel::High,
        (Catastrophic, Remote) | (Critical, Occasional) | (Marginal, Frequent | Probable) => {
            RiskLevel::Serious
        }
        (Negligible, Occasional | Remote | Improbable) => RiskLevel::Low,
        (Catastrophic | Critical | Marginal, Improbable)
        | (Critical | Marginal, Remote)
        | (Marginal, Occasional)
        | (Negligible, Frequent | Probable) => RiskLevel::Medium,
    }
}

/// From the answers to a severity. In doubt the worse is taken: "not sure" counts as the worst answer of its question.
/// `of_checklist` is the level from which the machine's checklist takes it out of service, if it has a checklist.
pub fn assess(answers: Answers, of_checklist: Option<RiskLevel>) -> Assessment {
    let category = answers.category();
    let probability = answers.probability();
    let level = risk(category, probability);
    let from = of_checklist.unwrap_or_default();
    let table = said!("risk-table", category = category, probability = probability, level = level);
    let table = table.map(capital);
    let certain = answers.always_stops().filter(|_| answers.certain == Certain::Seen);
    let counts_as_certain = matches!(answers.certain, Certain::Seen | Certain::NotSure);
    let (rule, severity, why) = if let Some(what) = certain {
        let why = said!("risk-certain", what = what, table = table);
        (CERTAIN_EFFECT, Severity::OutOfService, why)
    } else if counts_as_certain && answers.may_stop() {
        let why = said!("risk-in-doubt", what = answers.in_doubt(), table = table);
        (DOUBTFUL_EFFECT, Severity::OutOfService, why)
    } else {
        let key = if of_checklist.is_some() { "risk-by-checklist" } else { "risk-without-checklist" };
        let severity = if level >= from { Severity::OutOfService } else { Severity::Monitor };
        (BY_RISK_LEVEL, severity, said!(key, table = table, from = from))
    };
    Assessment {
        answers,
        category,
        probability,
        level,
        out_of_service_from: from,
        severity,
        final_: certain.is_some(),
        rule: rule.to_owned(),
        why,
    }
}

impl Assessment {
    /// For whoever reported it: without the formula, which stands with the defect.
    pub fn in_plain_words(&self, of_checklist: bool) -> Text {
        let key = if of_checklist { "risk-told" } else { "risk-told-without-checklist" };
        said!(key, level = self.level, from = self.out_of_service_from)
    }
}

/// "1A": the standard's own short form.
pub fn code(category: Category, probability: Probability) -> String {
    let letter = match probability {
        Probability::Frequent => 'A',
        Probability::Probable => 'B',
        Probability::Occasional => 'C',
        Probability::Remote => 'D',
        Probability::Improbable => 'E',
        Probability::Eliminated => 'F',
    };
    let digit = match category {
        Category::Catastrophic => 1,
        Category::Critical => 2,
        Category::Marginal => 3,
        Category::Negligible => 4,
    };
    format!("{digit}{letter}")
}

impl Answers {
    /// Brakes, steering, restraint, fuel and fire can always put somebody in hospital, whatever the reporter hopes.
    pub fn category(&self) -> Category {
        let told = match self.harm {
            Harm::Deadly | Harm::NotSure => Category::Catastrophic,
            Harm::Hospital => Category::Critical,
            Harm::DayOff => Category::Marginal,
            Harm::Nobody => Category::Negligible,
        };
        if self.may_stop() { told.min(Category::Critical) } else { told }
    }

    /// A report is of something that was noticed, so it is never improbable, and never eliminated: that takes a change
    /// of the machine, not a report.
    pub const fn probability(&self) -> Probability {
        let worse = !matches!(self.worse, YesOrNo::No);
        match (self.certain, worse) {
            (Certain::Seen | Certain::NotSure, true) => Probability::Frequent,
            (Certain::Seen | Certain::NotSure, false) | (Certain::Likely, true) => Probability::Probable,
            (Certain::Likely, false) | (Certain::Suspected, true) => Probability::Occasional,
            (Certain::Suspected, false) => Probability::Remote,
        }
    }

    /// What of it stops the machine when it is certain.
    pub const fn always_stops(&self) -> Option<Effect> {
        if matches!(self.fire, YesOrNo::Yes) {
            return Some(Effect::Fire);
        }
        match self.affects {
            Some(system @ (System::Brakes | System::Steering | System::Restraint | System::Fuel)) => {
                Some(Effect::On(system))
            }
            _ => None,
        }
    }

    /// As [`Answers::always_stops`], with every doubt taken for the worst.
    pub fn may_stop(&self) -> bool {
        self.always_stops().is_some() || self.affects.is_none() || self.fire == YesOrNo::NotSure
    }

    fn in_doubt(&self) -> Effect {
        match self.always_stops() {
            Some(what) => what,
            None if self.affects.is_none() => Effect::NotKnown,
            None => Effect::Fire,
        }
    }
}

impl Spoken for Effect {
    fn spoken(&self, lang: Lang) -> Value<'_> {
        Value::words(match self {
            Effect::Fire => t_in!(lang, "risk-fire-safety"),
            Effect::On(system) => t_in!(lang, &system.key()),
            Effect::NotKnown => t_in!(lang, "risk-not-known"),
        })
    }
}

impl Default for Answers {
    /// Nothing answered.
    fn default() -> Self {
        Self {
            affects: None,
            fire: YesOrNo::NotSure,
            harm: Harm::NotSure,
            worse: YesOrNo::NotSure,
            certain: Certain::NotSure,
        }
    }
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

impl Default for RiskLevel {
    /// Our own choice; a checklist may set a lower one.
    fn default() -> Self {
        RiskLevel::Serious
    }
}

#[cfg(test)]
mod tests;
