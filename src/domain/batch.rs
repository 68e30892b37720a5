//! Parts that were fitted, by serial or batch number: where else a batch is, when a part's series of readings began anew,
//! and which machines to inspect for what was found on one.

use std::collections::BTreeSet;

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

use super::ids::{MachineId, PartId, WorkOrderId, YardId};
use super::machine::UnitNumber;

/// A serial or batch number as it stands on the part, and as it is looked up: letters and digits only, without regard to
/// case and leading zeros. Two that differ only there are taken for one: in doubt a machine is inspected.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mark {
    pub shown: String,
    pub key: String,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MarkFault {
    /// No letter or digit in it.
    Empty,
    TooLong {
        most: usize,
    },
}

/// Where on a machine a part sits: a check item at a position.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Place {
    pub machine: MachineId,
    pub item: String,
    pub position: String,
}

/// A part that was put in by a work order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fitted {
    pub place: Place,
    pub part: PartId,
    pub mark: Option<Mark>,
    pub order: WorkOrderId,
    pub at: DateTime<Utc>,
    /// Another took its place.
    pub removed_at: Option<DateTime<Utc>>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FittingFault {
    InTheFuture,
    /// A later part is on record at this place.
    BeforeTheLast {
        last: DateTime<Utc>,
    },
}

/// Where a batch is, or was.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found<'a> {
    pub on_now: Vec<&'a Fitted>,
    pub was_on: Vec<&'a Fitted>,
    /// Fitted without a number: they may be of the batch.
    pub unmarked: Vec<&'a Fitted>,
}

/// Which machines somebody wants inspected.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Target {
    Class(String),
    Batch { part: PartId, mark: Mark },
}

/// A machine as this question sees it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Machine {
    pub id: MachineId,
    pub yard: YardId,
    pub class: String,
    pub retired: bool,
    /// Items with an open defect.
    pub open: BTreeSet<String>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Inspect {
    Raise,
    /// Nobody knows the number of what is fitted: inspected as well.
    RaiseInDoubt,
    /// It has an open defect of this item already, to which this is added.
    AddTo,
}

/// In place of a rule's name: a supervisor has it looked for on machines that may have it as well.
pub const FOUND_ON_ANOTHER: &str = "found on another machine";

const MOST: usize = 60;

impl Mark {
    pub fn parse(text: &str) -> Result<Self, MarkFault> {
        let shown = text.split_whitespace().collect::<Vec<_>>().join(" ");
        if shown.chars().count() > MOST {
            return Err(MarkFault::TooLong { most: MOST });
        }
        let key = UnitNumber::key_of(&shown);
        if key.is_empty() { Err(MarkFault::Empty) } else { Ok(Self { shown, key }) }
    }
}

/// Puts a part on record. What was at its place is removed at that moment.
pub fn fit(history: &mut Vec<Fitted>, new: Fitted, now: DateTime<Utc>) -> Result<(), FittingFault> {
    if new.at > now {
        return Err(FittingFault::InTheFuture);
    }
    let here = |f: &&mut Fitted| f.place == new.place && f.removed_at.is_none();
    let last = history.iter().filter(|f| f.place == new.place).map(|f| f.at).max();
    if let Some(last) = last.filter(|last| *last > new.at) {
        return Err(FittingFault::BeforeTheLast { last });
    }
    for old in history.iter_mut().filter(here) {
        old.removed_at = Some(new.at);
    }
    history.push(new);
    Ok(())
}

/// When the readings at a place began anew: with the part that is there now.
pub fn series_begins(history: &[Fitted], place: &Place) -> Option<DateTime<Utc>> {
    history.iter().filter(|f| f.place == *place && f.removed_at.is_none()).map(|f| f.at).max()
}

/// "Where else is this batch fitted?"
pub fn where_fitted<'a>(history: &'a [Fitted], part: PartId, mark: &Mark) -> Found<'a> {
    let of_part = || history.iter().filter(|f| f.part == part);
    let marked = |f: &&Fitted| f.mark.as_ref().is_some_and(|m| m.key == mark.key);
    Found {
        on_now: of_part().filter(marked).filter(|f| f.removed_at.is_none()).collect(),
        was_on: of_part().filter(marked).filter(|f| f.removed_at.is_some()).collect(),
        unmarked: of_part().filter(|f| f.mark.is_none() && f.removed_at.is_none()).collect(),
    }
}

/// The machines on which the same defect is to be inspected, each once. Retired ones are left out.
pub fn to_inspect(
    machines: &[Machine],
    history: &[Fitted],
    target: &Target,
    item: &str,
) -> Vec<(MachineId, Inspect)> {
    let on = |found: &[&Fitted], id| found.iter().any(|f| f.place.machine == id);
    let wanted = |m: &Machine| match target {
        Target::Class(class) => (m.class == *class).then_some(Inspect::Raise),
        Target::Batch { part, mark } => {
            let found = where_fitted(history, *part, mark);
            if on(&found.on_now, m.id) {
                Some(Inspect::Raise)
            } else {
                on(&found.unmarked, m.id).then_some(Inspect::RaiseInDoubt)
            }
        }
    };
    machines
        .iter()
        .filter(|m| !m.retired)
        .filter_map(|m| {
            let inspect = wanted(m)?;
            Some((m.id, if m.open.contains(item) { Inspect::AddTo } else { inspect }))
        })
        .collect()
}

#[cfg(test)]
mod tests;
