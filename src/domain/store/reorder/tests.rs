use proptest::prelude::*;

use super::super::super::currency::{Amount, Currency};
use super::*;

fn near(found: f64, expected: f64, places: i32) {
    assert!((found - expected).abs() < 0.5 * 10_f64.powi(-places), "{found} is not {expected}");
}

/// Textbook exercises of operations management, read in secondary pages and computed again with scipy; the books take z
/// from a table (2.05, 1.28, 1.65) and so print 67.72, 1718 and 1868 (with σ rounded to 405). Here z is exact.
#[test]
fn published_reorder_points() {
    // D = 32 000 a year of 300 days, L = 5 days.
    near(reorder_point(32_000.0 / 300.0, 0.0, 5.0, 0.0, 0.98), 533.333, 3);
    // D = 2400 a year of 365 days, σ = 4 a day, L = 7, 98 %.
    near(reserve(2_400.0 / 365.0, 4.0, 7.0, 0.0, 0.98), 10.583_005 * 2.053_749, 4);
    near(reorder_point(2_400.0 / 365.0, 4.0, 7.0, 0.0, 0.98), 67.762_233, 5);
    // d = 200, σd = 25, L = 6, σL = 2.
    near(reorder_point(200.0, 25.0, 6.0, 2.0, 0.90), 1718.593, 3);
    near(reorder_point(200.0, 25.0, 6.0, 2.0, 0.95), 1865.607, 3);
}

/// From the same exercises.
#[test]
fn published_order_quantities() {
    near(economic_quantity(32_000.0, 10.0, 4.0).expect("a quantity"), 400.0, 9);
    near(economic_quantity(2_400.0, 5.0, 4.0).expect("a quantity"), 77.459_667, 6);
    for (d, s, h) in [(0.0, 10.0, 4.0), (100.0, 0.0, 4.0), (100.0, 10.0, 0.0), (100.0, 10.0, -1.0)] {
        assert_eq!(economic_quantity(d, s, h), None);
    }
}

fn supply(minimum_order: i64, pack: i64) -> Supply {
    let price = Amount { minor: 400, currency: Currency::parse("NOK").expect("a code") };
    Supply { supplier: "Fjell Supplies".into(), price, minimum_order, pack, lead_days: 5 }
}

const POLICY: Policy =
    Policy { service_level: 0.95, order_cost_minor: Some(1_000), holding_share: Some(0.25) };

fn position(on_hand: i64, reserved: i64, on_order: i64, lacking: i64) -> Position {
    Position { bin: Balance { on_hand, reserved, worth_minor: 0 }, on_order, lacking }
}

/// One used every second day: a mean of 0.5 and a known scatter.
fn steady() -> Usage {
    Usage { daily: (0..100).map(|d| f64::from(d % 2)).collect() }
}

#[test]
fn where_use_carries_it() {
    let none = LeadTimes::default();
    let found =
        propose(position(2_000, 0, 0, 0), &steady(), &none, None, &supply(0, 1_000), POLICY).expect("low");
    let PointBy::Use { a_day, lead_days, reserve, point, .. } = found.point else { panic!("{found:?}") };
    assert_eq!((a_day, lead_days), (0.5, 5.0));
    // σ of 50 ones and 50 noughts is √(25/99); z of 95 % is 1.644854.
    near(reserve, 1.644_854 * (5.0 * 25.0 / 99.0_f64).sqrt(), 5);
    near(point, 2.5 + reserve, 9);
    // 182.625 a year, 1000 an order, 100 to hold one: √3652.5 = 60.4, in whole packs 61.
    let QuantityBy::Economic { a_year, quantity } = found.by else { panic!("{found:?}") };
    assert_eq!(a_year, 182.625);
    near(quantity, 60.436, 3);
    assert_eq!((found.quantity, found.rounded_up), (61_000, true));
    let enough = position(5_000, 0, 0, 0);
    assert_eq!(propose(enough, &steady(), &none, None, &supply(0, 1_000), POLICY), None);
    let on_its_way = position(1_000, 0, 4_000, 0);
    assert_eq!(propose(on_its_way, &steady(), &none, None, &supply(0, 1_000), POLICY), None);
    assert!(
        propose(position(5_000, 4_000, 0, 0), &steady(), &none, None, &supply(0, 1_000), POLICY).is_some()
    );
    // Deliveries that were slower and scattered raise the point.
    let slow = LeadTimes { taken: vec![6.0, 9.0, 12.0, 13.0] };
    let slower = propose(enough, &steady(), &slow, None, &supply(0, 1_000), POLICY).expect("low now");
    assert!(
        matches!(slower.point, PointBy::Use { lead_days, point: p, .. } if lead_days == 10.0 && p > point + 2.5)
    );
}

