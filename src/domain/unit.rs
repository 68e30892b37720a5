//! Units a reading may be given in, and the figure as it was read. Figures are kept twice: as read, for people, and
//! in the SI base of their quantity, for comparing.

mod own;

use serde::{Deserialize, Serialize};

pub use own::UnitSystem;

use super::words::words;
use crate::words::{Lang, Spoken, Text, Value};

words! {
    Quantity {
        Pressure = "pressure",
        Length = "length",
        Temperature = "temperature",
        Volume = "volume",
        Time = "time",
    }
}

words! {
    Unit {
        KPa = "kPa",
        Bar = "bar",
        Psi = "psi",
        Mm = "mm",
        Inch = "in",
        Celsius = "°C",
        Fahrenheit = "°F",
        Litre = "L",
        Millilitre = "mL",
        UsQuart = "US qt",
        UsFluidOunce = "US fl oz",
        Hour = "h",
    }
}

/// A figure with its unit, as read off the gauge and in the SI base.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Measured {
    /// The figure alone, trimmed, with a decimal point.
    pub as_read: String,
    pub unit: Unit,
    pub base: f64,
}

/// Engine hours in tenths of an hour, the way hour meters count.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Hours(pub i64);

/// A figure with its unit, or one that needs none: kept with a point, said with the sign of the language.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Figure(pub String);

#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{}", self.said())]
pub enum MeasureError {
    Empty,
    NotAFigure(String),
    TwoSigns(String),
    TooLong,
    NoUnit(String),
    UnknownUnit { given: String, known: String },
    FinerThanTenths,
    NegativeHours,
}

const MAX_DIGITS: usize = 12;
/// A figure that is not worth echoing in full is cut here.
const MAX_ECHO: usize = 24;

impl MeasureError {
    /// What is wrong, and how to write it.
    pub fn said(&self) -> Text {
        match self {
            MeasureError::Empty => said!("figure-none"),
            MeasureError::NotAFigure(given) => said!("figure-not-plain", given = format!("{given:?}")),
            MeasureError::TwoSigns(given) => said!("figure-two-signs", given = format!("{given:?}")),
            MeasureError::TooLong => said!("figure-too-long", most = MAX_DIGITS),
            MeasureError::NoUnit(given) => said!("figure-no-unit", given = format!("{given:?}")),
            MeasureError::UnknownUnit { given, known } => {
                said!("figure-unknown-unit", given = format!("{given:?}"), known = known)
            }
            MeasureError::FinerThanTenths => said!("figure-finer-than-tenths"),
            MeasureError::NegativeHours => said!("figure-negative-hours"),
        }
    }
}

impl Spoken for MeasureError {
    fn spoken(&self, lang: Lang) -> Value<'_> {
        Value::words(self.said().in_lang(lang).to_owned())
    }
}

impl Unit {
    pub const fn quantity(self) -> Quantity {
        match self {
            Unit::KPa | Unit::Bar | Unit::Psi => Quantity::Pressure,
            Unit::Mm | Unit::Inch => Quantity::Length,
            Unit::Celsius | Unit::Fahrenheit => Quantity::Temperature,
            Unit::Litre | Unit::Millilitre | Unit::UsQuart | Unit::UsFluidOunce => Quantity::Volume,
            Unit::Hour => Quantity::Time,
        }
    }

    /// The figure in kPa, mm, °C, L or h.
    pub fn to_base(self, figure: f64) -> f64 {
        match self {
            Unit::Fahrenheit => (figure - 32.0) / 1.8,
            _ => figure * self.factor(),
        }
    }

    /// The reverse of [`Unit::to_base`].
    pub fn from_base(self, base: f64) -> f64 {
        match self {
            Unit::Fahrenheit => base * 1.8 + 32.0,
            _ => base / self.factor(),
        }
    }

    /// What one of this unit is in the SI base, for differences: a degree Fahrenheit is 5/9 of a degree Celsius.
    pub const fn factor(self) -> f64 {
        match self {
            Unit::KPa | Unit::Mm | Unit::Celsius | Unit::Litre | Unit::Hour => 1.0,
            Unit::Bar => 100.0,
            Unit::Psi => 6.894_757_293_168,
            Unit::Inch => 25.4,
            Unit::Fahrenheit => 1.0 / 1.8,
            Unit::Millilitre => 0.001,
            // 57.75 and 231/128 cubic inches of 16.387064 mL: exact by definition.
            Unit::UsQuart => 0.946_352_946,
            Unit::UsFluidOunce => 0.029_573_529_562_5,
        }
    }
}

impl Quantity {
    /// The unit in which figures of this quantity are compared.
    pub const fn base(self) -> Unit {
        match self {
            Quantity::Pressure => Unit::KPa,
            Quantity::Length => Unit::Mm,
            Quantity::Temperature => Unit::Celsius,
            Quantity::Volume => Unit::Litre,
            Quantity::Time => Unit::Hour,
        }
    }
}

