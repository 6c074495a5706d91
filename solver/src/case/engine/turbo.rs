//! A turbo: its compressor with the turbine that drives it.

use super::compressor;
use crate::case::keys::{optional, required};
use crate::fields::{Fields, Key, Range, Value};
use crate::powertrain::{ExhaustGas, Turbine, Turbo};
use crate::quantity::Dimension;

/// Burnt gas of a rich petrol mixture: gamma and gas constant [J/(kg K)]. Heywood (1988), section 4.7, from memory.
pub(super) const BURNT: ExhaustGas = ExhaustGas { gamma: 1.33, gas_constant: 288.0 };
/// Blade speed ratio of best efficiency. Watson and Janota (1982), from memory.
const BLADE_SPEED_RATIO: f64 = 0.7;
const MECHANICAL_EFFICIENCY: f64 = 0.97;

pub(super) const TURBINE_KEYS: &[Key] = &[
    required("flow", Value::Quantity(Dimension::MassFlow, Range::Positive), "Gas that it passes ..."),
    required(
        "inlet_pressure",
        Value::Quantity(Dimension::Pressure, Range::Positive),
        "... from this total pressure ...",
    ),
    required(
        "inlet_temperature",
        Value::Quantity(Dimension::Temperature, Range::Positive),
        "... and total temperature ...",
    ),
    required("outlet_pressure", Value::Quantity(Dimension::Pressure, Range::Positive), "... to this static one."),
    required(
        "efficiency",
        Value::Quantity(Dimension::Ratio, Range::Between(0.2, 0.9)),
        "Best efficiency, total to static.",
    ),
    required("wheel", Value::Quantity(Dimension::Length, Range::Positive), "Diameter of the wheel's inducer."),
    required("inertia", Value::Quantity(Dimension::Inertia, Range::Positive), "Inertia of the whole rotor."),
    optional(
        "blade_speed_ratio",
        Value::Quantity(Dimension::Ratio, Range::Between(0.4, 0.9)),
        "0.7",
        "Where it is best.",
    ),
    optional(
        "mechanical_efficiency",
        Value::Quantity(Dimension::Ratio, Range::Between(0.5, 1.0)),
        "97 %",
        "Of the shaft's bearings.",
    ),
];

/// A turbo without its draw.
pub(super) fn read(fields: &Fields<'_>) -> Option<Turbo> {
    let (compressor, turbine) = (fields.map("compressor")?, fields.map("turbine")?);
    let bend_penalty = compressor.si_or("bend_penalty", 0.0);
    let compressor = compressor::read(&compressor);
    let (pressure, behind) = (turbine.si("inlet_pressure")?, turbine.si("outlet_pressure")?);
    if pressure <= behind {
        turbine.problem("inlet_pressure", "a pressure not above `outlet_pressure`", "a pressure above it");
        return None;
    }
    let turbine_of = Turbine::matched(
        turbine.si("flow")?,
        &BURNT,
        [pressure, turbine.si("inlet_temperature")?, behind],
        [turbine.si("efficiency")?, turbine.si_or("blade_speed_ratio", BLADE_SPEED_RATIO), 0.5 * turbine.si("wheel")?],
    );
    Some(Turbo {
        draw: String::new(),
        compressor: compressor?,
        bend_penalty,
        turbine: turbine_of,
        inertia: turbine.si("inertia")?,
        mechanical_efficiency: turbine.si_or("mechanical_efficiency", MECHANICAL_EFFICIENCY),
    })
}
