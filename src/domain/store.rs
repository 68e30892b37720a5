//! The store of parts: a balance that is the sum of its ledger, and what may be done to it.

pub mod faults;
pub mod put_right;
pub mod reorder;
pub mod shortage;
pub mod supply;

use super::money::share;
use super::refusal::Refusal;
use super::words::words;

words! {
    MovementKind {
        Receipt = "receipt",
        Issue = "issue",
        Return = "return",
        Adjustment = "adjustment",
        /// Between the bins of two yards: one line in each ledger.
        Transfer = "transfer",
    }
}

/// Thousandths of the part's unit; fractions are common (0.35 L of brake fluid).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Quantity(pub i64);

/// What is in the bin, what of it is spoken for, and what it is worth.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Balance {
    pub on_hand: i64,
    pub reserved: i64,
    pub worth_minor: i64,
}

/// One part on one work order.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Line {
    pub reserved: i64,
    /// Issued less returned.
    pub issued: i64,
    pub cost_minor: i64,
}

/// The line of the ledger that a step writes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Movement {
    pub kind: MovementKind,
    /// Signed: what it adds to the bin.
    pub quantity: i64,
    /// Signed: what it adds to the bin's worth.
    pub value_minor: i64,
}

impl Quantity {
    pub fn parse(pointer: &str, text: &str) -> Result<Self, Refusal> {
        match super::money::scaled(text, 3) {
            Some(q) if q > 0 => Ok(Self(q)),
            _ => Err(Refusal::invalid(pointer, said!("store-quantity"))),
        }
    }

    /// Also of what is below nothing: "-0.35".
    pub fn signed(thousandths: i64) -> String {
        let sign = if thousandths < 0 { "-" } else { "" };
        format!("{sign}{}", Self(thousandths.abs()))
    }
}

impl std::fmt::Display for Quantity {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let text = format!("{}.{:03}", self.0 / 1000, (self.0 % 1000).abs());
        f.write_str(text.trim_end_matches('0').trim_end_matches('.'))
    }
}

pub fn receive(bin: Balance, quantity: Quantity, value_minor: i64) -> Result<(Balance, Movement), Refusal> {
    if value_minor < 0 {
        return Err(Refusal::invalid("/value", said!("store-worth-nothing")));
    }
    if bin.on_hand + quantity.0 > put_right::MOST {
        return Err(put_right::StockFault::Absurd.refusal("/quantity"));
    }
    let after =
        Balance { on_hand: bin.on_hand + quantity.0, worth_minor: bin.worth_minor + value_minor, ..bin };
    Ok((after, Movement { kind: MovementKind::Receipt, quantity: quantity.0, value_minor }))
}

/// Takes from what this line reserved, then from what nobody did. Costed at the moving average; the last of a bin takes
/// all that is left of its worth, so that an empty bin is worth nothing.
pub fn issue(bin: Balance, line: Line, quantity: Quantity) -> Result<(Balance, Line, Movement), Refusal> {
    let mine = bin.on_hand - bin.reserved + line.reserved;
    if quantity.0 > mine {
        return Err(Refusal::conflict(said!("store-only-to-issue", most = Quantity(mine.max(0)))));
    }
    let value = if quantity.0 == bin.on_hand {
        bin.worth_minor
    } else {
        share(bin.worth_minor, quantity.0, bin.on_hand)
    };
    let from_reserved = quantity.0.min(line.reserved);
    Ok((
        Balance {
            on_hand: bin.on_hand - quantity.0,
            reserved: bin.reserved - from_reserved,
            worth_minor: bin.worth_minor - value,
        },
        Line {
            reserved: line.reserved - from_reserved,
            issued: line.issued + quantity.0,
            cost_minor: line.cost_minor + value,
        },
        Movement { kind: MovementKind::Issue, quantity: -quantity.0, value_minor: -value },
    ))
}

/// Back into the bin at what it was issued for.
pub fn give_back(bin: Balance, line: Line, quantity: Quantity) -> Result<(Balance, Line, Movement), Refusal> {
    if quantity.0 > line.issued {
        return Err(Refusal::conflict(said!("store-only-was-issued", most = Quantity(line.issued))));
    }
    let value = if quantity.0 == line.issued {
        line.cost_minor
    } else {
        share(line.cost_minor, quantity.0, line.issued)
    };
    Ok((
        Balance { on_hand: bin.on_hand + quantity.0, worth_minor: bin.worth_minor + value, ..bin },
        Line { issued: line.issued - quantity.0, cost_minor: line.cost_minor - value, ..line },
        Movement { kind: MovementKind::Return, quantity: quantity.0, value_minor: value },
    ))
}

/// What the order no longer needs goes back to the free stock.
pub fn unreserve(bin: Balance, line: Line) -> (Balance, Line) {
    (Balance { reserved: bin.reserved - line.reserved, ..bin }, Line { reserved: 0, ..line })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// Invariants 4 and 5 under any sequence of steps.
        #[test]
        fn the_balance_is_the_sum_of_the_ledger(steps in prop::collection::vec((0..5u8, 1..5_000i64, 0..100_000i64), 1..60)) {
            let (mut bin, mut line) = (Balance::default(), Line::default());
            let (mut quantity, mut worth) = (0, 0);
            for (step, q, value) in steps {
                let q = Quantity(q);
                let moved = match step {
                    0 => receive(bin, q, value).map(|(b, m)| (b, line, Some(m))),
                    1 => {
                        let taken = shortage::reserve(bin, line, q);
                        prop_assert_eq!(taken.reserved + taken.short, q.0);
                        Ok((taken.bin, taken.line, None))
                    }
                    2 => issue(bin, line, q).map(|(b, l, m)| (b, l, Some(m))),
                    3 => give_back(bin, line, q).map(|(b, l, m)| (b, l, Some(m))),
                    _ => { let (b, l) = unreserve(bin, line); Ok((b, l, None)) }
                };
                if let Ok((b, l, m)) = moved {
                    (bin, line) = (b, l);
                    if let Some(m) = m { quantity += m.quantity; worth += m.value_minor; }
                }
                prop_assert_eq!(bin.on_hand, quantity);
                prop_assert_eq!(bin.worth_minor, worth);
                prop_assert!(bin.on_hand >= 0 && bin.worth_minor >= 0 && line.cost_minor >= 0);
                prop_assert!(0 <= bin.reserved && bin.reserved <= bin.on_hand);
                prop_assert_eq!(bin.reserved, line.reserved);
            }
        }
    }

    #[test]
    fn the_average_moves() {
        let (bin, _) = receive(Balance::default(), Quantity(10_000), 1_000).unwrap();
        let (bin, _) = receive(bin, Quantity(10_000), 3_000).unwrap();
        let (bin, line, movement) = issue(bin, Line::default(), Quantity(5_000)).unwrap();
        assert_eq!((movement.value_minor, line.cost_minor, bin.worth_minor), (-1_000, 1_000, 3_000));
    }
}
