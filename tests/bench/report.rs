//! What was measured, beside what was aimed at.

use std::path::{Path, PathBuf};

use chock::clock::Ambient;
use serde::Serialize;
use serde_json::{Value, json};

use crate::Outcome;

#[derive(Default)]
pub struct Report {
    rows: Vec<Row>,
}

#[derive(Serialize)]
struct Row {
    what: String,
    /// The median of the samples.
    measured: f64,
    unit: &'static str,
    aim: Option<Aim>,
    met: Option<bool>,
    samples: Vec<f64>,
}

#[derive(Clone, Copy, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Aim {
    AtLeast(f64),
    AtMost(f64),
    Below(f64),
}

impl Report {
    /// Adds the median of the samples.
    pub fn add(&mut self, what: impl Into<String>, unit: &'static str, aim: Option<Aim>, samples: Vec<f64>) {
        let measured = median(&samples);
        let met = aim.map(|aim| aim.met(measured));
        let row = Row { what: what.into(), measured, unit, aim, met, samples };
        println!("{}", row.line());
        self.rows.push(row);
    }

    pub fn print(&self) {
        println!("\n{:<64} {:>10} {:<9} {:<10} range", "median of each", "measured", "", "aim");
        for row in &self.rows {
            println!("{}", row.line());
        }
    }

    pub fn missed(&self) -> usize {
        self.rows.iter().filter(|r| r.met == Some(false)).count()
    }

    /// With what was kept before of whatever was not measured now; each says when it was measured.
    pub fn keep(&self) -> Outcome {
        let target = PathBuf::from(env!("CARGO_TARGET_TMPDIR"));
        let folder = target.parent().unwrap_or(&target).join("bench");
        std::fs::create_dir_all(&folder)?;
        let file = folder.join("latest.json");
        let at = Ambient::real().now().to_rfc3339_opts(chrono::SecondsFormat::Secs, true);
        let mut rows = Vec::new();
        for row in &self.rows {
            let mut row = serde_json::to_value(row)?;
            row["at"] = json!(at);
            rows.push(row);
        }
        rows.extend(
            kept(&file).into_iter().filter(|old| !self.rows.iter().any(|new| old["what"] == new.what)),
        );
        let all = json!({
            "cores": std::thread::available_parallelism().map_or(0, usize::from),
            "built": if cfg!(debug_assertions) { "debug" } else { "release" },
            "rows": rows,
        });
        std::fs::write(&file, serde_json::to_string_pretty(&all)?)?;
        println!("\nKept in {}", file.display());
        Ok(())
    }
}

fn kept(file: &Path) -> Vec<Value> {
    let text = std::fs::read_to_string(file).unwrap_or_default();
    let before: Value = serde_json::from_str(&text).unwrap_or_default();
    before["rows"].as_array().cloned().unwrap_or_default()
}

impl Row {
    fn line(&self) -> String {
        let digits = if self.measured < 10.0 { 2 } else { 0 };
        let (least, most) =
            self.samples.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, m), s| (s.min(l), s.max(m)));
        let aim = self.aim.map_or_else(String::new, |a| a.words());
        let range = if self.samples.len() > 1 {
            format!("{least:.digits$} to {most:.digits$}")
        } else {
            String::new()
        };
        let missed = if self.met == Some(false) { "  MISSED" } else { "" };
        let line = format!(
            "{:<64} {:>10.digits$} {:<9} {aim:<10} {range}{missed}",
            self.what, self.measured, self.unit
        );
        line.trim_end().to_owned()
    }
}

impl Aim {
    fn met(self, measured: f64) -> bool {
        match self {
            Self::AtLeast(aim) => measured >= aim,
            Self::AtMost(aim) => measured <= aim,
            Self::Below(aim) => measured < aim,
        }
    }

    fn words(self) -> String {
        match self {
            Self::AtLeast(aim) => format!("≥ {aim}"),
            Self::AtMost(aim) => format!("≤ {aim}"),
            Self::Below(aim) => format!("< {aim}"),
        }
    }
}

pub fn median(samples: &[f64]) -> f64 {
    let mut sorted = samples.to_vec();
    sorted.sort_by(f64::total_cmp);
    let middle = sorted.len() / 2;
    match sorted.len() {
        0 => f64::NAN,
        n if n % 2 == 1 => sorted[middle],
        _ => f64::midpoint(sorted[middle - 1], sorted[middle]),
    }
}
