//! Trends against statsmodels, which `tests/run` installs: another hand's arithmetic on 200 series made at random.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use chock::domain::history::Point;
use chock::domain::trend::{Line, MOST_POINTS, Trend, fit, trend};
use chock::domain::unit::Hours;
use chrono::{DateTime, TimeDelta, Utc};
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use serde::{Deserialize, Serialize};

const SERIES: u64 = 200;
/// Relative; an intercept may lie near nothing, so it is held against its own standard error where that is larger.
const AGREE: f64 = 1e-9;

#[derive(Serialize)]
struct Asked {
    #[serde(skip)]
    seed: u64,
    #[serde(skip)]
    tenths: Vec<i64>,
    x: Vec<f64>,
    y: Vec<f64>,
    ahead: Vec<f64>,
}

#[derive(Deserialize)]
struct Fitted {
    intercept: f64,
    slope: f64,
    intercept_error: f64,
    slope_error: f64,
    s: f64,
    r_squared: f64,
    p: f64,
    ahead: Vec<[f64; 3]>,
}

/// Readings as they come: from 4 to 150, on a meter that shows anything up to 20,000 h, wearing slowly or not at all, and
/// read more or less well.
fn series(seed: u64) -> Asked {
    let mut random = StdRng::seed_from_u64(seed);
    let n = random.random_range(4..150);
    let mut tenths = random.random_range(0..200_000_i64);
    let (value, wear) = (random.random_range(1.0..400.0), random.random_range(-0.05..0.05_f64));
    let wear = if seed.is_multiple_of(4) { 0.0 } else { wear };
    let scatter = 10_f64.powf(random.random_range(-3.0..1.0));
    let from = tenths;
    let (mut at, mut x, mut y) = (Vec::new(), Vec::new(), Vec::new());
    for _ in 0..n {
        // Twelve uniform figures make nearly a normal one.
        let noise: f64 = (0..12).map(|_| random.random_range(-0.5..0.5)).sum();
        let hours = Hours(tenths).as_f64();
        at.push(tenths);
        x.push(hours);
        y.push(value + wear * (hours - Hours(from).as_f64()) + scatter * noise);
        tenths += random.random_range(60..400);
    }
    asked(seed, at, x, y)
}

fn asked(seed: u64, tenths: Vec<i64>, x: Vec<f64>, y: Vec<f64>) -> Asked {
    let last = x[x.len() - 1];
    Asked { seed, tenths, ahead: vec![x[0], last, last + 50.0, last + 1_000.0], x, y }
}

/// The readings that a trend goes by.
fn newest(whole: &Asked) -> Asked {
    let from = whole.x.len().saturating_sub(MOST_POINTS);
    asked(whole.seed, whole.tenths[from..].to_vec(), whole.x[from..].to_vec(), whole.y[from..].to_vec())
}

#[test]
fn two_hundred_random_series_are_fitted_as_statsmodels_fits_them() {
    let whole: Vec<Asked> = (1..=SERIES).map(series).collect();
    println!("seeds 1 to {SERIES}, {} readings", whole.iter().map(|a| a.x.len()).sum::<usize>());
    let recent: Vec<Asked> = whole.iter().map(newest).collect();
    let cut = whole.iter().filter(|a| a.x.len() > MOST_POINTS).count();
    assert!(cut > 50 && cut < 150, "{cut} of {SERIES} are longer than a trend looks back");

    let (mut worst, mut known, mut unknown) = (0.0_f64, 0, 0);
    for (a, f) in whole.iter().chain(&recent).zip(by_statsmodels(whole.iter().chain(&recent))) {
        let readings: Vec<(f64, f64)> = a.x.iter().copied().zip(a.y.iter().copied()).collect();
        let line = fit(&readings).expect("a line");
        worst = worst.max(compare(&line, a, &f));
    }
    for ((a, newest), f) in whole.iter().zip(&recent).zip(by_statsmodels(&recent)) {
        // The whole series is given; whether a trend is claimed at all hangs on the significance of its newest readings.
        match trend(&points(a), None) {
            Trend::Known(line) => {
                assert!(f.p < 0.05, "seed {}: claimed with p = {}", a.seed, f.p);
                worst = worst.max(compare(&line, newest, &f));
                known += 1;
            }
            Trend::Unknown { why } => {
                assert!(f.p >= 0.05, "seed {}: {why} with p = {}", a.seed, f.p);
                unknown += 1;
            }
        }
    }
    println!("{known} with a trend, {unknown} without; largest relative difference {worst:e}");
    assert!(known > 50 && unknown > 20, "{known} {unknown}");
}

/// The largest relative difference; fails when one is larger than agreed.
fn compare(line: &Line, asked: &Asked, fitted: &Fitted) -> f64 {
    let mut pairs = vec![
        ("intercept", line.intercept, fitted.intercept, fitted.intercept_error),
        ("slope", line.slope, fitted.slope, fitted.slope_error),
        ("error of the intercept", line.intercept_error, fitted.intercept_error, 0.0),
        ("error of the slope", line.slope_error, fitted.slope_error, 0.0),
        ("s", line.s, fitted.s, 0.0),
        // Where nearly nothing is explained, 1 − R² is what is known well.
        ("1 − R²", 1.0 - line.r_squared, 1.0 - fitted.r_squared, 1.0),
    ];
    for (hours, bounds) in asked.ahead.iter().zip(&fitted.ahead) {
        let found = line.predict(*hours);
        pairs.extend([
            ("expected", found.expected, bounds[0], fitted.s),
            ("lower bound", found.low, bounds[1], fitted.s),
            ("upper bound", found.high, bounds[2], fitted.s),
        ]);
    }
    pairs
        .into_iter()
        .map(|(what, found, theirs, scale)| {
            let apart = (found - theirs).abs() / theirs.abs().max(scale);
            assert!(apart <= AGREE, "seed {}, {what}: {found} and {theirs}, {apart:e} apart", asked.seed);
            apart
        })
        .fold(0.0, f64::max)
}

fn points(asked: &Asked) -> Vec<Point> {
    let start: DateTime<Utc> = "2026-01-01T00:00:00Z".parse().expect("a moment");
    let one = |(i, (tenths, base)): (i64, (&i64, &f64))| Point {
        engine_hours: Some(Hours(*tenths)),
        at: start + TimeDelta::days(i),
        base: *base,
    };
    (0..).zip(asked.tenths.iter().zip(&asked.y)).map(one).collect()
}

fn by_statsmodels<'a>(asked: impl IntoIterator<Item = &'a Asked>) -> Vec<Fitted> {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/support/least_squares.py");
    let mut child = Command::new(python())
        .arg(script)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the Python that tests/run makes");
    let asked: Vec<&Asked> = asked.into_iter().collect();
    let text = serde_json::to_vec(&asked).expect("JSON");
    child.stdin.take().expect("its input").write_all(&text).expect("it reads");
    let done = child.wait_with_output().expect("it ends");
    assert!(done.status.success(), "statsmodels failed: {}", String::from_utf8_lossy(&done.stderr));
    let fitted: Vec<Fitted> = serde_json::from_slice(&done.stdout).expect("its answers");
    assert_eq!(fitted.len(), asked.len());
    fitted
}

fn python() -> PathBuf {
    std::env::var_os("CHOCK_TEST_PYTHON").map_or_else(
        || Path::new(env!("CARGO_MANIFEST_DIR")).join("target/test-python/bin/python"),
        PathBuf::from,
    )
}
