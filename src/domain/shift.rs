//! When people work: weekly shifts by the yard's own clock, its holidays, and the absence of one person. What is counted is
//! time that really passes, so a night shift over a change of the clocks is an hour shorter or longer.

use std::collections::BTreeSet;

use chrono::{
    DateTime, Datelike, Days, LocalResult, NaiveDate, NaiveTime, TimeDelta, TimeZone, Timelike, Utc, Weekday,
};
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};

use super::good_until::when_clocks_go_on;

pub mod table;
pub mod typed;

/// One shift of the week. It belongs to the day on which it begins, and ends on the next one when `to` is not after `from`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Shift {
    pub day: Weekday,
    pub from: NaiveTime,
    pub to: NaiveTime,
}

/// Why shifts do not make a week.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ShiftFault {
    /// From and to are the same: nobody works round the clock.
    NoLength(Shift),
    Overlap(Shift, Shift),
}

/// The shifts of a week, none over another.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Week(Vec<Shift>);

/// A piece of time that really passes: from, up to but not including to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Span {
    pub from: DateTime<Utc>,
    pub to: DateTime<Utc>,
}

/// When one person works, or when a yard is manned.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Calendar {
    pub zone: Tz,
    pub week: Week,
    /// No shift begins on these days of the yard. A night shift of the day before goes on to its end.
    pub holidays: BTreeSet<NaiveDate>,
    /// Of this person; may overlap.
    pub absent: Vec<Span>,
}

/// What a moment is to somebody's shifts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ShiftAt {
    Within(Span),
    /// The next one begins soon: whoever comes early works in it.
    Before(Span),
    Outside,
}

/// How long before a shift counts as coming early: our own choice.
pub const EARLY: TimeDelta = TimeDelta::hours(2);
/// A calendar without work for so long has none.
const FAR: u64 = 800;

impl Week {
    pub fn new(mut shifts: Vec<Shift>) -> Result<Self, ShiftFault> {
        shifts.sort_by_key(Shift::of_the_week);
        shifts.dedup();
        if let Some(shift) = shifts.iter().find(|s| s.from == s.to) {
            return Err(ShiftFault::NoLength(*shift));
        }
        for (n, one) in shifts.iter().enumerate() {
            // The last of the week may run into the first.
            for other in shifts.iter().skip(n + 1) {
                let ((a, b), (c, d)) = (one.of_the_week(), other.of_the_week());
                if c < b || d > a + WEEK {
                    return Err(ShiftFault::Overlap(*one, *other));
                }
            }
        }
        Ok(Self(shifts))
    }

    pub fn shifts(&self) -> &[Shift] {
        &self.0
    }

    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

const WEEK: i64 = 7 * 24 * 3600;

impl Shift {
    /// Seconds of the week, from Monday midnight; the end may lie in the next week.
    fn of_the_week(&self) -> (i64, i64) {
        let of = |t: NaiveTime| i64::from(t.num_seconds_from_midnight());
        let day = i64::from(self.day.num_days_from_monday()) * 24 * 3600;
        let over = if self.to <= self.from { 24 * 3600 } else { 0 };
        (day + of(self.from), day + over + of(self.to))
    }

    /// This shift as it begins on a day, which is one of its weekday.
    fn on(&self, day: NaiveDate, zone: Tz) -> Option<Span> {
        let last = if self.to <= self.from { day.checked_add_days(Days::new(1))? } else { day };
        let (from, to) = (moment(day.and_time(self.from), zone)?, moment(last.and_time(self.to), zone)?);
        (from < to).then_some(Span { from, to })
    }
}

impl Span {
    pub fn new(from: DateTime<Utc>, to: DateTime<Utc>) -> Self {
        Self { from, to }
    }

    pub fn length(&self) -> TimeDelta {
        self.to - self.from
    }

    pub fn holds(&self, at: DateTime<Utc>) -> bool {
        self.from <= at && at < self.to
    }

    pub fn overlaps(&self, other: &Self) -> bool {
        self.from < other.to && other.from < self.to
    }

    /// What lies in both.
    pub fn common(&self, other: &Self) -> Option<Self> {
        let both = Self { from: self.from.max(other.from), to: self.to.min(other.to) };
        (both.from < both.to).then_some(both)
    }
}

impl Calendar {
    pub fn new(zone: Tz, week: Week) -> Self {
        Self { zone, week, holidays: BTreeSet::new(), absent: Vec::new() }
    }

