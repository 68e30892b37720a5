//! What a work order waits for, as the queue, its own page and the board say it.

use chrono::{DateTime, Utc};

use super::shown::day;
use crate::domain::work_order::WaitingFor;

/// What, and more exactly: `parts: pads, from the dealer`.
pub fn noted(what: Option<WaitingFor>, note: &str) -> String {
    let what = what.map_or_else(|| t!("waiting-something"), WaitingFor::here);
    if note.is_empty() { what } else { t!("waiting-noted", what = what, note = note) }
}

/// The same, with the day it is expected on, or was.
pub fn awaited(
    what: Option<WaitingFor>,
    note: &str,
    until: Option<DateTime<Utc>>,
    zone: &str,
    now: DateTime<Utc>,
) -> String {
    dated(&noted(what, note), until, zone, now)
}

pub fn dated(what: &str, until: Option<DateTime<Utc>>, zone: &str, now: DateTime<Utc>) -> String {
    match until {
        Some(at) if at < now => t!("waiting-late", what = what, day = day(at, zone, now).words),
        Some(at) => t!("waiting-dated", what = what, day = day(at, zone, now).words),
        None => t!("waiting-undated", what = what),
    }
}
