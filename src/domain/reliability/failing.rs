//! Whether machines fail more often than they did. Two tests against a steady rate (Laplace; the military handbook's, MIL-HDBK-189)
//! and the power law that goes with the second (NIST e-Handbook 8.2.3.4 and 8.4.5.2). A trend is claimed only where both
//! tests agree that chance is an unlikely reason.

use statrs::distribution::{ChiSquared, ContinuousCDF, Normal};

use super::{BY_CHANCE, Ended};

/// What was seen of one machine: its failures, on a clock that began at zero and showed `observed` at the end.
#[derive(Clone, Debug, PartialEq)]
pub struct Observed {
    /// In order.
    pub failures: Vec<f64>,
    pub observed: f64,
    pub ended: Ended,
}

/// A rate of failure λ·β·t^(β−1).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PowerLaw {
    pub beta: f64,
    pub lambda: f64,
    /// 1 ÷ rate, at the end of what was observed.
    pub mtbf_now: f64,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Course {
    /// Too few failures to tell: how many there are.
    TooFew(u32),
    /// No more change than chance makes.
    NoTrend,
    /// One of the two tests sees one, the other does not.
    Perhaps(Way),
    /// Both tests do.
    Trend(Way),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    More,
    Less,
}

/// Fewer failures than this show no trend that could be believed: our own cautious choice.
pub const FEWEST: u32 = 5;

/// Laplace's U: about a standard normal figure while the rate is steady, above zero where failures come closer
/// together. Several machines are pooled. None without failures.
pub fn laplace(all: &[Observed]) -> Option<f64> {
    let (mut apart, mut spread) = (0.0, 0.0);
    for one in all {
        let counted = counted(one);
        let n = count(counted.len());
        apart += counted.iter().sum::<f64>() - n * one.observed / 2.0;
        spread += n * one.observed * one.observed / 12.0;
    }
    (spread > 0.0).then(|| apart / spread.sqrt())
}

/// The military handbook's 2·Σ ln(T ÷ Tᵢ) and its degrees of freedom; small where failures come closer together.
pub fn military_handbook(all: &[Observed]) -> Option<(f64, f64)> {
    let (mut sum, mut n) = (0.0, 0.0);
    for one in all {
        for at in counted(one).iter().filter(|at| **at > 0.0) {
            sum += 2.0 * (one.observed / at).ln();
            n += 1.0;
        }
    }
    (n > 0.0).then_some((sum, 2.0 * n))
}

/// By maximum likelihood, of one machine.
pub fn power_law(one: &Observed) -> Option<PowerLaw> {
    fitted(one, 0.0)
}

/// The same with the slope freed of its bias (NIST: modified MLE), for a record that ended at a time.
pub fn power_law_unbiased(one: &Observed) -> Option<PowerLaw> {
    fitted(one, 1.0)
}

/// Bounds of the unbiased MTBF at the end, for a record that ended at a time (NIST e-Handbook 8.4.5.2).
pub fn bounds_now(law: &PowerLaw, failures: u32, confidence: f64) -> Option<(f64, f64)> {
    let r = f64::from(failures);
    let z = Normal::standard().inverse_cdf(f64::midpoint(1.0, confidence));
    let half = (r * z * z / 2.0).sqrt();
    if failures < 2 || half >= r {
        return None;
    }
    let (z2, pairs) = (z * z / 4.0, law.mtbf_now * r * (r - 1.0));
    let low = pairs / (r + z2 + (r * z * z / 2.0 + z2 * z2).sqrt()).powi(2);
    Some((low, pairs / (r - half).powi(2)))
}

/// Two-sided: how likely chance alone is to give such a figure. Laplace's, then the military handbook's.
pub fn by_chance(all: &[Observed]) -> Option<(f64, f64)> {
    let normal = Normal::standard();
    let u = laplace(all)?;
    let (chi, freedom) = military_handbook(all)?;
    let below = ChiSquared::new(freedom).ok()?.cdf(chi);
    Some((2.0 * normal.cdf(-u.abs()), 2.0 * below.min(1.0 - below)))
}

pub fn course(all: &[Observed]) -> Course {
    let failures = u32::try_from(all.iter().map(|o| counted(o).len()).sum::<usize>()).unwrap_or(u32::MAX);
    let known = (laplace(all), military_handbook(all), by_chance(all));
    let (Some(u), Some((chi, freedom)), Some((one, two))) = known else { return Course::TooFew(failures) };
    if failures < FEWEST {
        return Course::TooFew(failures);
    }
    // The mean of chi-square is its degrees of freedom.
    let (by_u, by_chi) = (way(u > 0.0), way(chi < freedom));
    match (one < BY_CHANCE, two < BY_CHANCE) {
        (true, true) if by_u == by_chi => Course::Trend(by_u),
        (true, true) | (false, false) => Course::NoTrend,
        (true, false) => Course::Perhaps(by_u),
        (false, true) => Course::Perhaps(by_chi),
    }
}

impl PowerLaw {
    /// How many times the rate at an earlier reading of the clock the rate at a later one is.
    pub fn rate_against(&self, later: f64, earlier: f64) -> Option<f64> {
        (earlier > 0.0 && later > earlier).then(|| (later / earlier).powf(self.beta - 1.0))
    }
}

const fn way(more: bool) -> Way {
    if more { Way::More } else { Way::Less }
}

/// A record that ended with a failure ended because of it: that one tells nothing.
fn counted(one: &Observed) -> &[f64] {
    match (one.ended, one.failures.split_last()) {
        (Ended::AtAFailure, Some((_, earlier))) => earlier,
        _ => &one.failures,
    }
}

fn fitted(one: &Observed, less: f64) -> Option<PowerLaw> {
    let r = count(one.failures.len());
    let logs: f64 = one.failures.iter().filter(|t| **t > 0.0).map(|t| (one.observed / t).ln()).sum();
    let beta = (r - less) / logs;
    if r - less <= 0.0 || !(beta > 0.0 && beta.is_finite()) {
        return None;
    }
    let lambda = r / one.observed.powf(beta);
    Some(PowerLaw { beta, lambda, mtbf_now: one.observed / (r * beta) })
}

fn count(n: usize) -> f64 {
    f64::from(u32::try_from(n).unwrap_or(u32::MAX))
}

#[cfg(test)]
mod tests;
