//! The sums of `domain::reliability` on real repair histories, read from their package and held against scipy.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;

use chock::domain::reliability::Ended;
use chock::domain::reliability::failing::{
    Course, Observed, Way, by_chance, course, laplace, military_handbook,
};
use chock::domain::reliability::mtbf::{CONFIDENCE, mtbf};
use chock::domain::reliability::pareto::{first_to_make, pareto};
use serde::Deserialize;

#[derive(Deserialize)]
struct Histories {
    engines: Vec<Engine>,
    rings: BTreeMap<String, i64>,
    total: f64,
    mean: f64,
    low: f64,
    high: f64,
    laplace: f64,
    chi: f64,
    freedom: f64,
    by_laplace: f64,
    by_handbook: f64,
}

#[derive(Deserialize)]
struct Engine {
    failures: Vec<f64>,
    observed: f64,
}

fn histories() -> Histories {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/support/fleet_history.py");
    let done = Command::new(python()).arg(script).output().expect("the Python that tests/run makes");
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    serde_json::from_slice(&done.stdout).expect("its answer")
}

pub fn python() -> PathBuf {
    std::env::var_os("CHOCK_TEST_PYTHON").map_or_else(
        || Path::new(env!("CARGO_MANIFEST_DIR")).join("target/test-python/bin/python"),
        PathBuf::from,
    )
}

fn close(found: f64, expected: f64) {
    assert!((found - expected).abs() <= 1e-9 * expected.abs().max(1.0), "{found} is not {expected}");
}

#[test]
fn valve_seats_of_forty_one_engines() {
    let h = histories();
    let engines: Vec<Observed> = h
        .engines
        .into_iter()
        .map(|e| Observed { failures: e.failures, observed: e.observed, ended: Ended::AtATime })
        .collect();
    let failures: usize = engines.iter().map(|e| e.failures.len()).sum();
    // The dataset as it is known: 41 engines, 48 replacements.
    assert_eq!((engines.len(), failures), (41, 48));
    let total: f64 = engines.iter().map(|e| e.observed).sum();
    close(total, h.total);
    let found = mtbf(total, 48, Ended::AtATime, CONFIDENCE).unwrap();
    close(found.mean.unwrap(), h.mean);
    close(found.low, h.low);
    close(found.high.unwrap(), h.high);
    close(laplace(&engines).unwrap(), h.laplace);
    let (chi, freedom) = military_handbook(&engines).unwrap();
    close(chi, h.chi);
    close(freedom, h.freedom);
    let (one, two) = by_chance(&engines).unwrap();
    close(one, h.by_laplace);
    close(two, h.by_handbook);
    println!("p = {one:.4} (Laplace), {two:.4} (military handbook)");
    // Written down beforehand: 528.395833, 415.420040 to 681.796171, U = +2.378693.
    assert!((found.mean.unwrap() - 528.395_833).abs() < 1e-5, "{found:?}");
    assert!((found.low - 415.420_040).abs() < 1e-5 && (h.high - 681.796_171).abs() < 1e-5, "{found:?}");
    assert!((h.laplace - 2.378_693).abs() < 1e-6);
    // Laplace sees them wear. Whether the second test agrees is scipy's to say.
    let expected = if h.by_handbook < 0.05 { Course::Trend(Way::More) } else { Course::Perhaps(Way::More) };
    assert_eq!(course(&engines), expected);
}

#[test]
fn piston_rings_of_four_compressors() {
    let ranked = pareto(histories().rings);
    let kinds: Vec<(&str, i64)> = ranked.iter().map(|r| (r.kind.as_str(), r.count)).collect();
    assert_eq!(kinds, [("C4", 49), ("C1", 46), ("C3", 38), ("C2", 33)]);
    assert_eq!(first_to_make(&ranked, 0.8), 3);
}
