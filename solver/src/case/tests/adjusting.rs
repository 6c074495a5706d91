//! Numeric fields of a case, and cases with other values in them.

use super::*;
use crate::case::NewValue;

const TRACT: &str = "
title: two of a kind
outside: {pressure: 99.6 kPa, temperature: 24 degC, relative_humidity: 45 %}
points: {road: {speed: 45 m/s, parts: {left: {length: 2 ft}}}, dyno: {fan: {speed: 12 m/s, reaches: {nose: 50 %}}}}
parts:
  nose: {kind: scoop, area: 130 cm2, recovery: 0.75 +- 0.05 uniform, lip_radius: 4 mm}
  filter: {kind: filter, media_area: 0.21 m2, curve: {flow: 60 120 180 g/s, drop: [90 Pa, 205 Pa, 0.345 kPa], at: [20 degC, 101.3 kPa]}}
  left: {kind: duct, length: 620 mm, cell: 9 mm, sections: [{at: 0 mm, diameter: 102 mm}, {at: 18 cm, diameter: 70 mm}]}
  right: {like: left, length: 700 mm}
  turbo: {kind: draw, corrected_flow: 215 g/s}
flow: [[nose, filter, left, turbo]]
run: {until: 1 s, cell: 8 mm}
";

fn tract() -> Case {
    Case::from_text("tract.yaml", TRACT).expect("a case")
}

fn number(case: &Case, path: &str) -> Number {
    case.numbers().into_iter().find(|number| number.path == path).expect(path)
}

#[test]
fn every_quantity_is_a_field_once_for_each_part_that_has_it() {
    let case = tract();
    let numbers = case.numbers();
    let paths: Vec<&str> = numbers.iter().map(|number| number.path.as_str()).collect();
    let expected = [
        "outside.pressure",
        "outside.temperature",
        "outside.relative_humidity",
        "points.road.speed",
        "points.road.parts.left.length",
        "points.dyno.fan.speed",
        "points.dyno.fan.reaches.nose",
        "parts.nose.area",
        "parts.nose.recovery",
        "parts.nose.lip_radius",
        "parts.filter.media_area",
        "parts.filter.curve.flow[0]",
        "parts.filter.curve.flow[1]",
        "parts.filter.curve.flow[2]",
        "parts.filter.curve.drop[0]",
        "parts.filter.curve.drop[1]",
        "parts.filter.curve.drop[2]",
        "parts.filter.curve.at[0]",
        "parts.filter.curve.at[1]",
        "parts.left.length",
        "parts.left.sections[0].at",
        "parts.left.sections[0].diameter",
        "parts.left.sections[1].at",
        "parts.left.sections[1].diameter",
        "parts.right.length",
        "parts.right.sections[0].at",
        "parts.right.sections[0].diameter",
        "parts.right.sections[1].at",
        "parts.right.sections[1].diameter",
        "parts.turbo.corrected_flow",
    ];
    assert_eq!(paths, expected);
    let [left, right] = ["left", "right"].map(|part| number(&case, &format!("parts.{part}.sections[1].diameter")));
    assert!(left.location == right.location && left.location != number(&case, "parts.right.length").location);
}

#[test]
fn a_field_keeps_text_unit_and_value() {
    let case = tract();
    let at = number(&case, "parts.right.sections[1].at");
    assert_eq!((at.text.as_str(), at.unit.symbol, at.dimension), ("18 cm", "cm", Dimension::Length));
    assert_eq!((at.number.to_bits(), at.value.to_bits()), (18.0_f64.to_bits(), 0.18_f64.to_bits()));
    let flow = number(&case, "parts.filter.curve.flow[1]");
    assert_eq!((flow.text.as_str(), flow.value.to_bits()), ("120 g/s", 0.12_f64.to_bits()));
    let spread = number(&case, "parts.nose.recovery").spread.expect("a spread");
    assert!((spread.width - 0.05).abs() < 1e-15);
}

#[test]
fn a_new_value_is_read_back_and_leaves_all_else() {
    let case = tract();
    for old in case.numbers() {
        let wanted = old.value * 1.01 + if old.value == 0.0 { 1e-3 } else { 0.0 };
        // The shares of `reaches` and the stations of ducts have room for it too.
        let Ok(other) = case.with(&[(&old.path, NewValue::Si(wanted))]) else { panic!("{}", old.path) };
        for (old, new) in case.numbers().into_iter().zip(other.numbers()) {
            if (old.value - new.value).abs() > 0.0 {
                assert!((new.value / wanted - 1.0).abs() < 1e-15, "{}: {} for {wanted}", new.path, new.value);
                assert_eq!((new.unit, new.dimension), (old.unit, old.dimension));
            } else {
                assert_eq!(old.path, new.path);
            }
            match (old.spread, new.spread) {
                (Some(old), Some(new)) => assert!((old.width - new.width).abs() < 1e-15 && old.shape == new.shape),
                (old, new) => assert_eq!(old, new),
            }
        }
        assert!((number(&other, &old.path).value / wanted - 1.0).abs() < 1e-15, "{}", old.path);
    }
}

#[test]
fn several_values_change_together_as_text_or_in_si() {
    let text = |text: &str| NewValue::from(text);
    let changes = [
        ("parts.filter.curve.flow[0]", NewValue::Si(0.05)),
        ("parts.filter.curve.flow[2]", text("0.2 kg/s")),
        ("outside.temperature", text("68 degF")),
    ];
    let other = tract().with(&changes).expect("a case");
    for (path, value) in
        [("curve.flow[0]", 0.05), ("curve.flow[1]", 0.12), ("curve.flow[2]", 0.2), ("curve.drop[2]", 345.0)]
    {
        assert!((number(&other, &format!("parts.filter.{path}")).value - value).abs() < 1e-15 * value, "{path}");
    }
    assert!((other.outside.temperature - 293.15).abs() < 1e-10);
}

#[test]
fn what_cannot_be_is_refused_as_in_a_file() {
    let told = |path: &str, value: NewValue| tract().with(&[(path, value)]).expect_err(path).problems.remove(0);
    let none = told("parts.nose.aera", NewValue::Si(0.01));
    assert_eq!(none.nearest.as_deref(), Some("parts.nose.area"));
    let negative = told("parts.nose.area", NewValue::Si(-0.01));
    assert_eq!((negative.path.as_str(), negative.location.line), ("parts.nose.area", 6));
    assert!(told("parts.nose.area", NewValue::from("13 mm")).found.contains("a length"));
}

#[test]
fn a_spread_of_how_a_case_is_computed_is_refused() {
    for (from, to, path) in [
        ("until: 1 s", "until: 1 +- 0.1 s", "run.until"),
        ("cell: 9 mm", "cell: 9 +- 1 mm", "parts.left.cell"),
        ("run:", "initial: [{part: left, pressure: 99 +- 1 kPa}]\nrun:", "initial[0].pressure"),
    ] {
        let told = Case::from_text("tract.yaml", &TRACT.replace(from, to)).expect_err(path);
        assert!(
            told.problems.iter().any(|problem| problem.path == path && problem.found.contains("a spread")),
            "{told}"
        );
    }
}
