//! Unit factors against their definitions, and every refusal.

use proptest::prelude::*;

use super::*;

fn fault_of(text: &str, dimension: Dimension) -> Fault {
    parse(text, dimension).expect_err(text)
}

#[test]
fn factors_are_the_defined_ones() {
    // NIST SP 811 (2008), appendix B.8; the horsepowers from 550 ft lbf/s and 75 kgf m/s; degF from its definition.
    let table = [
        ("1 in", Dimension::Length, 0.0254),
        ("1 ft", Dimension::Length, 0.3048),
        ("1 in2", Dimension::Area, 6.4516e-4),
        ("1 in3", Dimension::Volume, 1.6387064e-5),
        ("1 psi", Dimension::Pressure, 6_894.757_293_168_361),
        ("1 inHg", Dimension::Pressure, 3_386.389),
        ("1 mmHg", Dimension::Pressure, 133.322_387_415),
        ("1 atm", Dimension::Pressure, 101_325.0),
        ("1 bar", Dimension::Pressure, 1e5),
        ("28 inH2O", Dimension::PressureDifference, 6_974.489_48),
        ("1 mmH2O", Dimension::PressureDifference, 9.806_65),
        ("0 degC", Dimension::Temperature, 273.15),
        ("32 degF", Dimension::Temperature, 273.15),
        ("212 degF", Dimension::Temperature, 373.15),
        ("1 lb", Dimension::Mass, 0.453_592_37),
        ("1 lb/min", Dimension::MassFlow, 0.007_559_872_833_333_333),
        ("3600 kg/h", Dimension::MassFlow, 1.0),
        ("620 cfm", Dimension::VolumeFlow, 620.0 * 4.719_474_432e-4),
        ("1 mph", Dimension::Speed, 0.44704),
        ("36 km/h", Dimension::Speed, 10.0),
        ("180 deg", Dimension::Angle, std::f64::consts::PI),
        ("600 1/min", Dimension::Frequency, 10.0),
        ("75 %", Dimension::Ratio, 0.75),
        ("1 hp", Dimension::Power, 745.699_871_582_270_2),
        ("1 PS", Dimension::Power, 735.498_75),
        ("287 J/(kg K)", Dimension::HeatCapacity, 287.0),
        ("1.8e-5 Pa s", Dimension::Viscosity, 1.8e-5),
        ("2e4 1/m", Dimension::InverseLength, 2e4),
    ];
    for (text, dimension, exact) in table {
        let value = parse(text, dimension).expect(text);
        assert!((value / exact - 1.0).abs() < 1e-15, "{text}: {value:e} instead of {exact:e}");
    }
}

#[test]
fn decimal_submultiples_are_correctly_rounded() {
    for (text, dimension, value) in [
        ("76 mm", Dimension::Length, 0.076),
        ("9 mm", Dimension::Length, 0.009),
        ("215 g/s", Dimension::MassFlow, 0.215),
        ("11 L", Dimension::Volume, 0.011),
        ("130 cm2", Dimension::Area, 0.013),
    ] {
        assert_eq!(parse(text, dimension).map(f64::to_bits), Ok(f64::to_bits(value)), "{text}");
    }
}

#[test]
fn every_dimension_reads_its_own_example_and_has_an_si_unit() {
    for &dimension in Dimension::ALL {
        assert!(parse(dimension.example(), dimension).is_ok(), "{dimension:?}");
        assert_eq!(dimension.si_symbol().is_empty(), dimension == Dimension::Ratio, "{dimension:?}");
        for unit in dimension.units() {
            let text = format!("3.5 {}", unit.symbol);
            assert!(parse(&text, dimension).is_ok(), "{text}");
        }
    }
}

#[test]
fn spaces_signs_and_typographic_symbols_are_free() {
    for text in ["76mm", "76 mm", " +76  mm ", "7.6e1 mm", "76. mm", ".076 m", "0.076m", "7600e-2mm"] {
        let value = parse(text, Dimension::Length).expect(text);
        assert!((value - 0.076).abs() < 1e-15, "{text}");
    }
    assert_eq!(parse("45 \u{b0}C", Dimension::Temperature), parse("45 degC", Dimension::Temperature));
    assert_eq!(parse("0.42 m\u{b2}", Dimension::Area), Ok(0.42));
    assert_eq!(parse("30 \u{b5}m", Dimension::Length), parse("30 um", Dimension::Length));
    assert_eq!(parse("\u{2212}5 deg", Dimension::Angle), parse("-5 deg", Dimension::Angle));
}

