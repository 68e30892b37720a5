//! When a machine is foreseen to be back, in two sentences: until when, and what drives it.

use chrono::{DateTime, TimeDelta, Utc};

use super::shown::{day, hours_and_minutes, when};
use crate::domain::checklist::System;
use crate::domain::forecast::{Awaited, Driver, Unknown, When};

/// Both are empty while nothing has been reckoned.
#[derive(Clone, Debug, Default)]
pub struct Foreseen {
    pub by: String,
    pub driver: String,
}

/// `said` as it is kept. A machine that is only monitored never left, so it does not come back: it is repaired.
pub fn foreseen(said: &str, out: bool, zone: &str, now: DateTime<Utc>) -> Foreseen {
    match serde_json::from_str(said) {
        Ok(When::Known { likely_by, almost_surely_by, driver }) => Foreseen {
            by: by(likely_by, almost_surely_by, out, zone, now),
            driver: driven_by(&driver, zone, now),
        },
        Ok(When::Unknown(why)) => Foreseen { by: unknown(&why), driver: String::new() },
        Err(_) => Foreseen::default(),
    }
}

pub fn by(
    likely: DateTime<Utc>,
    almost_surely: Option<DateTime<Utc>>,
    out: bool,
    zone: &str,
    now: DateTime<Utc>,
) -> String {
    let likely = when(to_the_quarter(likely), zone, now).words;
    let surely = almost_surely.map(|at| when(to_the_quarter(at), zone, now).words);
    match (surely, out) {
        (Some(surely), true) => t!("forecast-by", likely = likely, surely = surely),
        (Some(surely), false) => t!("forecast-repaired-by", likely = likely, surely = surely),
        (None, true) => t!("forecast-likely-only", likely = likely),
        (None, false) => t!("forecast-likely-repaired-only", likely = likely),
    }
}

/// Nobody foresees minutes.
fn to_the_quarter(at: DateTime<Utc>) -> DateTime<Utc> {
    const QUARTER: i64 = 15 * 60;
    let over = at.timestamp().rem_euclid(QUARTER);
    let up = if over == 0 { 0 } else { QUARTER - over };
    at + TimeDelta::seconds(up) - TimeDelta::nanoseconds(i64::from(at.timestamp_subsec_nanos()))
}

fn driven_by(driver: &Driver, zone: &str, now: DateTime<Utc>) -> String {
    match driver {
        Driver::Arrival { what, expected, overdue } => {
            let day = day(*expected, zone, now).words;
            match (what, overdue) {
                (Awaited::Part(_), false) => t!("forecast-waits-part", day = day),
                (Awaited::Part(_), true) => t!("forecast-waits-part-overdue", day = day),
                (Awaited::OutsideRepair, false) => t!("forecast-waits-outside", day = day),
                (Awaited::OutsideRepair, true) => t!("forecast-waits-outside-overdue", day = day),
                (Awaited::Access, false) => t!("forecast-waits-access", day = day),
                (Awaited::Access, true) => t!("forecast-waits-access-overdue", day = day),
                (Awaited::Information, false) => t!("forecast-waits-information", day = day),
                (Awaited::Information, true) => t!("forecast-waits-information-overdue", day = day),
            }
        }
        Driver::Shift { works_from } => {
            t!("forecast-waits-shift", when = when(to_the_quarter(*works_from), zone, now).words)
        }
        Driver::Queue { ahead, able } => t!("forecast-waits-queue", ahead = *ahead, able = *able),
        Driver::Repair { hours } => {
            t!("forecast-repair-itself", time = worked(*hours))
        }
    }
}

/// Working time has no days of 24 hours.
fn worked(hours: f64) -> String {
    #[expect(clippy::cast_possible_truncation, reason = "minutes of a repair")]
    let minutes = (hours * 60.0).round() as i64;
    hours_and_minutes(TimeDelta::minutes(minutes))
}

fn unknown(why: &Unknown) -> String {
    match why {
        Unknown::NoDateFor(Awaited::Part(_)) => t!("forecast-no-date-part"),
        Unknown::NoDateFor(Awaited::OutsideRepair) => t!("forecast-no-date-outside"),
        Unknown::NoDateFor(Awaited::Access) => t!("forecast-no-date-access"),
        Unknown::NoDateFor(Awaited::Information) => t!("forecast-no-date-information"),
        Unknown::NobodyCan(skills) if skills.is_empty() => t!("forecast-nobody-here"),
        Unknown::NobodyCan(skills) => {
            let systems = skills.iter().filter_map(|s| s.0.parse::<System>().ok()).map(System::here);
            t!("forecast-nobody-skilled", systems = systems.collect::<Vec<_>>().join(", "))
        }
        Unknown::NoShift => t!("forecast-no-shift"),
        Unknown::Beyond { days } => t!("forecast-beyond", days = *days),
    }
}
