//! How long repairs take: lognormal by item and class. An item with few repairs leans on its class, a class with few on the
//! house, and a new house on a published example.
//!
//! The rule: logarithms of hours are normal within an item (variance σ²), items scatter about their class (τ²), and classes
//! about the house. σ² and τ² are the moment estimators of Bühlmann and Straub over all classes together, each mixed with
//! a start value of a few degrees of freedom. An item's mean is then weighed n ⁄ (n + σ²⁄τ²) against its class's, and its
//! variance against σ²; the class's mean likewise against the house's. What is not known of means and variances widens
//! the forecast: it is drawn anew in each run.

use std::collections::BTreeMap;

use rand::Rng;
use serde::{Deserialize, Serialize};
use statrs::distribution::{ContinuousCDF, Normal, StudentsT};

use super::chance::{chi_squared, normal};

/// A repair that is done: hours of work.
#[derive(Clone, Debug, PartialEq)]
pub struct PastRepair {
    pub class: String,
    /// The check item that failed; one word for what was reported outside a check.
    pub item: String,
    pub hours: f64,
}

/// What is known of a repair's time. The mean of the logarithms is normal about `mean` with variance σ² ⁄ `strength`, and
/// `freedom` × `variance` ⁄ σ² is chi-squared.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct RepairTime {
    pub mean: f64,
    pub strength: f64,
    pub freedom: f64,
    pub variance: f64,
    pub basis: Basis,
}

/// What a repair time rests on.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// Repairs of this item; how much they weigh beside the class.
    Item {
        repairs: usize,
        weight: f64,
    },
    Class {
        repairs: usize,
    },
    House {
        repairs: usize,
    },
    /// The published example.
    NothingYet,
}

/// The moments of grouped figures, without any mixing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moments {
    pub within: f64,
    pub within_freedom: f64,
    /// May be negative: groups differ less than chance would have it.
    pub between: f64,
    pub between_freedom: f64,
}

/// What was learned from all repairs of the house.
#[derive(Clone, Debug)]
pub struct Times {
    items: BTreeMap<(String, String), Group>,
    classes: BTreeMap<String, Centre>,
    house: Centre,
    within: f64,
    freedom: f64,
    between: f64,
}

/// A mean that is known so far: with its variance, from so many repairs.
#[derive(Clone, Copy, Debug)]
struct Centre {
    mean: f64,
    variance: f64,
    repairs: usize,
}

#[derive(Clone, Copy, Debug, Default)]
struct Group {
    n: f64,
    mean: f64,
    /// Sum of squares about the mean.
    squares: f64,
}

/// 46 repairs of airborne radio sets, MIL-HDBK-338 §5.3.2.1.1 as quoted by others: mean and variance of the logarithms.
const START_MEAN: f64 = 0.658;
/// Of the example's variance (1.241) a half is taken to lie within items and a half between them: our own choice.
const START_VARIANCE: f64 = 0.62;
/// What a start value weighs: as much as so many repairs or items. Our own choice.
const START_WEIGHT: f64 = 4.0;
/// An item's own variance is weighed against at most so many degrees of freedom of the house, for items do differ: our
/// own choice.
const MOST_FREEDOM: f64 = 30.0;
/// Three minutes to a thousand hours: outside of it a figure is a slip of the pen.
const HOURS: (f64, f64) = (0.05, 1000.0);

