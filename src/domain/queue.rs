//! The order of the queue. Machines out of service come first, then the class the yard is shortest of, then what must
//! be done by a date, then age. Every place says why.

pub mod order;

use chrono::{DateTime, Utc};
use std::cmp::Reverse;

use crate::words::Text;

/// Where a work order stands: smaller keys come first.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    pub key: (bool, Reverse<i64>, DateTime<Utc>, DateTime<Utc>),
    pub because: Text,
}

/// `short`: how many machines of the class the yard lacks today (needed minus available; negative when it has spare).
pub fn place_of(
    out_of_service: bool,
    class: &str,
    short: i64,
    good_until: Option<DateTime<Utc>>,
    opened_at: DateTime<Utc>,
    now: DateTime<Utc>,
) -> Place {
    let mut reasons = Vec::new();
    reasons.push(if out_of_service { said!("place-out-of-service") } else { said!("place-usable") });
    if short > 0 && out_of_service {
        reasons.push(said!("place-yard-lacks", short = short, class = class));
    }
    if let Some(until) = good_until {
        let days = (until - now).num_days();
        reasons.push(match days {
            ..=-1 => said!("place-good-until-passed"),
            0 => said!("place-good-until-today"),
            _ => said!("place-good-for", days = days),
        });
    }
    let waited = now - opened_at;
    reasons.push(match (waited.num_days(), waited.num_hours()) {
        (0, 0) => said!("place-opened-within-the-hour"),
        (0, hours) => said!("place-open-for-hours", hours = hours),
        (days, _) => said!("place-open-for-days", days = days),
    });
    let because = Text::joined(&reasons, "; ").map(as_a_sentence);
    Place {
        key: (
            !out_of_service,
            Reverse(short.max(0)),
            good_until.unwrap_or(DateTime::<Utc>::MAX_UTC),
            opened_at,
        ),
        because,
    }
}

fn as_a_sentence(reasons: &str) -> String {
    let mut letters = reasons.chars();
    let first: String = letters.next().into_iter().flat_map(char::to_uppercase).collect();
    format!("{first}{}.", letters.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::TimeDelta;

    #[test]
    fn out_of_service_then_shortage_then_date_then_age() {
        let now = DateTime::<Utc>::UNIX_EPOCH + TimeDelta::days(1000);
        let day = TimeDelta::days(1);
        let at = |held, short, until, age: i64| {
            place_of(held, "quad", short, until, now - day * (age as i32), now).key
        };
        assert!(at(true, 0, None, 1) < at(false, 5, Some(now), 9));
        assert!(at(true, 2, None, 1) < at(true, 1, None, 9));
        assert!(at(true, -3, None, 2) < at(true, 0, None, 1), "spare machines do not push an order down");
        assert!(at(false, 0, Some(now + day), 1) < at(false, 0, Some(now + day * 3), 9));
        assert!(at(false, 0, Some(now + day * 90), 1) < at(false, 0, None, 9));
        assert!(at(true, 0, None, 3) < at(true, 0, None, 2));
    }

    #[test]
    fn every_place_says_why() {
        let now = DateTime::<Utc>::UNIX_EPOCH + TimeDelta::days(10);
        let place = place_of(true, "quad", 1, None, now - TimeDelta::hours(5), now);
        assert_eq!(
            place.because,
            "The machine is out of service; the yard lacks 1 of the class quad today; open for 5 hours."
        );
        let place = place_of(false, "quad", 1, Some(now + TimeDelta::days(3)), now - TimeDelta::days(2), now);
        assert_eq!(
            place.because,
            "The machine can be used meanwhile; good for 3 more days; open for 2 days."
        );
    }
}
