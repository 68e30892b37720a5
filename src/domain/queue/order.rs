//! The queue as a whole: pins first, then machines out of service, then what the yard is shortest of over the work that is
//! left (Smith's rule), then good-until, then age. Each place says why, and what it is ahead by.

use std::cmp::{Ordering, Reverse};
use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use serde::{Deserialize, Serialize};

use super::super::ids::{PersonId, WorkOrderId, YardId};
use super::super::work_order::WaitingFor;

/// What a mechanic must have learned, or hold a licence for, in the words of the house.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Skill(pub String);

/// A supervisor's word: this one first. Pins stand in the order of their ranks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pin {
    pub rank: i64,
    pub by: PersonId,
    pub at: DateTime<Utc>,
}

/// A work order as the queue sees it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Candidate {
    pub order: WorkOrderId,
    pub number: i64,
    pub yard: YardId,
    pub class: String,
    pub out_of_service: bool,
    /// The earliest of its monitored defects.
    pub good_until: Option<DateTime<Utc>>,
    pub opened_at: DateTime<Utc>,
    /// Expected working time that is left.
    pub remaining: TimeDelta,
    pub skills: BTreeSet<Skill>,
    pub pin: Option<Pin>,
    pub taken: Taken,
}

/// Whether somebody can take it now.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Taken {
    Free,
    By(PersonId),
    Waiting { by: Option<PersonId>, waiting_for: WaitingFor, until: Option<DateTime<Utc>> },
}

/// What the yards need on one day, by class, and what they have that is fit for use.
#[derive(Clone, Debug, Default)]
pub struct Demand(BTreeMap<(YardId, String), Need>);

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Need {
    pub needed: i64,
    pub available: i64,
}

/// What decides between two places, from the first that is looked at to the last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Level {
    Pin,
    Standing,
    Demand,
    GoodUntil,
    Age,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Watch {
    Passed,
    Today,
    MoreDays(i64),
}

/// Why a work order stands where it stands: for one sentence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Why {
    pub pin: Option<Pin>,
    pub out_of_service: bool,
    /// How many of the class the yard lacks today; only where that moves the order up.
    pub lacks: Option<i64>,
    pub remaining: TimeDelta,
    pub watch: Option<Watch>,
    pub age: TimeDelta,
    /// What puts it ahead of the next place. None for the last.
    pub ahead_by: Option<Level>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ranked {
    pub candidate: Candidate,
    /// From 1.
    pub place: usize,
    pub why: Why,
}

/// Who is asking what is next.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hands {
    pub person: PersonId,
    pub yards: BTreeSet<YardId>,
    pub skills: BTreeSet<Skill>,
}

/// Why an order is not for this mechanic now.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotForYou {
    OtherYard,
    Lacks(BTreeSet<Skill>),
    TakenBy(PersonId),
    Waiting { waiting_for: WaitingFor, until: Option<DateTime<Utc>> },
}

/// Work is never taken to be shorter than this, so that a rough guess of nothing does not jump the queue: our own choice.
const SHORTEST: TimeDelta = TimeDelta::minutes(15);

impl Demand {
    pub fn need(&mut self, yard: YardId, class: impl Into<String>, need: Need) {
        self.0.insert((yard, class.into()), need);
    }

    /// Needed minus available, and never below nothing: spare machines push nobody down.
    pub fn short(&self, yard: YardId, class: &str) -> i64 {
        self.0.get(&(yard, class.to_owned())).map_or(0, |n| (n.needed - n.available).max(0))
    }
}

impl Candidate {
    /// Smith's weight. A machine that can be used meanwhile is available already: repairing it adds none.
    fn weight(&self, demand: &Demand) -> i64 {
        if self.out_of_service { demand.short(self.yard, &self.class) } else { 0 }
    }

    fn seconds_left(&self) -> i64 {
        self.remaining.max(SHORTEST).num_seconds()
    }

    fn pin_rank(&self) -> (bool, i64) {
        (self.pin.is_none(), self.pin.as_ref().map_or(0, |p| p.rank))
    }
}

