use chrono::{DateTime, TimeDelta, Utc};
use proptest::prelude::*;

use super::{Edge, Line, MOST_POINTS, Trend, fit, trend};
use crate::domain::history::Point;
use crate::domain::unit::Hours;

fn start() -> DateTime<Utc> {
    DateTime::from_timestamp(1_750_000_000, 0).expect("a moment")
}

/// One reading a day: (tenths of an engine hour, value).
fn series(readings: &[(i64, f64)]) -> Vec<Point> {
    (0..)
        .zip(readings)
        .map(|(day, (tenths, base))| Point {
            engine_hours: Some(Hours(*tenths)),
            at: start() + TimeDelta::days(day),
            base: *base,
        })
        .collect()
}

fn near(found: f64, certified: f64, relative: f64) {
    let error = ((found - certified) / certified).abs();
    assert!(error <= relative, "{found} for {certified}: relative error {error:e}");
}

fn line(trend: Trend) -> Line {
    match trend {
        Trend::Known(line) => line,
        Trend::Unknown { why } => panic!("{why}"),
    }
}

fn why(trend: Trend) -> String {
    match trend {
        Trend::Known(line) => panic!("{line:?}"),
        Trend::Unknown { why } => why.to_string(),
    }
}

#[rustfmt::skip]
const NORRIS: [(f64, f64); 36] = [
    (0.2, 0.1), (337.4, 338.8), (118.2, 118.1), (884.6, 888.0), (10.1, 9.2), (226.5, 228.1), (666.3, 668.5),
    (996.3, 998.5), (448.6, 449.1), (777.0, 778.9), (558.2, 559.2), (0.4, 0.3), (0.6, 0.1), (775.5, 778.1),
    (666.9, 668.8), (338.0, 339.3), (447.5, 448.9), (11.6, 10.8), (556.0, 557.7), (228.1, 228.3), (995.8, 998.0),
    (887.6, 888.8), (120.2, 119.6), (0.3, 0.3), (0.3, 0.6), (556.8, 557.6), (339.1, 339.3), (887.2, 888.0),
    (999.0, 998.5), (779.0, 778.9), (11.1, 10.2), (118.3, 117.6), (229.2, 228.9), (669.1, 668.4), (448.9, 449.2),
    (0.5, 0.2),
];

/// NIST Statistical Reference Datasets, Linear Regression, Norris: the certified values.
#[test]
fn norris_is_met_to_its_certified_values() {
    let line = fit(&NORRIS).expect("a line");
    for (found, certified) in [
        (line.intercept, -0.262_323_073_774_029),
        (line.slope, 1.002_116_818_020_45),
        (line.intercept_error, 0.232_818_234_301_152),
        (line.slope_error, 0.000_429_796_848_199_937),
        (line.s, 0.884_796_396_144_373),
        (line.r_squared, 0.999_993_745_883_712),
        (line.s * line.s * 34.0, 26.617_398_529_422_4),
        ((line.slope / line.slope_error).powi(2), 5_436_385.540_797_85),
    ] {
        near(found, certified, 1e-9);
    }
}

/// 95 % prediction intervals on Norris, computed with statsmodels 0.15.
#[test]
fn norris_prediction_intervals_are_those_of_statsmodels() {
    let line = fit(&NORRIS).expect("a line");
    for (x, expected, low, high) in [
        (500.0, 500.796_086, 498.971_794, 502.620_378),
        (1100.0, 1_102.066_177, 1_100.148_708, 1_103.983_645),
    ] {
        let found = line.predict(x);
        for (found, printed) in [(found.expected, expected), (found.low, low), (found.high, high)] {
            assert!((found - printed).abs() < 1e-6, "{found} for {printed}");
        }
    }
}

