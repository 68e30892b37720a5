//! Overtime by the rule of a yard: after so many hours a day or a week, at so many percent on top.

use chrono::{DateTime, Datelike, Days, NaiveDate, NaiveTime, TimeDelta, TimeZone, Utc, Weekday};
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};

use super::super::good_until::when_clocks_go_on;
use super::super::shift::Span;

/// After so much work, so many percent on top of the rate.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Step {
    pub after_minutes: u32,
    pub percent: u32,
}

/// Steps may follow one another (8 h at 50 %, 12 h at 100 %). Where several apply to the same minute the highest counts,
/// never their sum; every hour worked counts towards the week, whatever it was paid at.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct OvertimeRule {
    pub day: Vec<Step>,
    pub week: Vec<Step>,
    /// The day on which a week begins: Monday by ISO 8601.
    pub week_begins: Weekday,
}

/// A piece of an entry at one surcharge on one local day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Piece {
    /// Which of the spans it is of.
    pub of: usize,
    pub day: NaiveDate,
    pub seconds: i64,
    pub percent: u32,
}

impl Default for OvertimeRule {
    fn default() -> Self {
        Self { day: Vec::new(), week: Vec::new(), week_begins: Weekday::Mon }
    }
}

impl OvertimeRule {
    /// Percents may be at most this: our own sanity limit.
    pub const MOST_PERCENT: u32 = 400;

    pub fn is_sane(&self) -> bool {
        self.day
            .iter()
            .chain(&self.week)
            .all(|s| s.percent <= Self::MOST_PERCENT && s.after_minutes <= 7 * 24 * 60)
    }

    /// The first day of the week a day is in.
    pub fn week_of(&self, day: NaiveDate) -> NaiveDate {
        let into = (7 + day.weekday().num_days_from_monday() - self.week_begins.num_days_from_monday()) % 7;
        day.checked_sub_days(Days::new(u64::from(into))).unwrap_or(day)
    }

    /// Cuts one mechanic's time into pieces. `spans`, in order and without overlap, are all of the weeks they touch: what
    /// is entered late pushes later hours into overtime, so weeks are looked at whole.
    pub fn pieces(&self, spans: &[Span], zone: Tz) -> Vec<Piece> {
        let mut pieces = Vec::new();
        let (mut day, mut week) = (NaiveDate::MIN, NaiveDate::MIN);
        let (mut in_day, mut in_week) = (0, 0);
        for (of, span) in spans.iter().enumerate() {
            for (date, mut seconds) in by_local_day(*span, zone) {
                if date != day {
                    (day, in_day) = (date, 0);
                }
                if self.week_of(date) != week {
                    (week, in_week) = (self.week_of(date), 0);
                }
                while seconds > 0 {
                    let (percent, until) = self.now(in_day, in_week);
                    let piece = until.min(seconds);
                    pieces.push(Piece { of, day: date, seconds: piece, percent });
                    in_day += piece;
                    in_week += piece;
                    seconds -= piece;
                }
            }
        }
        pieces
    }

    /// The surcharge after so many seconds of the day and the week, and for how many more it stays.
    fn now(&self, in_day: i64, in_week: i64) -> (u32, i64) {
        let steps = self.day.iter().map(|s| (s, in_day)).chain(self.week.iter().map(|s| (s, in_week)));
        let (mut percent, mut until) = (0, i64::MAX);
        for (step, worked) in steps {
            let left = i64::from(step.after_minutes) * 60 - worked;
            if left <= 0 {
                percent = percent.max(step.percent);
            } else {
                until = until.min(left);
            }
        }
        (percent, until)
    }
}

/// A span by the days of the yard's clock, in seconds that really pass. Parts of a second go to the day they begin in.
fn by_local_day(span: Span, zone: Tz) -> Vec<(NaiveDate, i64)> {
    let mut days = Vec::new();
    let mut from = span.from;
    while from < span.to {
        let date = from.with_timezone(&zone).date_naive();
        let midnight = date.succ_opt().and_then(|d| begins(d, zone)).filter(|m| *m > from);
        let to = midnight.unwrap_or(span.to).min(span.to);
        // Counted from the beginning of the whole, so that cutting never loses a second.
        let seconds = (to - span.from).num_seconds() - (from - span.from).num_seconds();
        days.push((date, seconds));
        from = to;
    }
    days
}

fn begins(day: NaiveDate, zone: Tz) -> Option<DateTime<Utc>> {
    let midnight = day.and_time(NaiveTime::MIN);
    let first = zone.from_local_datetime(&midnight).earliest().map(|at| at.with_timezone(&Utc));
    first.or_else(|| when_clocks_go_on(midnight, zone))
}

/// The span of time whose labour has to be looked at together when something in `span` changes: whole weeks.
pub fn weeks_around(span: Span, rule: &OvertimeRule, zone: Tz) -> Span {
    let day = |at: DateTime<Utc>| at.with_timezone(&zone).date_naive();
    let first = begins(rule.week_of(day(span.from)), zone);
    let last = rule.week_of(day(span.to)).checked_add_days(Days::new(7)).and_then(|d| begins(d, zone));
    Span::new(first.unwrap_or(span.from - TimeDelta::days(8)), last.unwrap_or(span.to + TimeDelta::days(8)))
}
