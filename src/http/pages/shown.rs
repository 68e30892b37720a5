//! Times, spans and amounts as people read them. Times are the yard's.

use chrono::{DateTime, Datelike, NaiveDate, SecondsFormat, TimeDelta, Utc};
use chrono_tz::Tz;

use crate::domain::late::arrived_late;
use crate::domain::money;
use crate::domain::standing::{Severity, Standing};
use crate::domain::store::Quantity;
use crate::words::{Spoken, Value, here};

/// A moment twice: RFC 3339 for the browser, and in words in the yard's zone.
#[derive(Clone, Debug)]
pub struct When {
    pub machine: String,
    pub words: String,
}

/// `today 07:31`, `yesterday 16:05`, `23 Nov 06:40`, `3 Feb 2025 06:40`.
pub fn when(at: DateTime<Utc>, zone: &str, now: DateTime<Utc>) -> When {
    let zone: Tz = zone.parse().unwrap_or(Tz::UTC);
    let (local, today) = (at.with_timezone(&zone), now.with_timezone(&zone).date_naive());
    let clock = local.format("%H:%M").to_string();
    let words = match (today - local.date_naive()).num_days() {
        0 => t!("date-today-at", clock = clock),
        1 => t!("date-yesterday-at", clock = clock),
        -1 => t!("date-tomorrow-at", clock = clock),
        _ => t!("date-at", day = date(local.date_naive(), today), clock = clock),
    };
    When { machine: at.to_rfc3339_opts(SecondsFormat::Secs, true), words }
}

/// `It reached Chock today 11:02.` where that was long after it was recorded; else empty.
pub fn reached(
    recorded_at: DateTime<Utc>,
    received_at: DateTime<Utc>,
    zone: &str,
    now: DateTime<Utc>,
) -> String {
    if arrived_late(recorded_at, received_at) {
        t!("date-reached", when = when(received_at, zone, now).words)
    } else {
        String::new()
    }
}

/// The day alone, for dates something is expected on.
pub fn day(at: DateTime<Utc>, zone: &str, now: DateTime<Utc>) -> When {
    let tz: Tz = zone.parse().unwrap_or(Tz::UTC);
    let (local, today) = (at.with_timezone(&tz).date_naive(), now.with_timezone(&tz).date_naive());
    let words = match (local - today).num_days() {
        0 => t!("date-today"),
        1 => t!("date-tomorrow"),
        -1 => t!("date-yesterday"),
        _ if local.year() == today.year() => {
            t!(
                "date-weekday",
                weekday = t!(WEEKDAYS[local.weekday().num_days_from_monday() as usize]),
                date = date(local, today)
            )
        }
        _ => date(local, today),
    };
    When { machine: at.to_rfc3339_opts(SecondsFormat::Secs, true), words }
}

/// `3 Feb 2025 06:40:12`, for lists that prove something.
pub fn to_the_second(at: DateTime<Utc>, zone: &str) -> String {
    let zone: Tz = zone.parse().unwrap_or(Tz::UTC);
    let local = at.with_timezone(&zone);
    let (day, month) = (local.day(), t!(MONTHS[local.month0() as usize]));
    let day = t!("date-day-month-year", day = day, month = month, year = local.year().to_string());
    t!("date-at", day = day, clock = local.format("%H:%M:%S").to_string())
}

/// `23 Nov`, and with its year when that is not this one: `3 Feb 2025`.
fn date(day: NaiveDate, today: NaiveDate) -> String {
    let month = t!(MONTHS[day.month0() as usize]);
    if day.year() == today.year() {
        t!("date-day-month", day = day.day(), month = month)
    } else {
        t!("date-day-month-year", day = day.day(), month = month, year = day.year().to_string())
    }
}

/// `23 Nov`, where the year is plain.
pub fn day_and_month(day: NaiveDate) -> String {
    t!("date-day-month", day = day.day(), month = t!(MONTHS[day.month0() as usize]))
}

/// `Nov 2026`.
pub fn month_and_year(day: NaiveDate) -> String {
    t!("date-month-year", month = t!(MONTHS[day.month0() as usize]), year = day.year().to_string())
}

/// `Fri 25 Dec 2026`.
pub fn date_in_words(day: NaiveDate) -> String {
    let weekday = t!(WEEKDAYS[day.weekday().num_days_from_monday() as usize]);
    let month = t!(MONTHS[day.month0() as usize]);
    let date = t!("date-day-month-year", day = day.day(), month = month, year = day.year().to_string());
    t!("date-weekday", weekday = weekday, date = date)
}

