//! A gap: a leak along a seam.

use super::{Kind, Part, optional, required};
use crate::fields::{Fields, Range, Value};
use crate::loss::orifice::Orifice;
use crate::quantity::Dimension;

/// Depth of a seam along the flow [m] when nothing says it. Common practice, no source.
const DEPTH: f64 = 2e-3;

pub(super) const KIND: Kind = Kind {
    name: "gap",
    about: "a leak along a seam",
    keys: &[
        required("width", Value::Quantity(Dimension::Length, Range::Positive), "opening of the gap"),
        required("length", Value::Quantity(Dimension::Length, Range::Positive), "length of the seam that stands open"),
        optional(
            "discharge_coefficient",
            Value::Quantity(Dimension::Ratio, Range::Between(0.3, 1.0)),
            "0.62 (common practice)",
            "flow over that of an ideal opening",
        ),
        optional(
            "depth",
            Value::Quantity(Dimension::Length, Range::Positive),
            "2 mm (assumed)",
            "depth along the flow, for the inertia of the air in it",
        ),
    ],
    read,
    example: "{kind: gap, width: 1 mm, length: 300 mm}",
};

fn read(fields: &Fields<'_>) -> Option<Part> {
    let (width, length) = (fields.si("width"), fields.si("length"));
    let depth = fields.si_or("depth", DEPTH);
    Some(Part::Loss(Box::new(Orifice::gap(width?, length?, fields.si("discharge_coefficient"), depth))))
}
