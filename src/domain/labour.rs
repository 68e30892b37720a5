//! A mechanic's time on work orders: entries never overlap, nothing lies in the future, and a timer that was forgotten ends
//! with the shift it was started in.

use chrono::{DateTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};

use super::ids::{LabourId, WorkOrderId};
use super::shift::{Calendar, ShiftAt, Span};
use super::words::words;

pub mod cost;
pub mod overtime;

/// One entry of one mechanic.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    pub id: LabourId,
    pub order: WorkOrderId,
    pub from: DateTime<Utc>,
    /// None while the timer runs.
    pub to: Option<DateTime<Utc>>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LabourFault {
    EndsBeforeItBegins,
    InTheFuture {
        now: DateTime<Utc>,
    },
    /// Longer than one entry may be.
    TooLong {
        most: TimeDelta,
    },
    /// The mechanic was on another entry then.
    Overlaps {
        order: WorkOrderId,
        from: DateTime<Utc>,
        to: Option<DateTime<Utc>>,
    },
    /// A timer runs elsewhere. It is never stopped behind somebody's back.
    RunningOn {
        order: WorkOrderId,
        since: DateTime<Utc>,
    },
    NotRunning,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Started {
    Now,
    /// The timer runs on this order already; nothing changes.
    Already,
}

words! {
    /// Why a timer was closed by the house and not by the mechanic.
    ForgottenBecause {
        ShiftEnded = "shift ended",
        OutsideShifts = "outside shifts",
    }
}

/// How a forgotten timer is closed: always with a flag, for the mechanic to put right.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Forgotten {
    pub closed_at: DateTime<Utc>,
    pub because: ForgottenBecause,
}

/// One entry spans at most this: our own choice, longer than any shift.
pub const LONGEST: TimeDelta = TimeDelta::hours(16);
/// A timer that was started in no shift runs at most this long: our own cautious choice.
pub const OUTSIDE_SHIFTS: TimeDelta = TimeDelta::hours(4);

/// Whether the mechanic's timer may start. `entries`: what the mechanic has around this moment.
pub fn start(entries: &[Entry], order: WorkOrderId, now: DateTime<Utc>) -> Result<Started, LabourFault> {
    if let Some(running) = entries.iter().find(|e| e.to.is_none()) {
        return if running.order == order {
            Ok(Started::Already)
        } else {
            Err(LabourFault::RunningOn { order: running.order, since: running.from })
        };
    }
    match entries.iter().find(|e| e.to.is_some_and(|to| to > now)) {
        Some(e) => Err(overlap_with(e)),
        None => Ok(Started::Now),
    }
}

/// The span that the running timer comes to. A clock that was set back makes it empty, never negative.
pub fn stop(
    entries: &[Entry],
    order: WorkOrderId,
    now: DateTime<Utc>,
) -> Result<(LabourId, Span), LabourFault> {
    let running =
        entries.iter().find(|e| e.to.is_none() && e.order == order).ok_or(LabourFault::NotRunning)?;
    Ok((running.id, Span::new(running.from, now.max(running.from))))
}

/// Time entered afterwards, or an entry that is put right: `instead_of` is then the one it replaces.
pub fn enter(
    entries: &[Entry],
    span: Span,
    instead_of: Option<LabourId>,
    now: DateTime<Utc>,
) -> Result<Span, LabourFault> {
    if span.to <= span.from {
        return Err(LabourFault::EndsBeforeItBegins);
    }
    if span.to > now {
        return Err(LabourFault::InTheFuture { now });
    }
    if span.length() > LONGEST {
        return Err(LabourFault::TooLong { most: LONGEST });
    }
    let others = entries.iter().filter(|e| Some(e.id) != instead_of);
    match others.into_iter().find(|e| e.from < span.to && e.to.is_none_or(|to| span.from < to)) {
        Some(e) => Err(overlap_with(e)),
        None => Ok(span),
    }
}

/// When a timer that was started then is closed unasked. The clock decides, without anybody opening a page.
pub fn closes(from: DateTime<Utc>, calendar: &Calendar) -> Forgotten {
    match calendar.shift_at(from) {
        ShiftAt::Within(shift) | ShiftAt::Before(shift) => {
            Forgotten { closed_at: shift.to, because: ForgottenBecause::ShiftEnded }
        }
        ShiftAt::Outside => {
            Forgotten { closed_at: from + OUTSIDE_SHIFTS, because: ForgottenBecause::OutsideShifts }
        }
    }
}

/// The running timer, if it is past its end.
pub fn forgotten(running: &Entry, calendar: &Calendar, now: DateTime<Utc>) -> Option<Forgotten> {
    if running.to.is_some() {
        return None;
    }
    Some(closes(running.from, calendar)).filter(|f| f.closed_at <= now)
}

fn overlap_with(entry: &Entry) -> LabourFault {
    LabourFault::Overlaps { order: entry.order, from: entry.from, to: entry.to }
}

#[cfg(test)]
mod tests;
