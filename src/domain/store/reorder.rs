//! When to order a part and how much: the reorder point from what was used and how long the part takes to come, the
//! quantity by the economic order quantity (EOQ). Where the figures do not carry that, by a set level and the minimum order.
//! Each figure says what it was made of.

use serde::{Deserialize, Serialize};
use statrs::distribution::{ContinuousCDF, Normal};

use super::Balance;
use super::supply::Supply;

/// Use of one part in one yard, a day after the other, in whole units: issued less returned.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Usage {
    pub daily: Vec<f64>,
}

/// How long deliveries took, in days.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LeadTimes {
    pub taken: Vec<f64>,
}

/// What the owner decides about the store.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Policy {
    /// The share of deliveries that should come before the part has run out, between 0.5 and 0.9999.
    pub service_level: f64,
    /// What one order costs to place, in minor units.
    pub order_cost_minor: Option<i64>,
    /// What it costs to hold a part for a year, as a share of its price.
    pub holding_share: Option<f64>,
}

/// What lies there and what is on its way, in thousandths of the unit.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Position {
    pub bin: Balance,
    pub on_order: i64,
    /// What work orders wait for that is not there to be reserved.
    pub lacking: i64,
}

/// At which position to order, and why there.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PointBy {
    /// From use and lead time: expected use while waiting, and a reserve on top. In whole units.
    Use { a_day: f64, lead_days: f64, reserve: f64, service_level: f64, point: f64 },
    /// By hand, for there is too little to reckon with.
    Level { level: f64, days_of_use: usize },
    /// Neither: only what work orders lack is ordered.
    LackOnly { days_of_use: usize },
}

#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum QuantityBy {
    /// The quantity at which ordering and holding cost the least together, a year.
    Economic { a_year: f64, quantity: f64 },
    /// Up to the point again, since that is more.
    UpToPoint,
    /// The supplier's least, since costs are not set or use is too thin.
    MinimumOrder,
}

/// What somebody should order.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Proposal {
    /// Thousandths of the unit, as the supplier takes it.
    pub quantity: i64,
    pub position: i64,
    pub point: PointBy,
    pub by: QuantityBy,
    /// Rounded up to what the supplier takes.
    pub rounded_up: bool,
}

/// Fewer days on which any was used say little of the days to come: our own cautious choice.
pub const FEWEST_DAYS_OF_USE: usize = 6;
/// As is a history shorter than this.
pub const SHORTEST_HISTORY: usize = 90;
/// Fewer deliveries than this say little of how they scatter.
const FEWEST_DELIVERIES: usize = 4;

impl Position {
    /// What will be there when all has come and all have been served.
    pub fn stands_at(&self) -> i64 {
        self.bin.on_hand - self.bin.reserved + self.on_order - self.lacking
    }
}

impl Usage {
    pub fn days_of_use(&self) -> usize {
        self.daily.iter().filter(|d| **d > 0.0).count()
    }

    fn carries(&self) -> bool {
        self.daily.len() >= SHORTEST_HISTORY && self.days_of_use() >= FEWEST_DAYS_OF_USE
    }
}

/// `d·L + z·√(L·σd² + d²·σL²)`: the level at which an order is placed so that the part lasts until it comes with this
/// probability. Demand and lead time are taken for independent and their sum for normal.
pub fn reorder_point(a_day: f64, a_day_sd: f64, lead_days: f64, lead_sd: f64, service_level: f64) -> f64 {
    a_day * lead_days + reserve(a_day, a_day_sd, lead_days, lead_sd, service_level)
}

/// The second part of it: what is kept for days that use more, and deliveries that take longer.
pub fn reserve(a_day: f64, a_day_sd: f64, lead_days: f64, lead_sd: f64, service_level: f64) -> f64 {
    let z = Normal::standard().inverse_cdf(service_level.clamp(0.5, 0.9999));
    z * (lead_days * a_day_sd * a_day_sd + a_day * a_day * lead_sd * lead_sd).sqrt()
}

/// `√(2·D·S / H)`: demand a year, cost of an order, cost of holding one for a year.
pub fn economic_quantity(a_year: f64, an_order: f64, holding: f64) -> Option<f64> {
    let quantity = (2.0 * a_year * an_order / holding).sqrt();
    (quantity.is_finite() && quantity > 0.0).then_some(quantity)
}