#[test]
fn lists_share_one_unit() {
    assert_eq!(parse_list("60 120  180 g/s", Dimension::MassFlow), Ok(vec![0.06, 0.12, 0.18]));
    assert_eq!(parse_list("0.5", Dimension::Ratio), Ok(vec![0.5]));
    assert_eq!(parse_list("1 2 1/m", Dimension::InverseLength), Ok(vec![1.0, 2.0]));
    assert!(parse_list("60 120 g/s 180", Dimension::MassFlow).is_err());
    assert!(parse_list("1.2.3 g/s", Dimension::MassFlow).is_err());
    assert!(parse_list("1-2 g/s", Dimension::MassFlow).is_err());
    assert!(parse_list("60, 120 g/s", Dimension::MassFlow).is_err_and(|f| f.expected.contains("spaces")));
    assert!(parse("60 120 g/s", Dimension::MassFlow).is_err_and(|f| f.found.starts_with("2 numbers")));
}

#[test]
fn a_bare_number_is_answered_with_an_example() {
    let fault = fault_of("0.4", Dimension::Pressure);
    assert_eq!(fault.found, "`0.4` without a unit");
    assert_eq!(fault.expected, "an absolute pressure such as `99.6 kPa`");
}

#[test]
fn a_decimal_comma_is_named() {
    let fault = fault_of("1,5 bar", Dimension::Pressure);
    assert_eq!(fault.found, "a decimal comma in `1,5 bar`");
    assert_eq!(fault.expected, "a decimal point: `1.5`");
}

#[test]
fn wrong_capitals_and_slips_get_the_right_unit() {
    for (text, dimension, right) in [
        ("4 KPA", Dimension::Pressure, "kPa"),
        ("0.4 BAR", Dimension::Pressure, "bar"),
        ("11 l", Dimension::Volume, "L"),
        ("45 degc", Dimension::Temperature, "degC"),
        ("28 inH20", Dimension::PressureDifference, "inH2O"),
    ] {
        assert_eq!(fault_of(text, dimension).nearest.as_deref(), Some(right), "{text}");
    }
}

#[test]
fn what_is_not_finite_is_refused() {
    for text in ["1e400 bar", "-1e400 bar", "1e308 MPa"] {
        assert!(fault_of(text, Dimension::Pressure).found.ends_with("out of range"), "{text}");
    }
    for text in ["nan bar", ".nan", ".inf bar", "inf bar", "", " ", "bar", "-", ".", "e5 Pa", "1_000 Pa", "0x10 Pa"] {
        assert!(parse(text, Dimension::Pressure).is_err(), "{text}");
    }
}

#[test]
fn a_unit_of_another_dimension_is_named() {
    let fault = fault_of("620 cfm", Dimension::MassFlow);
    assert_eq!(fault.found, "`620 cfm`, a volume flow");
    assert!(fault.expected.contains("352 g/s"), "{}", fault.expected);
    assert!(fault_of("420 kW", Dimension::MassFlow).expected.contains("air that the power needs"));
    assert!(fault_of("5 degC", Dimension::TemperatureDifference).expected.contains("in K"));
    assert_eq!(fault_of("28 inH2O", Dimension::Pressure).found, "`28 inH2O`, a pressure difference");
}

#[test]
fn messages_stay_short() {
    let fault = fault_of(&format!("1 {}\n", "x".repeat(10_000)), Dimension::Length);
    assert!(fault.found.len() < 200 && !fault.found.contains('\n'));
}

proptest! {
    #[test]
    fn any_text_is_read_or_refused(text in "\\PC*") {
        for &dimension in Dimension::ALL {
            let _ = parse_list(&text, dimension).map(|values| assert!(values.iter().all(|value| value.is_finite())));
        }
    }

    #[test]
    fn a_number_survives_the_way_to_si_and_back(number in -1e6..1e6_f64) {
        for &dimension in Dimension::ALL {
            for unit in dimension.units() {
                let value = parse(&format!("{number:?} {}", unit.symbol), dimension).expect("a number with a unit");
                prop_assert!((unit.from_si(value) - number).abs() <= 1e-12 * number.abs().max(1e3));
            }
        }
    }
}
