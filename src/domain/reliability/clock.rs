//! The clock that failures are held against: engine hours made of what the hour meter showed, or the calendar where an
//! engine shows none.

use chrono::{DateTime, Utc};

use crate::domain::unit::Hours;

/// Engine hours since the first reading. It never runs back: where the meter shows less, another one was fitted, and what
/// ran in between is not known.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct EngineClock {
    /// Moments in order, each with the hours run until then.
    points: Vec<(DateTime<Utc>, f64)>,
}

impl EngineClock {
    /// None where the engine is not seen to have run.
    pub fn of(readings: impl IntoIterator<Item = (DateTime<Utc>, Hours)>) -> Option<Self> {
        let mut readings: Vec<_> = readings.into_iter().collect();
        readings.sort();
        let mut run = 0;
        let mut before: Option<Hours> = None;
        let mut points = Vec::with_capacity(readings.len());
        for (at, shown) in readings {
            run += before.map_or(0, |b| (shown.0 - b.0).max(0));
            before = Some(shown);
            points.push((at, Hours(run).as_f64()));
        }
        (run > 0).then_some(Self { points })
    }

    /// Hours run until a moment; between two readings evenly.
    pub fn at(&self, at: DateTime<Utc>) -> f64 {
        let later = self.points.partition_point(|(t, _)| *t <= at);
        let before = later.checked_sub(1).map(|n| self.points[n]);
        match (before, self.points.get(later)) {
            (None, _) => 0.0,
            (Some((_, run)), None) => run,
            (Some((from, a)), Some((to, b))) => {
                let share = (at - from).as_seconds_f64() / (*to - from).as_seconds_f64();
                a + (b - a) * share
            }
        }
    }

    pub fn total(&self) -> f64 {
        self.points.last().map_or(0.0, |p| p.1)
    }

    /// In whole tenths.
    pub fn between(&self, from: DateTime<Utc>, to: DateTime<Utc>) -> Hours {
        let tenths = ((self.at(to) - self.at(from)) * 10.0).round();
        #[expect(clippy::cast_possible_truncation, reason = "no engine runs 2^53 tenths")]
        let tenths = tenths as i64;
        Hours(tenths.max(0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::TimeDelta;

    fn at(day: i64) -> DateTime<Utc> {
        DateTime::<Utc>::UNIX_EPOCH + TimeDelta::days(day)
    }

    /// By hand: 100 to 108 h, another meter that begins at 2 h, and 12 h on that one.
    #[test]
    fn another_meter_goes_on_where_the_first_one_stopped() {
        let readings =
            [(at(0), Hours(1_000)), (at(2), Hours(1_080)), (at(3), Hours(20)), (at(5), Hours(140))];
        let clock = EngineClock::of(readings).unwrap();
        assert!((clock.total() - 20.0).abs() < 1e-9);
        for (day, run) in [(-1, 0.0), (0, 0.0), (1, 4.0), (2, 8.0), (3, 8.0), (4, 14.0), (9, 20.0)] {
            assert!((clock.at(at(day)) - run).abs() < 1e-9, "day {day}: {}", clock.at(at(day)));
        }
        assert_eq!(clock.between(at(1), at(4)), Hours(100));
        assert_eq!(EngineClock::of([(at(0), Hours(5)), (at(1), Hours(5))]), None);
        assert_eq!(EngineClock::of([]), None);
    }
}
