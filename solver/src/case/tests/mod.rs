//! Reading cases: what is right, what is wrong, and what other files may do to them. The kinds are a small table of their own,
//! but in `kinds`, which reads a whole tract.

mod adjusting;
mod engine;
mod files;
mod hostile;
mod kinds;
mod mistakes;
mod points;
mod right;

use super::files::Files;
use super::*;
use crate::fields::{Key, Need, Range, Value};
use crate::part::Part;
use crate::quantity::Dimension;

const fn key(name: &'static str, value: Value, need: Need) -> Key {
    Key { name, value, need, about: "" }
}

const LENGTH: Value = Value::Quantity(Dimension::Length, Range::Positive);
const SECTION: &[Key] = &[
    key("at", Value::Quantity(Dimension::Length, Range::NotNegative), Need::Required),
    key("diameter", LENGTH, Need::Optional("none")),
    key("area", Value::Quantity(Dimension::Area, Range::Positive), Need::Optional("none")),
    key("perimeter", LENGTH, Need::Optional("round")),
];
const BEND: &[Key] = &[
    key("at", Value::Quantity(Dimension::Length, Range::NotNegative), Need::Required),
    key("angle", Value::Quantity(Dimension::Angle, Range::Positive), Need::Required),
    key("radius", LENGTH, Need::Required),
];
const DUCT: &[Key] = &[
    key("length", LENGTH, Need::Required),
    key("sections", Value::Maps(SECTION), Need::Required),
    key("bends", Value::Maps(BEND), Need::Optional("straight")),
];
const PLENUM: &[Key] = &[key("volume", Value::Quantity(Dimension::Volume, Range::Positive), Need::Required)];
const INFLOW: &[Key] = &[
    key("flow", Value::Quantity(Dimension::MassFlow, Range::NotNegative), Need::Required),
    key("temperature", Value::Quantity(Dimension::Temperature, Range::Positive), Need::Optional("300 K")),
];
const MOUTH: &[Key] = &[key("area", Value::Quantity(Dimension::Area, Range::Positive), Need::Required)];

/// Kinds that keep what they read: a plenum and an inflow their numbers, a duct and a mouth nothing.
const KINDS: &[Kind] = &[
    Kind { name: "duct", about: "", keys: DUCT, read: |fields| fields.si("length").map(|_| Part::Wall), example: "" },
    Kind { name: "plenum", about: "", keys: PLENUM, read: read_plenum, example: "" },
    Kind { name: "inflow", about: "", keys: INFLOW, read: read_inflow, example: "" },
    Kind { name: "mouth", about: "", keys: MOUTH, read: |fields| fields.si("area").map(|_| Part::Wall), example: "" },
];

fn read_plenum(fields: &Fields<'_>) -> Option<Part> {
    use crate::part::Plenum;
    Some(Part::Plenum(Plenum {
        volume: fields.si("volume")?,
        surface: 0.0,
        wall_temperature: None,
        film: 20.0,
        clad: None,
        carry_over: Vec::new(),
    }))
}

fn read_inflow(fields: &Fields<'_>) -> Option<Part> {
    use crate::part::{Course, Inflow};
    let (flow, temperature) = (fields.si("flow")?, fields.si_or("temperature", 300.0));
    Some(Part::Inflow(Inflow { flow, temperature, course: Course::Steady }))
}

const SMALL: &str = "\
title: Small
outside: {pressure: 99.6 kPa, temperature: 24 degC}
parts:
  nose: {kind: mouth, area: 130 cm2}
  tube: {kind: duct, length: 450 mm, sections: [{at: 0 mm, diameter: 70 mm}]}
  box: {kind: plenum, volume: 11 L}
flow:
  - [outside, nose, tube, box]
run: {until: 0.4 s}
";

fn read(text: &str) -> Result<Case, CaseError> {
    Case::load("t.yaml", text, &Files::Nowhere, KINDS)
}

fn case(text: &str) -> Case {
    read(text).expect("a case without mistakes")
}

/// The mistakes as `line:column path: found | expected | nearest`.
fn mistakes(text: &str) -> Vec<String> {
    lines(&read(text).expect_err("a case with mistakes"))
}

fn lines(error: &CaseError) -> Vec<String> {
    let line = |problem: &Problem| {
        let Problem { location, path, found, expected, nearest } = problem;
        let nearest = nearest.as_deref().unwrap_or("-");
        format!("{}:{} {path}: {found} | {expected} | {nearest}", location.line, location.column)
    };
    error.problems.iter().map(line).collect()
}

/// The small case with one line in place of another.
fn with(line: &str, other: &str) -> String {
    assert!(SMALL.contains(line), "{line}");
    SMALL.replace(line, other)
}

/// What the parts of a point came to.
fn parts(case: &Case, point: &str) -> String {
    format!("{:?}", case.at_point(point).expect("a point of the case").parts)
}