impl Times {
    pub fn learn(repairs: &[PastRepair]) -> Self {
        let mut logs: BTreeMap<(String, String), Vec<f64>> = BTreeMap::new();
        for repair in repairs.iter().filter(|r| r.hours.is_finite()) {
            let log = repair.hours.clamp(HOURS.0, HOURS.1).ln();
            logs.entry((repair.class.clone(), repair.item.clone())).or_default().push(log);
        }
        let items: BTreeMap<_, _> = logs.iter().map(|(key, logs)| (key.clone(), Group::of(logs))).collect();
        let mut by_class: BTreeMap<String, Vec<Group>> = BTreeMap::new();
        for ((class, _), group) in &items {
            by_class.entry(class.clone()).or_default().push(*group);
        }
        let found = moments(by_class.values().map(Vec::as_slice));
        let within = mixed(found.within, found.within_freedom);
        let between = mixed(found.between.max(0.0), found.between_freedom);
        let own: BTreeMap<_, _> =
            by_class.iter().map(|(class, items)| (class.clone(), centre(items, within, between))).collect();
        let house = house(&own, between);
        let classes = own.into_iter().map(|(class, own)| (class, own.leaning_on(&house))).collect();
        Self { items, classes, house, within, freedom: START_WEIGHT + found.within_freedom, between }
    }

    pub fn of(&self, class: &str, item: &str) -> RepairTime {
        let centre = self.classes.get(class).unwrap_or(&self.house);
        let strength = self.within / (self.between + centre.variance);
        let freedom = self.freedom.min(MOST_FREEDOM);
        let group = self.items.get(&(class.to_owned(), item.to_owned())).copied().unwrap_or_default();
        let weight = group.n / (group.n + strength);
        let apart = group.mean - centre.mean;
        let squares = freedom * self.within + group.squares + weight * strength * apart * apart;
        let basis = if group.n > 0.0 {
            Basis::Item { repairs: count(group.n), weight }
        } else if self.classes.contains_key(class) {
            Basis::Class { repairs: centre.repairs }
        } else if centre.repairs > 0 {
            Basis::House { repairs: centre.repairs }
        } else {
            Basis::NothingYet
        };
        RepairTime {
            mean: centre.mean + weight * if group.n > 0.0 { apart } else { 0.0 },
            strength: strength + group.n,
            freedom: freedom + group.n,
            variance: squares / (freedom + group.n),
            basis,
        }
    }
}

/// Bühlmann and Straub's estimators, each figure of weight one, for groups that lie in classes with means of their own.
/// With one class it is the plain estimator.
pub fn within_and_between(classes: &[Vec<Vec<f64>>]) -> Moments {
    let classes: Vec<Vec<Group>> = classes.iter().map(|c| c.iter().map(|g| Group::of(g)).collect()).collect();
    moments(classes.iter().map(Vec::as_slice))
}

fn moments<'a>(classes: impl Iterator<Item = &'a [Group]>) -> Moments {
    let (mut squares, mut within_freedom) = (0.0, 0.0);
    let (mut apart, mut between_freedom, mut divisor) = (0.0, 0.0, 0.0);
    for groups in classes {
        let n: f64 = groups.iter().map(|g| g.n).sum();
        let mean = groups.iter().map(|g| g.n * g.mean).sum::<f64>() / n;
        squares += groups.iter().map(|g| g.squares).sum::<f64>();
        within_freedom += groups.iter().map(|g| g.n - 1.0).sum::<f64>();
        apart += groups.iter().map(|g| g.n * (g.mean - mean).powi(2)).sum::<f64>();
        between_freedom += groups.iter().map(|_| 1.0).sum::<f64>() - 1.0;
        divisor += n - groups.iter().map(|g| g.n * g.n).sum::<f64>() / n;
    }
    let within = if within_freedom > 0.0 { squares / within_freedom } else { START_VARIANCE };
    let between = if divisor > 0.0 { (apart - between_freedom * within) / divisor } else { START_VARIANCE };
    Moments { within, within_freedom, between, between_freedom }
}

fn mixed(found: f64, freedom: f64) -> f64 {
    (START_WEIGHT * START_VARIANCE + freedom * found) / (START_WEIGHT + freedom)
}

/// The mean of a class by its items, each weighed by what it knows.
fn centre(items: &[Group], within: f64, between: f64) -> Centre {
    let weights = items.iter().map(|g| 1.0 / (between + within / g.n));
    let sum: f64 = weights.clone().sum();
    let mean = weights.zip(items).map(|(w, g)| w * g.mean).sum::<f64>() / sum;
    Centre { mean, variance: 1.0 / sum, repairs: count(items.iter().map(|g| g.n).sum()) }
}