/// 24 invented series with the values of statsmodels 0.15.0 beside them.
#[test]
fn any_series_is_fitted_as_statsmodels_fits_it() {
    let figures =
        |text: &str| -> Vec<f64> { text.split_whitespace().map(|t| t.parse().expect("a figure")).collect() };
    let mut series = 0;
    for row in include_str!("statsmodels.txt").lines().filter(|l| !l.starts_with('#')) {
        let [readings, fitted, ahead, crossing] = row.split('|').collect::<Vec<_>>()[..] else {
            panic!("{row}")
        };
        let readings: Vec<(f64, f64)> = figures(readings).chunks(2).map(|pair| (pair[0], pair[1])).collect();
        let line = fit(&readings).expect("a line");
        let found =
            [line.intercept, line.slope, line.intercept_error, line.slope_error, line.s, line.r_squared];
        for (found, printed) in found.into_iter().zip(figures(fitted)) {
            near(found, printed, 1e-9);
        }
        let ahead = figures(ahead);
        let prediction = line.predict(ahead[0]);
        for (found, printed) in
            [prediction.expected, prediction.low, prediction.high].into_iter().zip(&ahead[1..])
        {
            assert!((found - printed).abs() <= 1e-9 * printed.abs().max(1.0), "{found} for {printed}");
        }
        let (limit, hours) = crossing.trim().split_once(' ').expect("a limit");
        let limit = limit.parse().expect("a figure");
        let found =
            line.crossing_of(if line.slope < 0.0 { Edge::AtLeast(limit) } else { Edge::AtMost(limit) });
        if hours == "none" {
            assert_eq!(found, None, "{row}");
        } else {
            let found = found.expect(row);
            for (found, printed) in
                [found.expected, found.earliest, found.latest].into_iter().zip(figures(hours))
            {
                assert!((found - printed).abs() <= 1e-9 * printed.abs().max(1.0), "{found} for {printed}");
            }
        }
        series += 1;
    }
    assert_eq!(series, 24);
}

const PAD: [(i64, f64); 6] = [(0, 10.0), (1000, 9.1), (2000, 8.3), (3000, 7.2), (4000, 6.4), (5000, 5.4)];

/// An invented series of pad wear; the values computed with scipy 1.17 and statsmodels 0.15.
#[test]
fn pad_wear_reaches_its_limit_when_statsmodels_says() {
    let line = line(trend(&series(&PAD), Some(Edge::AtLeast(2.0))));
    assert_eq!(line.points, 6);
    for (found, printed) in [
        (line.intercept, 10.033_333),
        (line.slope, -0.0092),
        (line.s, 0.073_030),
        (line.r_squared, 0.998_562),
        (line.t, 2.776_445),
        (line.predict(700.0).expected, 3.593_333),
        (line.predict(700.0).low, 3.284_241),
        (line.predict(700.0).high, 3.902_426),
    ] {
        assert!((found - printed).abs() < 1e-6, "{found} for {printed}");
    }
    let crossing = line.crossing.expect("it wears towards its limit");
    for (found, printed) in
        [(crossing.expected, 873.188_406), (crossing.earliest, 834.275_238), (crossing.latest, 915.570_697)]
    {
        assert!((found - printed).abs() < 1e-5, "{found} for {printed}");
    }
    // By their meaning: at the crossings the bounds are at the limit.
    assert!((line.predict(crossing.earliest).low - 2.0).abs() < 1e-9);
    assert!((line.predict(crossing.latest).high - 2.0).abs() < 1e-9);
    assert!((line.at(crossing.expected) - 2.0).abs() < 1e-9);
}

#[test]
fn a_trend_that_runs_away_from_the_limit_never_crosses_it() {
    assert_eq!(line(trend(&series(&PAD), Some(Edge::AtMost(12.0)))).crossing, None);
    assert_eq!(line(trend(&series(&PAD), None)).crossing, None);
    let rising: Vec<(i64, f64)> = PAD.iter().map(|(h, v)| (*h, 12.0 - v)).collect();
    let crossing = line(trend(&series(&rising), Some(Edge::AtMost(10.0)))).crossing.expect("it rises");
    assert!((crossing.expected - 873.188_406).abs() < 1e-5);
}

