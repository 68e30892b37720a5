//! From what was typed into the try-it box to readings, their context and a history.

use chrono::{DateTime, TimeDelta, Utc};

use crate::domain::checklist::{Checklist, Load, Stop};
use crate::domain::history::{CorrectedAt, History, Point, ReleasedAt, Series};
use crate::domain::reading::Context;
use crate::domain::refusal::Problem;
use crate::domain::unit::{Hours, Measured, Unit, parse_unit};
use crate::http::pages::check::answers;
use crate::http::pages::form::Form;
use crate::words::Text;
use crate::workflow::Attempt;

/// More lines than two years of days have are not typed by hand.
const MOST_LINES: usize = 1000;
/// Further back nothing is looked at.
const MOST_DAYS: i64 = 10_000;

pub fn read(sent: &Form, checklist: &Checklist, now: DateTime<Utc>) -> Result<Attempt, Vec<Problem>> {
    let mut problems = Vec::new();
    let mut ask = |pointer: String, sentence: Text| problems.push(Problem { pointer, sentence });
    let engine_hours = match sent.text("hours").trim() {
        "" => None,
        typed => match typed.parse::<Hours>() {
            Ok(hours) => Some(hours),
            Err(e) => {
                ask("/hours".to_owned(), said!("try-out-hours-wrong", sentence = e));
                None
            }
        },
    };
    let air = match sent.text("air").trim() {
        "" => None,
        typed => match figure(typed, Unit::Celsius) {
            Ok(air) => Some(air),
            Err(sentence) => {
                ask("/air".to_owned(), said!("try-out-air-wrong", sentence = sentence));
                None
            }
        },
    };
    let mut history = History { now: Some(now), ..History::default() };
    for stop in checklist.walk() {
        let mut past = Past { stop: &stop, now, engine_hours, history: &mut history };
        for (name, taken) in [
            ("series", past.series(sent.text(&format!("past.{}.series", stop.index)))),
            ("corrected", past.corrected(sent.text(&format!("past.{}.corrected", stop.index)))),
            ("released", past.released(sent.text(&format!("past.{}.released", stop.index)))),
        ] {
            if let Err(sentence) = taken {
                ask(
                    format!("/past/{}/{name}", stop.index),
                    said!("try-out-past-wrong", title = stop.title(), sentence = sentence),
                );
            }
        }
    }
    if !problems.is_empty() {
        return Err(problems);
    }
    let given = answers(sent, checklist).into_iter().map(|mut a| {
        // What was done is of no matter here; that something was done is.
        if a.outcome.as_deref() == Some("corrected") && a.correction.is_none() {
            a.correction = Some("put right".to_owned());
        }
        a
    });
    Ok(Attempt {
        context: Context {
            engine_hours,
            hours_confirmed: true,
            warmth: sent.text("warmth").parse().ok(),
            air,
            ..Context::of(sent.text("load").parse().unwrap_or(Load::Unladen))
        },
        answers: given.filter(|a| a.outcome.is_some() || a.level.is_some() || a.value.is_some()).collect(),
        history,
        open_is_unanswered: sent.has("open_is_unanswered"),
    })
}

/// What was before at one stop.
struct Past<'a> {
    stop: &'a Stop<'a>,
    now: DateTime<Utc>,
    engine_hours: Option<Hours>,
    history: &'a mut History,
}

impl Past<'_> {
    /// One line a reading, the oldest first, a day apart: engine hours and figure.
    fn series(&mut self, typed: &str) -> Result<(), Text> {
        let Some(measure) = self.stop.item.measure() else { return Ok(()) };
        let usual = measure.units.first().copied().unwrap_or(measure.base);
        let lines = lines(typed)?;
        let mut points = Vec::new();
        for (n, line) in lines.iter().enumerate() {
            let told = |e: Text| said!("try-out-line", number = n + 1, sentence = e);
            let (hours, rest) =
                line.split_once(char::is_whitespace).ok_or_else(|| told(said!("try-out-line-form")))?;
            let hours: Hours = hours.parse().map_err(|e| told(said!("try-out-line-hours", sentence = e)))?;
            let value = figure(rest.trim(), usual).map_err(told)?;
            if value.unit.quantity() != measure.base.quantity() {
                return Err(told(said!(
                    "try-out-wrong-quantity",
                    figure = value,
                    quantity = measure.base.quantity()
                )));
            }
            let days = i64::try_from(lines.len() - n).unwrap_or(1);
            points.push(Point {
                engine_hours: Some(hours),
                at: self.now - TimeDelta::days(days),
                base: value.base,
            });
        }
        if !points.is_empty() {
            let place = self.stop.place();
            self.history.series.push(Series { item: place.item, position: place.position, points });
        }
        Ok(())
    }

    /// One line a time it was put right: days ago, and how much if that counts.
    fn corrected(&mut self, typed: &str) -> Result<(), Text> {
        for (n, line) in lines(typed)?.iter().enumerate() {
            let told = |e: Text| said!("try-out-line", number = n + 1, sentence = e);
            let mut parts = line.splitn(3, char::is_whitespace);
            let days = days(parts.next().unwrap_or_default()).map_err(told)?;
            let hours = match parts.next().map(str::trim) {
                None | Some("" | "-") => None,
                Some(hours) => Some(
                    hours.parse::<Hours>().map_err(|e| told(said!("try-out-line-hours", sentence = e)))?,
                ),
            };
            let unit = self.stop.item.corrected_unit;
            let amount = match (parts.next().map(str::trim).filter(|a| !a.is_empty()), unit) {
                (Some(amount), Some(unit)) => Some(figure(amount, unit).map_err(told)?),
                (Some(_), None) => return Err(told(said!("try-out-no-amount"))),
                (None, _) => None,
            };
            if let (Some(amount), Some(unit)) = (&amount, unit)
                && amount.unit.quantity() != unit.quantity()
            {
                return Err(told(said!(
                    "try-out-wrong-quantity",
                    figure = amount,
                    quantity = unit.quantity()
                )));
            }
            let place = self.stop.place();
            self.history.corrected.push(CorrectedAt {
                item: place.item,
                position: place.position,
                at: self.now - TimeDelta::days(days),
                engine_hours: hours.filter(|_| self.engine_hours.is_some()),
                amount_base: amount.map(|a| a.base),
            });
        }
        Ok(())
    }

    /// Days since its last release.
    fn released(&mut self, typed: &str) -> Result<(), Text> {
        if typed.trim().is_empty() {
            return Ok(());
        }
        let at = self.now - TimeDelta::days(days(typed.trim())?);
        let place = self.stop.place();
        self.history.released.push(ReleasedAt { item: place.item, position: place.position, at });
        Ok(())
    }
}

fn lines(typed: &str) -> Result<Vec<&str>, Text> {
    let lines: Vec<&str> = typed.lines().map(str::trim).filter(|l| !l.is_empty()).collect();
    if lines.len() > MOST_LINES {
        return Err(said!("try-out-most-lines", most = MOST_LINES));
    }
    Ok(lines)
}

fn days(typed: &str) -> Result<i64, Text> {
    let days = typed.parse::<i64>().ok().filter(|d| (0..=MOST_DAYS).contains(d));
    days.ok_or_else(|| said!("try-out-no-days", typed = typed))
}

/// A figure with or without its unit.
fn figure(typed: &str, usual: Unit) -> Result<Measured, Text> {
    let read = match typed.split_once(char::is_whitespace) {
        Some((figure, unit)) => parse_unit(unit).and_then(|unit| Measured::parse(figure, unit)),
        None => Measured::parse(typed, usual),
    };
    read.map_err(|e| e.said())
}
