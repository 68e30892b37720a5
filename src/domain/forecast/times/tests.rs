use proptest::prelude::*;
use rand::SeedableRng;
use rand::rngs::Xoshiro256PlusPlus;

use super::*;

fn near(found: f64, expected: f64, within: f64) {
    assert!((found - expected).abs() <= within, "{found} is not {expected}");
}

fn repair(class: &str, item: &str, hours: f64) -> PastRepair {
    PastRepair { class: class.into(), item: item.into(), hours }
}

/// Hachemeister's bodily injury claims (1975), average claim by state and quarter, as in R's actuar. Unweighted, its `cm`
/// gives 1671.017 for the collective premium, 72 310.02 between and 46 040.47 within (from memory).
#[test]
fn buehlmann_on_hachemeisters_claims() {
    let states: [[f64; 12]; 5] = [
        [1738., 1642., 1794., 2051., 2079., 2234., 2032., 2035., 2115., 2262., 2267., 2517.],
        [1364., 1408., 1597., 1444., 1342., 1675., 1470., 1448., 1464., 1831., 1612., 1471.],
        [1759., 1685., 1479., 1763., 1674., 2103., 1502., 1622., 1828., 2155., 2233., 2059.],
        [1223., 1146., 1010., 1257., 1426., 1532., 1953., 1123., 1343., 1243., 1762., 1306.],
        [1456., 1499., 1609., 1741., 1482., 1572., 1606., 1735., 1607., 1573., 1613., 1690.],
    ];
    let groups: Vec<Vec<f64>> = states.iter().map(|s| s.to_vec()).collect();
    let found = within_and_between(std::slice::from_ref(&groups));
    near(found.within, 46_040.47, 0.005);
    near(found.between, 72_310.02, 0.005);
    let items: Vec<Group> = groups.iter().map(|g| Group::of(g)).collect();
    near(centre(&items, found.within, found.between).mean, 1_671.017, 0.0005);
}

/// The 46 repairs of the example in MIL-HDBK-338 §5.3.2.1.1 as quoted by others; μ, s, the median, the mean and the 95 %
/// point were computed with scipy (s with n − 1).
const EXAMPLE: [f64; 46] = [
    0.2, 0.3, 0.5, 0.5, 0.5, 0.5, 0.6, 0.6, 0.7, 0.7, 0.7, 0.8, 0.8, 1.0, 1.0, 1.0, 1.0, 1.1, 1.3, 1.5, 1.5,
    1.5, 1.5, 2.0, 2.0, 2.2, 2.5, 2.7, 3.0, 3.0, 3.3, 3.3, 4.0, 4.0, 4.5, 4.7, 5.0, 5.4, 5.4, 7.0, 7.5, 8.8,
    9.0, 10.3, 22.0, 24.5,
];

#[test]
fn lognormal_on_the_published_example() {
    let logs: Vec<f64> = EXAMPLE.iter().map(|h: &f64| h.ln()).collect();
    let group = Group::of(&logs);
    near(group.mean, 0.658_392_378, 1e-9);
    let variance = group.squares / (group.n - 1.0);
    near(variance.sqrt(), 1.113_965_814, 1e-9);
    // All known, nothing unsure: the plain lognormal.
    let sure =
        RepairTime { mean: group.mean, strength: 1e12, freedom: 1e9, variance, basis: Basis::NothingYet };
    near(sure.hours_within(0.5), 1.931_684, 1e-5);
    near(sure.hours_within(0.95), 12.069_759, 1e-4);
    near(sure.hours_within(0.90), 8.052_616, 1e-4);
    near(sure.expected_left(0.0), 3.592_514, 1e-5);
    // With 46 repairs of one item the house's own figures hardly move it.
    let learned = Times::learn(&EXAMPLE.map(|h| repair("quad", "brake pad", h))).of("quad", "brake pad");
    near(learned.mean, group.mean, 0.02);
    near(learned.variance.sqrt(), variance.sqrt(), 0.06);
    assert!(matches!(learned.basis, Basis::Item { repairs: 46, weight } if weight > 0.9));
}

