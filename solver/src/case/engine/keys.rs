//! The keys of the section `engine`.

use super::compressor::COMPRESSOR_KEYS;
use super::turbo::TURBINE_KEYS;
use crate::case::keys::{optional, required};
use crate::fields::{Key, Range, Value};
use crate::quantity::Dimension;

const SPEEDS: Value = Value::Quantities(Dimension::Frequency, Range::Positive);

/// The engine.
pub(in crate::case) const ENGINE_KEYS: &[Key] = &[
    required("displacement", Value::Quantity(Dimension::Volume, Range::Positive), "Displacement of all cylinders."),
    required("turbos", Value::Names, "The draws that its compressors are, one a bank: each a draw with `engine: yes`."),
    optional(
        "shared",
        Value::Names,
        "nothing",
        "What the banks share, out of: charge, exhaust, wastegate; with either of the first the control of the wastegates is one too.",
    ),
    required(
        "volumetric_efficiency",
        Value::Map(&[
            required("engine_speed", SPEEDS, "Rising crank speeds."),
            required("value", Value::Quantities(Dimension::Ratio, Range::Between(0.1, 1.5)), "The value at each."),
        ]),
        "Air taken over that which fills the displacement at the manifold's state.",
    ),
    required(
        "boost",
        Value::NamedMaps(&[
            required("engine_speed", SPEEDS, "Rising crank speeds."),
            required("pressure", Value::Quantities(Dimension::Pressure, Range::Positive), "Absolute charge pressure."),
        ]),
        "Charge pressures that are wanted, by name, such as `stock` and `raised`; a point's `boost` names one, else the first holds.",
    ),
    required(
        "exhaust_temperature",
        Value::Map(&[
            required("engine_speed", SPEEDS, "Rising crank speeds."),
            required("temperature", Value::Quantities(Dimension::Temperature, Range::Positive), "Before the turbine."),
        ]),
        "Temperature of the gas before the turbines at full load.",
    ),
    required("compressor", Value::Map(COMPRESSOR_KEYS), "The compressor of each turbo."),
    required("turbine", Value::Map(TURBINE_KEYS), "The turbine of each turbo."),
    required(
        "wastegate",
        Value::Map(&[
            required(
                "diameter",
                Value::Quantity(Dimension::Length, Range::Positive),
                "Of its effective area, wide open.",
            ),
            optional(
                "time",
                Value::Quantity(Dimension::Time, Range::Positive),
                "400 ms",
                "Time in which its control takes an error back.",
            ),
        ]),
        "The wastegate of each turbo.",
    ),
    required(
        "cooler",
        Value::Map(&[
            required("air_speed", Value::Quantities(Dimension::Speed, Range::NotNegative), "Rising speeds of its air."),
            required("effectiveness", Value::Quantities(Dimension::Ratio, Range::Share), "The effectiveness at each."),
            required(
                "loss",
                Value::Quantity(Dimension::PressureDifference, Range::NotNegative),
                "Loss of the charge at `flow`.",
            ),
            required(
                "flow",
                Value::Quantity(Dimension::MassFlow, Range::Positive),
                "The flow at which it loses `loss`.",
            ),
        ]),
        "The charge cooler of each bank, with the pipes before and behind it; its air is that of the road, or the fan's.",
    ),
    required(
        "exhaust",
        Value::Map(&[
            required(
                "back_pressure",
                Value::Quantity(Dimension::PressureDifference, Range::NotNegative),
                "Behind the turbine at `flow`.",
            ),
            required("flow", Value::Quantity(Dimension::MassFlow, Range::Positive), "Exhaust flow of one bank there."),
        ]),
        "The exhaust behind each turbine.",
    ),
    optional(
        "charge_volume",
        Value::Quantity(Dimension::Volume, Range::Positive),
        "4 L",
        "Between compressor and cylinders, each bank.",
    ),
    optional(
        "exhaust_volume",
        Value::Quantity(Dimension::Volume, Range::Positive),
        "1 L",
        "Between cylinders and turbine, each bank.",
    ),
    optional(
        "fuel",
        Value::Map(&[
            optional(
                "heating_value",
                Value::Quantity(Dimension::SpecificEnergy, Range::Positive),
                "42.9 MJ/kg",
                "Lower heating value.",
            ),
            optional(
                "stoichiometric",
                Value::Quantity(Dimension::Ratio, Range::Between(5.0, 20.0)),
                "14.6",
                "Air over fuel that just burns.",
            ),
            optional(
                "lambda",
                Value::Quantity(Dimension::Ratio, Range::Between(0.6, 2.0)),
                "0.85",
                "Air over the air that burns the fuel.",
            ),
        ]),
        "petrol, lambda 0.85",
        "The fuel.",
    ),
    optional(
        "indicated_efficiency",
        Value::Quantity(Dimension::Ratio, Range::Between(0.1, 0.6)),
        "40 % (common practice, no source)",
        "Gross indicated work over the heat of the fuel that finds air.",
    ),
    required(
        "friction",
        Value::Map(&[
            required("engine_speed", SPEEDS, "Three crank speeds."),
            required(
                "pressure",
                Value::Quantities(Dimension::PressureDifference, Range::Positive),
                "Friction mean effective pressure at each.",
            ),
        ]),
        "Friction and auxiliaries, a parabola through three points.",
    ),
    optional(
        "warm_charge",
        Value::Map(&[
            required(
                "above",
                Value::Quantity(Dimension::Temperature, Range::Positive),
                "Charge temperature up to which nothing is lost.",
            ),
            required(
                "loss",
                Value::Quantity(Dimension::Ratio, Range::Share),
                "Share of indicated work lost by later sparks ...",
            ),
            required(
                "each",
                Value::Quantity(Dimension::TemperatureDifference, Range::Positive),
                "... for each of these.",
            ),
        ]),
        "no loss",
        "What a charge warmer than the fuel bears costs.",
    ),
];
