use proptest::prelude::*;

use super::{Hours, MeasureError, Measured, Quantity, Unit, parse_unit};

/// NIST SP 811 (2008), Appendix B.8, as printed there to seven figures. The inch, bar, degree and fluid ounce entries were
/// read in a page that quotes the appendix; psi and the quart are from memory.
#[test]
fn conversion_factors_are_those_of_nist_sp_811() {
    for (unit, printed) in [
        (Unit::Psi, 6.894_757),
        (Unit::Bar, 1.0e2),
        (Unit::Inch, 25.4),
        (Unit::UsQuart, 9.463_529e-1),
        (Unit::UsFluidOunce, 2.957_353e-2),
        (Unit::Millilitre, 1.0e-3),
        (Unit::Fahrenheit, 1.0 / 1.8),
    ] {
        let off = (unit.factor() - printed).abs() / printed;
        assert!(off < 1e-7, "{unit}: {} against {printed}", unit.factor());
    }
}

/// SP 811 B.8: t/°C = (t/°F − 32)/1.8, read in a page that quotes it. The fixed points are those of water.
#[test]
fn degrees_fahrenheit_follow_sp_811() {
    for (fahrenheit, celsius) in [(32.0, 0.0), (212.0, 100.0), (-40.0, -40.0)] {
        assert!((Unit::Fahrenheit.to_base(fahrenheit) - celsius).abs() < 1e-9);
        assert!((Unit::Fahrenheit.from_base(celsius) - fahrenheit).abs() < 1e-9);
    }
}

/// Computed from the definition of the pound-force and the inch (0.45359237 kg × 9.80665 m/s² over 25.4² mm²).
#[test]
fn pressures_of_a_soft_tyre() {
    for (psi, kpa) in [(7.0, 48.263_301), (12.0, 82.737_088), (32.0, 220.632_233)] {
        assert!((Unit::Psi.to_base(psi) - kpa).abs() < 1e-6, "{psi} psi");
    }
    let pound_force_per_square_inch = 0.453_592_37 * 9.806_65 / (25.4 * 25.4) * 1000.0;
    assert!((Unit::Psi.factor() - pound_force_per_square_inch).abs() < 1e-9);
}

#[test]
fn a_figure_is_read_as_people_type_it() {
    for (typed, kept, base) in [
        ("14.5", "14.5", 14.5),
        (" 14,5 ", "14.5", 14.5),
        ("+3", "3", 3.0),
        (".5", "0.5", 0.5),
        ("5.", "5", 5.0),
        ("-1.5", "-1.5", -1.5),
        ("\u{2212}1.5", "-1.5", -1.5),
        ("-0", "0", 0.0),
        ("007", "007", 7.0),
    ] {
        let read = Measured::parse(typed, Unit::Mm).unwrap_or_else(|e| panic!("{typed}: {e}"));
        assert_eq!((read.as_read.as_str(), read.base), (kept, base), "{typed}");
    }
    assert_eq!(Measured::parse("14,5", Unit::Psi).expect("figure").to_string(), "14.5 psi");
}

#[test]
fn what_is_no_figure_is_refused_with_a_sentence() {
    for (typed, refusal) in [
        ("", MeasureError::Empty),
        ("  ", MeasureError::Empty),
        ("NaN", MeasureError::NotAFigure("NaN".into())),
        ("inf", MeasureError::NotAFigure("inf".into())),
        ("1e999", MeasureError::NotAFigure("1e999".into())),
        ("0x10", MeasureError::NotAFigure("0x10".into())),
        ("1 000", MeasureError::NotAFigure("1 000".into())),
        ("1.2.3", MeasureError::NotAFigure("1.2.3".into())),
        (".", MeasureError::NotAFigure(".".into())),
        ("--1", MeasureError::NotAFigure("--1".into())),
        ("1,234.5", MeasureError::TwoSigns("1,234.5".into())),
        ("1234567890123", MeasureError::TooLong),
        ("14.5 psi", MeasureError::NotAFigure("14.5 psi".into())),
    ] {
        let refused = Measured::parse(typed, Unit::Psi).expect_err(typed);
        assert_eq!(refused, refusal);
        assert!(refused.to_string().ends_with('.'), "{refused}");
    }
    let long = Measured::parse(&"x".repeat(5000), Unit::Psi).expect_err("long").to_string();
    assert!(long.len() < 200, "{long}");
}

#[test]
fn a_limit_is_read_with_its_unit() {
    assert_eq!(Measured::parse_with_unit("100 kPa").expect("limit").base, 100.0);
    assert_eq!(Measured::parse_with_unit("1 US fl oz").expect("limit").unit, Unit::UsFluidOunce);
    assert_eq!(Measured::parse_with_unit("100kPa"), Err(MeasureError::NoUnit("100kPa".into())));
    let refused = Measured::parse_with_unit("1 furlong").expect_err("furlong").to_string();
    assert!(refused.contains("furlong") && refused.contains("kPa"), "{refused}");
    assert_eq!(parse_unit(" PSI "), Ok(Unit::Psi));
}

#[test]
fn every_unit_has_the_base_of_its_quantity() {
    for unit in Unit::ALL {
        let base = unit.quantity().base();
        assert_eq!(base.quantity(), unit.quantity());
        assert_eq!(base.to_base(7.0), 7.0);
    }
    assert_eq!(Quantity::ALL.len(), 5);
}

#[test]
fn engine_hours_are_tenths() {
    for (typed, tenths, shown) in [
        ("1234.5", 12345, "1234.5"),
        ("1234,5", 12345, "1234.5"),
        ("0", 0, "0.0"),
        ("12", 120, "12.0"),
        ("7.50", 75, "7.5"),
    ] {
        let hours: Hours = typed.parse().unwrap_or_else(|e| panic!("{typed}: {e}"));
        assert_eq!((hours, hours.to_string().as_str()), (Hours(tenths), shown));
    }
    assert_eq!("1.25".parse::<Hours>(), Err(MeasureError::FinerThanTenths));
    assert_eq!("-1".parse::<Hours>(), Err(MeasureError::NegativeHours));
    assert_eq!("".parse::<Hours>(), Err(MeasureError::Empty));
    assert_eq!(serde_json::to_string(&Hours(12345)).expect("json"), "\"1234.5\"");
    assert_eq!(serde_json::from_str::<Hours>("\"1234.5\"").expect("json"), Hours(12345));
}

proptest! {
    #[test]
    fn there_and_back_is_the_same(base in -1.0e5_f64..1.0e5, unit in 0..Unit::ALL.len()) {
        let unit = Unit::ALL[unit];
        let back = unit.to_base(unit.from_base(base));
        prop_assert!((back - base).abs() <= 1e-9 * base.abs().max(1.0));
    }

    #[test]
    fn no_text_makes_the_reader_panic_or_yield_a_non_number(text in ".{0,40}") {
        if let Ok(read) = Measured::parse(&text, Unit::Psi) {
            prop_assert!(read.base.is_finite());
        }
        if let Ok(hours) = text.parse::<Hours>() {
            prop_assert!(hours.0 >= 0);
        }
    }

    #[test]
    fn shown_hours_read_back_as_they_were(tenths in 0_i64..10_000_000) {
        prop_assert_eq!(Hours(tenths).to_string().parse::<Hours>(), Ok(Hours(tenths)));
    }
}
