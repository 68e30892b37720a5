//! Checks that look careless, by the machine's own history: answered far quicker than usual, the same figures again and
//! again, engine hours that do not fit. They are shown, never punished: a sign is a reason to go and look, of a machine
//! and not of a person, and where the history is too thin nothing is said but that.

mod hours;
mod pace;
mod same;

use chrono::{DateTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};

use super::ids::{CheckId, ChecklistId};
use super::unit::{Figure, Hours};
use super::words::words;
use crate::words::Text;

words! {
    /// What is odd about a check.
    Sign {
        Quick = "answered quickly",
        Same = "same figures again",
        Hours = "hours that do not fit",
    }
}

/// One check of the machine, as far as this looks at it.
#[derive(Clone, Debug, PartialEq)]
pub struct SeenCheck {
    pub id: CheckId,
    pub checklist: ChecklistId,
    /// How many answers the checklist asks for.
    pub items: usize,
    pub begun_at: Option<DateTime<Utc>>,
    pub recorded_at: DateTime<Utc>,
    pub engine_hours: Option<Hours>,
    pub values: Vec<SeenValue>,
}

/// A figure as it was read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SeenValue {
    pub item: String,
    pub position: String,
    /// "Tyre pressure, front left".
    pub title: Text,
    pub as_read: String,
    pub unit: String,
}

/// A check worth a second look, and why.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Odd {
    pub check: CheckId,
    /// When the check was finished.
    pub at: DateTime<Utc>,
    pub sign: Sign,
    /// One sentence with the numbers.
    pub sentence: Text,
}

/// What a machine's checks show.
#[derive(Clone, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Looked {
    /// Newest check first.
    pub odd: Vec<Odd>,
    /// Of what nothing can be said yet, and why.
    pub unsaid: Vec<Unsaid>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Unsaid {
    pub sign: Sign,
    pub sentence: Text,
}

/// Checks this recent are looked at.
pub const LOOK_AT: TimeDelta = TimeDelta::days(28);
/// How far back the machine's own history is taken from.
pub const LOOK_BACK: TimeDelta = TimeDelta::days(56);

impl Sign {
    /// How it is judged, for the page that shows it.
    pub fn how(self) -> Text {
        match self {
            Sign::Quick => {
                said!("careless-how-quick", far = Figure(pace::FAR.to_string()), fewest = pace::FEWEST)
            }
            Sign::Same => said!(
                "careless-how-same",
                once = same::ONCE_IN,
                fewest = same::FEWEST_PAIRS,
                most = same::MOST_SAME_PRESSURES
            ),
            Sign::Hours => {
                said!("careless-how-hours", most = hours::MOST_STANDING, fewest = hours::FEWEST_PAIRS)
            }
        }
    }
}

impl SeenCheck {
    /// From the moment the form was made to the moment it was finished; None when not said, or not to be believed.
    pub fn time_taken(&self) -> Option<TimeDelta> {
        self.begun_at.map(|begun| self.recorded_at - begun).filter(|t| *t >= TimeDelta::zero() && *t <= A_DAY)
    }
}

/// A form that lay open for longer than this tells nothing of the walk.
const A_DAY: TimeDelta = TimeDelta::days(1);

/// Looks at the checks of one machine since `from`; earlier ones are its history. Their order does not matter.
pub fn look(mut checks: Vec<SeenCheck>, from: DateTime<Utc>) -> Looked {
    checks.sort_by_key(|c| (c.recorded_at, c.id));
    let mut looked = Looked::default();
    pace::look(&checks, from, &mut looked);
    same::look(&checks, from, &mut looked);
    hours::look(&checks, from, &mut looked);
    looked.odd.sort_by_key(|o| (std::cmp::Reverse((o.at, o.check)), o.sign));
    looked
}

impl Looked {
    fn add(&mut self, check: &SeenCheck, sign: Sign, sentence: Text) {
        self.odd.push(Odd { check: check.id, at: check.recorded_at, sign, sentence });
    }

    fn leave(&mut self, sign: Sign, sentence: Text) {
        self.unsaid.push(Unsaid { sign, sentence });
    }
}

/// The middle value: what one odd check cannot move.
fn median(values: &mut [f64]) -> Option<f64> {
    let middle = values.len() / 2;
    if values.is_empty() {
        return None;
    }
    values.sort_by(f64::total_cmp);
    let even = values.len().is_multiple_of(2);
    Some(if even { f64::midpoint(values[middle - 1], values[middle]) } else { values[middle] })
}

fn count(n: usize) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "nobody makes 2^53 checks")]
    let n = n as f64;
    n
}

#[cfg(test)]
mod tests;
