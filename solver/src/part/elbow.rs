//! An elbow: a bend as a part of its own.

use super::{CrossSection, Kind, Part, optional, required};
use crate::fields::{Fields, Range, Value};
use crate::loss::elbow::Elbow;
use crate::quantity::Dimension;

pub(super) const KIND: Kind = Kind {
    name: "elbow",
    about: "a bend whose own length is not solved",
    keys: &[
        required(
            "angle",
            Value::Quantity(Dimension::Angle, Range::Between(0.0, std::f64::consts::PI)),
            "angle of the turn",
        ),
        required(
            "radius",
            Value::Quantity(Dimension::Length, Range::NotNegative),
            "radius of the centre line; 0 for a mitre",
        ),
        optional(
            "diameter",
            Value::Quantity(Dimension::Length, Range::Positive),
            "that of the narrower duct beside it",
            "bore, on whose velocity the loss stands (Rennels and Hudson)",
        ),
    ],
    read,
    example: "{kind: elbow, angle: 90 deg, radius: 90 mm, diameter: 76 mm}",
};

fn read(fields: &Fields<'_>) -> Option<Part> {
    let (angle, radius) = (fields.si("angle"), fields.si("radius"));
    let area = fields.si("diameter").map(|diameter| CrossSection::round(0.0, diameter).area);
    Some(Part::Loss(Box::new(Elbow::new(angle?, radius?, area))))
}