#[test]
fn it_refuses_to_guess_and_says_why() {
    let flat: Vec<(i64, f64)> = PAD.iter().map(|(h, _)| (*h, 5.4)).collect();
    let wild = [(0, 5.0), (1000, 9.0), (2000, 4.0), (3000, 8.0), (4000, 4.5), (5000, 8.5)];
    let short = [(0, 9.0), (50, 8.0), (100, 7.0), (150, 6.0), (199, 5.0)];
    let crowded = [(0, 9.0), (1000, 8.0), (1000, 8.1), (2000, 7.0), (2000, 7.2)];
    for (readings, part) in [
        (&PAD[..0], "0 readings with engine hours, at least 4"),
        (&PAD[..1], "1 reading with engine hours"),
        (&PAD[..3], "3 readings with engine hours, at least 4"),
        (&short[..], "span 19.9 h, at least 20 h"),
        (&crowded[..], "span 200.0 h, less than 3 gaps of 100.0 h"),
        (&flat[..], "every reading is the same"),
        (&wild[..], "scatter more than they rise or fall"),
    ] {
        let said = why(trend(&series(readings), Some(Edge::AtLeast(2.0))));
        assert!(said.contains(part), "{said}");
        assert!(said.split_whitespace().count() < 25, "{said}");
    }
    // Just enough of each.
    assert_eq!(line(trend(&series(&PAD[..4]), None)).points, 4);
    let enough = [(0, 9.0), (60, 8.2), (120, 7.6), (200, 6.5)];
    assert_eq!(line(trend(&series(&enough), None)).points, 4);
}

/// The 5 % level, two-sided: t of the slope against 2.776445 (4 degrees of freedom, scipy 1.17).
#[test]
fn a_slope_counts_from_the_five_per_cent_level() {
    let scatter = [0.5, -1.0, 0.5, 0.5, -1.0, 0.5];
    for (slope, known) in [(-0.3, false), (-0.57, false), (-0.58, true), (-1.0, true)] {
        let readings: Vec<(i64, f64)> = (0_i32..)
            .zip(scatter)
            .map(|(i, e)| (i64::from(i) * 1000, 20.0 + slope * f64::from(i) + e))
            .collect();
        let found = trend(&series(&readings), None);
        let by_hand = fit(&readings
            .iter()
            .map(|(h, v)| (f64::from(i32::try_from(*h).expect("few")) / 10.0, *v))
            .collect::<Vec<_>>())
        .expect("a line");
        let t = (by_hand.slope / by_hand.slope_error).abs();
        assert_eq!(t > 2.776_445, known, "slope {slope}: t {t}");
        assert_eq!(found.line().is_some(), known, "slope {slope}: t {t}");
    }
}

#[test]
fn a_perfect_line_is_certain_and_not_a_division_by_nothing() {
    let readings: Vec<(i64, f64)> = (0_i32..5).map(|i| (i64::from(i) * 1000, 10.0 - f64::from(i))).collect();
    let crossing = line(trend(&series(&readings), Some(Edge::AtLeast(2.0)))).crossing.expect("a crossing");
    for hours in [crossing.expected, crossing.earliest, crossing.latest] {
        assert!((hours - 800.0).abs() < 1e-9, "{crossing:?}");
    }
}

#[test]
fn readings_on_a_meter_that_was_changed_are_left_out() {
    let mut readings = vec![(90_000, 12.0), (91_000, 11.5), (92_000, 11.0)];
    readings.extend(PAD);
    let found = line(trend(&series(&readings), Some(Edge::AtLeast(2.0))));
    assert_eq!((found.points, found.from_hours, found.to_hours), (6, 0.0, 500.0));
    let mut without = series(&PAD);
    without[5].engine_hours = None;
    assert_eq!(line(trend(&without, None)).points, 5);
}

