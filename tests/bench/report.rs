//! What was measured, beside what was aimed at.

use std::path::PathBuf;

use serde::Serialize;

use crate::Outcome;

#[derive(Default, Serialize)]
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

    pub fn keep(&self) -> Outcome {
        let target = PathBuf::from(env!("CARGO_TARGET_TMPDIR"));
        let folder = target.parent().unwrap_or(&target).join("bench");
        std::fs::create_dir_all(&folder)?;
        let file = folder.join("latest.json");
        std::fs::write(&file, serde_json::to_string_pretty(self)?)?;
        println!("\nKept in {}", file.display());
        Ok(())
    }
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