/// The queue in order. `today`: the day at each yard, for good-until in days.
pub fn rank(
    candidates: Vec<Candidate>,
    demand: &Demand,
    now: DateTime<Utc>,
    day_of: impl Fn(YardId, DateTime<Utc>) -> NaiveDate,
) -> Vec<Ranked> {
    let mut weighed: Vec<(i64, Candidate)> = candidates.into_iter().map(|c| (c.weight(demand), c)).collect();
    weighed.sort_by(|a, b| compare(a, b).0);
    let ahead: Vec<Option<Level>> =
        weighed.windows(2).map(|two| Some(compare(&two[0], &two[1]).1)).chain([None]).collect();
    weighed
        .into_iter()
        .zip(ahead)
        .zip(1..)
        .map(|(((weight, candidate), ahead_by), place)| {
            let watch = candidate.good_until.map(|until| {
                if until <= now {
                    return Watch::Passed;
                }
                let days = day_of(candidate.yard, until) - day_of(candidate.yard, now);
                if days.num_days() <= 0 { Watch::Today } else { Watch::MoreDays(days.num_days()) }
            });
            let why = Why {
                pin: candidate.pin.clone(),
                out_of_service: candidate.out_of_service,
                lacks: (weight > 0).then_some(weight),
                remaining: candidate.remaining.max(SHORTEST),
                watch,
                age: (now - candidate.opened_at).max(TimeDelta::zero()),
                ahead_by,
            };
            Ranked { candidate, place, why }
        })
        .collect()
}

/// Which comes first, and what decided. Weight over time is compared crosswise, in whole numbers.
fn compare((weight_a, a): &(i64, Candidate), (weight_b, b): &(i64, Candidate)) -> (Ordering, Level) {
    let cross = |weight: i64, time: i64| i128::from(weight) * i128::from(time);
    let far = DateTime::<Utc>::MAX_UTC;
    let levels = [
        (a.pin_rank().cmp(&b.pin_rank()), Level::Pin),
        (Reverse(a.out_of_service).cmp(&Reverse(b.out_of_service)), Level::Standing),
        (cross(*weight_b, a.seconds_left()).cmp(&cross(*weight_a, b.seconds_left())), Level::Demand),
        (a.good_until.unwrap_or(far).cmp(&b.good_until.unwrap_or(far)), Level::GoodUntil),
        (a.opened_at.cmp(&b.opened_at), Level::Age),
    ];
    let decided = levels.into_iter().find(|(order, _)| order.is_ne());
    // Two of the same instant: the lower number is the older one.
    decided.unwrap_or((a.number.cmp(&b.number), Level::Age))
}

impl Hands {
    /// Nothing stands in the way, or the first thing that does.
    pub fn may_take(&self, candidate: &Candidate) -> Result<(), NotForYou> {
        if !self.yards.contains(&candidate.yard) {
            return Err(NotForYou::OtherYard);
        }
        match &candidate.taken {
            Taken::By(other) if *other != self.person => return Err(NotForYou::TakenBy(*other)),
            Taken::Waiting { waiting_for, until, .. } => {
                return Err(NotForYou::Waiting { waiting_for: *waiting_for, until: *until });
            }
            Taken::Free | Taken::By(_) => {}
        }
        let lacking: BTreeSet<Skill> = candidate.skills.difference(&self.skills).cloned().collect();
        if lacking.is_empty() { Ok(()) } else { Err(NotForYou::Lacks(lacking)) }
    }

    /// What this mechanic should take: first what is already theirs, then the queue's first that is for them.
    pub fn next<'a>(&self, queue: &'a [Ranked]) -> Option<&'a Ranked> {
        let mine = |r: &&Ranked| r.candidate.taken == Taken::By(self.person);
        let may = |r: &&Ranked| self.may_take(&r.candidate).is_ok();
        queue.iter().find(mine).or_else(|| queue.iter().find(may))
    }
}

#[cfg(test)]
mod tests;
