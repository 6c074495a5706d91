//! Tables of the keys that stand outside the parts.

use super::engine::ENGINE_KEYS;
use super::loss_factors::LOSS_FACTOR_KEYS;
use super::measured::MEASURED_KEYS;
use super::vehicle::VEHICLE_KEYS;
use crate::fields::{Key, Need, Range, Value};
use crate::quantity::Dimension;

/// A key that may be left out.
pub(crate) const fn optional(name: &'static str, value: Value, holds: &'static str, about: &'static str) -> Key {
    Key { name, value, need: Need::Optional(holds), about }
}

/// A key that must stand.
pub(crate) const fn required(name: &'static str, value: Value, about: &'static str) -> Key {
    Key { name, value, need: Need::Required, about }
}

/// A case.
pub const CASE_KEYS: &[Key] = &[
    optional("title", Value::Text, "", "One line that names the case in reports."),
    optional(
        "extends",
        Value::Text,
        "",
        "Another case file, in this folder or below, of which this one states the changes.",
    ),
    optional("outside", Value::Map(OUTSIDE_KEYS), "101.325 kPa, 20 degC, dry", "The undisturbed air."),
    optional("points", Value::NamedMaps(POINT_KEYS), "one point, `rest`: a car at rest", "Named operating points."),
    required(
        "parts",
        Value::Anything("a map such as `box: {kind: plenum, volume: 11 L}`"),
        "The parts of the tract, by name.",
    ),
    required(
        "flow",
        Value::Anything("a list of lines such as `- [nose, duct, box]`"),
        "Lists of part names, each in the order in which the air passes them.",
    ),
    optional(
        "loss_factors",
        Value::Map(LOSS_FACTOR_KEYS),
        "",
        "Factors on what the published laws of loss say, where a measurement of this car knows better.",
    ),
    optional("engine", Value::Map(ENGINE_KEYS), "", "The engine whose turbos draw from the tract."),
    optional("vehicle", Value::Map(VEHICLE_KEYS), "", "The vehicle that it drives; a roll-on needs it."),
    optional("initial", Value::Maps(INITIAL_KEYS), "", "States at the start, where they differ from the outside's."),
    optional(
        "measured",
        Value::Map(MEASURED_KEYS),
        "",
        "How logs of the car are to be read: what was measured where, in which unit and against what.",
    ),
    optional("run", Value::Map(RUN_KEYS), "the acoustic march until it settles", "How the case is run."),
];

/// The outside.
pub const OUTSIDE_KEYS: &[Key] = &[
    optional("pressure", Value::Quantity(Dimension::Pressure, Range::Positive), "", "Static pressure."),
    optional(
        "airport_pressure",
        Value::Quantity(Dimension::Pressure, Range::Between(5e4, 1.2e5)),
        "",
        "Pressure reduced to sea level, as airports and weather services tell it (QNH); needs `altitude`.",
    ),
    optional(
        "altitude",
        Value::Quantity(Dimension::Length, Range::Between(-500.0, 11_000.0)),
        "",
        "Height above the sea, for `airport_pressure`.",
    ),
    optional("temperature", Value::Quantity(Dimension::Temperature, Range::Positive), "20 degC", "Static temperature."),
    optional("relative_humidity", Value::Quantity(Dimension::Ratio, Range::Share), "dry air", "Relative humidity."),
    optional("gas", Value::Map(GAS_KEYS), "", "Another gas than air, for checks against a closed form."),
];

/// A gas that is not moist air.
pub const GAS_KEYS: &[Key] = &[
    required("gamma", Value::Quantity(Dimension::Ratio, Range::Between(1.01, 2.0)), "Ratio of specific heats."),
    required(
        "gas_constant",
        Value::Quantity(Dimension::HeatCapacity, Range::Positive),
        "Specific gas constant, such as 287 J/(kg K).",
    ),
    optional(
        "viscosity",
        Value::Quantity(Dimension::Viscosity, Range::NotNegative),
        "Sutherland's law of air",
        "Constant viscosity.",
    ),
];

