//! Whether machines were checked on the days they were used. What a meter shows at two checks says for certain only that
//! a machine ran on a day in between when it gained more hours than the first check's day had left: that much is counted,
//! and nothing is guessed.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, NaiveTime, TimeDelta, Utc};
use chrono_tz::Tz;

use crate::domain::unit::Hours;

/// Machine-days: with a check, and without one although the machine ran.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Coverage {
    pub checked: i64,
    pub unchecked: i64,
}

/// Between two checks a machine ran on a day without one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Gap {
    pub before: DateTime<Utc>,
    pub after: DateTime<Utc>,
    pub gained: Hours,
    /// At least so many days.
    pub days: i64,
}

impl Coverage {
    pub fn share(&self) -> Option<f64> {
        let all = self.checked + self.unchecked;
        #[expect(clippy::cast_precision_loss, reason = "nobody has 2^53 machine-days")]
        let share = self.checked as f64 / all.max(1) as f64;
        (all > 0).then_some(share)
    }

    #[must_use]
    pub const fn and(self, other: Self) -> Self {
        Self { checked: self.checked + other.checked, unchecked: self.unchecked + other.unchecked }
    }
}

/// By the yard's days, of one machine's checks in order. A gap counts on the day of the check that shows it.
pub fn by_day(checks: &[(DateTime<Utc>, Option<Hours>)], zone: Tz) -> BTreeMap<NaiveDate, Coverage> {
    let mut found: BTreeMap<NaiveDate, Coverage> = BTreeMap::new();
    for (at, _) in checks {
        found.entry(at.with_timezone(&zone).date_naive()).or_default().checked = 1;
    }
    for gap in gaps(checks, zone) {
        found.entry(gap.after.with_timezone(&zone).date_naive()).or_default().unchecked += gap.days;
    }
    found
}

pub fn gaps(checks: &[(DateTime<Utc>, Option<Hours>)], zone: Tz) -> Vec<Gap> {
    let mut found = Vec::new();
    let known = checks.iter().filter_map(|(at, hours)| Some((*at, (*hours)?)));
    let mut last: Option<(DateTime<Utc>, Hours)> = None;
    for (at, hours) in known {
        if let Some((before, then)) = last.replace((at, hours)) {
            found.extend(gap(before, then, at, hours, zone));
        }
    }
    found
}

fn gap(before: DateTime<Utc>, then: Hours, after: DateTime<Utc>, now: Hours, zone: Tz) -> Option<Gap> {
    let local = before.with_timezone(&zone);
    let between = (after.with_timezone(&zone).date_naive() - local.date_naive()).num_days() - 1;
    let gained = now.0 - then.0;
    let ran = TimeDelta::minutes(gained * 6);
    let rest = TimeDelta::days(1) - (local.time() - NaiveTime::MIN);
    if between < 1 || ran <= rest {
        return None;
    }
    let over = (ran - rest).num_minutes();
    let days = (over + 24 * 60 - 1) / (24 * 60);
    Some(Gap { before, after, gained: Hours(gained), days: days.clamp(1, between) })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> DateTime<Utc> {
        text.parse().unwrap()
    }

    fn check(text: &str, tenths: i64) -> (DateTime<Utc>, Option<Hours>) {
        (at(text), Some(Hours(tenths)))
    }

    /// By hand: from 07:00 in Oslo a day has 17 h left.
    #[test]
    fn only_what_is_certain_counts() {
        let zone = chrono_tz::Europe::Oslo;
        let monday = check("2026-06-01T05:00:00Z", 1_000);
        let thursday = |tenths| check("2026-06-04T05:00:00Z", tenths);
        assert_eq!(gaps(&[monday, thursday(1_170)], zone), [], "17 h fit into Monday");
        assert_eq!(gaps(&[monday, thursday(1_171)], zone)[0].days, 1);
        assert_eq!(gaps(&[monday, thursday(1_410)], zone)[0].days, 1);
        assert_eq!(gaps(&[monday, thursday(1_411)], zone)[0].days, 2);
        assert_eq!(gaps(&[monday, thursday(9_000)], zone)[0].days, 2, "there were two days in between");
        // A night's work reaches into the next day; another meter shows less.
        assert_eq!(gaps(&[monday, check("2026-06-02T05:00:00Z", 1_230)], zone), []);
        assert_eq!(gaps(&[monday, thursday(20)], zone), []);
        assert_eq!(gaps(&[monday, (at("2026-06-04T05:00:00Z"), None)], zone), []);
    }

    #[test]
    fn two_checks_of_a_day_are_one_machine_day() {
        let zone = chrono_tz::Europe::Oslo;
        let checks = [
            check("2026-06-01T05:00:00Z", 1_000),
            check("2026-06-01T13:00:00Z", 1_060),
            check("2026-06-04T05:00:00Z", 1_300),
        ];
        let all = by_day(&checks, zone).into_values().fold(Coverage::default(), Coverage::and);
        assert_eq!(all, Coverage { checked: 2, unchecked: 1 });
        assert!((all.share().unwrap() - 2.0 / 3.0).abs() < 1e-12);
        assert_eq!(Coverage::default().share(), None);
    }
}
