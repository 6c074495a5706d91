//! The section `vehicle`.

use super::keys::{optional, required};
use crate::fields::{Fields, Key, Range, Value};
use crate::powertrain::Vehicle;
use crate::quantity::Dimension;
use std::f64::consts::PI;

/// Radians a second of a turn a second.
const TURN: f64 = 2.0 * PI;

/// The vehicle.
pub(super) const VEHICLE_KEYS: &[Key] = &[
    required("mass", Value::Quantity(Dimension::Mass, Range::Positive), "With driver and fuel."),
    required("gears", Value::Quantities(Dimension::Ratio, Range::Positive), "Ratios of the gears, the first first."),
    required("final_drive", Value::Quantity(Dimension::Ratio, Range::Positive), "Ratio of the final drive."),
    required("tyre_radius", Value::Quantity(Dimension::Length, Range::Positive), "Rolling radius of the driven tyres."),
    required("drag_area", Value::Quantity(Dimension::Area, Range::NotNegative), "Drag coefficient times frontal area."),
    required("rolling_resistance", Value::Quantity(Dimension::Ratio, Range::Between(0.0, 0.1)), "Over weight."),
    required(
        "shift_speed",
        Value::Quantity(Dimension::Frequency, Range::Positive),
        "Crank speed at which the driver shifts up.",
    ),
    optional("shift_time", Value::Quantity(Dimension::Time, Range::Positive), "200 ms", "Time without drive."),
    optional(
        "driveline_efficiency",
        Value::Quantity(Dimension::Ratio, Range::Between(0.5, 1.0)),
        "87 %",
        "Power at the wheels over that at the crank.",
    ),
    optional(
        "wheel_inertia",
        Value::Quantity(Dimension::Inertia, Range::NotNegative),
        "5 kg m2",
        "Of all wheels together.",
    ),
    optional(
        "engine_inertia",
        Value::Quantity(Dimension::Inertia, Range::NotNegative),
        "0.25 kg m2",
        "Of the crank and what turns with it.",
    ),
    optional("traction", Value::Quantity(Dimension::Ratio, Range::Positive), "0.6", "Largest drive force over weight."),
];

/// Values of a vehicle that a case leaves out; common practice, no source.
const SHIFT_TIME: f64 = 0.2;
const DRIVELINE: f64 = 0.87;
const WHEEL_INERTIA: f64 = 5.0;
const ENGINE_INERTIA: f64 = 0.25;
const TRACTION: f64 = 0.6;

pub(super) fn read(fields: &Fields<'_>) -> Option<Vehicle> {
    Some(Vehicle {
        mass: fields.si("mass")?,
        wheel_inertia: fields.si_or("wheel_inertia", WHEEL_INERTIA),
        engine_inertia: fields.si_or("engine_inertia", ENGINE_INERTIA),
        gears: fields.list("gears")?,
        final_drive: fields.si("final_drive")?,
        shift_time: fields.si_or("shift_time", SHIFT_TIME),
        shift_speed: TURN * fields.si("shift_speed")?,
        driveline_efficiency: fields.si_or("driveline_efficiency", DRIVELINE),
        drag_area: fields.si("drag_area")?,
        rolling_resistance: fields.si("rolling_resistance")?,
        tyre_radius: fields.si("tyre_radius")?,
        traction_limit: fields.si_or("traction", TRACTION),
    })
}
