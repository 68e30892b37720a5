//! Availability: the share of the time in which a machine could be used. By the calendar every hour counts; by working
//! hours only those in which the yard's shifts run (EN 15341:2007, T2: up time in required time; from memory).

use chrono::{DateTime, TimeDelta, Utc};

use crate::domain::shift::{Calendar, Span, joined};

/// Time in which a machine was wanted, and how much of that it was down.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Availability {
    pub wanted: TimeDelta,
    pub down: TimeDelta,
}

impl Availability {
    /// Up ÷ (up + down); None where no time was wanted.
    pub fn share(&self) -> Option<f64> {
        let wanted = self.wanted.as_seconds_f64();
        (wanted > 0.0).then(|| 1.0 - self.down.as_seconds_f64() / wanted)
    }

    /// Of several machines together.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self { wanted: self.wanted + other.wanted, down: self.down + other.down }
    }
}

/// By the calendar. Spells of down time may overlap: two holds ground a machine once.
pub fn by_calendar(window: Span, down: &[Span]) -> Availability {
    let down = within(window, down).iter().map(Span::length).sum();
    Availability { wanted: window.length().max(TimeDelta::zero()), down }
}

/// By the hours in which the yard works.
pub fn by_working_hours(hours: &WorkingHours, window: Span, down: &[Span]) -> Availability {
    let down = within(window, down).iter().map(|s| hours.between(s.from, s.to)).sum();
    Availability { wanted: hours.between(window.from, window.to), down }
}

/// Of spells that may overlap, the time that lies in the window, in order.
pub fn within(window: Span, spells: &[Span]) -> Vec<Span> {
    joined(spells.iter().filter_map(|s| s.common(&window)).collect())
}

/// The working time of a yard over a window, laid out once so that many spells can be held against it.
#[derive(Clone, Debug, Default)]
pub struct WorkingHours {
    /// In order, each with the working time before it.
    spans: Vec<(Span, TimeDelta)>,
}

impl WorkingHours {
    /// None where the yard has no shifts: then nothing can be said by working hours.
    pub fn of(calendar: &Calendar, window: Span) -> Option<Self> {
        if calendar.week.is_empty() {
            return None;
        }
        let mut before = TimeDelta::zero();
        let spans = calendar.spans(window).into_iter().map(|s| {
            let at = before;
            before += s.length();
            (s, at)
        });
        Some(Self { spans: spans.collect() })
    }

    pub fn between(&self, from: DateTime<Utc>, to: DateTime<Utc>) -> TimeDelta {
        (self.until(to) - self.until(from)).max(TimeDelta::zero())
    }

    fn until(&self, at: DateTime<Utc>) -> TimeDelta {
        let begun = self.spans.partition_point(|(s, _)| s.from < at);
        match begun.checked_sub(1).and_then(|n| self.spans.get(n)) {
            Some((span, before)) => *before + (at.min(span.to) - span.from),
            None => TimeDelta::zero(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::shift::{Shift, Week};
    use chrono::{NaiveTime, Weekday};

    fn at(text: &str) -> DateTime<Utc> {
        text.parse().unwrap()
    }

    fn span(from: &str, to: &str) -> Span {
        Span::new(at(from), at(to))
    }

    /// Check values (c): an exercise with MTBF 900 h and 100 h to repair gives 0.9; a month of 720 h with 6.5 h down
    /// gives 0.990972 (computed with scipy's Python).
    #[test]
    fn up_over_up_and_down() {
        let window = span("2026-01-01T00:00:00Z", "2026-02-11T16:00:00Z");
        assert_eq!(window.length(), TimeDelta::hours(1000));
        let down = span("2026-01-05T00:00:00Z", "2026-01-09T04:00:00Z");
        assert!((by_calendar(window, &[down]).share().unwrap() - 0.9).abs() < 1e-12);
        let month = span("2026-06-01T00:00:00Z", "2026-07-01T00:00:00Z");
        let down = span("2026-06-05T08:00:00Z", "2026-06-05T14:30:00Z");
        assert!((by_calendar(month, &[down]).share().unwrap() - 0.990_972).abs() < 5e-7);
    }

    #[test]
    fn two_holds_ground_a_machine_once_and_only_within_the_window() {
        let day = span("2026-06-01T00:00:00Z", "2026-06-02T00:00:00Z");
        let (a, b) = (
            span("2026-05-30T00:00:00Z", "2026-06-01T06:00:00Z"),
            span("2026-06-01T03:00:00Z", "2026-06-01T12:00:00Z"),
        );
        assert_eq!(by_calendar(day, &[b, a]).down, TimeDelta::hours(12));
        assert_eq!(by_calendar(day, &[]).share(), Some(1.0));
        assert_eq!(by_calendar(Span::new(day.from, day.from), &[a]).share(), None);
    }

    /// By hand: Monday to Friday 07:00 to 15:00 in Oslo, which is 05:00 to 13:00 UTC in summer.
    #[test]
    fn by_working_hours_nights_do_not_count() {
        let hour = |h| NaiveTime::from_hms_opt(h, 0, 0).unwrap();
        let days = [Weekday::Mon, Weekday::Tue, Weekday::Wed, Weekday::Thu, Weekday::Fri];
        let week = Week::new(days.map(|day| Shift { day, from: hour(7), to: hour(15) }).to_vec()).unwrap();
        let calendar = Calendar::new(chrono_tz::Europe::Oslo, week);
        // Monday to Monday.
        let window = span("2026-06-01T00:00:00Z", "2026-06-08T00:00:00Z");
        let hours = WorkingHours::of(&calendar, window).unwrap();
        // From Friday 12:00 UTC over the weekend: one hour of work.
        let down = span("2026-06-05T12:00:00Z", "2026-06-07T20:00:00Z");
        let found = by_working_hours(&hours, window, &[down]);
        assert_eq!((found.wanted, found.down), (TimeDelta::hours(40), TimeDelta::hours(1)));
        assert!((found.share().unwrap() - 0.975).abs() < 1e-12);
        // The same as the calendar says it, whatever the span.
        for (from, to) in [
            ("2026-06-01T04:00:00Z", "2026-06-02T06:30:00Z"),
            ("2026-06-03T13:00:00Z", "2026-06-04T05:00:00Z"),
        ] {
            assert_eq!(hours.between(at(from), at(to)), calendar.working(at(from), at(to)), "{from}");
        }
        assert!(WorkingHours::of(&Calendar::new(chrono_tz::UTC, Week::default()), window).is_none());
    }
}
