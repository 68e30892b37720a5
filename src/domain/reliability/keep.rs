//! Keep it or replace it: sums that somebody can follow, with what they typed and what is on record. It decides nothing.

use crate::domain::money::{nearest, share};

/// What only people know, in minor units.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Typed {
    /// What another machine costs.
    pub price: i64,
    /// What this one still brings.
    pub brings: i64,
    /// For how many years the other one is kept.
    pub years: i64,
    /// What repairs of the other one are expected to cost a year.
    pub repairs: i64,
}

/// Each line of the sum, in minor units.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sum {
    /// Price less what this one brings.
    pub paid: i64,
    pub paid_a_year: i64,
    pub replace_a_year: i64,
    pub keep_a_year: i64,
    /// Keep less replace: above zero, keeping costs more.
    pub keep_costs_more: i64,
}

/// `repairs` is what this machine's repairs cost in the last twelve months. None where the years make no sense.
pub fn keep_or_replace(repairs: i64, typed: Typed) -> Option<Sum> {
    if !(1..=50).contains(&typed.years) {
        return None;
    }
    let paid = typed.price - typed.brings;
    let paid_a_year = nearest(i128::from(paid), i128::from(typed.years));
    let replace_a_year = paid_a_year + typed.repairs;
    Some(Sum {
        paid,
        paid_a_year,
        replace_a_year,
        keep_a_year: repairs,
        keep_costs_more: repairs - replace_a_year,
    })
}

/// Minor units an engine hour, from tenths of an hour. None where the engine did not run.
pub fn cost_an_hour(cost: i64, tenths: i64) -> Option<i64> {
    (tenths > 0).then(|| share(cost, 10, tenths))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 18,000 less 3,000 over 6 years is 2,500 a year, and 400 of repairs; this one cost 3,150.
    #[test]
    fn line_by_line() {
        let typed = Typed { price: 1_800_000, brings: 300_000, years: 6, repairs: 40_000 };
        let sum = keep_or_replace(315_000, typed).unwrap();
        assert_eq!((sum.paid, sum.paid_a_year, sum.replace_a_year), (1_500_000, 250_000, 290_000));
        assert_eq!((sum.keep_a_year, sum.keep_costs_more), (315_000, 25_000));
        assert_eq!(keep_or_replace(0, Typed { years: 0, ..typed }), None);
        // It may bring more than the other one costs.
        let sum = keep_or_replace(0, Typed { price: 100, brings: 250, years: 1, repairs: 0 }).unwrap();
        assert_eq!((sum.paid_a_year, sum.keep_costs_more), (-150, 150));
    }

    #[test]
    fn an_hour_costs() {
        assert_eq!(cost_an_hour(31_500, 1_260), Some(250));
        assert_eq!(cost_an_hour(31_500, 0), None);
    }
}
