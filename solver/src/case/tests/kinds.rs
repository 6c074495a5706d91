//! Cases of the kinds that the program knows.

use super::*;
use crate::part;

/// A tract with two filters in one box, a nose scoop and a rear mouth.
const TWIN: &str = "\
title: Twin filters, sealed box
outside: {pressure: 99.6 kPa, temperature: 24 degC, relative_humidity: 45 %}
points:
  road: {speed: 45 m/s}
  dyno: {speed: 0 m/s, fan: {speed: 12 m/s, reaches: [nose]}}
  pull: {speed: 60 m/s, parts: {left_turbo: {corrected_flow: 250 g/s}, right_turbo: {corrected_flow: 250 g/s}}}
parts:
  nose: {kind: scoop, area: 130 cm2, recovery: 0.75, lip_radius: 4 mm, pressure_coefficient: 0.2}
  snout:
    kind: duct
    length: 450 mm
    sections: [{at: 0 mm, width: 190 mm, height: 70 mm}, {at: 450 mm, diameter: 110 mm}]
    bends: [{at: 200 mm, angle: 35 deg, radius: 160 mm}]
    wall: {material: carbon composite, thickness: 1.6 mm}
  rear: {kind: mouth, from: outside, area: 60 cm2, pressure_coefficient: 0.05}
  box: {kind: plenum, volume: 11 L, surface: 0.42 m2}
  left_filter:
    kind: filter
    media_area: 0.21 m2
    curve: {flow: 60 120 180 240 g/s, drop: 90 205 345 510 Pa, at: [20 degC, 101.3 kPa]}
  left_tube:
    kind: duct
    length: 620 mm
    sections: [{at: 0 mm, diameter: 102 mm}, {at: 180 mm, diameter: 70 mm}]
    inlet: {shape: flared, radius: 14 mm}
  left_turbo: {kind: draw, corrected_flow: 215 g/s}
  right_filter: {like: left_filter}
  right_tube: {like: left_tube, length: 700 mm}
  right_turbo: {like: left_turbo}
flow:
  - [nose, snout, box]
  - [rear, box]
  - [box, left_filter, left_tube, left_turbo]
  - [box, right_filter, right_tube, right_turbo]
run: {march: acoustic, until: 0.4 s, cell: 8 mm, record_every: 1 ms}
";

#[test]
fn a_whole_tract_is_read_at_each_of_its_points() {
    let case = Case::from_text("twin.yaml", TWIN).unwrap_or_else(|error| panic!("{error}"));
    let demand = |point: &str| {
        let case = case.at_point(point).expect("a point of the case");
        assert_eq!(case.parts.len(), 10);
        format!("{:?}", case.parts[6].1)
    };
    assert!(demand("road").contains("flow: 0.215") && demand("pull").contains("flow: 0.25"));
    let again = Case::from_text("again.yaml", &case.resolved_text()).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(again.resolved_text(), case.resolved_text());
}

#[test]
fn the_example_of_every_kind_is_a_part_and_a_slip_in_it_is_told() {
    for kind in part::KINDS {
        let text = |example: &str| format!("parts:\n  a: {example}\n  b: {{like: a}}\nflow: [[a, b]]\n");
        let case = Case::from_text(kind.name, &text(kind.example)).unwrap_or_else(|error| panic!("{error}"));
        assert_eq!(case.at_point(REST).map(|case| case.parts.len()), Ok(2), "{}", kind.name);
        let slip = kind.example.replacen('{', "{colour: red, ", 1);
        let error = Case::from_text(kind.name, &text(&slip)).expect_err("a slip");
        assert!(lines(&error)[0].starts_with("2:7 parts.a.colour: the unknown key `colour`"), "{error}");
    }
}
