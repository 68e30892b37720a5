//! When a watch ends: so many days on, at the same time of day by the yard's own clock. A day on which the clocks change
//! is a day like any other.

use chrono::{DateTime, Days, LocalResult, TimeDelta, TimeZone, Utc};
use chrono_tz::Tz;

/// The same time of day, `days` later. An hour that the clocks leave out ends where they go on; of an hour that comes
/// twice the first counts, since in doubt a machine is out of service.
pub fn after_days(from: DateTime<Utc>, days: u32, zone: Tz) -> DateTime<Utc> {
    let by_the_sun = from + TimeDelta::days(i64::from(days));
    let local = from.with_timezone(&zone).naive_local();
    let Some(wanted) = local.checked_add_days(Days::new(u64::from(days))) else { return by_the_sun };
    match zone.from_local_datetime(&wanted) {
        LocalResult::Single(at) => at.with_timezone(&Utc),
        LocalResult::Ambiguous(first, second) => first.min(second).with_timezone(&Utc),
        LocalResult::None => when_clocks_go_on(wanted, zone).unwrap_or(by_the_sun),
    }
}

/// The moment at which the clocks go on after what they left out. Where a zone changed sides of the date line they left
/// out a whole day.
pub fn when_clocks_go_on(missing: chrono::NaiveDateTime, zone: Tz) -> Option<DateTime<Utc>> {
    const LONGEST_GAP: i64 = 25 * 60;
    let minute = missing - TimeDelta::nanoseconds(i64::from(chrono::Timelike::nanosecond(&missing)));
    let minute = minute - TimeDelta::seconds(i64::from(chrono::Timelike::second(&minute)));
    let later = |minutes| zone.from_local_datetime(&(minute + TimeDelta::minutes(minutes))).earliest();
    (1..=LONGEST_GAP).find_map(later).map(|at| at.with_timezone(&Utc))
}

#[cfg(test)]
mod tests;
