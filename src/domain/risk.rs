//! The risk of a defect that somebody reports outside a check: guided questions give a severity category and a
//! probability level, and these a risk level, after MIL-STD-882E Tables I to III.

use serde::{Deserialize, Serialize};

use super::checklist::System;
use super::standing::Severity;
use super::words::words;

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
    /// "Is it getting worse?"
    Worse {
        Yes = "yes",
        No = "no",
        NotSure = "not sure",
    }
}

words! {
    /// "Are you certain?"
    Certain {
        Seen = "seen or felt",
        Likely = "likely",
        Suspected = "suspected",
    }
}

/// The answers of somebody who reports a defect.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Answers {
    pub affects: System,
    /// It burns, smoulders, or fuel or oil can reach something hot.
    pub fire: bool,
    pub harm: Harm,
    pub worse: Worse,
    pub certain: Certain,
}

/// What the answers amount to.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Assessment {
    pub category: Category,
    pub probability: Probability,
    pub level: RiskLevel,
    pub severity: Severity,
    /// Decided by what is affected, whatever the risk level: nobody may lower it.
    #[serde(rename = "final")]
    pub final_: bool,
    pub why: String,
}

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
pub fn assess(answers: Answers, out_of_service_from: RiskLevel) -> Assessment {
    let category = answers.category();
    let probability = answers.probability();
    let level = risk(category, probability);
    let code = code(category, probability);
    if answers.certain == Certain::Seen
        && let Some(what) = answers.always_stops()
    {
        return Assessment {
            category,
            probability,
            level,
            severity: Severity::OutOfService,
            final_: true,
            why: format!("A certain effect on {what} is always out of service (risk {level}, {code})."),
        };
    }
    let severity = if level >= out_of_service_from { Severity::OutOfService } else { Severity::Monitor };
    let why = format!(
        "Risk {level} ({code}: {category}, {probability}); out of service here from {out_of_service_from} on."
    );
    Assessment { category, probability, level, severity, final_: false, why }
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
        if self.always_stops().is_some() { told.min(Category::Critical) } else { told }
    }

    /// A report is of something that was noticed, so it is never improbable, and never eliminated: that takes a change
    /// of the machine, not a report.
    pub const fn probability(&self) -> Probability {
        let worse = !matches!(self.worse, Worse::No);
        match (self.certain, worse) {
            (Certain::Seen, true) => Probability::Frequent,
            (Certain::Seen, false) | (Certain::Likely, true) => Probability::Probable,
            (Certain::Likely, false) | (Certain::Suspected, true) => Probability::Occasional,
            (Certain::Suspected, false) => Probability::Remote,
        }
    }

    /// What of it stops the machine when it is certain.
    pub const fn always_stops(&self) -> Option<&'static str> {
        if self.fire {
            return Some("fire safety");
        }
        match self.affects {
            System::Brakes | System::Steering | System::Restraint | System::Fuel => {
                Some(self.affects.as_str())
            }
            _ => None,
        }
    }
}

impl Default for RiskLevel {
    /// Our own choice; a checklist may set a lower one.
    fn default() -> Self {
        RiskLevel::Serious
    }
}

#[cfg(test)]
mod tests;
