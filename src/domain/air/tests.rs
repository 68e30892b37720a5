use proptest::prelude::*;

use super::{COLDEST, HIGHEST_YARD, HOTTEST, LOWEST_YARD, ambient_pressure, at_temperature};
use crate::domain::unit::Unit;

const SEA: f64 = 101.325;

/// Worked with scipy 1.17 from P2 = (P1 + Pa) · T2 / T1 - Pa, at sea level.
#[test]
fn pressure_follows_absolute_temperature() {
    let fahrenheit = |f: f64| Unit::Fahrenheit.to_base(f);
    for (psi, from, to, printed) in
        [(35.0, 68.0, 78.0, 35.941_800), (30.0, 70.0, 60.0, 29.156_155), (12.0, 70.0, 20.0, 9.479_945)]
    {
        let kpa = at_temperature(Unit::Psi.to_base(psi), fahrenheit(from), fahrenheit(to), SEA);
        let found = Unit::Psi.from_base(kpa);
        assert!((found - printed).abs() < 1e-6, "{psi} psi, {from} to {to} °F: {found}");
    }
    let found = at_temperature(200.0, 20.0, 0.0, SEA);
    assert!((found - 179.442_265).abs() < 1e-6, "{found}");
    // A tyre of 12 psi loses 0.504 psi with every 10 °F, not the 1 psi of road tyres.
    let cold =
        Unit::Psi.from_base(at_temperature(Unit::Psi.to_base(12.0), fahrenheit(70.0), fahrenheit(60.0), SEA));
    assert!((12.0 - cold - 0.504).abs() < 5e-4, "{cold}");
}

/// U.S. Standard Atmosphere 1976 (and ISO 2533): 101325 Pa at sea level, 22632.1 Pa at 11 km; from memory 89874.6 Pa at
/// 1 km and 79495.2 Pa at 2 km of geopotential height.
#[test]
fn the_air_gets_thinner_as_the_standard_atmosphere_does() {
    for (metres, pascal) in [(0, 101_325.0), (1000, 89_874.6), (2000, 79_495.2)] {
        let found = ambient_pressure(metres) * 1000.0;
        assert!((found - pascal).abs() < 0.5, "{metres} m: {found}");
    }
    // The formula itself, beyond where any yard lies.
    let at_tropopause =
        101.325 * (1.0_f64 - 0.0065 * 11_000.0 / 288.15).powf(9.80665 * 0.028_964_4 / (8.314_32 * 0.0065));
    assert!((at_tropopause - 22.6321).abs() < 1e-4, "{at_tropopause}");
    assert!(ambient_pressure(i32::MIN) <= ambient_pressure(LOWEST_YARD) && ambient_pressure(i32::MAX) > 40.0);
}

proptest! {
    #[test]
    fn there_and_back_is_the_same(gauge in 0.0_f64..400.0, a in COLDEST..HOTTEST, b in COLDEST..HOTTEST, height in LOWEST_YARD..HIGHEST_YARD) {
        let ambient = ambient_pressure(height);
        let back = at_temperature(at_temperature(gauge, a, b, ambient), b, a, ambient);
        prop_assert!((back - gauge).abs() < 1e-9);
        // Warmer air never reads less.
        prop_assert_eq!(at_temperature(gauge, a, b, ambient) > gauge, b > a);
    }
}
