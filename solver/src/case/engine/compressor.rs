//! The compressor of a turbo: a design point, or the speed lines of a measured map.

use super::TURN;
use crate::case::keys::{optional, required};
use crate::fields::{Fields, Key, Range, Value};
use crate::powertrain::{Compressor, Generic, MapRow, Reference, SpeedLines};
use crate::quantity::Dimension;

/// Reference of corrected flow and speed: 25 degC and 100 kPa, the usual one of compressor maps (SAE J1826 leaves it free) [K, Pa].
const REFERENCE: [f64; 2] = [298.15, 1e5];

pub(super) const COMPRESSOR_KEYS: &[Key] = &[
    optional(
        "flow",
        Value::Quantity(Dimension::MassFlow, Range::Positive),
        "none: give `lines`",
        "Corrected flow at the design point.",
    ),
    optional(
        "pressure_ratio",
        Value::Quantity(Dimension::Ratio, Range::Between(1.2, 6.0)),
        "none: give `lines`",
        "Pressure ratio there.",
    ),
    optional(
        "efficiency",
        Value::Quantity(Dimension::Ratio, Range::Between(0.45, 0.9)),
        "none: give `lines`",
        "Isentropic efficiency there.",
    ),
    optional(
        "speed",
        Value::Quantity(Dimension::Frequency, Range::Positive),
        "none: give `lines`",
        "Corrected speed there.",
    ),
    optional(
        "lines",
        Value::Maps(&[
            required("speed", Value::Quantity(Dimension::Frequency, Range::Positive), "Corrected speed of the line."),
            required(
                "flow",
                Value::Quantities(Dimension::MassFlow, Range::Positive),
                "Corrected flows, from surge to choke.",
            ),
            required(
                "pressure_ratio",
                Value::Quantities(Dimension::Ratio, Range::Positive),
                "Total-to-total pressure ratio at each.",
            ),
            required("efficiency", Value::Quantities(Dimension::Ratio, Range::Share), "Isentropic efficiency at each."),
        ]),
        "none: give a design point",
        "Speed lines of a measured map, at least three; or the name of a CSV file with the columns corrected_speed, corrected_flow, pressure_ratio, efficiency.",
    ),
    optional(
        "speed_limit",
        Value::Quantity(Dimension::Frequency, Range::Positive),
        "the highest line; of a design point 1.1 times its speed",
        "Highest corrected speed; goes with `lines`.",
    ),
    optional(
        "at",
        Value::Tuple(&[Dimension::Temperature, Dimension::Pressure]),
        "25 degC, 100 kPa",
        "Reference of corrected flow and speed.",
    ),
    optional(
        "bend_penalty",
        Value::Quantity(Dimension::Ratio, Range::Share),
        "0",
        "Share of the efficiency that a bend close before the inlet costs.",
    ),
];

pub(super) fn read(fields: &Fields<'_>) -> Option<Compressor> {
    let reference = if fields.has("at") { fields.tuple("at")? } else { REFERENCE.to_vec() };
    let [temperature, pressure] = reference[..] else { return None };
    let reference = Reference { pressure, temperature };
    let design = ["flow", "pressure_ratio", "efficiency", "speed"];
    let given = design.iter().filter(|key| fields.has(key)).count();
    if fields.has("lines") {
        if given > 0 {
            fields.problem("lines", "speed lines beside a design point", "one of them");
            return None;
        }
        let mut rows = Vec::new();
        for line in fields.maps("lines") {
            let speed = TURN * line.si("speed")?;
            let (flow, ratio, efficiency) =
                (line.list("flow")?, line.list("pressure_ratio")?, line.list("efficiency")?);
            if ratio.len() != flow.len() || efficiency.len() != flow.len() {
                let found =
                    format!("{} flows, {} pressure ratios, {} efficiencies", flow.len(), ratio.len(), efficiency.len());
                line.problem("flow", found, "as many of each");
                return None;
            }
            rows.extend(flow.iter().zip(&ratio).zip(&efficiency).map(|((flow, ratio), efficiency)| MapRow {
                corrected_speed: speed,
                corrected_flow: *flow,
                pressure_ratio: *ratio,
                efficiency: *efficiency,
            }));
        }
        let limit = fields.si("speed_limit").map(|limit| TURN * limit);
        return match SpeedLines::new(&rows, reference, limit) {
            Ok(lines) => Some(Compressor::Map(lines)),
            Err(fault) => {
                fields.problem("lines", fault.found, fault.expected);
                None
            }
        };
    }
    if given < design.len() {
        fields.problem(
            "",
            "neither `lines` nor a whole design point",
            "`flow`, `pressure_ratio`, `efficiency` and `speed`, or `lines`",
        );
        return None;
    }
    let [flow, ratio, efficiency, speed] =
        [fields.si("flow")?, fields.si("pressure_ratio")?, fields.si("efficiency")?, fields.si("speed")?];
    Some(Compressor::Generic(Generic::at_design(flow, ratio, efficiency, TURN * speed, reference)))
}
