//! The units a person reads and types in. What was read stays as it was read.

use super::{Measured, Quantity, Unit};
use crate::domain::words::words;

words! {
    /// Named after the unit of pressure in the metric ones, for that is where they differ.
    UnitSystem {
        Kilopascal = "metric, kPa",
        Bar = "metric, bar",
        UsCustomary = "US customary",
    }
}

impl UnitSystem {
    /// Hours have one unit everywhere.
    pub const fn unit(self, quantity: Quantity) -> Unit {
        match (self, quantity) {
            (_, Quantity::Time) => Unit::Hour,
            (UnitSystem::UsCustomary, Quantity::Pressure) => Unit::Psi,
            (UnitSystem::UsCustomary, Quantity::Length) => Unit::Inch,
            (UnitSystem::UsCustomary, Quantity::Temperature) => Unit::Fahrenheit,
            (UnitSystem::UsCustomary, Quantity::Volume) => Unit::UsQuart,
            (UnitSystem::Bar, Quantity::Pressure) => Unit::Bar,
            (UnitSystem::Kilopascal, Quantity::Pressure) => Unit::KPa,
            (_, Quantity::Length) => Unit::Mm,
            (_, Quantity::Temperature) => Unit::Celsius,
            (_, Quantity::Volume) => Unit::Litre,
        }
    }
}

impl Measured {
    /// The same in another unit of its quantity, to three places: for showing, never for judging.
    #[must_use]
    pub fn shown_in(&self, unit: Unit) -> Self {
        if unit == self.unit || unit.quantity() != self.unit.quantity() {
            return self.clone();
        }
        let rounded = (unit.from_base(self.base) * 1000.0).round() / 1000.0;
        let figure = if rounded == 0.0 { 0.0 } else { rounded };
        Self { as_read: figure.to_string(), unit, base: self.base }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NIST SP 811 (2008), Appendix B.8: 1 psi is 6.894757 kPa, 1 in is 25.4 mm exactly, °F = 1.8 °C + 32.
    #[test]
    fn a_reading_is_shown_in_the_units_of_whoever_reads() {
        let shown = |figure, from, to| Measured::parse(figure, from).unwrap().shown_in(to).to_string();
        assert_eq!(shown("100", Unit::KPa, Unit::Psi), "14.504 psi");
        assert_eq!(shown("1.5", Unit::Mm, Unit::Inch), "0.059 in");
        assert_eq!(shown("-40", Unit::Celsius, Unit::Fahrenheit), "-40 °F");
        assert_eq!(shown("0.95", Unit::Bar, Unit::KPa), "95 kPa");
        assert_eq!(shown("7.20", Unit::Mm, Unit::Mm), "7.20 mm", "as read");
        assert_eq!(shown("7.2", Unit::Mm, Unit::KPa), "7.2 mm", "no unit of its quantity");
    }

    #[test]
    fn every_system_has_a_unit_of_the_quantity() {
        for system in UnitSystem::ALL {
            for quantity in Quantity::ALL {
                assert_eq!(system.unit(*quantity).quantity(), *quantity);
            }
        }
    }
}
