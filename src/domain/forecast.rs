//! When each machine is back: the workshop played through many times, with repair times, shifts, skills, parts and the order
//! of the queue. Half of the repairs are done by "likely by", nine in ten by "almost surely by".

use std::collections::BTreeSet;

use chrono::{DateTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};

use super::ids::{PartId, PersonId, WorkOrderId, YardId};
use super::queue::order::{Hands, Skill};
use super::shift::Calendar;
use arrival::Lateness;
use levels::{Levels, Spread};
use times::RepairTime;

pub mod arrival;
pub mod chance;
mod driver;
pub mod levels;
mod play;
pub mod score;
pub mod times;

/// The workshop as it is now.
#[derive(Clone, Debug)]
pub struct Workshop {
    pub now: DateTime<Utc>,
    pub mechanics: Vec<Mechanic>,
    /// In the order of the queue.
    pub jobs: Vec<Job>,
}

#[derive(Clone, Debug)]
pub struct Mechanic {
    pub hands: Hands,
    pub calendar: Calendar,
}

/// A work order that is not done yet.
#[derive(Clone, Debug)]
pub struct Job {
    pub order: WorkOrderId,
    pub yard: YardId,
    pub skills: BTreeSet<Skill>,
    pub time: RepairTime,
    /// Worked on it so far.
    pub done: TimeDelta,
    /// It is this mechanic's, and nobody else takes it.
    pub claimed_by: Option<PersonId>,
    /// The claimant is at it now.
    pub in_work: bool,
    /// All of it must be there before work can go on.
    pub waits_for: Vec<Arrival>,
    /// False when the vendor does all of it.
    pub needs_hands: bool,
}

/// Something that is to come.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arrival {
    pub what: Awaited,
    pub expected: Option<DateTime<Utc>>,
    /// How punctual its kind is.
    pub lateness: Lateness,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Awaited {
    Part(PartId),
    OutsideRepair,
    Access,
    Information,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Forecast {
    pub order: WorkOrderId,
    pub when: When,
    /// Where something is known.
    pub spread: Option<Spread>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum When {
    Known {
        likely_by: DateTime<Utc>,
        /// None when it lies beyond what is looked at.
        almost_surely_by: Option<DateTime<Utc>>,
        driver: Driver,
    },
    Unknown(Unknown),
}

/// What most of the time until then goes by with.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Driver {
    Arrival {
        what: Awaited,
        expected: DateTime<Utc>,
        overdue: bool,
    },
    /// Nobody who can do it works before then.
    Shift {
        works_from: DateTime<Utc>,
    },
    /// Others come first: so many work orders, for so many who can do it.
    Queue {
        ahead: usize,
        able: usize,
    },
    /// The repair itself, expected working time.
    Repair {
        hours: f64,
    },
}

/// Why nothing is said. Nothing is ever guessed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Unknown {
    NoDateFor(Awaited),
    /// Of those who work in this yard nobody has these skills. Empty: nobody works there.
    NobodyCan(BTreeSet<Skill>),
    /// Whoever can do it has no shift.
    NoShift,
    Beyond {
        days: i64,
    },
}

/// How often the workshop is played through.
pub const RUNS: usize = 1000;
/// So far ahead is looked.
pub const DAYS_AHEAD: i64 = 400;

/// What somebody wants to know before deciding.
#[derive(Clone, Debug)]
pub enum WhatIf {
    OneMoreMechanic(Mechanic),
    ComesEarlier { order: WorkOrderId, what: Awaited, expected: DateTime<Utc> },
    MovedUp { order: WorkOrderId, to_place: usize },
}

/// How much sooner a work order is done: negative when later.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sooner {
    pub order: WorkOrderId,
    pub likely: Option<TimeDelta>,
    pub almost_surely: Option<TimeDelta>,
}

impl Workshop {
    /// The same workshop and the same seed give the same forecast, to the second.
    pub fn forecast(&self, seed: u64, runs: usize) -> Vec<Forecast> {
        self.forecast_at(Levels::default(), seed, runs)
    }

    /// With the moments read off where this workshop's own repairs say.
    pub fn forecast_at(&self, levels: Levels, seed: u64, runs: usize) -> Vec<Forecast> {
        play::Laid::out(self).forecast(self, levels, seed, runs.max(1))
    }

    /// The workshop as it would be. What is not there changes nothing.
    pub fn with(&self, what_if: &WhatIf) -> Self {
        let mut shop = self.clone();
        match what_if {
            WhatIf::OneMoreMechanic(mechanic) => shop.mechanics.push(mechanic.clone()),
            WhatIf::ComesEarlier { order, what, expected } => {
                let jobs = shop.jobs.iter_mut().filter(|j| j.order == *order);
                for arrival in jobs.flat_map(|j| &mut j.waits_for).filter(|a| a.what == *what) {
                    arrival.expected = Some(*expected);
                }
            }
            WhatIf::MovedUp { order, to_place } => {
                if let Some(from) = shop.jobs.iter().position(|j| j.order == *order) {
                    let job = shop.jobs.remove(from);
                    shop.jobs.insert((*to_place).min(shop.jobs.len()), job);
                }
            }
        }
        shop
    }
}

/// What would change, order by order, in the order of the first.
pub fn sooner(as_is: &[Forecast], as_would_be: &[Forecast]) -> Vec<Sooner> {
    let times = |f: &Forecast| match &f.when {
        When::Known { likely_by, almost_surely_by, .. } => (Some(*likely_by), *almost_surely_by),
        When::Unknown(_) => (None, None),
    };
    let minus = |a: Option<DateTime<Utc>>, b: Option<DateTime<Utc>>| Some(a? - b?);
    let found = as_is.iter().filter_map(|f| {
        let (likely, surely) = times(f);
        let (then_likely, then_surely) = times(as_would_be.iter().find(|o| o.order == f.order)?);
        Some(Sooner {
            order: f.order,
            likely: minus(likely, then_likely),
            almost_surely: minus(surely, then_surely),
        })
    });
    found.collect()
}

#[cfg(test)]
mod tests;
