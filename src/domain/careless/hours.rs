//! Engine hours that do not fit: the meter went back, ran longer than the clock, or stood still on many days.

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};

use super::{Looked, SeenCheck, Sign};
use crate::domain::unit::Hours;

/// Checks on different days with the same engine hours.
pub(super) const MOST_STANDING: usize = 5;
/// Pairs of checks on different days before that, of which it is known how often the meter moved. Our own cautious
/// choice.
pub(super) const FEWEST_PAIRS: usize = 8;
/// An hour meter shows tenths, and each of two readings may be cut off: in tenths.
const READING_ERROR: i64 = 2;

struct At<'a> {
    check: &'a SeenCheck,
    hours: Hours,
    day: NaiveDate,
}

pub(super) fn look(checks: &[SeenCheck], from: DateTime<Utc>, looked: &mut Looked) {
    let read: Vec<At<'_>> = checks
        .iter()
        .filter_map(|check| {
            Some(At { check, hours: check.engine_hours?, day: check.recorded_at.date_naive() })
        })
        .collect();
    for pair in read.windows(2) {
        let (before, now) = (&pair[0], &pair[1]);
        if now.check.recorded_at < from {
            continue;
        }
        let passed = now.check.recorded_at - before.check.recorded_at;
        let ran = now.hours.0 - before.hours.0;
        let sentence = if ran < 0 {
            said!("careless-hours-back", before = before.hours, now = now.hours)
        } else if ran - READING_ERROR > tenths(passed) {
            said!(
                "careless-hours-ran",
                ran = Hours(ran),
                passed = Hours(tenths(passed)),
                before = before.hours,
                now = now.hours
            )
        } else {
            continue;
        };
        looked.add(now.check, Sign::Hours, sentence);
    }
    standing_still(&read, from, looked);
}

/// The newest readings only, and only of a meter that moves on most days.
fn standing_still(read: &[At<'_>], from: DateTime<Utc>, looked: &mut Looked) {
    // One reading a day, the last: several checks on one day may well show the same.
    let mut days: Vec<&At<'_>> = Vec::new();
    for at in read {
        days.pop_if(|last| last.day == at.day);
        days.push(at);
    }
    let Some(newest) = days.last() else { return };
    let running = days.iter().rev().take_while(|d| d.hours == newest.hours).count();
    if running < MOST_STANDING || newest.check.recorded_at < from {
        return;
    }
    let before = &days[..days.len() - running];
    let pairs = before.len().saturating_sub(1);
    let moved = before.windows(2).filter(|w| w[0].hours != w[1].hours).count();
    if pairs < FEWEST_PAIRS {
        looked.leave(Sign::Hours, said!("careless-thin-hours", pairs = pairs, fewest = FEWEST_PAIRS));
    } else if moved * 2 > pairs {
        let sentence = said!(
            "careless-hours-still",
            hours = newest.hours,
            running = running,
            moved = moved,
            pairs = pairs
        );
        looked.add(newest.check, Sign::Hours, sentence);
    }
}

fn tenths(span: TimeDelta) -> i64 {
    span.num_minutes() / 6
}