/// An operating point.
pub const POINT_KEYS: &[Key] = &[
    optional("speed", Value::Quantity(Dimension::Speed, Range::NotNegative), "0 m/s", "Road speed."),
    optional("wind", Value::Quantity(Dimension::Speed, Range::Any), "no wind", "Head wind; a tail wind is negative."),
    optional(
        "fan",
        Value::Map(FAN_KEYS),
        "",
        "A fan that blows at some of the mouths, as on a dyno; the charge coolers stand in its air.",
    ),
    optional(
        "slope",
        Value::Quantity(Dimension::Ratio, Range::Between(-0.3, 0.3)),
        "level",
        "Rise of the road over its run.",
    ),
    optional(
        "engine_speed",
        Value::Quantity(Dimension::Frequency, Range::Positive),
        "none: goes with `engine`",
        "Crank speed; of a pull, that at its start.",
    ),
    optional("boost", Value::Text, "the first of the engine's", "Which of the engine's charge pressures is wanted."),
    optional(
        "throttle",
        Value::Quantity(Dimension::Ratio, Range::Between(0.05, 1.0)),
        "100 %",
        "Share of the charge pressure that reaches the manifold; below 100 % less boost is wanted in proportion.",
    ),
    optional(
        "pull",
        Value::Map(PULL_KEYS),
        "",
        "A dyno pull: the crank speed rises from `engine_speed` at a rate. Run with the slow march.",
    ),
    optional(
        "throttle_step",
        Value::Map(STEP_KEYS),
        "",
        "The throttle opens at `engine_speed`, to `throttle`: how fast the charge follows. Run with the slow march.",
    ),
    optional(
        "roll_on",
        Value::Map(ROLL_ON_KEYS),
        "",
        "A roll-on on the road at full throttle. Run with the slow march.",
    ),
    optional(
        "outside",
        Value::Anything("a map such as `{temperature: 40 degC}`"),
        "",
        "Keys of `outside` that differ at this point.",
    ),
    optional(
        "parts",
        Value::Anything("a map from part names to their changes"),
        "",
        "Keys of parts that differ at this point, by part name.",
    ),
    optional(
        "phases",
        Value::Maps(PHASE_KEYS),
        "",
        "Other points that hold one after another, each for a time: a heat soak, a pull. Run with the slow march.",
    ),
];

/// A dyno pull.
pub const PULL_KEYS: &[Key] = &[
    required("to", Value::Quantity(Dimension::Frequency, Range::Positive), "Crank speed at which it ends."),
    optional("in", Value::Quantity(Dimension::Time, Range::Positive), "10 s", "Time that it takes."),
];

/// A throttle step.
pub const STEP_KEYS: &[Key] = &[
    required("from", Value::Quantity(Dimension::Ratio, Range::Between(0.05, 1.0)), "Throttle before it."),
    optional("watched", Value::Quantity(Dimension::Time, Range::Positive), "5 s", "Time for which it is watched."),
];

/// A roll-on.
pub const ROLL_ON_KEYS: &[Key] = &[
    required("from", Value::Quantity(Dimension::Speed, Range::Positive), "Road speed at its start."),
    required("to", Value::Quantity(Dimension::Speed, Range::Positive), "Road speed at which it ends."),
    optional(
        "gear",
        Value::Count,
        "the lowest that does not ask for a shift at once",
        "Gear at its start, counted from 1.",
    ),
];

/// A phase of a point.
pub const PHASE_KEYS: &[Key] = &[
    required("point", Value::Text, "Name of the point that holds."),
    required("for", Value::Quantity(Dimension::Time, Range::Positive), "Time for which it holds."),
    optional(
        "ramp",
        Value::Quantity(Dimension::Time, Range::NotNegative),
        "0 s",
        "First part of this time, in which all numbers move in a straight line from those of the phase before.",
    ),
];