    /// Working time within a window: in order, none touching another.
    pub fn spans(&self, window: Span) -> Vec<Span> {
        let mut found: Vec<Span> = Vec::new();
        let mut day = self.day_before(window.from);
        let last = window.to.with_timezone(&self.zone).date_naive();
        while day <= last {
            found.extend(self.begun_on(day).into_iter().filter_map(|s| s.common(&window)));
            let Some(next) = day.checked_add_days(Days::new(1)) else { break };
            day = next;
        }
        self.without_absence(joined(found))
    }

    /// Time worked between two moments.
    pub fn working(&self, from: DateTime<Utc>, to: DateTime<Utc>) -> TimeDelta {
        self.spans(Span { from, to }).iter().map(Span::length).sum()
    }

    /// The moment at which so much work is done: the earliest one, so the end of a shift and not the start of the next.
    /// None where so much is never worked.
    pub fn after(&self, from: DateTime<Utc>, work: TimeDelta) -> Option<DateTime<Utc>> {
        let mut left = work;
        if left <= TimeDelta::zero() {
            return Some(from);
        }
        for span in self.coming(from) {
            if span.length() >= left {
                return Some(span.from + left);
            }
            left -= span.length();
        }
        None
    }

    /// The first moment of work at or after this one.
    pub fn next_work(&self, from: DateTime<Utc>) -> Option<DateTime<Utc>> {
        self.coming(from).next().map(|s| s.from)
    }

    /// The shift that somebody who begins now works in. Shifts that follow one another without a break are one.
    pub fn shift_at(&self, at: DateTime<Utc>) -> ShiftAt {
        let window = Span { from: at - TimeDelta::days(3), to: at + TimeDelta::days(3) };
        let spans = self.spans(window);
        if let Some(span) = spans.iter().find(|s| s.holds(at)) {
            return ShiftAt::Within(*span);
        }
        match spans.iter().find(|s| s.from > at) {
            Some(span) if span.from - at <= EARLY => ShiftAt::Before(*span),
            _ => ShiftAt::Outside,
        }
    }

    /// Working time from a moment on, a few weeks at a time, until the calendar has had none for long.
    fn coming(&self, from: DateTime<Utc>) -> impl Iterator<Item = Span> + '_ {
        const STEP: i64 = 28;
        let mut begin = from;
        let mut empty = 0;
        std::iter::from_fn(move || {
            if empty >= FAR || self.week.is_empty() {
                return None;
            }
            let end = begin.checked_add_signed(TimeDelta::days(STEP))?;
            let spans = self.spans(Span { from: begin, to: end });
            begin = end;
            empty = if spans.is_empty() { empty + STEP.unsigned_abs() } else { 0 };
            Some(spans)
        })
        .flatten()
    }

    fn begun_on(&self, day: NaiveDate) -> Vec<Span> {
        if self.holidays.contains(&day) {
            return Vec::new();
        }
        let today = self.week.0.iter().filter(|s| s.day == day.weekday());
        today.filter_map(|s| s.on(day, self.zone)).collect()
    }

    /// A shift of this day may still run at the moment.
    fn day_before(&self, at: DateTime<Utc>) -> NaiveDate {
        let day = at.with_timezone(&self.zone).date_naive();
        day.checked_sub_days(Days::new(1)).unwrap_or(day)
    }

    fn without_absence(&self, work: Vec<Span>) -> Vec<Span> {
        if self.absent.is_empty() {
            return work;
        }
        let absent = joined(self.absent.clone());
        let mut left = Vec::new();
        for span in work {
            let mut from = span.from;
            for away in absent.iter().filter(|a| a.overlaps(&span)) {
                if away.from > from {
                    left.push(Span { from, to: away.from });
                }
                from = from.max(away.to);
            }
            if from < span.to {
                left.push(Span { from, to: span.to });
            }
        }
        left
    }
}

/// The moment of a time of day. An hour that the clocks leave out begins where they go on; of one that comes twice the
/// first counts, for the end of one shift as for the start of the next.
pub fn moment(local: chrono::NaiveDateTime, zone: Tz) -> Option<DateTime<Utc>> {
    match zone.from_local_datetime(&local) {
        LocalResult::Single(at) => Some(at.with_timezone(&Utc)),
        LocalResult::Ambiguous(a, b) => Some(a.min(b).with_timezone(&Utc)),
        LocalResult::None => when_clocks_go_on(local, zone),
    }
}

/// In order, and made one where they touch.
pub(super) fn joined(mut spans: Vec<Span>) -> Vec<Span> {
    spans.retain(|s| s.from < s.to);
    spans.sort_unstable();
    let mut whole: Vec<Span> = Vec::with_capacity(spans.len());
    for span in spans {
        match whole.last_mut() {
            Some(last) if span.from <= last.to => last.to = last.to.max(span.to),
            _ => whole.push(span),
        }
    }
    whole
}

#[cfg(test)]
mod tests;
