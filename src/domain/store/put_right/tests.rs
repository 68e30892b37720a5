use proptest::prelude::*;
use uuid::Uuid;

use super::*;

fn bin(on_hand: i64, reserved: i64, worth_minor: i64) -> Balance {
    Balance { on_hand, reserved, worth_minor }
}

fn held(n: u128, quantity: i64) -> Reserved {
    Reserved { order: WorkOrderId(Uuid::from_u128(n)), quantity }
}

#[test]
fn adjustments() {
    let (after, movement) = adjust(bin(4_000, 1_000, 800), -1_000, 0).expect("fits");
    assert_eq!((after, movement.value_minor), (bin(3_000, 1_000, 600), -200));
    let (after, _) = adjust(bin(4_000, 0, 801), -4_000, 0).expect("fits");
    assert_eq!(after, bin(0, 0, 0), "an empty bin is worth nothing");
    let (after, movement) = adjust(bin(0, 0, 0), 1_500, 300).expect("fits");
    assert_eq!((after, movement.quantity), (bin(1_500, 0, 450), 1_500));
    assert_eq!(adjust(bin(4_000, 0, 800), 0, 0), Err(StockFault::NoChange));
    assert_eq!(adjust(bin(4_000, 0, 800), -4_001, 0), Err(StockFault::BelowNothing { on_hand: 4_000 }));
    assert_eq!(adjust(bin(4_000, 500, 800), -3_501, 0), Err(StockFault::BelowReserved { reserved: 500 }));
    assert_eq!(adjust(bin(4_000, 0, 800), MOST, 0), Err(StockFault::Absurd));
    assert_eq!(adjust(bin(4_000, 0, 800), i64::MAX, 0), Err(StockFault::Absurd));
}

#[test]
fn a_count_is_the_truth() {
    let books = bin(10_000, 7_000, 1_000);
    let reservations = [held(1, 3_000), held(2, 4_000)];
    let take = count(books, 5_000, 10_000, &reservations, 0).expect("counts");
    assert_eq!(take.bin, bin(5_000, 5_000, 500));
    assert_eq!(take.short, [held(2, 2_000)], "the newest reservation goes first");
    let right = count(books, 10_000, 10_000, &reservations, 0).expect("counts");
    assert_eq!((right.bin, right.movement, right.short.len()), (books, None, 0));
    let nothing = count(books, 0, 10_000, &reservations, 0).expect("counts");
    assert_eq!((nothing.bin, nothing.short.len()), (bin(0, 0, 0), 2));
}

#[test]
fn what_moved_since_the_count_is_no_difference() {
    // 10 were booked and 9 counted; since then 4 were issued.
    let take = count(bin(6_000, 0, 600), 9_000, 10_000, &[], 0).expect("counts");
    assert_eq!(take.bin.on_hand, 5_000);
    let impossible = count(bin(1_000, 0, 100), 2_000, 10_000, &[], 0);
    assert_eq!(impossible, Err(StockFault::CountAgain { taken_since: 9_000 }));
    for absurd in [-1, MOST + 1] {
        assert_eq!(count(bin(1_000, 0, 100), absurd, 1_000, &[], 0), Err(StockFault::Absurd));
    }
}

#[test]
fn from_yard_to_yard() {
    let done = transfer(bin(3_000, 1_000, 100), bin(0, 0, 0), Quantity(2_000)).expect("fits");
    let ((from, out), (to, into)) = (done.from, done.to);
    assert_eq!((from, to), (bin(1_000, 1_000, 33), bin(2_000, 0, 67)));
    assert_eq!((out.quantity + into.quantity, out.value_minor + into.value_minor), (0, 0));
    let too_much = transfer(bin(3_000, 1_000, 100), bin(0, 0, 0), Quantity(2_001));
    assert_eq!(too_much, Err(StockFault::NotFree { free: 2_000 }));
    for none in [0, -1] {
        assert_eq!(transfer(bin(3_000, 0, 0), bin(0, 0, 0), Quantity(none)), Err(StockFault::NoChange));
    }
}

proptest! {
    /// Invariant 4 in two yards at once: each bin is the sum of its ledger, never below what is reserved, and the site
    /// gains or loses only by adjustments.
    #[test]
    fn the_books_stay_right(steps in prop::collection::vec((0..4_u8, any::<bool>(), -3_000..3_000_i64, 0..9_000_i64), 1..60)) {
        let mut bins = [bin(5_000, 1_500, 777), bin(2_000, 0, 13)];
        let mut ledgers = bins.map(|b| (b.on_hand, b.worth_minor));
        for (step, second, change, then) in steps {
            let here = usize::from(second);
            let before = bins;
            let mut moved = |n: usize, (after, m): (Balance, Movement)| {
                bins[n] = after;
                ledgers[n].0 += m.quantity;
                ledgers[n].1 += m.value_minor;
            };
            match step {
                0 => if let Ok(done) = adjust(before[here], change, 250) { moved(here, done) },
                1 => if let Ok(done) = transfer(before[here], before[1 - here], Quantity(change)) {
                    moved(here, done.from);
                    moved(1 - here, done.to);
                },
                2 => {
                    let reserved = before[here].reserved;
                    let parts = [held(1, reserved / 3), held(2, reserved - reserved / 3)];
                    if let Ok(take) = count(before[here], then, before[here].on_hand, &parts, 250) {
                        prop_assert_eq!(take.bin.on_hand, then);
                        let short: i64 = take.short.iter().map(|s| s.quantity).sum();
                        prop_assert_eq!(take.bin.reserved, reserved - short);
                        prop_assert!(short == 0 || take.bin.reserved == then, "no more is taken than must be");
                        match take.movement {
                            Some(m) => moved(here, (take.bin, m)),
                            None => bins[here] = take.bin,
                        }
                    }
                }
                _ => {
                    let line = super::super::Line { reserved: before[here].reserved, ..Default::default() };
                    let asked = super::super::shortage::reserve(before[here], line, Quantity(change.abs() + 1));
                    let after = asked.bin;
                    if asked.short == 0 {
                        bins[here] = after;
                    }
                }
            }
            for (b, ledger) in bins.iter().zip(ledgers) {
                prop_assert_eq!((b.on_hand, b.worth_minor), ledger);
                prop_assert!(0 <= b.reserved && b.reserved <= b.on_hand && b.worth_minor >= 0);
                prop_assert!(b.on_hand > 0 || b.worth_minor == 0, "an empty bin is worth nothing");
            }
        }
    }
}
