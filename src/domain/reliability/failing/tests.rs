use super::*;

/// NIST e-Handbook 8.4.5.2, ended at 1500 h.
const NIST: &[f64] = &[5.0, 40.0, 43.0, 175.0, 389.0, 712.0, 747.0, 795.0, 1299.0, 1478.0];
/// MIL-HDBK-189 (1981), appendix C, ended at 300 h.
const MIL: &[f64] = &[
    2.6, 16.5, 16.5, 17.0, 21.4, 29.1, 33.3, 56.5, 63.1, 70.6, 73.0, 77.7, 93.9, 95.5, 98.1, 101.1, 132.0,
    142.2, 147.7, 149.0, 167.2, 190.7, 193.0, 198.7, 251.9, 282.5, 286.1,
];

fn seen(failures: &[f64], observed: f64) -> Observed {
    Observed { failures: failures.to_vec(), observed, ended: Ended::AtATime }
}

fn close(found: f64, expected: f64, by: f64) {
    assert!((found - expected).abs() <= by, "{found} is not {expected}");
}

/// Figures by surpyval 0.25, equal to scipy's.
#[test]
fn the_tests_and_the_law_on_the_handbooks_data() {
    let nist = seen(NIST, 1500.0);
    close(laplace(std::slice::from_ref(&nist)).unwrap(), -1.326_949, 1e-6);
    let (chi, freedom) = military_handbook(std::slice::from_ref(&nist)).unwrap();
    close(chi, 37.228_081, 1e-6);
    close(freedom, 20.0, 0.0);
    let (by_laplace, by_handbook) = by_chance(std::slice::from_ref(&nist)).unwrap();
    close(by_laplace, 0.184_525, 1e-6);
    close(by_handbook, 2.0 * (1.0 - 0.989_014), 2e-6);
    let law = power_law(&nist).unwrap();
    close(law.beta, 0.537_229, 1e-6);
    close(law.lambda, 0.196_658, 1e-6);
    close(law.mtbf_now, 279.210_611, 1e-6);

    let mil = seen(MIL, 300.0);
    close(laplace(std::slice::from_ref(&mil)).unwrap(), -2.318_000, 1e-6);
    close(by_chance(std::slice::from_ref(&mil)).unwrap().0, 0.020_449, 1e-6);
    let (chi, freedom) = military_handbook(std::slice::from_ref(&mil)).unwrap();
    close(chi, 75.383_276, 1e-6);
    close(freedom, 54.0, 0.0);
    let law = power_law(&mil).unwrap();
    close(law.beta, 0.716_339_262_4, 1e-10);
    close(law.lambda, 0.453_841_861_4, 1e-10);
    close(law.mtbf_now, 15.510_962_0, 1e-7);
}

/// Published with the NIST example: 0.483506, 0.2913003, 310.234 and (157.7138, 548.5566) at 80 %; at 90 % recomputed.
#[test]
fn the_unbiased_law_and_its_bounds() {
    let law = power_law_unbiased(&seen(NIST, 1500.0)).unwrap();
    close(law.beta, 0.483_505_979, 1e-9);
    close(law.lambda, 0.291_300_269, 1e-9);
    close(law.mtbf_now, 310.234_012, 1e-6);
    let (low, high) = bounds_now(&law, 10, 0.8).unwrap();
    close(low, 157.713_834, 1e-5);
    close(high, 548.556_598, 1e-5);
    let (low, high) = bounds_now(&law, 10, 0.9).unwrap();
    close(low, 134.350_205, 1e-5);
    close(high, 698.591_919, 1e-5);
    assert_eq!(bounds_now(&law, 1, 0.8), None);
}

/// U above zero is getting worse: failures that come closer and closer, mirrored, must change the sign and the word.
#[test]
fn which_way_is_worse() {
    let worse: Vec<f64> = NIST.iter().rev().map(|t| 1500.0 - t).collect();
    assert!(laplace(&[seen(&worse, 1500.0)]).unwrap() > 1.3);
    let closer: Vec<f64> = (1..=12).map(|n| 1000.0 * (f64::from(n) / 12.5).powf(0.4)).collect();
    assert_eq!(course(&[seen(&closer, 1000.0)]), Course::Trend(Way::More));
    let rarer: Vec<f64> = (1..=12).map(|n| 1000.0 * (f64::from(n) / 12.5).powf(2.5)).collect();
    assert_eq!(course(&[seen(&rarer, 1000.0)]), Course::Trend(Way::Less));
    let steady: Vec<f64> = (1..=12).map(|n| 1000.0 * f64::from(n) / 13.0).collect();
    assert_eq!(course(&[seen(&steady, 1000.0)]), Course::NoTrend);
    // One test sees it and the other does not.
    assert_eq!(course(&[seen(NIST, 1500.0)]), Course::Perhaps(Way::Less));
    assert_eq!(course(&[seen(MIL, 300.0)]), Course::Perhaps(Way::Less));
}

#[test]
fn a_few_failures_show_no_trend() {
    assert_eq!(course(&[]), Course::TooFew(0));
    assert_eq!(course(&[seen(&[], 900.0)]), Course::TooFew(0));
    assert_eq!(course(&[seen(&NIST[..4], 1500.0)]), Course::TooFew(4));
    assert_ne!(course(&[seen(&NIST[..5], 1500.0)]), Course::TooFew(5));
    assert_eq!(power_law_unbiased(&seen(&[3.0], 10.0)), None);
}

/// A record that ended with its last failure: n = r − 1 and 2(r − 1) degrees of freedom; figures by hand from NIST's.
#[test]
fn the_failure_that_ended_the_record_tells_nothing() {
    let ended = Observed { failures: NIST.to_vec(), observed: 1478.0, ended: Ended::AtAFailure };
    let (_, freedom) = military_handbook(std::slice::from_ref(&ended)).unwrap();
    close(freedom, 18.0, 0.0);
    let sum: f64 = NIST[..9].iter().sum();
    let u = (12.0 * 9.0_f64).sqrt() * (sum - 9.0 * 739.0) / (9.0 * 1478.0);
    close(laplace(&[ended]).unwrap(), u, 1e-12);
}

/// λ·β·t^(β−1) at two moments.
#[test]
fn a_rate_is_held_against_an_earlier_one() {
    let law = power_law(&seen(MIL, 300.0)).unwrap();
    let rate = |t: f64| law.lambda * law.beta * t.powf(law.beta - 1.0);
    close(law.rate_against(300.0, 100.0).unwrap(), rate(300.0) / rate(100.0), 1e-12);
    close(1.0 / rate(300.0), law.mtbf_now, 1e-9);
    assert_eq!(law.rate_against(300.0, 0.0), None);
}