/// The mean of what lies beyond, by adding up the density in small steps.
#[test]
fn what_is_left_of_a_long_repair() {
    let time =
        RepairTime { mean: 0.5, strength: 1e12, freedom: 1e9, variance: 0.49, basis: Basis::NothingYet };
    for done in [0.5, 2.0, 6.0] {
        let (mut sum, mut mass) = (0.0, 0.0);
        for k in 0..2_000_000 {
            let hours = done + (f64::from(k) + 0.5) * 1e-4;
            let z = (hours.ln() - 0.5) / 0.7;
            let density = (-z * z / 2.0).exp() / hours;
            sum += density * (hours - done);
            mass += density;
        }
        near(time.expected_left(done), sum / mass, 1e-3);
    }
    assert!(time.expected_left(6.0) > time.expected_left(2.0), "a long repair is longer still");
    near(time.expected_left(1e4), 1e4, 1e-9);
}

#[test]
fn thin_items_lean_on_their_class_and_thin_classes_on_the_house() {
    let mut past = Vec::new();
    for item in ["a", "b", "c", "d", "e"] {
        for k in 0..8 {
            past.push(repair("quad", item, 2.0 + 0.3 * f64::from(k)));
            past.push(repair("tractor", item, 8.0 + f64::from(k)));
        }
    }
    past.push(repair("quad", "rare", 20.0));
    let times = Times::learn(&past);
    let (quad, rare, new) = (times.of("quad", "a"), times.of("quad", "rare"), times.of("quad", "unheard of"));
    let tractor = times.of("tractor", "unheard of");
    assert!(matches!(rare.basis, Basis::Item { repairs: 1, weight } if weight < 0.8));
    assert_eq!(new.basis, Basis::Class { repairs: 41 });
    assert!(quad.mean < rare.mean && rare.mean < 20.0_f64.ln(), "one repair moves it part of the way");
    assert!(new.mean > quad.mean - 0.2 && new.mean < rare.mean && tractor.mean > new.mean + 0.5);
    let elsewhere = times.of("trailer", "a");
    assert_eq!(elsewhere.basis, Basis::House { repairs: 81 });
    assert!(elsewhere.mean > new.mean && elsewhere.mean < tractor.mean);
    let spread = |t: RepairTime| t.hours_within(0.9) / t.hours_within(0.5);
    assert!(spread(quad) < spread(new) && spread(new) < spread(elsewhere), "the less is known the wider");
    let nothing = Times::learn(&[]).of("quad", "a");
    assert_eq!(nothing.basis, Basis::NothingYet);
    near(nothing.hours_within(0.5), 1.93, 0.01);
}

#[test]
fn drawn_laws_are_what_is_known() {
    let time = RepairTime { mean: 1.0, strength: 5.0, freedom: 9.0, variance: 0.5, basis: Basis::NothingYet };
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(3);
    let within = time.hours_within(0.9);
    let mut held = 0_u32;
    for _ in 0..40_000 {
        let (mean, sd) = time.draw_law(&mut rng);
        held += u32::from((mean + sd * normal(&mut rng)).exp() <= within);
    }
    // Student's t is what the two steps come to; four standard errors.
    near(f64::from(held) / 40_000.0, 0.9, 4.0 * (0.09_f64 / 40_000.0).sqrt());
}

proptest! {
    /// Whatever was written down: finite, ordered, and never surer than what is known of the item allows.
    #[test]
    fn never_nonsense(hours in prop::collection::vec((0..3_u8, 0..4_u8, prop_oneof![Just(0.0), Just(f64::NAN), Just(1e12), Just(-4.0), 0.1..50.0_f64]), 0..60)) {
        let past: Vec<_> = hours.iter().map(|(c, i, h)| repair(&format!("class {c}"), &format!("item {i}"), *h)).collect();
        let times = Times::learn(&past);
        for class in 0..4 {
            for item in 0..5 {
                let t = times.of(&format!("class {class}"), &format!("item {item}"));
                prop_assert!(t.mean.is_finite() && t.variance > 0.0 && t.strength > 0.0 && t.freedom >= START_WEIGHT);
                let (half, most) = (t.hours_within(0.5), t.hours_within(0.9));
                prop_assert!(half > 0.0 && half < most && most.is_finite());
                prop_assert!(t.expected_left(0.0) > 0.0 && t.expected_left(5.0) >= 0.0);
            }
        }
    }
}