#[test]
fn where_it_does_not() {
    let none = LeadTimes::default();
    let thin = Usage { daily: vec![0.0; 200] };
    let by_level = propose(position(1_000, 0, 0, 0), &thin, &none, Some(2_000), &supply(5_000, 0), POLICY);
    let by_level = by_level.expect("below its level");
    assert_eq!(by_level.point, PointBy::Level { level: 2.0, days_of_use: 0 });
    assert_eq!((by_level.by, by_level.quantity), (QuantityBy::MinimumOrder, 5_000));
    // As much as its level is there: one whole unit lifts it above that.
    let at_level = propose(position(2_000, 0, 0, 0), &thin, &none, Some(2_000), &supply(0, 0), POLICY);
    assert_eq!(at_level.expect("at its level").quantity, 1_000);
    assert_eq!(propose(position(3_000, 0, 0, 0), &thin, &none, Some(2_000), &supply(0, 0), POLICY), None);
    assert_eq!(propose(position(0, 0, 0, 0), &thin, &none, None, &supply(5_000, 0), POLICY), None);
    let lacking = propose(position(0, 0, 0, 7_500), &thin, &none, None, &supply(5_000, 2_000), POLICY);
    let lacking = lacking.expect("a work order waits");
    assert_eq!((lacking.by, lacking.quantity, lacking.rounded_up), (QuantityBy::UpToPoint, 8_000, true));
    // Steady use without costs: the point is reckoned, the quantity is not.
    let no_costs = Policy { order_cost_minor: None, ..POLICY };
    let found =
        propose(position(0, 0, 0, 0), &steady(), &none, None, &supply(10_000, 0), no_costs).expect("low");
    assert!(matches!(found.point, PointBy::Use { .. }));
    assert_eq!(found.by, QuantityBy::MinimumOrder);
    // A short history is not trusted, however busy.
    let busy = Usage { daily: vec![3.0; SHORTEST_HISTORY - 1] };
    assert_eq!(propose(position(0, 0, 0, 0), &busy, &none, None, &supply(0, 0), POLICY), None);
}

proptest! {
    /// Whatever the figures: what is proposed is taken by the supplier, leaves nobody waiting and lifts the position to
    /// its point; a higher service level never lowers the point.
    #[test]
    fn a_proposal_helps(
        daily in prop::collection::vec(0.0..4.0_f64, 0..200),
        leads in prop::collection::vec(0.0..40.0_f64, 0..8),
        (on_hand, on_order, lacking) in (0..50_000_i64, 0..20_000_i64, 0..20_000_i64),
        level in prop::option::of(0..30_000_i64),
        (minimum, pack) in (0..9_000_i64, 0..5_000_i64),
        service_level in 0.5..0.999_f64,
    ) {
        let (usage, leads) = (Usage { daily }, LeadTimes { taken: leads });
        let position = position(on_hand, on_hand / 3, on_order, lacking);
        let supply = supply(minimum, pack);
        let policy = Policy { service_level, ..POLICY };
        let proposed = propose(position, &usage, &leads, level, &supply, policy);
        let stands = position.stands_at();
        match proposed {
            Some(p) => {
                prop_assert_eq!(supply.takes(p.quantity), Ok(()));
                prop_assert!(stands + p.quantity >= 0, "nobody is left waiting");
                if let PointBy::Use { point, .. } = p.point {
                    prop_assert!(units(stands + p.quantity) >= point - 1e-6);
                }
            }
            None => prop_assert!(stands >= 0, "somebody waits and nothing is ordered"),
        }
        let stricter = Policy { service_level: service_level + 0.0005, ..POLICY };
        if let (PointBy::Use { point: a, .. }, PointBy::Use { point: b, .. }) = (point_by(&usage, &leads, level, &supply, policy), point_by(&usage, &leads, level, &supply, stricter)) {
            prop_assert!(b >= a);
        }
    }
}
