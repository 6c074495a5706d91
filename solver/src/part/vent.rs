//! A vent: an opening of a bay to the outside or to another bay, at a height.

use super::{Kind, Part, optional, required};
use crate::fields::{Fields, Range, Value};
use crate::quantity::Dimension;

/// A vent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vent {
    /// Open area [m^2].
    pub area: f64,
    /// Height of its middle above the floor of the bay [m].
    pub height: f64,
    /// How tall it is [m]: warm and cold air may pass each other in a tall one.
    pub tall: f64,
    /// Static pressure of the outside before it above that far away, over the dynamic pressure of the road speed.
    pub pressure_coefficient: f64,
    /// Flow over that of an ideal opening.
    pub discharge_coefficient: f64,
}

/// Discharge coefficient of a sharp opening. Common practice, between Kirchhoff's 0.611 and measured 0.60 to 0.65.
const DISCHARGE: f64 = 0.61;

pub(super) const KIND: Kind = Kind {
    name: "vent",
    about: "an opening of a bay to the outside or to another bay, at a height",
    keys: &[
        required("area", Value::Quantity(Dimension::Area, Range::Positive), "open area"),
        optional(
            "height",
            Value::Quantity(Dimension::Length, Range::Any),
            "0 mm",
            "height of its middle above a level that all vents of the bay share",
        ),
        optional(
            "tall",
            Value::Quantity(Dimension::Length, Range::NotNegative),
            "0 mm: air goes one way only",
            "height of the opening itself, in which warm and cold air can pass each other",
        ),
        optional(
            "pressure_coefficient",
            Value::Quantity(Dimension::Ratio, Range::Between(-3.0, 1.0)),
            "0, outside pressure (assumed)",
            "pressure of the outside before it above that far away, over the dynamic pressure of the road speed",
        ),
        optional(
            "discharge_coefficient",
            Value::Quantity(Dimension::Ratio, Range::Between(0.3, 1.0)),
            "0.61 (common practice)",
            "flow over that of an ideal opening",
        ),
    ],
    read,
    example: "{kind: vent, area: 250 cm2, height: 500 mm, pressure_coefficient: -0.3}",
};

fn read(fields: &Fields<'_>) -> Option<Part> {
    Some(Part::Vent(Vent {
        area: fields.si("area")?,
        height: fields.si_or("height", 0.0),
        tall: fields.si_or("tall", 0.0),
        pressure_coefficient: fields.si_or("pressure_coefficient", 0.0),
        discharge_coefficient: fields.si_or("discharge_coefficient", DISCHARGE),
    }))
}
