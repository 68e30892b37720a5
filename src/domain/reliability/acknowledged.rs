//! How soon somebody said that they had seen a hold.

use chrono::{DateTime, TimeDelta, Utc};

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Acknowledged {
    /// Holds that somebody was asked to acknowledge.
    pub asked: usize,
    pub acknowledged: usize,
    /// Of those that were; half of them took longer. None where there are none.
    pub median: Option<TimeDelta>,
}

/// Of holds, each with when it was asked and when it was acknowledged.
pub fn acknowledged(all: impl IntoIterator<Item = (DateTime<Utc>, Option<DateTime<Utc>>)>) -> Acknowledged {
    let mut asked = 0;
    let mut took = Vec::new();
    for (at, seen) in all {
        asked += 1;
        took.extend(seen.map(|seen| (seen - at).max(TimeDelta::zero())));
    }
    took.sort_unstable();
    // Of an even number the mean of the two in the middle.
    let middle = |n: usize| (took[(n - 1) / 2] + took[n / 2]) / 2;
    Acknowledged { asked, acknowledged: took.len(), median: (!took.is_empty()).then(|| middle(took.len())) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NIST/SEMATECH e-Handbook, 1.3.5.1: the median has half of the data on either side; of an even number it is the mean
    /// of the two in the middle.
    #[test]
    fn half_took_longer() {
        let at = |minutes: i64| DateTime::UNIX_EPOCH + TimeDelta::minutes(minutes);
        let of = |minutes: &[Option<i64>]| acknowledged(minutes.iter().map(|m| (at(0), m.map(at))));
        assert_eq!(of(&[]), Acknowledged::default());
        assert_eq!(of(&[None]), Acknowledged { asked: 1, acknowledged: 0, median: None });
        let odd = of(&[Some(90), None, Some(2), Some(5)]);
        assert_eq!(odd, Acknowledged { asked: 4, acknowledged: 3, median: Some(TimeDelta::minutes(5)) });
        assert_eq!(of(&[Some(8), Some(2)]).median, Some(TimeDelta::minutes(5)));
    }
}
