//! Times as people type them: in the yard's zone, where an hour is missing in spring and one comes twice in autumn.

use chrono::{
    DateTime, Datelike, LocalResult, NaiveDate, NaiveDateTime, NaiveTime, SecondsFormat, TimeDelta, TimeZone,
    Utc,
};
use chrono_tz::Tz;

use super::error::PageError;
use super::shown::When;
use crate::domain::person::Actor;
use crate::http::Site;
use crate::words::Text;
use crate::workflow;

/// A moment from an `<input type="datetime-local">`, or a sentence that says what is wrong with it.
pub fn moment(text: &str, zone: &str) -> Result<DateTime<Utc>, Text> {
    let text = text.trim();
    let local = ["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M"]
        .iter()
        .find_map(|f| NaiveDateTime::parse_from_str(text, f).ok())
        .ok_or_else(|| said!("form-give-moment"))?;
    let zone: Tz = zone.parse().map_err(|_| said!("form-zone-unknown"))?;
    let clock = local.format("%H:%M").to_string();
    let day = Text::each(|lang| {
        t_in!(lang, "date-day-in-full", day = local.day(), month = t_in!(lang, month_in_full(local.month0())))
    });
    match zone.from_local_datetime(&local) {
        LocalResult::Single(at) => Ok(at.with_timezone(&Utc)),
        LocalResult::Ambiguous(..) => Err(said!("form-clocks-back", day = day, clock = clock)),
        LocalResult::None => Err(said!("form-clocks-forward", day = day, clock = clock)),
    }
}

/// A day from an `<input type="date">`, kept as its noon: no zone's clocks change then. Empty is no day.
pub fn day(text: &str, zone: &str) -> Result<Option<DateTime<Utc>>, Text> {
    if text.trim().is_empty() {
        return Ok(None);
    }
    let day = NaiveDate::parse_from_str(text.trim(), "%Y-%m-%d").map_err(|_| said!("form-give-day"))?;
    let noon = day.and_time(NaiveTime::MIN + TimeDelta::hours(12));
    let zone: Tz = zone.parse().map_err(|_| said!("form-zone-unknown"))?;
    zone.from_local_datetime(&noon)
        .earliest()
        .map(|at| Some(at.with_timezone(&Utc)))
        .ok_or_else(|| said!("form-no-such-day"))
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
    let local = at.with_timezone(&tz);
    let words = t!(
        "date-in-full",
        day = local.day(),
        month = t!(month_in_full(local.month0())),
        year = local.year().to_string(),
        clock = local.format("%H:%M").to_string()
    );
    When { machine: at.to_rfc3339_opts(SecondsFormat::Secs, true), words }
}

/// Key of its name.
const fn month_in_full(month0: u32) -> &'static str {
    match month0 {
        0 => "month-full-january",
        1 => "month-full-february",
        2 => "month-full-march",
        3 => "month-full-april",
        4 => "month-full-may",
        5 => "month-full-june",
        6 => "month-full-july",
        7 => "month-full-august",
        8 => "month-full-september",
        9 => "month-full-october",
        10 => "month-full-november",
        _ => "month-full-december",
    }
}

/// The zone for pages that belong to no yard: that of the person's first yard.
pub async fn zone_of(site: &Site, actor: &Actor) -> Result<String, PageError> {
    let yards = workflow::yards(&site.workshop, actor).await?;
    Ok(yards.first().map_or_else(|| "UTC".to_owned(), |y| y.zone.clone()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::{Lang, speaking};

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

    #[test]
    fn dates_in_full_are_in_the_readers_language() {
        let at = "2026-11-25T12:49:00Z".parse().unwrap();
        assert_eq!(in_full(at, "Europe/Oslo").words, "25 November 2026, 13:49");
        let spanish = speaking(Lang::Es, || in_full(at, "Europe/Oslo").words);
        assert_eq!(spanish, "25 de noviembre de 2026, 13:49");
        let missing = moment("2026-03-29T02:30", "Europe/Oslo").unwrap_err();
        assert!(missing.in_lang(Lang::Es).contains("29 de marzo"), "{missing:?}");
    }
}
