//! The trend of a series of readings: a straight line by least squares on engine hours, and what it lets be said of
//! the hours to come. Where the readings do not carry a line, it says why and does not guess.

use serde::{Deserialize, Serialize};
use statrs::distribution::{ContinuousCDF, StudentsT};

use super::history::Point;
use super::unit::Figure;
use crate::words::Text;

/// A limit that a trend may run into.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Edge {
    AtLeast(f64),
    AtMost(f64),
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Trend {
    Known(Line),
    /// Why nothing is said, in a sentence that can be shown.
    Unknown {
        why: Text,
    },
}

/// A least-squares line through readings over engine hours.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Line {
    pub points: usize,
    /// Engine hours of the first and the last reading.
    pub from_hours: f64,
    pub to_hours: f64,
    pub intercept: f64,
    pub slope: f64,
    pub intercept_error: f64,
    pub slope_error: f64,
    /// Residual standard deviation: how far readings scatter about the line.
    pub s: f64,
    pub r_squared: f64,
    /// When the line runs into its edge, if it runs that way.
    pub crossing: Option<Crossing>,
    mean_hours: f64,
    sum_squares: f64,
    /// The 97.5 % point of Student's t for this many readings.
    t: f64,
}

/// Engine hours, on the meter, at which a limit is reached: on the line, and where the two 95 % prediction bounds
/// cross it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Crossing {
    pub expected: f64,
    pub earliest: f64,
    pub latest: f64,
}

/// What a reading is expected to be, with its 95 % prediction interval.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Prediction {
    pub expected: f64,
    pub low: f64,
    pub high: f64,
}

/// Fewer readings than this lie on some line by chance.
pub const FEWEST_POINTS: usize = 4;
/// The newest so many readings of one place are gone by. Earlier ones hardly narrow the line, tell of the use the machine
/// had then, and would make every check dearer than the last: our own choice.
pub const MOST_POINTS: usize = 60;
/// Wear over fewer engine hours than this is smaller than the error of reading it: our own cautious choice.
pub const SHORTEST_SPAN: f64 = 20.0;
/// Readings taken close together say little of the hours between checks: our own cautious choice.
pub const FEWEST_GAPS: f64 = 3.0;

/// The trend of a series. Only readings with engine hours count, after the hour meter was changed only the later ones, and of
/// these the newest [`MOST_POINTS`].
pub fn trend(points: &[Point], edge: Option<Edge>) -> Trend {
    let readings = on_one_meter(points);
    if readings.len() < FEWEST_POINTS {
        return unknown(said!("judge-trend-few", count = readings.len(), fewest = FEWEST_POINTS));
    }
    let mut hours: Vec<f64> = readings.iter().map(|(x, _)| *x).collect();
    hours.sort_by(f64::total_cmp);
    let span = hours[hours.len() - 1] - hours[0];
    let said = Figure(format!("{span:.1}"));
    if span < SHORTEST_SPAN {
        return unknown(said!("judge-trend-short", span = said, shortest = format!("{SHORTEST_SPAN:.0}")));
    }
    let gap = median_gap(&hours);
    // A hair less than the product, so that three equal gaps of tenths of an hour are three gaps.
    if span < FEWEST_GAPS * gap * (1.0 - 1e-9) {
        let (gaps, gap) = (format!("{FEWEST_GAPS:.0}"), Figure(format!("{gap:.1}")));
        return unknown(said!("judge-trend-gaps", span = said, gaps = gaps, gap = gap));
    }
    if readings.iter().all(|(_, y)| *y == readings[0].1) {
        return unknown(said!("judge-trend-same"));
    }
    match fit(&readings) {
        Some(mut line) if line.slope.abs() > line.t * line.slope_error => {
            line.crossing = edge.and_then(|e| line.crossing_of(e));
            Trend::Known(line)
        }
        _ => unknown(said!("judge-trend-scatter")),
    }
}

/// How many readings there are to go by, when they are too few for a trend.
pub fn too_few(points: &[Point]) -> Option<usize> {
    Some(on_one_meter(points).len()).filter(|n| *n < FEWEST_POINTS)
}

/// Ordinary least squares, values on hours. None with fewer than three readings or with all at the same hours.
pub fn fit(readings: &[(f64, f64)]) -> Option<Line> {
    if readings.len() < 3 {
        return None;
    }
    let n = count(readings.len());
    let mean_x = readings.iter().map(|(x, _)| x).sum::<f64>() / n;
    let mean_y = readings.iter().map(|(_, y)| y).sum::<f64>() / n;
    // About the means: sums of raw squares lose the digits that matter once the meter shows thousands of hours.
    let sum = |f: fn(f64, f64) -> f64| readings.iter().map(|(x, y)| f(x - mean_x, y - mean_y)).sum::<f64>();
    let (sxx, sxy, syy) = (sum(|x, _| x * x), sum(|x, y| x * y), sum(|_, y| y * y));
    if !(sxx > 0.0 && sxx.is_finite() && syy.is_finite()) {
        return None;
    }
    let slope = sxy / sxx;
    let residuals: f64 = readings.iter().map(|(x, y)| ((y - mean_y) - slope * (x - mean_x)).powi(2)).sum();
    let freedom = n - 2.0;
    let s = (residuals / freedom).sqrt();
    let t = StudentsT::new(0.0, 1.0, freedom).ok()?.inverse_cdf(0.975);
    let hours = || readings.iter().map(|(x, _)| *x);
    Some(Line {
        points: readings.len(),
        from_hours: hours().fold(f64::INFINITY, f64::min),
        to_hours: hours().fold(f64::NEG_INFINITY, f64::max),
        intercept: mean_y - slope * mean_x,
        slope,
        intercept_error: s * (1.0 / n + mean_x * mean_x / sxx).sqrt(),
        slope_error: s / sxx.sqrt(),
        s,
        r_squared: if syy > 0.0 { 1.0 - residuals / syy } else { 0.0 },
        crossing: None,
        mean_hours: mean_x,
        sum_squares: sxx,
        t,
    })
}

