//! Mean operating time between failures, with the bounds that so few failures leave open: the chi-square bounds of the
//! NIST e-Handbook, 8.4.5.1. They hold for a rate of failure that does not change; whether it does is asked in `failing`.

use statrs::distribution::{ChiSquared, ContinuousCDF};

use super::Ended;

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mtbf {
    pub total: f64,
    pub failures: u32,
    /// None without a failure.
    pub mean: Option<f64>,
    /// With failures, the lower of two bounds; without, the one bound below which it is not, at the same confidence.
    pub low: f64,
    /// None without a failure: nothing bounds it.
    pub high: Option<f64>,
    pub confidence: f64,
}

/// The bounds given on pages: 90 %.
pub const CONFIDENCE: f64 = 0.9;

/// None where nothing was observed, or what was counted makes no sense.
pub fn mtbf(total: f64, failures: u32, ended: Ended, confidence: f64) -> Option<Mtbf> {
    let sensible = total > 0.0 && total.is_finite() && confidence > 0.0 && confidence < 1.0;
    if !sensible {
        return None;
    }
    if failures == 0 {
        let low = total / -(1.0 - confidence).ln();
        return Some(Mtbf { total, failures, mean: None, low, high: None, confidence });
    }
    let tail = (1.0 - confidence) / 2.0;
    let twice = 2.0 * f64::from(failures);
    let freedom = match ended {
        Ended::AtATime => twice + 2.0,
        Ended::AtAFailure => twice,
    };
    let low = 2.0 * total / ChiSquared::new(freedom).ok()?.inverse_cdf(1.0 - tail);
    let high = 2.0 * total / ChiSquared::new(twice).ok()?.inverse_cdf(tail);
    Some(Mtbf { total, failures, mean: Some(total / f64::from(failures)), low, high: Some(high), confidence })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bounds(total: f64, r: u32, ended: Ended, confidence: f64) -> (f64, f64) {
        let m = mtbf(total, r, ended, confidence).unwrap();
        (m.low, m.high.unwrap())
    }

    /// NIST e-Handbook 8.4.5.1: 1600 h with 2 failures; the handbook prints (254, 4502), from memory. Figures to six
    /// places computed with scipy.
    #[test]
    fn the_example_of_the_handbook() {
        let m = mtbf(1600.0, 2, Ended::AtATime, 0.9).unwrap();
        assert_eq!(m.mean, Some(800.0));
        let (low, high) = bounds(1600.0, 2, Ended::AtATime, 0.9);
        assert!((low - 254.137_937).abs() < 1e-6 && (high - 4_502.457_221).abs() < 1e-5, "{low} {high}");
        let (low, high) = bounds(1600.0, 2, Ended::AtAFailure, 0.9);
        assert!((low - 337.277_760).abs() < 1e-6 && (high - 4_502.457_221).abs() < 1e-5, "{low} {high}");
    }

    /// Factors by scipy: r, then (lower, upper) at 60, 80, 90 and 95 %, then the lower one at 90 % when it ended with a
    /// failure.
    const FACTORS: &[(u32, [f64; 8], f64)] = &[
        (1, [0.3340, 4.4814, 0.2571, 9.4912, 0.2108, 19.4957, 0.1795, 39.4979], 0.3338),
        (2, [0.4674, 2.4260, 0.3758, 3.7607, 0.3177, 5.6281, 0.2768, 8.2573], 0.4216),
        (3, [0.5440, 1.9543, 0.4490, 2.7222, 0.3869, 3.6689, 0.3422, 4.8491], 0.4765),
        (4, [0.5952, 1.7416, 0.5004, 2.2926, 0.4370, 2.9276, 0.3906, 3.6702], 0.5159),
        (5, [0.6324, 1.6184, 0.5391, 2.0554, 0.4756, 2.5379, 0.4285, 3.0798], 0.5462),
        (10, [0.7326, 1.3719, 0.6491, 1.6074, 0.5895, 1.8432, 0.5438, 2.0853], 0.6367),
        (20, [0.8088, 1.2367, 0.7395, 1.3769, 0.6882, 1.5089, 0.6475, 1.6371], 0.7174),
        (50, [0.8788, 1.1371, 0.8286, 1.2142, 0.7901, 1.2832, 0.7585, 1.3473], 0.8042),
    ];

    #[test]
    fn the_table_of_factors() {
        for (r, factors, at_a_failure) in FACTORS {
            for (n, confidence) in [0.6, 0.8, 0.9, 0.95].into_iter().enumerate() {
                let (low, high) = bounds(f64::from(*r), *r, Ended::AtATime, confidence);
                assert!((low - factors[2 * n]).abs() < 6e-5, "{r} {confidence}: {low}");
                assert!((high - factors[2 * n + 1]).abs() < 6e-5, "{r} {confidence}: {high}");
            }
            let (low, _) = bounds(f64::from(*r), *r, Ended::AtAFailure, 0.9);
            assert!((low - at_a_failure).abs() < 6e-5, "{r}: {low}");
        }
    }

    /// One-sided, T ÷ −ln(1 − C): factors at 60, 80, 90 and 95 % computed with scipy.
    #[test]
    fn without_a_failure_there_is_one_bound() {
        // That of 90 % is log10(e), by its nature.
        let factors =
            [(0.6, 1.091_357), (0.8, 0.621_335), (0.9, std::f64::consts::LOG10_E), (0.95, 0.333_808)];
        for (confidence, factor) in factors {
            let m = mtbf(1000.0, 0, Ended::AtATime, confidence).unwrap();
            assert!((m.low / 1000.0 - factor).abs() < 1e-6, "{confidence}");
            assert_eq!((m.mean, m.high), (None, None));
        }
    }

    #[test]
    fn nothing_observed_says_nothing() {
        assert_eq!(mtbf(0.0, 3, Ended::AtATime, 0.9), None);
        assert_eq!(mtbf(f64::NAN, 3, Ended::AtATime, 0.9), None);
        assert_eq!(mtbf(10.0, 3, Ended::AtATime, 1.0), None);
    }
}
