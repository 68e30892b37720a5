//! Severity rules: data that says what a failed item means.

use serde::{Deserialize, Serialize};

use super::{Load, Side, Warmth};
use crate::domain::reading::{Level, Outcome};
use crate::domain::standing::Severity;
use crate::words::Text;

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Rule {
    /// By which it is known, whatever the language.
    pub name: String,
    /// What it is called where people read of it; its name when it has none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub title: Option<Text>,
    pub severity: Severity,
    /// All must hold. The first item named is the one the finding is about.
    pub when: Vec<Condition>,
    pub instruction: Text,
    /// Nobody may lower what a final rule decided.
    #[serde(rename = "final")]
    pub final_: bool,
    pub good_for_days: Option<u32>,
    pub good_for_hours: Option<u32>,
    pub route: Option<String>,
}

/// An item, at one of its positions or at any.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Place {
    pub item: String,
    pub position: Option<String>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Condition {
    Outcome {
        at: Place,
        is: Outcome,
    },
    /// The value against the item's own limit in the declared context.
    Limit {
        at: Place,
        side: Side,
        /// The air temperature, in °C, that a tyre's pressure is brought to before it is compared.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        at_temperature: Option<f64>,
    },
    /// The value against a figure the rule states, in the item's base unit.
    Figure {
        at: Place,
        below: Option<f64>,
        above: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        at_temperature: Option<f64>,
    },
    Level {
        at: Place,
        is: Level,
    },
    Load {
        is: Load,
    },
    /// Cold or warm as stated. Where it is not stated, a rule that takes the machine out of service holds in both.
    Warmth {
        is: Warmth,
    },
    /// Two positions of the item differ by more than a figure in its base unit. It holds at the worse of the two.
    Difference {
        at: Place,
        more_than: f64,
        /// Positions that belong together, such as the wheels of an axle; none: all of them.
        between: Vec<Vec<String>>,
    },
    /// Put right so often, or by so much in all, since its last release; this check counts.
    Corrected {
        at: Place,
        times: Option<u32>,
        /// In the base unit of the item's `corrected_unit`.
        amount: Option<f64>,
        within: Window,
    },
    /// The same defect again, so soon after it was released.
    Recurs {
        at: Place,
        within_days: u32,
    },
    /// By its trend the value may be past the item's limit within so many engine hours.
    Trend {
        at: Place,
        side: Side,
        within_hours: u32,
    },
}

/// How far back a rule looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Window {
    /// Engine hours.
    Hours(u32),
    Days(u32),
}

impl Condition {
    /// The item the condition looks at; None for what is of the whole check.
    pub const fn at(&self) -> Option<&Place> {
        match self {
            Condition::Outcome { at, .. }
            | Condition::Limit { at, .. }
            | Condition::Figure { at, .. }
            | Condition::Level { at, .. }
            | Condition::Difference { at, .. }
            | Condition::Corrected { at, .. }
            | Condition::Recurs { at, .. }
            | Condition::Trend { at, .. } => Some(at),
            Condition::Load { .. } | Condition::Warmth { .. } => None,
        }
    }

    /// The temperature a pressure is brought to before it is compared.
    pub const fn at_temperature(&self) -> Option<f64> {
        match self {
            Condition::Limit { at_temperature, .. } | Condition::Figure { at_temperature, .. } => {
                *at_temperature
            }
            _ => None,
        }
    }
}

impl Rule {
    pub fn shown(&self) -> Text {
        self.title.clone().unwrap_or_else(|| Text::typed(&*self.name))
    }

    /// The place the finding is about: the first one named.
    pub fn anchor(&self) -> Option<&Place> {
        self.when.iter().find_map(Condition::at)
    }
}

impl Window {
    pub fn in_words(self) -> Text {
        match self {
            Window::Hours(hours) => said!("judge-window-hours", hours = hours),
            Window::Days(days) => said!("judge-window-days", days = days),
        }
    }
}
