//! When the bin and the books differ: adjustments with a reason, stock-takes, and stock that goes from yard to yard.

use serde::{Deserialize, Serialize};

use super::super::ids::WorkOrderId;
use super::super::money::share;
use super::super::words::words;
use super::{Balance, Movement, MovementKind, Quantity};

words! {
    /// Why stock is put right by hand.
    AdjustmentReason {
        Counted = "counted",
        Damaged = "damaged",
        Lost = "lost",
        Found = "found",
        TooOld = "too old",
        WrongEntry = "wrong entry",
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum StockFault {
    /// Nothing would change.
    NoChange,
    /// More is taken than lies there.
    BelowNothing { on_hand: i64 },
    /// What is left would not do for what is reserved.
    BelowReserved { reserved: i64 },
    /// More than any store holds of one part.
    Absurd,
    /// So much was taken since the count that it cannot be right.
    CountAgain { taken_since: i64 },
    /// Only what nobody reserved may go to another yard.
    NotFree { free: i64 },
}

/// A reservation on this bin, the oldest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reserved {
    pub order: WorkOrderId,
    pub quantity: i64,
}

/// What a count found, and who goes short by it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StockTake {
    pub bin: Balance,
    /// None when the books were right.
    pub movement: Option<Movement>,
    /// What is taken off reservations, the newest first: these orders wait for parts.
    pub short: Vec<Reserved>,
}

/// Both bins after stock went from one yard to another, with a line for each one's ledger.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Transferred {
    pub from: (Balance, Movement),
    pub to: (Balance, Movement),
}

/// A million of the unit: our own sanity limit.
pub const MOST: i64 = 1_000_000_000;

/// Adds or takes away, by a reason that is kept. What is taken goes at the moving average. What is found comes in at the
/// moving average of what is there, or at `last_cost` (minor units for one whole unit) where nothing is.
pub fn adjust(bin: Balance, change: i64, last_cost: i64) -> Result<(Balance, Movement), StockFault> {
    if change == 0 {
        return Err(StockFault::NoChange);
    }
    let on_hand = bin.on_hand.checked_add(change).ok_or(StockFault::Absurd)?;
    if on_hand > MOST {
        return Err(StockFault::Absurd);
    }
    if on_hand < 0 {
        return Err(StockFault::BelowNothing { on_hand: bin.on_hand });
    }
    if on_hand < bin.reserved {
        return Err(StockFault::BelowReserved { reserved: bin.reserved });
    }
    let value_minor = if on_hand == 0 {
        -bin.worth_minor
    } else if bin.on_hand == 0 {
        share(last_cost.max(0), change, 1000)
    } else {
        change.signum() * share(bin.worth_minor, change.abs(), bin.on_hand)
    };
    let after = Balance { on_hand, worth_minor: bin.worth_minor + value_minor, ..bin };
    Ok((after, Movement { kind: MovementKind::Adjustment, quantity: change, value_minor }))
}

/// `counted` lay there when the books said `booked_then`; what moved since is not part of the difference. The count is the
/// truth: where less is there than is reserved, the newest reservations go.
pub fn count(
    bin: Balance,
    counted: i64,
    booked_then: i64,
    reservations: &[Reserved],
    last_cost: i64,
) -> Result<StockTake, StockFault> {
    if !(0..=MOST).contains(&counted) {
        return Err(StockFault::Absurd);
    }
    let change = counted - booked_then;
    let on_hand = bin.on_hand + change;
    if on_hand < 0 {
        return Err(StockFault::CountAgain { taken_since: booked_then - bin.on_hand });
    }
    let mut over = (bin.reserved - on_hand).max(0);
    let mut short = Vec::new();
    for held in reservations.iter().rev() {
        let quantity = held.quantity.min(over);
        if quantity > 0 {
            short.push(Reserved { order: held.order, quantity });
            over -= quantity;
        }
    }
    let freed: i64 = short.iter().map(|s| s.quantity).sum();
    let bin = Balance { reserved: bin.reserved - freed, ..bin };
    match adjust(bin, change, last_cost) {
        Ok((bin, movement)) => Ok(StockTake { bin, movement: Some(movement), short }),
        Err(StockFault::NoChange) => Ok(StockTake { bin, movement: None, short }),
        Err(fault) => Err(fault),
    }
}

/// From one yard's bin to another's, worth and all: the site is worth as much as before.
pub fn transfer(from: Balance, to: Balance, quantity: Quantity) -> Result<Transferred, StockFault> {
    let free = from.on_hand - from.reserved;
    if quantity.0 <= 0 {
        return Err(StockFault::NoChange);
    }
    if quantity.0 > free {
        return Err(StockFault::NotFree { free: free.max(0) });
    }
    if to.on_hand + quantity.0 > MOST {
        return Err(StockFault::Absurd);
    }
    let value = if quantity.0 == from.on_hand {
        from.worth_minor
    } else {
        share(from.worth_minor, quantity.0, from.on_hand)
    };
    let step = |bin: Balance, sign: i64| {
        let (quantity, value_minor) = (sign * quantity.0, sign * value);
        let after =
            Balance { on_hand: bin.on_hand + quantity, worth_minor: bin.worth_minor + value_minor, ..bin };
        (after, Movement { kind: MovementKind::Transfer, quantity, value_minor })
    };
    Ok(Transferred { from: step(from, -1), to: step(to, 1) })
}

#[cfg(test)]
mod tests;
