//! A filter: a loss on the unfolded area of its medium.

use super::dust::{DUST, loaded};
use super::{Kind, Part, exactly_one, optional, required, rising};
use crate::fields::{Fields, Key, Range, Value};
use crate::gas::Gas;
use crate::loss::Basis;
use crate::loss::filter::{BenchPoint, BenchState, Filter, Resistance};
use crate::quantity::Dimension;

/// Extent of an element along the flow [m] when nothing says it. Common practice, no source.
const DEPTH: f64 = 0.03;

/// Ward (1964): Forchheimer's coefficient of granular beds, taken for any medium.
const WARD: f64 = 0.55;

/// Fewest points of a curve: two resistances are fitted, and one point more shows how well.
const FEWEST_POINTS: usize = 3;

const CURVE: &[Key] = &[
    optional(
        "flow",
        Value::Quantities(Dimension::MassFlow, Range::Positive),
        "none: give `volume_flow`",
        "mass flows, rising, at least 3",
    ),
    optional(
        "volume_flow",
        Value::Quantities(Dimension::VolumeFlow, Range::Positive),
        "none: give `flow`",
        "volume flows in the state `at`, rising, at least 3",
    ),
    optional(
        "drop",
        Value::Quantities(Dimension::PressureDifference, Range::Positive),
        "none: give `file`",
        "pressure drop at each flow, rising",
    ),
    optional(
        "file",
        Value::Text,
        "none: give the lists",
        "CSV in place of flows and drops, with the columns `flow [g/s]` or `volume_flow [m3/h]` and `drop [Pa]` in any unit of theirs",
    ),
    required(
        "at",
        Value::Tuple(&[Dimension::Temperature, Dimension::Pressure]),
        "temperature and absolute pressure of the air before the filter on the bench",
    ),
    optional(
        "measured",
        Value::Word(&["element", "housing"]),
        "element",
        "what the bench measured: the bare element, or the element in its housing, whose losses must then not stand in the tract again",
    ),
];

const MEDIUM: &[Key] = &[
    required("permeability", Value::Quantity(Dimension::Area, Range::Positive), "permeability of the medium"),
    required("thickness", Value::Quantity(Dimension::Length, Range::Positive), "thickness of the medium"),
    optional(
        "inertial_coefficient",
        Value::Quantity(Dimension::Ratio, Range::NotNegative),
        "0.55 (Ward 1964)",
        "Forchheimer's coefficient C in rho C v^2 / sqrt(permeability)",
    ),
];

const PLEATS: &[Key] = &[
    required("count", Value::Count, "number of pleats"),
    required("depth", Value::Quantity(Dimension::Length, Range::Positive), "depth of a pleat"),
    required("height", Value::Quantity(Dimension::Length, Range::Positive), "length of a pleat along its fold"),
];

pub(super) const KIND: Kind = Kind {
    name: "filter",
    about: "a filter: a viscous and an inertial drop on the unfolded area of its medium, fitted to a measured curve or from the medium",
    keys: &[
        optional(
            "media_area",
            Value::Quantity(Dimension::Area, Range::Positive),
            "none: give `pleats`",
            "area of the medium, pleats unfolded",
        ),
        optional("pleats", Value::Map(PLEATS), "none: give `media_area`", "pleats, for the area of the medium"),
        optional("curve", Value::Map(CURVE), "none: give `medium`", "measured drop over flow"),
        optional("medium", Value::Map(MEDIUM), "none: give `curve`", "law of Darcy and Forchheimer"),
        optional("dust", Value::Map(DUST), "clean", "dust in the medium"),
        optional(
            "depth",
            Value::Quantity(Dimension::Length, Range::Positive),
            "30 mm (assumed)",
            "extent of the element along the flow, for the inertia of the air in it",
        ),
    ],
    read,
    example: "{kind: filter, media_area: 0.21 m2, \
              curve: {flow: 60 120 180 240 g/s, drop: 90 205 345 510 Pa, at: [20 degC, 101.3 kPa]}}",
};

