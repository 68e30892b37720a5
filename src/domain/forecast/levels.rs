//! A workshop is not only what the runs know of it: who reacts when, what nobody wrote down. So "likely by" is not read off
//! at half of the runs but where half of this workshop's own repairs were done (quantile recalibration: Kuleshov, Fenner and
//! Ermon 2018, "Accurate uncertainties for deep learning using calibrated regression").

use chrono::TimeDelta;
use serde::{Deserialize, Serialize};

/// Shares of the runs at which the two moments are read off, between 0 and 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Levels {
    pub likely: f64,
    pub almost_surely: f64,
}

/// When the runs were done: a twentieth of them, two twentieths, up to nineteen. Seconds from when it was said.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Spread(Vec<i64>);

const PARTS: usize = 20;
/// As many repairs that went as foreseen are added, so that a few of them say little. Our own choice.
const AS_FORESEEN: u32 = 20;
/// Above the last of the twentieths nothing finer is known.
const BEYOND: f64 = 0.99;

impl Default for Levels {
    fn default() -> Self {
        Self { likely: 0.5, almost_surely: 0.9 }
    }
}

impl Levels {
    /// From where in its runs each of the newest repairs truly ended.
    pub fn learned(places: &[f64]) -> Self {
        let as_foreseen = (1..=AS_FORESEEN).map(|k| f64::from(k) / f64::from(AS_FORESEEN + 1));
        let mut all: Vec<f64> = places.iter().copied().chain(as_foreseen).collect();
        all.sort_by(f64::total_cmp);
        let usual = Self::default();
        Self {
            likely: all[rank(all.len(), usual.likely)],
            almost_surely: all[rank(all.len(), usual.almost_surely)],
        }
    }
}

impl Spread {
    /// Of the ends of all runs, which are put into another order.
    pub(super) fn of(ends: &mut [i64]) -> Self {
        ends.sort_unstable();
        #[expect(clippy::cast_precision_loss, reason = "twenty")]
        let share = |k: usize| k as f64 / PARTS as f64;
        Self((1..PARTS).map(|k| ends[rank(ends.len(), share(k))]).collect())
    }

    /// Which share of the runs was done by then.
    pub fn place(&self, after: TimeDelta) -> f64 {
        let after = after.num_seconds();
        let passed = self.0.iter().filter(|end| **end <= after).count();
        let Some(next) = self.0.get(passed) else { return BEYOND };
        let last = if passed == 0 { 0 } else { self.0[passed - 1] };
        #[expect(clippy::cast_precision_loss, reason = "seconds of a year")]
        let between = (after.max(0) - last) as f64 / (next - last).max(1) as f64;
        #[expect(clippy::cast_precision_loss, reason = "twenty")]
        let place = (passed as f64 + between.clamp(0.0, 1.0)) / PARTS as f64;
        place
    }
}

/// The least of so many, in order, that such a share of them does not pass.
pub(super) fn rank(count: usize, share: f64) -> usize {
    #[expect(clippy::cast_precision_loss, reason = "a thousand runs")]
    let whole = (count as f64 * share).ceil();
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and the count")]
    let n = whole as usize;
    n.clamp(1, count.max(1)) - 1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn without_a_history_half_is_half() {
        let found = Levels::learned(&[]);
        assert!(
            (found.likely - 10.0 / 21.0).abs() < 1e-9 && (found.almost_surely - 18.0 / 21.0).abs() < 1e-9
        );
        let as_said: Vec<f64> = (0..1_000).map(|k| f64::from(k) / 1_000.0).collect();
        let found = Levels::learned(&as_said);
        assert!((found.likely - 0.5).abs() < 0.01 && (found.almost_surely - 0.9).abs() < 0.01, "{found:?}");
    }

    #[test]
    fn who_is_always_later_is_believed_after_a_while() {
        let later = |n: usize| vec![0.8; n];
        let (few, many) = (Levels::learned(&later(5)), Levels::learned(&later(200)));
        assert!(few.likely < 0.7 && many.likely == 0.8 && many.almost_surely == 0.8);
        assert_eq!(Levels::learned(&[BEYOND; 200]).almost_surely, BEYOND);
    }

    #[test]
    fn places_are_shares_of_the_runs() {
        let mut ends: Vec<i64> = (1..=1_000).rev().map(|n| n * 60).collect();
        let spread = Spread::of(&mut ends);
        for (minutes, place) in [(-5, 0.0), (0, 0.0), (25, 0.025), (50, 0.05), (500, 0.5), (925, 0.925)] {
            assert!((spread.place(TimeDelta::minutes(minutes)) - place).abs() < 1e-9, "{minutes}");
        }
        assert_eq!(spread.place(TimeDelta::days(9)), BEYOND);
        // A night without runs that end: whoever is done in it has the place of its evening and more.
        let mut ends = [vec![3_600; 500], vec![50_000; 500]].concat();
        let spread = Spread::of(&mut ends);
        assert!((0.5..0.55).contains(&spread.place(TimeDelta::hours(2))));
    }
}