/// The mean of the house by its classes, with one start value; its variance is that of a class of which nothing is known.
fn house(classes: &BTreeMap<String, Centre>, between_items: f64) -> Centre {
    let n: f64 = classes.values().map(|_| 1.0).sum();
    let mean = classes.values().map(|c| c.mean).sum::<f64>() / n.max(1.0);
    let apart: f64 = classes.values().map(|c| (c.mean - mean).powi(2)).sum();
    let unsure: f64 = classes.values().map(|c| c.variance).sum::<f64>() / n.max(1.0);
    let found = (apart / (n - 1.0).max(1.0) - unsure).max(0.0);
    // Classes are taken to scatter as items do until several are known.
    let scatter =
        (START_WEIGHT * between_items + (n - 1.0).max(0.0) * found) / (START_WEIGHT + (n - 1.0).max(0.0));
    let weights = classes.values().map(|c| 1.0 / (scatter + c.variance));
    let start = 1.0 / (scatter + START_VARIANCE);
    let sum = start + weights.clone().sum::<f64>();
    let mean =
        (start * START_MEAN + weights.zip(classes.values()).map(|(w, c)| w * c.mean).sum::<f64>()) / sum;
    Centre { mean, variance: scatter + 1.0 / sum, repairs: classes.values().map(|c| c.repairs).sum() }
}

impl Centre {
    fn leaning_on(self, other: &Self) -> Self {
        let (own, theirs) = (1.0 / self.variance, 1.0 / other.variance);
        let variance = 1.0 / (own + theirs);
        Self { mean: variance * (own * self.mean + theirs * other.mean), variance, ..self }
    }
}

impl Group {
    fn of(logs: &[f64]) -> Self {
        let n: f64 = logs.iter().map(|_| 1.0).sum();
        if n == 0.0 {
            return Self::default();
        }
        let mean = logs.iter().sum::<f64>() / n;
        Self { n, mean, squares: logs.iter().map(|l| (l - mean).powi(2)).sum() }
    }
}

impl RepairTime {
    /// Hours that so great a share of repairs stays within, with all that is not known of mean and variance.
    pub fn hours_within(&self, share: f64) -> f64 {
        // So far out the two are the same to four digits, and statrs no longer gets to the end of its search.
        let t = match StudentsT::new(0.0, 1.0, self.freedom) {
            Ok(t) if self.freedom < 1000.0 => t.inverse_cdf(share),
            _ => Normal::standard().inverse_cdf(share),
        };
        (self.mean + t * self.scale()).exp()
    }

    /// Mean hours that are left after some are done: that much has been needed already, so it is a long repair. Reckoned on
    /// the lognormal, for the mean of what Student's t leaves is infinite.
    pub fn expected_left(&self, done: f64) -> f64 {
        let (sd, normal) = (self.scale(), Normal::standard());
        let whole = (self.mean + sd * sd / 2.0).min(HOURS.1.ln()).exp();
        if done <= 0.0 {
            return whole;
        }
        let z = (done.ln() - self.mean) / sd;
        let beyond = normal.cdf(-z);
        if beyond < 1e-6 {
            // Longer than anything known: as long again, by far not over.
            return done;
        }
        (whole * normal.cdf(sd - z) / beyond - done).max(0.0)
    }

    /// A mean and a standard deviation of logarithms as they may be.
    pub fn draw_law(&self, rng: &mut impl Rng) -> (f64, f64) {
        let sd = (self.freedom * self.variance / chi_squared(rng, self.freedom)).sqrt();
        (self.mean + normal(rng) * sd / self.strength.sqrt(), sd)
    }

    fn scale(&self) -> f64 {
        (self.variance * (1.0 + 1.0 / self.strength)).sqrt()
    }
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "counts")]
fn count(n: f64) -> usize {
    n as usize
}

#[cfg(test)]
mod tests;