#[test]
fn the_newest_readings_are_gone_by_and_no_more_than_enough() {
    // Worn fast for ten readings, then slowly for as many as are gone by.
    let most = i64::try_from(MOST_POINTS).expect("small");
    let readings: Vec<(i64, f64)> = (0..most + 10)
        .map(|n| (n * 50, if n < 10 { 20.0 - n as f64 } else { 10.0 - (n - 10) as f64 * 0.01 }))
        .collect();
    let whole = line(trend(&series(&readings), None));
    assert_eq!((whole.points, whole.from_hours), (MOST_POINTS, 50.0));
    assert_eq!(whole, line(trend(&series(&readings[10..]), None)));
}

#[test]
fn the_order_of_the_series_never_matters() {
    let forward = series(&PAD);
    let backward: Vec<Point> = forward.iter().rev().copied().collect();
    assert_eq!(trend(&forward, Some(Edge::AtLeast(2.0))), trend(&backward, Some(Edge::AtLeast(2.0))));
}

proptest! {
    /// The bounds hold the line between them, and where they cross the limit they do so in this order.
    #[test]
    fn the_bounds_are_on_their_sides_and_the_line_is_the_least(
        noise in prop::collection::vec(-0.5_f64..0.5, 4..40), slope in -0.2_f64..-0.01, step in 70_i64..500,
    ) {
        let value = |i: i32, e: &f64| 30.0 + slope * f64::from(i) * f64::from(i32::try_from(step).unwrap_or(70)) / 10.0 + e;
        let readings: Vec<(i64, f64)> = (0_i32..).zip(&noise).map(|(i, e)| (i64::from(i) * step, value(i, e))).collect();
        let points = series(&readings);
        let Trend::Known(line) = trend(&points, Some(Edge::AtLeast(-5.0))) else { return Ok(()) };
        if let Some(c) = line.crossing {
            prop_assert!(c.earliest <= c.expected && c.expected <= c.latest, "{c:?}");
            prop_assert!((line.predict(c.earliest).low + 5.0).abs() < 1e-6);
            prop_assert!((line.predict(c.latest).high + 5.0).abs() < 1e-6);
        }
        let squares = |a: f64, b: f64| -> f64 {
            points.iter().map(|p| (p.base - a - b * p.engine_hours.expect("hours").as_f64()).powi(2)).sum()
        };
        let least = squares(line.intercept, line.slope);
        for (da, db) in [(0.01, 0.0), (-0.01, 0.0), (0.0, 1e-4), (0.0, -1e-4)] {
            prop_assert!(squares(line.intercept + da, line.slope + db) >= least);
        }
        let kept = serde_json::to_string(&line).expect("json");
        prop_assert_eq!(serde_json::from_str::<Line>(&kept).expect("json").points, line.points);
    }
}

/// Where going on from today's reading first may pass the edge, the prediction from it touches the edge.
#[test]
fn the_earliest_from_today_is_where_the_prediction_touches_the_edge() {
    let line = line(trend(&series(&PAD), None));
    let edge = Edge::AtLeast(2.0);
    for value in [9.0, 6.0, 4.0, 3.0] {
        let hours = line.earliest_from(value, edge).expect("it wears");
        assert!(hours > 0.0, "{value}: {hours}");
        let touched = line.predict_from(value, hours).low;
        assert!((touched - 2.0).abs() < 1e-9, "{value}: {touched}");
        assert!(!edge.may_be_passed(&line.predict_from(value, hours - 0.1)));
        assert!(edge.may_be_passed(&line.predict_from(value, hours + 0.1)));
    }
    assert!(line.earliest_from(2.0, edge).is_some_and(|h| h <= 0.0), "at its limit: at once");
    assert_eq!(line.earliest_from(5.0, Edge::AtMost(10.0)), None, "it runs the other way");
}