const MONTHS: [&str; 12] = [
    "month-jan",
    "month-feb",
    "month-mar",
    "month-apr",
    "month-may",
    "month-jun",
    "month-jul",
    "month-aug",
    "month-sep",
    "month-oct",
    "month-nov",
    "month-dec",
];
const WEEKDAYS: [&str; 7] =
    ["weekday-mon", "weekday-tue", "weekday-wed", "weekday-thu", "weekday-fri", "weekday-sat", "weekday-sun"];

/// What is filled into sentences, alone: a figure with the sign of the language.
pub fn said(what: &impl Spoken) -> String {
    match what.spoken(here()) {
        Value::Words(words) => words.into_owned(),
        Value::Count(n) => n.to_string(),
    }
}

/// `12.50 EUR`, with the sign of the language; from five digits on in groups, as ISO 80000-1, 7.3.1 has it (from memory):
/// `12 345.00 EUR`.
pub fn amount(minor: i64, currency: &str) -> String {
    let plain = money::shown(minor, currency);
    let whole = plain.find(|c: char| c != '-' && !c.is_ascii_digit()).unwrap_or(plain.len());
    let first = plain.find(|c: char| c.is_ascii_digit()).unwrap_or(0);
    let mut grouped = plain.clone();
    if whole - first > 4 {
        for at in (first + 1..whole).rev().filter(|at| (whole - at).is_multiple_of(3)) {
            grouped.insert(at, NARROW_SPACE);
        }
    }
    here().figure(&grouped)
}

/// Narrow, and not to be broken at.
const NARROW_SPACE: char = '\u{202f}';

/// `4.65 L`, and plain `3` for what is counted.
pub fn quantity(thousandths: i64, unit: &str) -> String {
    let figure = here().figure(&Quantity(thousandths).to_string());
    if unit == "each" { figure } else { format!("{figure} {unit}") }
}

/// The fixed word of a standing or a severity, as the reader says it. Anything else stands as it is.
pub fn standing_word(fixed: impl AsRef<str>) -> String {
    let fixed = fixed.as_ref();
    match (fixed.parse::<Standing>(), fixed.parse::<Severity>()) {
        (Ok(standing), _) => standing.here(),
        (_, Ok(severity)) => severity.here(),
        _ => fixed.to_owned(),
    }
}

/// `12 min`, `3 h 52 min`, `5 d 19 h`.
pub fn span(length: TimeDelta) -> String {
    let minutes = length.num_minutes().max(0);
    match (minutes / 1440, minutes / 60 % 24, minutes % 60) {
        (0, 0, m) => t!("span-minutes", minutes = m),
        (0, h, m) => t!("span-hours", hours = h, minutes = m),
        (d, h, _) => t!("span-days", days = d, hours = h),
    }
}

/// `12 min`, `27 h 5 min`: for time that was worked, which has no days of 24 hours.
pub fn hours_and_minutes(length: TimeDelta) -> String {
    let minutes = length.num_minutes().max(0);
    match (minutes / 60, minutes % 60) {
        (0, m) => t!("span-minutes", minutes = m),
        (h, m) => t!("span-hours", hours = h, minutes = m),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_the_yards() {
        let now: DateTime<Utc> = "2026-11-25T09:00:00Z".parse().unwrap();
        let at = |text: &str| when(text.parse().unwrap(), "Europe/Oslo", now).words;
        assert_eq!(at("2026-11-25T06:31:00Z"), "today 07:31");
        assert_eq!(at("2026-11-24T22:59:00Z"), "yesterday 23:59");
        assert_eq!(at("2026-07-01T22:30:00Z"), "2 Jul 00:30", "summer time");
        assert_eq!(at("2025-02-03T05:40:00Z"), "3 Feb 2025 06:40");
    }

    #[test]
    fn large_amounts_are_read_in_groups() {
        let plain = |minor| amount(minor, "GBP").replace(NARROW_SPACE, "_");
        assert_eq!([plain(-1_250), plain(999_999)], ["-12.50 GBP", "9999.99 GBP"]);
        assert_eq!([plain(1_234_567), plain(-123_456_789)], ["12_345.67 GBP", "-1_234_567.89 GBP"]);
    }

    #[test]
    fn spans_are_short() {
        assert_eq!(span(TimeDelta::minutes(12)), "12 min");
        assert_eq!(span(TimeDelta::minutes(232)), "3 h 52 min");
        assert_eq!(span(TimeDelta::hours(139)), "5 d 19 h");
    }
}
