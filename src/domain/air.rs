//! Air in a tyre: a gauge reads less on a cold morning although no air was lost. By the gas law, absolute pressure goes
//! with absolute temperature as long as volume and air stay the same.
//!
//! A low tyre is low whatever the cause: nothing here makes a reading pass. It tells air that was lost from air that is
//! only cold, and finds the loss that heat hides.

use super::checklist::{Checklist, Item, Load};
use super::unit::Figure;
use crate::words::Text;

/// Why a cold morning reads low, in one sentence with the figures of a tyre on this checklist; None when it judges no
/// tyre at an air temperature.
pub fn cold_morning(checklist: &Checklist, altitude_m: Option<i32>) -> Option<Text> {
    const COLDER_BY: f64 = 25.0;
    let judged = |item: &Item| checklist.judged_at(&item.key).zip(item.measure().cloned());
    let (celsius, measure) = checklist.items().find_map(judged)?;
    let sound = measure.bounds(Load::Unladen).at_least?;
    let cold = celsius - COLDER_BY;
    let reads = at_temperature(sound, celsius, cold, ambient_pressure(altitude_m.unwrap_or(0)));
    let unit = *measure.units.first()?;
    Some(said!(
        "check-page-cold-morning",
        sound = Figure(measure.in_unit(sound, unit)),
        celsius = Figure(celsius.to_string()),
        reads = Figure(measure.in_unit(reads, unit)),
        cold = Figure(cold.to_string())
    ))
}

/// A pressure read on a gauge, in kPa, brought from one air temperature to another, in °C.
pub fn at_temperature(gauge: f64, from: f64, to: f64, ambient: f64) -> f64 {
    (gauge + ambient) * (absolute(to) / absolute(from)) - ambient
}

/// The pressure of the air around, in kPa, at a height in metres: the standard atmosphere below 11 km
/// (U.S. Standard Atmosphere 1976; the same there as ISO 2533).
pub fn ambient_pressure(altitude_m: i32) -> f64 {
    const SEA_LEVEL: f64 = 101.325;
    const SEA_LEVEL_KELVIN: f64 = 288.15;
    const LAPSE: f64 = 0.0065;
    /// Gravity × molar mass of air ÷ (gas constant × lapse rate), with the constants of that standard.
    const EXPONENT: f64 = 9.80665 * 0.028_964_4 / (8.314_32 * LAPSE);
    let height = f64::from(altitude_m.clamp(LOWEST_YARD, HIGHEST_YARD));
    SEA_LEVEL * (1.0 - LAPSE * height / SEA_LEVEL_KELVIN).powf(EXPONENT)
}

/// Metres. No yard lies outside these, and the formula holds between them.
pub const LOWEST_YARD: i32 = -500;
pub const HIGHEST_YARD: i32 = 6000;

/// Air temperatures that can be true, in °C.
pub const COLDEST: f64 = -60.0;
pub const HOTTEST: f64 = 60.0;

fn absolute(celsius: f64) -> f64 {
    celsius.clamp(COLDEST, HOTTEST) + 273.15
}

#[cfg(test)]
mod tests;
