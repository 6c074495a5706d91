//! A radiator: outside air that a fan and the road drive through a hot core into a bay.

use super::{Kind, Part, exactly_one, optional};
use crate::fields::{Fields, Range, Value};
use crate::quantity::Dimension;

/// A radiator, or any heat exchanger that breathes into a bay.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Radiator {
    /// Flow that the fan drives [kg/s].
    pub fan_flow: f64,
    /// Flow over road speed [kg/m]: what the ram of the road drives.
    pub flow_per_speed: f64,
    /// How warm its air gets.
    pub warms: Warms,
    /// Heat that rises from the core into the bay where no air goes through it, over the temperature between them [W/K].
    pub still_conductance: f64,
}

/// How warm the air behind a radiator gets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Warms {
    /// By a share of the way from the outside's temperature to that of the core [K].
    Core {
        /// Temperature of the core [K].
        temperature: f64,
        /// The share.
        effectiveness: f64,
    },
    /// By this heat [W].
    Heat(f64),
}

/// Share of the way to the temperature of the core. Common practice for a car's radiator at low air speed, no source.
const EFFECTIVENESS: f64 = 0.6;

pub(super) const KIND: Kind = Kind {
    name: "radiator",
    about: "outside air that a fan and the road drive through a hot core into a bay",
    keys: &[
        optional("fan_flow", Value::Quantity(Dimension::MassFlow, Range::NotNegative), "0", "flow that the fan drives"),
        optional(
            "flow_per_speed",
            Value::Quantity(Dimension::MassPerLength, Range::NotNegative),
            "0",
            "flow that the road drives, over road speed",
        ),
        optional(
            "core",
            Value::Quantity(Dimension::Temperature, Range::Positive),
            "none: give `heat`",
            "temperature of the core",
        ),
        optional(
            "effectiveness",
            Value::Quantity(Dimension::Ratio, Range::Share),
            "0.6 (common practice)",
            "share of the way from the outside's temperature to that of the core",
        ),
        optional(
            "heat",
            Value::Quantity(Dimension::Power, Range::NotNegative),
            "none: give `core`",
            "heat that it gives to the air",
        ),
        optional(
            "still_conductance",
            Value::Quantity(Dimension::Conductance, Range::NotNegative),
            "0",
            "heat that rises from the core where no air goes through it, over the temperature between core and bay",
        ),
    ],
    read,
    example: "{kind: radiator, fan_flow: 0.6 kg/s, flow_per_speed: 20 g/m, core: 92 degC}",
};

fn read(fields: &Fields<'_>) -> Option<Part> {
    let warms = match exactly_one(fields, &["core", "heat"])? {
        "heat" => {
            if let Some(key) = ["effectiveness", "still_conductance"].into_iter().find(|key| fields.has(key)) {
                fields.problem(key, format!("`{key}` beside `heat`"), "`core`, to which it belongs");
                return None;
            }
            Warms::Heat(fields.si("heat")?)
        }
        _ => {
            Warms::Core { temperature: fields.si("core")?, effectiveness: fields.si_or("effectiveness", EFFECTIVENESS) }
        }
    };
    Some(Part::Radiator(Radiator {
        fan_flow: fields.si_or("fan_flow", 0.0),
        flow_per_speed: fields.si_or("flow_per_speed", 0.0),
        warms,
        still_conductance: fields.si_or("still_conductance", 0.0),
    }))
}

impl Radiator {
    /// Flow [kg/s] at road `speed` [m/s].
    #[must_use]
    pub fn flow(&self, speed: f64) -> f64 {
        self.fan_flow + self.flow_per_speed * speed.max(0.0)
    }

    /// Temperature [K] of the air behind it, for outside air of `temperature` [K] and `heat_capacity` [J/(kg K)].
    #[must_use]
    pub fn temperature_behind(&self, speed: f64, temperature: f64, heat_capacity: f64) -> f64 {
        match self.warms {
            Warms::Core { temperature: core, effectiveness } => temperature + effectiveness * (core - temperature),
            Warms::Heat(heat) => {
                let flow = self.flow(speed);
                if flow > 0.0 { temperature + heat / (flow * heat_capacity) } else { temperature }
            }
        }
    }
}
