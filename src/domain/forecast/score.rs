//! How good forecasts were: how often both moments held, and how far off they were beside simply saying "as long as last
//! time".

use std::collections::BTreeMap;

use chrono::{DateTime, TimeDelta, Utc};

use super::super::ids::WorkOrderId;

/// A forecast as it was given, and what came of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Kept {
    pub order: WorkOrderId,
    pub given_at: DateTime<Utc>,
    pub likely_by: DateTime<Utc>,
    pub almost_surely_by: Option<DateTime<Utc>>,
    /// What "as long as last time" would have said, where there was a last time.
    pub as_last_time: Option<DateTime<Utc>>,
    /// None while the work is not done.
    pub done_at: Option<DateTime<Utc>>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Score {
    pub counted: usize,
    /// Shares, between 0 and 1.
    pub likely_held: f64,
    pub almost_surely_held: f64,
    /// Mean distance between "likely by" and what came, in hours by the clock.
    pub mean_error_hours: f64,
    /// On those work orders only that had a last time.
    pub beside_last_time: Option<BesideLastTime>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct BesideLastTime {
    pub counted: usize,
    pub ours_hours: f64,
    pub last_time_hours: f64,
}

#[derive(Clone, Debug, PartialEq)]
pub enum Scored {
    /// Too few are done to say anything.
    TooFew {
        counted: usize,
        needed: usize,
    },
    Score(Score),
}

/// Fewer than this say nothing: of 20, one more or less is 5 %. Our own choice.
pub const FEWEST: usize = 20;

/// The naive forecast: as long as it took the last time, from opened to done.
pub fn as_last_time(opened_at: DateTime<Utc>, last: Option<TimeDelta>) -> Option<DateTime<Utc>> {
    opened_at.checked_add_signed(last?)
}

/// Each work order counts once, by its first forecast: later ones know more and would flatter.
pub fn score(kept: &[Kept]) -> Scored {
    let mut first: BTreeMap<WorkOrderId, &Kept> = BTreeMap::new();
    for one in kept {
        let earlier = first.entry(one.order).or_insert(one);
        if one.given_at < earlier.given_at {
            *earlier = one;
        }
    }
    let done: Vec<(&Kept, DateTime<Utc>)> = first.values().filter_map(|k| Some((*k, k.done_at?))).collect();
    if done.len() < FEWEST {
        return Scored::TooFew { counted: done.len(), needed: FEWEST };
    }
    let held = |by: fn(&Kept) -> Option<DateTime<Utc>>| {
        // What was said to lie beyond what is looked at has held: it promised nothing.
        share(done.iter().filter(|(k, at)| by(k).is_none_or(|by| *at <= by)).count(), done.len())
    };
    let both: Vec<(f64, f64)> = done
        .iter()
        .filter_map(|(k, at)| Some((apart(k.likely_by, *at), apart(k.as_last_time?, *at))))
        .collect();
    Scored::Score(Score {
        counted: done.len(),
        likely_held: held(|k| Some(k.likely_by)),
        almost_surely_held: held(|k| k.almost_surely_by),
        mean_error_hours: mean(done.iter().map(|(k, at)| apart(k.likely_by, *at)), done.len()),
        beside_last_time: (both.len() >= FEWEST).then(|| BesideLastTime {
            counted: both.len(),
            ours_hours: mean(both.iter().map(|b| b.0), both.len()),
            last_time_hours: mean(both.iter().map(|b| b.1), both.len()),
        }),
    })
}

fn apart(a: DateTime<Utc>, b: DateTime<Utc>) -> f64 {
    (a - b).abs().as_seconds_f64() / 3600.0
}

#[expect(clippy::cast_precision_loss, reason = "counts of work orders")]
fn share(part: usize, whole: usize) -> f64 {
    part as f64 / whole as f64
}

fn mean(values: impl Iterator<Item = f64>, n: usize) -> f64 {
    values.sum::<f64>() / share(n, 1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use uuid::Uuid;

    /// Said at hour `given`: 50 % by 10, 90 % by 20, last time 14; done at `done`.
    fn kept(n: u128, given: i64, done: Option<i64>) -> Kept {
        let at = |h| DateTime::<Utc>::UNIX_EPOCH + TimeDelta::hours(h);
        Kept {
            order: WorkOrderId(Uuid::from_u128(n)),
            given_at: at(given),
            likely_by: at(10),
            almost_surely_by: Some(at(20)),
            as_last_time: n.is_multiple_of(2).then(|| at(14)),
            done_at: done.map(at),
        }
    }

    /// Worked by hand.
    #[test]
    fn held_and_errors() {
        // 20 at 9 h (held both), 12 at 16 h (held the second), 8 at 30 h (held none): 40 in all.
        let dones = [9; 20].into_iter().chain([16; 12]).chain([30; 8]);
        let mut all: Vec<Kept> = dones.zip(1..).map(|(done, n)| kept(n, 0, Some(done))).collect();
        all.push(kept(99, 0, None));
        // A later forecast of the first does not count, wherever it stands.
        all.insert(0, Kept { likely_by: DateTime::<Utc>::UNIX_EPOCH, ..kept(1, 5, Some(9)) });
        let Scored::Score(s) = score(&all) else { panic!("40 are enough") };
        assert_eq!((s.counted, s.likely_held, s.almost_surely_held), (40, 0.5, 0.8));
        assert!((s.mean_error_hours - (20.0 + 72.0 + 160.0) / 40.0).abs() < 1e-9);
        let beside = s.beside_last_time.expect("20 of them had a last time");
        assert_eq!(beside.counted, 20);
        assert!((beside.ours_hours - (10.0 + 36.0 + 80.0) / 20.0).abs() < 1e-9);
        assert!((beside.last_time_hours - (50.0 + 12.0 + 64.0) / 20.0).abs() < 1e-9);
    }

    #[test]
    fn a_few_say_nothing() {
        let all: Vec<Kept> = (1..20).map(|n| kept(n, 0, Some(9))).chain([kept(20, 0, None)]).collect();
        assert_eq!(score(&all), Scored::TooFew { counted: 19, needed: 20 });
        assert_eq!(score(&[]), Scored::TooFew { counted: 0, needed: 20 });
    }

    #[test]
    fn last_time() {
        let at = DateTime::<Utc>::UNIX_EPOCH;
        assert_eq!(as_last_time(at, None), None);
        assert_eq!(as_last_time(at, Some(TimeDelta::hours(3))), Some(at + TimeDelta::hours(3)));
    }
}
