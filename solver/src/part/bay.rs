//! A bay: the air space under the bonnet.

use super::{Kind, Part, optional, required};
use crate::fields::{Fields, Range, Value};
use crate::quantity::Dimension;

/// A bay, with temperature and pressure given.
#[derive(Debug, Clone, Copy)]
pub struct Bay {
    /// Air temperature [K].
    pub temperature: f64,
    /// Static pressure above the outside, over the dynamic pressure of the road speed.
    pub pressure_coefficient: f64,
}

pub(super) const KIND: Kind = Kind {
    name: "bay",
    about: "the air space under the bonnet, with its temperature and pressure given",
    keys: &[
        required("temperature", Value::Quantity(Dimension::Temperature, Range::Positive), "temperature of its air"),
        optional(
            "pressure_coefficient",
            Value::Quantity(Dimension::Ratio, Range::Between(-3.0, 1.0)),
            "0, outside pressure (assumed)",
            "its pressure above the outside, over the dynamic pressure of the road speed",
        ),
    ],
    read,
    example: "{kind: bay, temperature: 55 degC, pressure_coefficient: 0.1}",
};

fn read(fields: &Fields<'_>) -> Option<Part> {
    let temperature = fields.si("temperature");
    let pressure_coefficient = fields.si_or("pressure_coefficient", 0.0);
    Some(Part::Bay(Bay { temperature: temperature?, pressure_coefficient }))
}
