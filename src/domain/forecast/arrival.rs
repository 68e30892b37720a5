//! How far promises of parts and of vendors can be believed.

use rand::Rng;
use serde::{Deserialize, Serialize};

use super::chance::{exponential, uniform};

/// How often what was promised comes late, and then by how many days on average; exponential, so that what is overdue has
/// as long to come as when it became so.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Lateness {
    pub late_share: f64,
    pub mean_days: f64,
}

const DAY: f64 = 86_400.0;

impl Default for Lateness {
    /// Where nothing is known: one in four is late, by two days. Our own cautious choice.
    fn default() -> Self {
        Self::from_history(&[])
    }
}

impl Lateness {
    /// From how many days after its promise each came; early ones came in time. Four promises of which one was two days
    /// late are added, so that a short history neither promises nor threatens too much.
    pub fn from_history(days_late: &[f64]) -> Self {
        let late: Vec<f64> = days_late.iter().copied().filter(|d| *d > 0.0).collect();
        #[expect(clippy::cast_precision_loss, reason = "deliveries are counted in thousands")]
        let (n, k) = (days_late.len() as f64, late.len() as f64);
        Self { late_share: (k + 1.0) / (n + 4.0), mean_days: (late.iter().sum::<f64>() + 2.0) / (k + 1.0) }
    }

    /// Seconds from now until it is there, when it is promised so many seconds from now.
    pub fn draw(&self, rng: &mut impl Rng, promised: i64) -> i64 {
        // Both are drawn in any case, so that a change of one promise leaves all other draws as they were.
        let (late, by) = (uniform(rng) < self.late_share, exponential(rng) * self.mean_days * DAY);
        #[expect(clippy::cast_possible_truncation, reason = "days, in seconds")]
        let by = by as i64;
        match promised {
            // It is overdue: that it is late is no question any more.
            ..=0 => by,
            _ if late => promised + by,
            _ => promised,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::SeedableRng;
    use rand::rngs::Xoshiro256PlusPlus;

    #[test]
    fn history_moves_the_cautious_guess() {
        assert_eq!(Lateness::default(), Lateness { late_share: 0.25, mean_days: 2.0 });
        let found = Lateness::from_history(&[0.0, -1.0, 4.0, 6.0]);
        assert_eq!(found, Lateness { late_share: 3.0 / 8.0, mean_days: 4.0 });
        assert!(Lateness::from_history(&[0.0; 96]).late_share == 0.01);
    }

    #[test]
    fn drawn_as_it_is() {
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(1);
        let kind = Lateness { late_share: 0.3, mean_days: 3.0 };
        let drawn: Vec<i64> = (0..20_000).map(|_| kind.draw(&mut rng, 1_000)).collect();
        let late: Vec<f64> =
            drawn.iter().filter(|d| **d > 1_000).map(|d| (*d - 1_000) as f64 / DAY).collect();
        // Four standard errors.
        assert!((late.len() as f64 / 20_000.0 - 0.3).abs() < 4.0 * (0.21_f64 / 20_000.0).sqrt());
        assert!(
            (late.iter().sum::<f64>() / late.len() as f64 - 3.0).abs()
                < 4.0 * 3.0 / (late.len() as f64).sqrt()
        );
        assert!(drawn.iter().all(|d| *d >= 1_000));
        let overdue: f64 =
            (0..20_000).map(|_| kind.draw(&mut rng, -5_000) as f64 / DAY).sum::<f64>() / 20_000.0;
        assert!((overdue - 3.0).abs() < 0.1);
    }
}
