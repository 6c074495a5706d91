//! A draw: what a compressor inlet takes out of the tract.

use super::{Course, Kind, Part, course, exactly_one, optional};
use crate::fields::{Fields, Range, Value};
use crate::quantity::Dimension;

/// What a draw asks for.
#[derive(Debug, Clone, PartialEq)]
pub enum Demand {
    /// Corrected flow [kg/s] at the reference state, and its relative rise per relative rise of inlet pressure.
    CorrectedFlow {
        /// Mass flow at the reference state [kg/s].
        flow: f64,
        /// Relative change of corrected flow per relative change of p01 over the reference pressure.
        slope: f64,
        /// Reference total pressure [Pa].
        pressure: f64,
        /// Reference total temperature [K].
        temperature: f64,
    },
    /// Mass flow [kg/s].
    Flow(f64),
    /// Static pressure below the outside [Pa] behind the draw, as a flow bench holds it.
    Depression(f64),
    /// What the compressor of the engine's turbo of this number takes.
    Engine(usize),
}

/// A draw.
#[derive(Debug, Clone)]
pub struct Draw {
    /// What it asks for.
    pub demand: Demand,
    /// How that changes in time.
    pub course: Course,
    /// Bore of its inlet [m]; the duct's end when absent.
    pub bore: Option<f64>,
    /// Temperature of air that comes back out of it [K]; the outside's when absent.
    pub backflow_temperature: Option<f64>,
}

/// Reference state of corrected flow: 15 degC and 101.325 kPa, the sea level of ISO 2533:1975 [K, Pa].
const REFERENCE: [f64; 2] = [288.15, 101_325.0];

pub(super) const KIND: Kind = Kind {
    name: "draw",
    about: "what a compressor inlet takes: the engine's, a corrected flow, a mass flow, or what a flow bench draws at a depression",
    keys: &[
        optional(
            "corrected_flow",
            Value::Quantity(Dimension::MassFlow, Range::Positive),
            "none: give `engine`, `flow` or `depression`",
            "mass flow in the state `at`; the flow drawn goes with p01 / sqrt(T01)",
        ),
        optional(
            "slope",
            Value::Quantity(Dimension::Ratio, Range::Between(-0.5, 5.0)),
            "0",
            "relative change of corrected flow per relative change of p01",
        ),
        optional(
            "power",
            Value::Quantity(Dimension::Power, Range::Positive),
            "none: give `corrected_flow`",
            "engine power that this draw's air makes, in place of `corrected_flow`; needs `air_per_power`",
        ),
        optional(
            "air_per_power",
            Value::Quantity(Dimension::AirPerWork, Range::Positive),
            "none: goes with `power`",
            "air that the engine needs for its power; petrol 3.2 to 4.2 kg/kWh (common practice, no source)",
        ),
        optional(
            "at",
            Value::Tuple(&[Dimension::Temperature, Dimension::Pressure]),
            "15 degC, 101.325 kPa (ISO 2533 sea level)",
            "reference total temperature and pressure of the corrected flow",
        ),
        optional(
            "flow",
            Value::Quantity(Dimension::MassFlow, Range::NotNegative),
            "none: give `corrected_flow` or `depression`",
            "mass flow, whatever the pressure; capped at choking",
        ),
        optional(
            "depression",
            Value::Quantity(Dimension::PressureDifference, Range::NotNegative),
            "none: give `corrected_flow` or `flow`",
            "outside pressure less the static pressure behind the draw",
        ),
        optional("engine", Value::Flag, "no", "what the turbo of the case's `engine` takes that names this draw"),
        course::TABLE,
        course::PULSE,
        optional(
            "bore",
            Value::Quantity(Dimension::Length, Range::Positive),
            "that of the duct's end",
            "bore of the compressor inlet",
        ),
        optional(
            "backflow_temperature",
            Value::Quantity(Dimension::Temperature, Range::Positive),
            "outside temperature",
            "temperature of air that comes back out",
        ),
    ],
    read,
    example: "{kind: draw, corrected_flow: 215 g/s}",
};

fn read(fields: &Fields<'_>) -> Option<Part> {
    let demand = read_demand(fields);
    let course = course::read(fields);
    Some(Part::Draw(Draw {
        demand: demand?,
        course: course?,
        bore: fields.si("bore"),
        backflow_temperature: fields.si("backflow_temperature"),
    }))
}

fn read_demand(fields: &Fields<'_>) -> Option<Demand> {
    if fields.flag("engine") == Some(true) {
        let others = ["corrected_flow", "power", "flow", "depression", "table", "pulse"];
        for key in others.into_iter().filter(|key| fields.has(key)) {
            fields.problem(key, format!("`{key}` beside `engine: yes`"), "one of them");
        }
        return Some(Demand::Engine(0));
    }
    let kind = exactly_one(fields, &["corrected_flow", "power", "flow", "depression"])?;
    if fields.has("air_per_power") != (kind == "power") {
        let found = if kind == "power" { "`power` without `air_per_power`" } else { "`air_per_power` without `power`" };
        fields.problem(kind, found, "both, such as `power: 210 kW, air_per_power: 3.7 kg/kWh`");
        return None;
    }
    if kind != "corrected_flow" && kind != "power" {
        for key in ["slope", "at"].into_iter().filter(|key| fields.has(key)) {
            fields.problem(key, format!("`{key}` beside `{kind}`"), "`corrected_flow`, to which it belongs");
        }
    }
    let value = fields.si(kind)?;
    Some(match kind {
        "flow" => Demand::Flow(value),
        "depression" => Demand::Depression(value),
        _ => {
            let reference = if fields.has("at") { fields.tuple("at")? } else { REFERENCE.to_vec() };
            let [temperature, pressure] = reference[..] else { return None };
            let flow = if kind == "power" { value * fields.si("air_per_power")? } else { value };
            Demand::CorrectedFlow { flow, slope: fields.si_or("slope", 0.0), pressure, temperature }
        }
    })
}
