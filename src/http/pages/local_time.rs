//! Times as people type them: in the yard's zone, where an hour is missing in spring and one comes twice in autumn.

use chrono::{
    DateTime, LocalResult, NaiveDate, NaiveDateTime, NaiveTime, SecondsFormat, TimeDelta, TimeZone, Utc,
};
use chrono_tz::Tz;

use super::error::PageError;
use super::shown::When;
use crate::domain::person::Actor;
use crate::http::Site;
use crate::workflow;

/// A moment from an `<input type="datetime-local">`, or a sentence that says what is wrong with it.
pub fn moment(text: &str, zone: &str) -> Result<DateTime<Utc>, String> {
    let text = text.trim();
    let local = ["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M"]
        .iter()
        .find_map(|f| NaiveDateTime::parse_from_str(text, f).ok())
        .ok_or("Give a day and a time, such as 2026-11-25 07:30.")?;
    let zone: Tz = zone.parse().map_err(|_| "The yard's time zone is not known.")?;
    match zone.from_local_datetime(&local) {
        LocalResult::Single(at) => Ok(at.with_timezone(&Utc)),
        LocalResult::Ambiguous(..) => Err(format!(
            "On {} the clocks went back and {} came twice. Give a time outside that hour.",
            local.format("%-d %B"),
            local.format("%H:%M")
        )),
        LocalResult::None => Err(format!(
            "On {} the clocks went forward and {} did not exist. Give a time outside that hour.",
            local.format("%-d %B"),
            local.format("%H:%M")
        )),
    }
}

/// A day from an `<input type="date">`, kept as its noon: no zone's clocks change then. Empty is no day.
pub fn day(text: &str, zone: &str) -> Result<Option<DateTime<Utc>>, String> {
    if text.trim().is_empty() {
        return Ok(None);
    }
    let day = NaiveDate::parse_from_str(text.trim(), "%Y-%m-%d")
        .map_err(|_| "Give a day, such as 2026-11-27, or leave it empty.")?;
    let noon = day.and_time(NaiveTime::MIN + TimeDelta::hours(12));
    let zone: Tz = zone.parse().map_err(|_| "The yard's time zone is not known.")?;
    zone.from_local_datetime(&noon)
        .earliest()
        .map(|at| Some(at.with_timezone(&Utc)))
        .ok_or_else(|| "There is no such day in the yard's time zone.".to_owned())
}

/// For `value` and `max` of an `<input type="datetime-local">`.
pub fn for_input(at: DateTime<Utc>, zone: &str) -> String {
    let zone: Tz = zone.parse().unwrap_or(Tz::UTC);
    at.with_timezone(&zone).format("%Y-%m-%dT%H:%M").to_string()
}

/// For the `value` of an `<input type="date">`.
pub fn day_for_input(at: DateTime<Utc>, zone: &str) -> String {
    let zone: Tz = zone.parse().unwrap_or(Tz::UTC);
    at.with_timezone(&zone).format("%Y-%m-%d").to_string()
}

/// `25 November 2026, 13:49`: for what is printed, where “today” means nothing tomorrow.
pub fn in_full(at: DateTime<Utc>, zone: &str) -> When {
    let tz: Tz = zone.parse().unwrap_or(Tz::UTC);
    let words = at.with_timezone(&tz).format("%-d %B %Y, %H:%M").to_string();
    When { machine: at.to_rfc3339_opts(SecondsFormat::Secs, true), words }
}

/// The zone for pages that belong to no yard: that of the person's first yard.
pub async fn zone_of(site: &Site, actor: &Actor) -> Result<String, PageError> {
    let yards = workflow::yards(&site.workshop, actor).await?;
    Ok(yards.first().map_or_else(|| "UTC".to_owned(), |y| y.zone.clone()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Directive 2000/84/EC: summer time begins and ends at 01:00 UTC on the last Sundays of March and October, which
    /// are 29 March and 25 October in 2026.
    #[test]
    fn the_missing_and_the_doubled_hour_are_asked_again() {
        let at = |text: &str| moment(text, "Europe/Oslo");
        assert_eq!(at("2026-03-29T01:59").unwrap().to_rfc3339(), "2026-03-29T00:59:00+00:00");
        assert!(at("2026-03-29T02:00").unwrap_err().contains("did not exist"));
        assert!(at("2026-03-29T02:30").unwrap_err().contains("29 March"));
        assert_eq!(at("2026-03-29T03:00").unwrap().to_rfc3339(), "2026-03-29T01:00:00+00:00");
        assert!(at("2026-10-25T02:30").unwrap_err().contains("came twice"));
        assert_eq!(at("2026-10-25T03:00").unwrap().to_rfc3339(), "2026-10-25T02:00:00+00:00");
        assert!(at("yesterday").is_err());
    }

    #[test]
    fn a_day_is_its_noon_in_the_yard() {
        assert_eq!(day("", "Europe/Oslo"), Ok(None));
        let noon = day("2026-11-27", "Europe/Oslo").unwrap().unwrap();
        assert_eq!(noon.to_rfc3339(), "2026-11-27T11:00:00+00:00");
        assert_eq!(day_for_input(noon, "Europe/Oslo"), "2026-11-27");
        assert!(day("27.11.2026", "Europe/Oslo").is_err());
    }
}
