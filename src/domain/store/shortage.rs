//! What a work order asks for and is not there: it is noted as lacking, and served in the queue's order when more comes.

use super::super::ids::WorkOrderId;
use super::{Balance, Line, Quantity};

/// What came of asking for a quantity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reserving {
    pub bin: Balance,
    pub line: Line,
    pub reserved: i64,
    /// What was not there.
    pub short: i64,
}

/// A work order that lacks some of the part, in its place of the queue.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lacking {
    pub order: WorkOrderId,
    pub quantity: i64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Served {
    pub order: WorkOrderId,
    pub reserved: i64,
    /// What it still lacks.
    pub still: i64,
}

/// Reserves what is free of it.
pub fn reserve(bin: Balance, line: Line, quantity: Quantity) -> Reserving {
    let reserved = quantity.0.min(bin.on_hand - bin.reserved).max(0);
    Reserving {
        bin: Balance { reserved: bin.reserved + reserved, ..bin },
        line: Line { reserved: line.reserved + reserved, ..line },
        reserved,
        short: quantity.0 - reserved,
    }
}

/// Shares what is free among those who lack it, the first in the queue first: each gets all it lacks, or what is left.
pub fn serve(bin: Balance, lacking: &[Lacking]) -> (Balance, Vec<Served>) {
    let mut bin = bin;
    let mut served = Vec::new();
    for l in lacking {
        let reserved = l.quantity.min(bin.on_hand - bin.reserved).max(0);
        if reserved > 0 {
            bin.reserved += reserved;
            served.push(Served { order: l.order, reserved, still: l.quantity - reserved });
        }
    }
    (bin, served)
}

/// What an order lacks of a part after some of it was issued: what came from its own reservation was not lacking.
pub fn after_issue(lacking: i64, issued: i64, from_reserved: i64) -> i64 {
    (lacking - (issued - from_reserved)).max(0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use uuid::Uuid;

    fn order(n: u128) -> WorkOrderId {
        WorkOrderId(Uuid::from_u128(n))
    }

    #[test]
    fn what_is_there_is_reserved_and_the_rest_is_lacking() {
        let bin = Balance { on_hand: 3_000, reserved: 1_000, worth_minor: 90 };
        let r = reserve(bin, Line::default(), Quantity(5_000));
        assert_eq!((r.reserved, r.short, r.bin.reserved, r.line.reserved), (2_000, 3_000, 3_000, 2_000));
        let none = reserve(r.bin, r.line, Quantity(1));
        assert_eq!((none.reserved, none.short, none.bin), (0, 1, r.bin));
    }

    #[test]
    fn the_first_in_the_queue_is_served_first() {
        let bin = Balance { on_hand: 4_000, reserved: 1_000, worth_minor: 0 };
        let lacking =
            [(1, 2_000), (2, 2_000), (3, 1)].map(|(n, quantity)| Lacking { order: order(n), quantity });
        let (after, served) = serve(bin, &lacking);
        assert_eq!(after.reserved, 4_000);
        let served: Vec<_> = served.iter().map(|s| (s.order, s.reserved, s.still)).collect();
        assert_eq!(served, [(order(1), 2_000, 0), (order(2), 1_000, 1_000)]);
    }

    proptest! {
        #[test]
        fn no_more_is_reserved_than_lies_there(on_hand in 0..9_000_i64, taken in 0..9_000_i64, lacks in prop::collection::vec(1..4_000_i64, 0..8)) {
            let bin = Balance { on_hand, reserved: taken.min(on_hand), worth_minor: 7 };
            let lacking: Vec<_> = lacks.iter().zip(1..).map(|(q, n)| Lacking { order: order(n), quantity: *q }).collect();
            let (after, served) = serve(bin, &lacking);
            let given: i64 = served.iter().map(|s| s.reserved).sum();
            prop_assert_eq!(after, Balance { reserved: bin.reserved + given, ..bin });
            prop_assert!(after.reserved <= after.on_hand);
            // Nothing lies free while somebody lacks it.
            prop_assert_eq!(given, (on_hand - bin.reserved).min(lacks.iter().sum()));
        }

        #[test]
        fn what_is_issued_is_not_lacking_any_more(lacking in 0..5_000_i64, reserved in 0..5_000_i64, issued in 1..9_000_i64) {
            let from_reserved = issued.min(reserved);
            let left = after_issue(lacking, issued, from_reserved);
            prop_assert!((0..=lacking).contains(&left));
            prop_assert!(issued > reserved || left == lacking);
        }
    }
}