impl Measured {
    /// Reads a figure as people type it: a point or a comma, spaces around, a sign in front.
    pub fn parse(text: &str, unit: Unit) -> Result<Self, MeasureError> {
        let as_read = plain_figure(text)?;
        let figure: f64 = as_read.parse().map_err(|_| MeasureError::NotAFigure(echo(text)))?;
        Ok(Self { base: unit.to_base(figure), as_read, unit })
    }

    /// Reads "100 kPa", the way checklists write limits.
    pub fn parse_with_unit(text: &str) -> Result<Self, MeasureError> {
        let trimmed = text.trim();
        let Some((figure, unit)) = trimmed.split_once(char::is_whitespace) else {
            return Err(if trimmed.is_empty() {
                MeasureError::Empty
            } else {
                MeasureError::NoUnit(echo(trimmed))
            });
        };
        Self::parse(figure, parse_unit(unit)?)
    }
}

/// Reads a unit as people type it: the spelling shown on screen, in any case.
pub fn parse_unit(text: &str) -> Result<Unit, MeasureError> {
    let trimmed = text.trim();
    Unit::ALL.iter().copied().find(|u| u.as_str().eq_ignore_ascii_case(trimmed)).ok_or_else(|| {
        let known: Vec<&str> = Unit::ALL.iter().map(|u| u.as_str()).collect();
        MeasureError::UnknownUnit { given: echo(trimmed), known: known.join(", ") }
    })
}

/// A figure in its base unit, written without tail digits that the conversion made up.
pub fn in_words(base: f64, unit: Unit) -> String {
    let rounded = (base * 1000.0).round() / 1000.0;
    format!("{} {unit}", if rounded == 0.0 { 0.0 } else { rounded })
}

impl std::fmt::Display for Measured {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} {}", self.as_read, self.unit)
    }
}

impl Hours {
    pub fn as_f64(self) -> f64 {
        #[expect(clippy::cast_precision_loss, reason = "parse admits less than 2^53 tenths")]
        let tenths = self.0 as f64;
        tenths / 10.0
    }
}

impl std::str::FromStr for Hours {
    type Err = MeasureError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let figure = plain_figure(text)?;
        if figure.starts_with('-') {
            return Err(MeasureError::NegativeHours);
        }
        let (whole, part) = figure.split_once('.').unwrap_or((&figure, "0"));
        if part.len() > 1 && part[1..].bytes().any(|b| b != b'0') {
            return Err(MeasureError::FinerThanTenths);
        }
        let tenths = format!("{whole}{}", part.get(..1).unwrap_or("0"));
        tenths.parse().map(Self).map_err(|_| MeasureError::NotAFigure(echo(text)))
    }
}

impl std::fmt::Display for Hours {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let sign = if self.0 < 0 { "-" } else { "" };
        let tenths = self.0.unsigned_abs();
        f.pad(&format!("{sign}{}.{}", tenths / 10, tenths % 10))
    }
}

impl Serialize for Hours {
    fn serialize<S: serde::Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Hours {
    fn deserialize<D: serde::Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        String::deserialize(d)?.parse().map_err(serde::de::Error::custom)
    }
}

/// An optional minus, digits, and at most one point with digits on at least one side; nothing else gets through, so
/// neither "NaN" nor "1e999" nor "0x10" can reach a comparison.
fn plain_figure(text: &str) -> Result<String, MeasureError> {
    let trimmed = text.trim();
    if trimmed.is_empty() {
        return Err(MeasureError::Empty);
    }
    let (negative, digits) = match trimmed.strip_prefix(['-', '\u{2212}']) {
        Some(rest) => (true, rest),
        None => (false, trimmed.strip_prefix('+').unwrap_or(trimmed)),
    };
    if !digits.chars().all(|c| c.is_ascii_digit() || c == '.' || c == ',') {
        return Err(MeasureError::NotAFigure(echo(trimmed)));
    }
    if digits.contains(',') && digits.contains('.') {
        return Err(MeasureError::TwoSigns(echo(trimmed)));
    }
    let (whole, part) = digits.split_once(['.', ',']).unwrap_or((digits, ""));
    if part.contains(['.', ',']) || (whole.is_empty() && part.is_empty()) {
        return Err(MeasureError::NotAFigure(echo(trimmed)));
    }
    if whole.len() + part.len() > MAX_DIGITS {
        return Err(MeasureError::TooLong);
    }
    let whole = if whole.is_empty() { "0" } else { whole };
    let nought = whole.bytes().chain(part.bytes()).all(|b| b == b'0');
    let sign = if negative && !nought { "-" } else { "" };
    Ok(if part.is_empty() { format!("{sign}{whole}") } else { format!("{sign}{whole}.{part}") })
}

fn echo(text: &str) -> String {
    if text.chars().count() <= MAX_ECHO {
        text.to_owned()
    } else {
        text.chars().take(MAX_ECHO).chain(['…']).collect()
    }
}

#[cfg(test)]
mod tests;