/// What to order, if anything. `level`: set by hand, in thousandths.
pub fn propose(
    position: Position,
    usage: &Usage,
    leads: &LeadTimes,
    level: Option<i64>,
    supply: &Supply,
    policy: Policy,
) -> Option<Proposal> {
    let stands = position.stands_at();
    let point = point_by(usage, leads, level, supply, policy);
    let at = match point {
        PointBy::Use { point, .. } => thousandths_up(point),
        PointBy::Level { .. } => level.unwrap_or(0),
        // Nothing is kept, but nobody is left waiting.
        PointBy::LackOnly { .. } => -1,
    };
    if stands > at {
        return None;
    }
    // Above it, or it would be asked for again at once.
    let up_to = as_sold((at + 1 - stands).max(-stands).max(1), supply);
    let (wanted, by) = match economic(usage, supply, policy) {
        Some((a_year, quantity)) if as_sold(thousandths_up(quantity), supply) >= up_to => {
            (as_sold(thousandths_up(quantity), supply), QuantityBy::Economic { a_year, quantity })
        }
        Some(_) => (up_to, QuantityBy::UpToPoint),
        None if up_to > supply.minimum_order => (up_to, QuantityBy::UpToPoint),
        None => (supply.minimum_order, QuantityBy::MinimumOrder),
    };
    let quantity = supply.orderable(wanted);
    Some(Proposal { quantity, position: stands, point, by, rounded_up: quantity > wanted })
}

/// Up to whole units: nobody sells a thousandth of a belt. What comes in packs is rounded by these, later.
const fn as_sold(quantity: i64, supply: &Supply) -> i64 {
    if supply.pack > 0 { quantity } else { (quantity + 999) / 1_000 * 1_000 }
}

fn point_by(
    usage: &Usage,
    leads: &LeadTimes,
    level: Option<i64>,
    supply: &Supply,
    policy: Policy,
) -> PointBy {
    let days_of_use = usage.days_of_use();
    if !usage.carries() {
        return match level {
            Some(level) => PointBy::Level { level: units(level), days_of_use },
            None => PointBy::LackOnly { days_of_use },
        };
    }
    let (a_day, a_day_sd) = mean_and_sd(&usage.daily);
    let (lead_days, lead_sd) = if leads.taken.len() >= FEWEST_DELIVERIES {
        mean_and_sd(&leads.taken)
    } else {
        (f64::from(supply.lead_days), 0.0)
    };
    let service_level = policy.service_level.clamp(0.5, 0.9999);
    let reserve = reserve(a_day, a_day_sd, lead_days, lead_sd, service_level);
    PointBy::Use { a_day, lead_days, reserve, service_level, point: a_day * lead_days + reserve }
}

/// Demand a year and the economic quantity, where all its figures are there.
fn economic(usage: &Usage, supply: &Supply, policy: Policy) -> Option<(f64, f64)> {
    if !usage.carries() {
        return None;
    }
    let a_year = mean_and_sd(&usage.daily).0 * 365.25;
    let holding = whole(supply.price.minor) * policy.holding_share?;
    Some((a_year, economic_quantity(a_year, whole(policy.order_cost_minor?), holding)?))
}

/// The mean, and the sample's standard deviation.
fn mean_and_sd(values: &[f64]) -> (f64, f64) {
    #[expect(clippy::cast_precision_loss, reason = "days of a history")]
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let squares: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
    (mean, (squares / (n - 1.0).max(1.0)).sqrt())
}

fn units(thousandths: i64) -> f64 {
    whole(thousandths) / 1000.0
}

#[expect(clippy::cast_precision_loss, reason = "quantities and prices are far below 2^53")]
fn whole(number: i64) -> f64 {
    number as f64
}

#[expect(clippy::cast_possible_truncation, reason = "held to what a store may hold")]
fn thousandths_up(units: f64) -> i64 {
    // A millionth less, so that what is whole but for the rounding of floats stays whole.
    (units * 1000.0 - 1e-6).ceil().clamp(0.0, whole(super::put_right::MOST)) as i64
}

#[cfg(test)]
mod tests;
