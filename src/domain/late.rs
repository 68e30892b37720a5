//! A check made where there is no signal reaches the server later than it was recorded.

use chrono::{DateTime, TimeDelta, Utc};

/// The clocks of a phone and of a server, and the way between them, differ by less. Common practice, no source.
const CLOCKS_APART: TimeDelta = TimeDelta::minutes(5);
const LATEST_CLOCK_AHEAD: TimeDelta = TimeDelta::minutes(10);

/// Whether what was recorded then and arrived now was under way for so long that people must be told of both.
pub fn arrived_late(recorded_at: DateTime<Utc>, received_at: DateTime<Utc>) -> bool {
    received_at - recorded_at > CLOCKS_APART
}

/// When a check was recorded, by the phone's clock as far as that can be believed: not in the future, and not before there
/// was what it was made with. Whatever is not believed was recorded when it arrived.
pub fn recorded_at(
    said: Option<DateTime<Utc>>,
    not_before: DateTime<Utc>,
    now: DateTime<Utc>,
) -> DateTime<Utc> {
    said.filter(|at| *at < now + LATEST_CLOCK_AHEAD && *at >= not_before - CLOCKS_APART)
        .map_or(now, |at| at.min(now))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> DateTime<Utc> {
        format!("2026-11-25T{text}:00Z").parse().unwrap()
    }

    #[test]
    fn minutes_are_the_clocks_and_hours_the_missing_signal() {
        assert!(!arrived_late(at("07:00"), at("07:00")));
        assert!(!arrived_late(at("07:00"), at("07:05")));
        assert!(arrived_late(at("07:00"), at("07:06")));
        assert!(!arrived_late(at("07:06"), at("07:00")), "a clock that is ahead");
    }

    #[test]
    fn a_clock_that_cannot_be_right_is_not_believed() {
        let (made, now) = (at("06:00"), at("12:00"));
        let said = |text: &str| recorded_at(Some(at(text)), made, now);
        assert_eq!(recorded_at(None, made, now), now);
        assert_eq!(said("07:00"), at("07:00"));
        assert_eq!(said("12:09"), now, "a little ahead is now");
        assert_eq!(said("13:00"), now, "from the future");
        assert_eq!(said("05:56"), at("05:56"), "its clock is a little behind the server's");
        assert_eq!(said("05:00"), now, "before the checklist was there");
    }
}