fn read(fields: &Fields<'_>) -> Option<Part> {
    let area = read_area(fields);
    let source = exactly_one(fields, &["curve", "medium"]);
    let area = area?;
    let (resistance, basis) = match source? {
        "curve" => read_curve(&fields.map("curve")?, area)?,
        _ => read_medium(&fields.map("medium")?)?,
    };
    let resistance = match fields.map("dust") {
        Some(dust) => loaded(&dust, resistance, area)?,
        None => resistance,
    };
    let depth = fields.si_or("depth", DEPTH);
    Some(Part::Loss(Box::new(Filter::new(resistance, area, depth, basis))))
}

fn read_area(fields: &Fields<'_>) -> Option<f64> {
    if exactly_one(fields, &["media_area", "pleats"])? == "media_area" {
        return fields.si("media_area");
    }
    let pleats = fields.map("pleats")?;
    let (count, depth, height) = (pleats.count("count"), pleats.si("depth"), pleats.si("height"));
    let count = count.filter(|&count| count > 0).or_else(|| {
        pleats.problem("count", "0", "at least one pleat");
        None
    });
    // A pleat has two faces.
    #[expect(clippy::cast_precision_loss, reason = "a filter has far fewer pleats than 2^52")]
    Some(2.0 * count? as f64 * depth? * height?)
}

fn read_medium(fields: &Fields<'_>) -> Option<(Resistance, Basis)> {
    let (permeability, thickness) = (fields.si("permeability"), fields.si("thickness"));
    let inertial = fields.si_or("inertial_coefficient", WARD);
    let basis = Basis::Assumed("medium as given, law of Darcy and Forchheimer".to_owned());
    Some((Resistance::of_medium(permeability?, thickness?, inertial), basis))
}

fn read_curve(fields: &Fields<'_>, area: f64) -> Option<(Resistance, Basis)> {
    let gas = Gas::dry_air();
    let flow_key = exactly_one(fields, &["flow", "volume_flow"]);
    let (drops, at) = (fields.list("drop"), fields.tuple("at"));
    let flow_key = flow_key?;
    if drops.is_none() && !fields.has("drop") {
        fields.problem("", "a curve without `drop`", "`drop` beside the flows, or `file`");
    }
    let (flows, drops, at) = (fields.list(flow_key)?, drops?, at?);
    let [temperature, pressure] = at[..] else { return None };
    let fits = curve_fits(fields, flow_key, &flows, &drops, pressure);
    if !fits {
        return None;
    }
    let density = if flow_key == "flow" { 1.0 } else { pressure / (gas.gas_constant * temperature) };
    let curve: Vec<BenchPoint> =
        flows.iter().zip(&drops).map(|(flow, &drop)| BenchPoint { mass_flow: flow * density, drop }).collect();
    let fit = Resistance::fit(&gas, &curve, BenchState { temperature, pressure }, area);
    let measured = fields.word("measured").unwrap_or("element");
    let deviation = 100.0 * fit.largest_deviation;
    let text = format!("{measured} curve of {} points, largest deviation {deviation:.1} %", curve.len());
    Some((fit.resistance, Basis::Measured(text)))
}

/// Whether a curve can be fitted; notes what is wrong.
fn curve_fits(fields: &Fields<'_>, flow_key: &'static str, flows: &[f64], drops: &[f64], pressure: f64) -> bool {
    let mut fits = true;
    let mut refuse = |key, found: String, expected: String| {
        fields.problem(key, found, expected);
        fits = false;
    };
    if flows.len() < FEWEST_POINTS {
        refuse(flow_key, format!("{} flows", flows.len()), format!("at least {FEWEST_POINTS}"));
    }
    if drops.len() != flows.len() {
        refuse("drop", format!("{} drops", drops.len()), format!("one for each of {} flows", flows.len()));
    }
    if !rising(flows) {
        refuse(flow_key, "flows that fall or repeat".to_owned(), "flows that rise".to_owned());
    }
    if !rising(drops) {
        refuse("drop", "drops that fall or repeat".to_owned(), "drops that rise with the flow".to_owned());
    }
    if let Some(drop) = drops.iter().find(|&&drop| drop >= 0.5 * pressure) {
        refuse("drop", format!("{drop} Pa"), "less than half of the pressure before the filter".to_owned());
    }
    fits
}
