//! How long records are kept. Nothing is removed unless the owner says after how long; never what is open, and never what a
//! rule still looks back on.

use std::collections::BTreeMap;

use chrono::{DateTime, Months, Utc};
use serde::{Deserialize, Serialize};

use super::refusal::{Problem, Refusal};
use super::words::words;

words! {
    /// Kinds of records that may be removed.
    RecordKind {
        /// Checks that raised nothing, or nothing that is still kept.
        Checks = "checks",
        /// Closed defects with their sightings, retests and lifted holds.
        Repairs = "repairs",
        /// Mails that were delivered.
        Alerts = "alerts",
        /// Messages to other programs that were delivered.
        Messages = "messages",
    }
}

/// Rules look back so far: on readings, on what was corrected, and on what was repaired (months). A check with a figure in it
/// and a repair of a machine in use stay at least as long.
pub const LOOKED_BACK_ON: u32 = 24;

/// After a machine has left (months): 49 CFR 396.3(c), one year, and six months after the vehicle leaves the carrier's
/// control. From the wording the regulator's guide gives, FMCSA "Safety Planner", vehicle maintenance records.
pub const AFTER_LEAVING: u32 = 6;

const MOST_MONTHS: u32 = 1200;

/// Months by kind; a kind that is not there is kept for ever.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Retention(BTreeMap<RecordKind, u32>);

impl RecordKind {
    /// The figure of the one law that is known here, in months.
    /// Checks: 49 CFR 396.11(a)(4), three months. Repairs: 49 CFR 396.3(c), one year. Alerts and messages: no law is known.
    pub const fn legal_months(self) -> Option<u32> {
        match self {
            Self::Checks => Some(3),
            Self::Repairs => Some(12),
            Self::Alerts | Self::Messages => None,
        }
    }

    /// What is offered first. For alerts and messages common practice, no source.
    pub const fn usual_months(self) -> u32 {
        match self.legal_months() {
            Some(months) => months,
            None => 12,
        }
    }

    /// Nothing is removed sooner.
    pub const fn least_months(self) -> u32 {
        match self.legal_months() {
            Some(months) => months,
            None => 3,
        }
    }
}

impl Retention {
    /// Months by kind as they were typed; an empty one keeps everything.
    pub fn parse<'a>(typed: impl Fn(RecordKind) -> &'a str) -> Result<Self, Refusal> {
        let (mut kept, mut problems) = (BTreeMap::new(), Vec::new());
        for kind in RecordKind::ALL.iter().copied() {
            let text = typed(kind).trim();
            if text.is_empty() {
                continue;
            }
            match text.parse() {
                Ok(months) if (kind.least_months()..=MOST_MONTHS).contains(&months) => {
                    kept.insert(kind, months);
                }
                _ => problems.push(Problem::new(
                    format!("/{kind}"),
                    said!("retention-months", least = kind.least_months(), most = MOST_MONTHS),
                )),
            }
        }
        if problems.is_empty() { Ok(Self(kept)) } else { Err(Refusal::Invalid { problems }) }
    }

    pub fn months(&self, kind: RecordKind) -> Option<u32> {
        self.0.get(&kind).copied()
    }

    /// What is older than this may go, as far as nothing else keeps it.
    pub fn before(&self, kind: RecordKind, now: DateTime<Utc>) -> Option<DateTime<Utc>> {
        months_before(now, self.months(kind)?)
    }
}

/// By the calendar: three months before 31 May is 28 or 29 February.
pub fn months_before(now: DateTime<Utc>, months: u32) -> Option<DateTime<Utc>> {
    now.checked_sub_months(Months::new(months))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_goes_unless_somebody_says_so() {
        let now = "2026-11-25T06:00:00Z".parse().unwrap();
        for kind in RecordKind::ALL {
            assert_eq!(Retention::default().before(*kind, now), None);
        }
    }

    #[test]
    fn nobody_keeps_less_than_the_law_that_is_known() {
        let of = |months: &'static str| {
            Retention::parse(|kind| if kind == RecordKind::Checks { months } else { "" })
        };
        assert!(of("2").is_err() && of("0").is_err() && of("-3").is_err() && of("three").is_err());
        let kept = of(" 3 ").unwrap();
        let now = "2026-05-31T06:00:00Z".parse().unwrap();
        assert_eq!(kept.before(RecordKind::Checks, now), Some("2026-02-28T06:00:00Z".parse().unwrap()));
        assert_eq!(kept.before(RecordKind::Repairs, now), None);
        let json = serde_json::to_string(&kept).unwrap();
        assert_eq!(json, r#"{"checks":3}"#);
        assert_eq!(serde_json::from_str::<Retention>(&json).unwrap(), kept);
    }
}
