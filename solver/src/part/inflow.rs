//! An inflow: what is fed into the tract.

use super::{Course, Kind, Part, course, required};
use crate::fields::{Fields, Range, Value};
use crate::quantity::Dimension;

/// An inflow.
#[derive(Debug, Clone)]
pub struct Inflow {
    /// Mass flow [kg/s].
    pub flow: f64,
    /// Total temperature [K].
    pub temperature: f64,
    /// How it changes in time.
    pub course: Course,
}

pub(super) const KIND: Kind = Kind {
    name: "inflow",
    about: "what is fed in: breather, recirculation valve, compressor backflow",
    keys: &[
        required("flow", Value::Quantity(Dimension::MassFlow, Range::NotNegative), "mass flow"),
        required("temperature", Value::Quantity(Dimension::Temperature, Range::Positive), "its total temperature"),
        course::TABLE,
        course::PULSE,
    ],
    read,
    example: "{kind: inflow, flow: 2 g/s, temperature: 90 degC}",
};

fn read(fields: &Fields<'_>) -> Option<Part> {
    let (flow, temperature) = (fields.si("flow"), fields.si("temperature"));
    let course = course::read(fields);
    Some(Part::Inflow(Inflow { flow: flow?, temperature: temperature?, course: course? }))
}