/// A dyno fan.
pub const FAN_KEYS: &[Key] = &[
    required("speed", Value::Quantity(Dimension::Speed, Range::NotNegative), "Speed of the air that it blows."),
    optional(
        "temperature",
        Value::Quantity(Dimension::Temperature, Range::Positive),
        "that of the outside",
        "Temperature of its air: the room is the outside, and the fan may draw from a cooler or a warmer place.",
    ),
    required(
        "reaches",
        Value::Either(&Value::Names, &Value::Named(Dimension::Ratio, Range::Share)),
        "The mouths that it reaches, or the covered share of each.",
    ),
];

/// A stretch of the initial state.
pub const INITIAL_KEYS: &[Key] = &[
    required("part", Value::Text, "A duct, plenum or bay."),
    optional("from", Value::Quantity(Dimension::Length, Range::NotNegative), "", "Start, from the duct's first end."),
    optional("to", Value::Quantity(Dimension::Length, Range::Positive), "", "End, from the duct's first end."),
    optional("pressure", Value::Quantity(Dimension::Pressure, Range::Positive), "", "Static pressure."),
    optional("temperature", Value::Quantity(Dimension::Temperature, Range::Positive), "", "Static temperature."),
    optional("velocity", Value::Quantity(Dimension::Speed, Range::Any), "", "Velocity, positive from the first end."),
];

/// How the case is run.
pub const RUN_KEYS: &[Key] = &[
    optional(
        "march",
        Value::Word(&["acoustic", "slow"]),
        "acoustic, but slow where it is run until steady",
        "acoustic: explicit, resolves waves; slow: implicit, for what is steady or changes over seconds and minutes.",
    ),
    optional(
        "start",
        Value::Word(&["steady", "rest"]),
        "steady, but rest where `initial` is given",
        "What the run starts from: the steady state of its first instant, or air at rest; `initial` says it itself.",
    ),
    optional(
        "until",
        Value::Either(&Value::Quantity(Dimension::Time, Range::Positive), &Value::Word(&["settled", "steady"])),
        "settled; steady with the slow march",
        "End of the run; `settled`: ringing of flow and recovery below `settled_below`; `steady`: the steady state, found at once.",
    ),
    optional(
        "settled_below",
        Value::Quantity(Dimension::Ratio, Range::Between(1e-12, 0.1)),
        "",
        "Relative ringing at which a run counts as settled; 1e-4 unless given.",
    ),
    optional(
        "at_most",
        Value::Quantity(Dimension::Time, Range::Positive),
        "",
        "Longest wait for `settled`; 5 s unless given.",
    ),
    optional("cell", Value::Quantity(Dimension::Length, Range::Positive), "10 mm", "Length of a cell."),
    optional(
        "record_every",
        Value::Quantity(Dimension::Time, Range::Positive),
        "1 ms",
        "Simulated time between two rows of the result file.",
    ),
    optional(
        "average_over",
        Value::Quantity(Dimension::Time, Range::Positive),
        "three periods of the slowest resonance, at most half of the run",
        "Last stretch of the run, over which means and ledgers are formed.",
    ),
    optional(
        "courant",
        Value::Quantity(Dimension::Ratio, Range::Between(0.01, 1.0)),
        "0.8",
        "Share of a cell that the fastest wave crosses in a step.",
    ),
    optional(
        "limiter",
        Value::Word(&["van_albada", "van_leer", "monotonised_central", "minmod", "none"]),
        "van_albada",
        "Slope limiter.",
    ),
    optional("riemann", Value::Word(&["hllc", "hll", "rusanov"]), "hllc", "Flux between cells."),
    optional(
        "predictor",
        Value::Word(&["none", "hancock"]),
        "two Runge-Kutta stages, no predictor",
        "hancock: half the cost for wave-dominated runs, but a steady answer then carries the square of the step.",
    ),
];