impl Line {
    /// The value on the line.
    pub fn at(&self, hours: f64) -> f64 {
        self.intercept + self.slope * hours
    }

    /// What one more reading at these hours is expected to be.
    pub fn predict(&self, hours: f64) -> Prediction {
        let from_mean = hours - self.mean_hours;
        let spread = 1.0 + 1.0 / count(self.points) + from_mean * from_mean / self.sum_squares;
        self.prediction(self.at(hours), spread)
    }

    /// What a reading so many hours after a new one is expected to be, going on from that one at the line's slope.
    /// Both readings scatter as the earlier ones did.
    pub fn predict_from(&self, value: f64, hours_on: f64) -> Prediction {
        let spread = 2.0 + hours_on * hours_on / self.sum_squares;
        self.prediction(value + self.slope * hours_on, spread)
    }

    /// How many hours after a reading of this value the next one may be past the edge (95 %), going on from it at the
    /// line's slope: where [`Line::predict_from`] first touches the edge. None when the line runs the other way; zero or
    /// less when it may be so at once.
    pub fn earliest_from(&self, value: f64, edge: Edge) -> Option<f64> {
        if !self.runs_towards(edge) {
            return None;
        }
        let above = value - edge.figure();
        let reach = (self.t * self.s).powi(2);
        let a = self.slope * self.slope - reach / self.sum_squares;
        let half_b = self.slope * above;
        let c = above * above - 2.0 * reach;
        let root = (half_b * half_b - a * c).max(0.0).sqrt();
        (a > 0.0).then(|| (-half_b - root) / a)
    }

    pub fn runs_towards(&self, edge: Edge) -> bool {
        match edge {
            Edge::AtLeast(_) => self.slope < 0.0,
            Edge::AtMost(_) => self.slope > 0.0,
        }
    }

    /// When the line reaches the edge; None when it runs the other way.
    pub fn crossing_of(&self, edge: Edge) -> Option<Crossing> {
        if !self.runs_towards(edge) {
            return None;
        }
        let (Edge::AtLeast(figure) | Edge::AtMost(figure)) = edge;
        // Where (line - figure)² = t²·s²·(1 + 1/n + d²/Sxx), with d the hours from their mean: a quadratic in d whose
        // roots are both real and finite exactly because the slope is significant.
        let above = self.at(self.mean_hours) - figure;
        let reach = (self.t * self.s).powi(2);
        let a = self.slope * self.slope - reach / self.sum_squares;
        let half_b = self.slope * above;
        let c = above * above - reach * (1.0 + 1.0 / count(self.points));
        let root = (half_b * half_b - a * c).max(0.0).sqrt();
        if a <= 0.0 {
            return None;
        }
        Some(Crossing {
            expected: self.mean_hours - above / self.slope,
            earliest: self.mean_hours + (-half_b - root) / a,
            latest: self.mean_hours + (-half_b + root) / a,
        })
    }

    fn prediction(&self, expected: f64, spread: f64) -> Prediction {
        let reach = self.t * self.s * spread.sqrt();
        Prediction { expected, low: expected - reach, high: expected + reach }
    }
}

impl Edge {
    pub const fn figure(self) -> f64 {
        match self {
            Edge::AtLeast(figure) | Edge::AtMost(figure) => figure,
        }
    }

    /// Whether the prediction admits a value past the edge.
    pub fn may_be_passed(self, prediction: &Prediction) -> bool {
        match self {
            Edge::AtLeast(figure) => prediction.low < figure,
            Edge::AtMost(figure) => prediction.high > figure,
        }
    }
}

impl Trend {
    pub const fn line(&self) -> Option<&Line> {
        match self {
            Trend::Known(line) => Some(line),
            Trend::Unknown { .. } => None,
        }
    }
}

/// Readings with their hours, in the order they were taken. An hour meter never runs back: where it does, another meter
/// was fitted, and hours of two meters make no line.
fn on_one_meter(points: &[Point]) -> Vec<(f64, f64)> {
    let mut taken: Vec<_> = points.iter().filter_map(|p| p.engine_hours.map(|h| (p.at, h, p.base))).collect();
    taken.sort_by(|a, b| (a.0, a.1).cmp(&(b.0, b.1)).then(a.2.total_cmp(&b.2)));
    let new_meter = taken.windows(2).rposition(|pair| pair[1].1 < pair[0].1).map_or(0, |i| i + 1);
    let from = new_meter.max(taken.len().saturating_sub(MOST_POINTS));
    taken[from..].iter().map(|(_, hours, value)| (hours.as_f64(), *value)).collect()
}

/// Of the gaps between different hours, in sorted hours.
fn median_gap(hours: &[f64]) -> f64 {
    let mut gaps: Vec<f64> = hours.windows(2).map(|w| w[1] - w[0]).filter(|g| *g > 0.0).collect();
    let middle = gaps.len() / 2;
    if gaps.is_empty() {
        return 0.0;
    }
    let even = gaps.len().is_multiple_of(2);
    let (lower, upper, _) = gaps.select_nth_unstable_by(middle, f64::total_cmp);
    let below = lower.iter().copied().max_by(f64::total_cmp).filter(|_| even);
    below.map_or(*upper, |below| f64::midpoint(below, *upper))
}

fn count(n: usize) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "no series has 2^53 readings")]
    let n = n as f64;
    n
}

fn unknown(why: Text) -> Trend {
    Trend::Unknown { why }
}

#[cfg(test)]
mod tests;
