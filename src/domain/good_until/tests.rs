use chrono::{DateTime, TimeDelta, Utc};
use chrono_tz::Tz;
use proptest::prelude::*;

use super::after_days;

fn at(text: &str) -> DateTime<Utc> {
    text.parse().expect("a moment")
}

/// Europe: Directive 2000/84/EC, 01:00 UTC on the last Sundays of March and October. America: Energy Policy Act of 2005,
/// 02:00 local on the second Sunday of March and the first of November. Lord Howe Island: half an hour, 02:00 local on
/// the first Sundays of October and April (IANA time zone database). The dates were computed with Python's zoneinfo.
#[test]
fn a_day_is_a_day_when_the_clocks_change() {
    for (zone, from, until, what) in [
        ("Europe/Oslo", "2026-03-28T06:00:00Z", "2026-03-29T05:00:00Z", "07:00 to 07:00, 23 h"),
        ("Europe/Oslo", "2026-03-28T01:30:00Z", "2026-03-29T01:00:00Z", "02:30 is left out: 03:00"),
        ("Europe/Oslo", "2026-10-24T05:00:00Z", "2026-10-25T06:00:00Z", "07:00 to 07:00, 25 h"),
        ("Europe/Oslo", "2026-10-24T00:30:00Z", "2026-10-25T00:30:00Z", "02:30 comes twice: the first"),
        ("America/Chicago", "2026-03-07T13:00:00Z", "2026-03-08T12:00:00Z", "07:00 to 07:00, 23 h"),
        ("America/Chicago", "2026-03-07T08:15:40Z", "2026-03-08T08:00:00Z", "02:15:40 is left out: 03:00"),
        ("America/Chicago", "2026-10-31T12:00:00Z", "2026-11-01T13:00:00Z", "07:00 to 07:00, 25 h"),
        ("America/Chicago", "2026-10-31T06:30:00Z", "2026-11-01T06:30:00Z", "01:30 comes twice: the first"),
        ("Australia/Lord_Howe", "2026-04-03T20:00:00Z", "2026-04-04T20:30:00Z", "07:00 to 07:00, 24 h 30"),
        (
            "Australia/Lord_Howe",
            "2026-04-03T14:45:00Z",
            "2026-04-04T14:45:00Z",
            "01:45 comes twice: the first",
        ),
        ("Australia/Lord_Howe", "2026-10-02T20:30:00Z", "2026-10-03T20:00:00Z", "07:00 to 07:00, 23 h 30"),
        ("Australia/Lord_Howe", "2026-10-02T15:40:00Z", "2026-10-03T15:30:00Z", "02:10 is left out: 02:30"),
        // Samoa left out the whole of 30 December 2011.
        ("Pacific/Apia", "2011-12-29T22:00:00Z", "2011-12-30T10:00:00Z", "noon is left out: midnight"),
        ("UTC", "2026-03-28T06:00:00Z", "2026-03-29T06:00:00Z", "no clock changes"),
    ] {
        let zone: Tz = zone.parse().expect("a zone");
        assert_eq!(after_days(at(from), 1, zone), at(until), "{zone}: {what}");
    }
    let oslo: Tz = "Europe/Oslo".parse().expect("a zone");
    // Over both changes the hour comes back.
    assert_eq!(after_days(at("2026-03-01T06:00:00Z"), 245, oslo), at("2026-11-01T06:00:00Z"));
    assert_eq!(after_days(at("2026-03-01T06:00:00Z"), 100, oslo), at("2026-06-09T05:00:00Z"));
}

proptest! {
    /// Whatever the zone and the day: the same time of day or the moment the clocks go on, and a longer watch never ends
    /// earlier.
    #[test]
    fn the_time_of_day_is_kept(
        zone in prop::sample::select(vec!["Europe/Oslo", "America/Chicago", "Australia/Lord_Howe", "Asia/Tehran", "Africa/Cairo"]),
        minute in 0_i64..(60 * 24 * 365 * 30),
        days in 0_u32..400,
    ) {
        let zone: Tz = zone.parse().expect("a zone");
        let from = at("2000-01-01T00:00:00Z") + TimeDelta::minutes(minute);
        let until = after_days(from, days, zone);
        let (began, ends) = (from.with_timezone(&zone).naive_local(), until.with_timezone(&zone).naive_local());
        let wanted = began + TimeDelta::days(i64::from(days));
        prop_assert!(ends == wanted || (ends > wanted && ends - wanted <= TimeDelta::hours(1)), "{began} {ends}");
        prop_assert!(after_days(from, days + 1, zone) > until);
        let by_the_sun = from + TimeDelta::days(i64::from(days));
        prop_assert!((until - by_the_sun).abs() <= TimeDelta::hours(2));
    }
}
