//! What labour costs: the rate of the mechanic's grade on that day, overtime on top, exact in minor units. Each entry is
//! rounded once, to the nearest unit, halves to even; its cost is a line of its work order.

use chrono::NaiveDate;
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};

use super::super::currency::{Amount, Currency, OtherCurrency};
use super::super::ids::LabourId;
use super::super::money::nearest;
use super::super::shift::Span;
use super::overtime::{OvertimeRule, Piece};

/// A mechanic's grade, in the words of the house ("apprentice").
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Grade(pub String);

/// What an hour of a grade costs from a day on, by the yard's clock, until the next one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rate {
    pub grade: Grade,
    pub from: NaiveDate,
    pub an_hour: Amount,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RateFault {
    /// Nobody has said what the grade costs on that day. It is never taken for nothing.
    NoRate {
        grade: Grade,
        day: NaiveDate,
    },
    OtherCurrency(OtherCurrency),
    /// Below nothing, or more than anybody is paid.
    Absurd(Amount),
}

/// What one entry costs, and what that is made of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cost {
    pub entry: LabourId,
    pub minor: i64,
    pub seconds: i64,
    pub overtime_seconds: i64,
}

/// A million an hour: our own sanity limit.
const MOST_AN_HOUR: i64 = 100_000_000;

/// Dated rates in the currency of the books.
#[derive(Clone, Debug)]
pub struct Rates {
    currency: Currency,
    rates: Vec<Rate>,
}

impl Rates {
    pub fn new(currency: Currency, mut rates: Vec<Rate>) -> Result<Self, RateFault> {
        for rate in &rates {
            let minor = currency.minor_of(rate.an_hour).map_err(RateFault::OtherCurrency)?;
            if !(0..=MOST_AN_HOUR).contains(&minor) {
                return Err(RateFault::Absurd(rate.an_hour));
            }
        }
        rates.sort_by(|a, b| (&a.grade, a.from).cmp(&(&b.grade, b.from)));
        Ok(Self { currency, rates })
    }

    pub fn currency(&self) -> Currency {
        self.currency
    }

    /// Minor units an hour on a day: the newest rate that has begun.
    pub fn on(&self, grade: &Grade, day: NaiveDate) -> Result<i64, RateFault> {
        let begun = self.rates.iter().rev().find(|r| r.grade == *grade && r.from <= day);
        begun.map(|r| r.an_hour.minor).ok_or_else(|| RateFault::NoRate { grade: grade.clone(), day })
    }
}

/// Costs of one mechanic's ended entries, which are in order and all of their weeks: see [`OvertimeRule::pieces`].
pub fn costs(
    entries: &[(LabourId, Span)],
    grade: &Grade,
    rates: &Rates,
    rule: &OvertimeRule,
    zone: Tz,
) -> Result<Vec<Cost>, RateFault> {
    let spans: Vec<Span> = entries.iter().map(|(_, span)| *span).collect();
    let mut exact = vec![0_i128; entries.len()];
    let mut costs: Vec<Cost> = entries
        .iter()
        .map(|(entry, _)| Cost { entry: *entry, minor: 0, seconds: 0, overtime_seconds: 0 })
        .collect();
    for Piece { of, day, seconds, percent } in rule.pieces(&spans, zone) {
        exact[of] += i128::from(rates.on(grade, day)?) * i128::from(seconds) * i128::from(100 + percent);
        costs[of].seconds += seconds;
        costs[of].overtime_seconds += if percent > 0 { seconds } else { 0 };
    }
    for (cost, exact) in costs.iter_mut().zip(exact) {
        cost.minor = nearest(exact, 100 * 3600);
    }
    Ok(costs)
}
