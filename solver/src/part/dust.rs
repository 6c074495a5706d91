//! Dust in a filter: what it adds to the drop, what passes through.

use super::{exactly_one, optional, required, rising};
use crate::fields::{Fields, Key, Range, Value};
use crate::gas::Gas;
use crate::loss::filter::{BenchPoint, BenchState, Resistance};
use crate::quantity::Dimension;

/// Rise of the viscous drop at load 1 where nothing says it. Common practice, no source: 2 to 4.
const GROWTH: f64 = 3.0;

/// A sheet of ISO 5011: drops at one flow, dust mass by dust mass.
const LOADING: &[Key] = &[
    optional(
        "mass",
        Value::Quantities(Dimension::Mass, Range::NotNegative),
        "none: give `file`",
        "dust fed, rising from 0",
    ),
    optional(
        "drop",
        Value::Quantities(Dimension::PressureDifference, Range::Positive),
        "none: give `file`",
        "pressure drop at each mass, rising",
    ),
    optional(
        "file",
        Value::Text,
        "none: give the lists",
        "CSV in place of `mass` and `drop`, with the columns `mass [g], drop [Pa]` in any unit of theirs",
    ),
    required("flow", Value::Quantity(Dimension::MassFlow, Range::Positive), "mass flow at which it was loaded"),
    required(
        "at",
        Value::Tuple(&[Dimension::Temperature, Dimension::Pressure]),
        "temperature and absolute pressure of the air before the filter on the bench",
    ),
];

/// Share of the dust that the element keeps. Both ends are those of ISO 5011: the initial and the cumulative one.
const EFFICIENCY: &[Key] = &[
    required("initial", Value::Quantity(Dimension::Ratio, Range::Share), "of the clean element, as ISO 5011 begins"),
    required(
        "full_life",
        Value::Quantity(Dimension::Ratio, Range::Share),
        "cumulative, over the whole of its life; ISO 5011",
    ),
    optional(
        "dust",
        Value::Word(&["fine", "coarse"]),
        "none",
        "test dust of ISO 12103-1: A2 fine or A4 coarse; efficiencies with one say nothing of the other",
    ),
];

pub(super) const DUST: &[Key] = &[
    optional(
        "load",
        Value::Quantity(Dimension::Ratio, Range::NotNegative),
        "none: give `mass`",
        "dust in the filter over the dust at which its viscous drop has risen `growth` times",
    ),
    optional("mass", Value::Quantity(Dimension::Mass, Range::NotNegative), "none: give `load`", "dust in the filter"),
    optional(
        "capacity",
        Value::Quantity(Dimension::Mass, Range::Positive),
        "the last mass of `loading`",
        "dust to the end of its life; where there is no `loading`, that at which its viscous drop has risen `growth` times",
    ),
    optional(
        "growth",
        Value::Quantity(Dimension::Ratio, Range::Between(1.0, 100.0)),
        "3 (assumed; 2 to 4 are common)",
        "rise of the viscous drop at load 1; it goes with growth to the power of load",
    ),
    optional("loading", Value::Map(LOADING), "none: `growth` to the power of load", "measured drop over dust mass"),
    optional(
        "efficiency",
        Value::Map(EFFICIENCY),
        "none",
        "share of the dust that it keeps; nothing of the drop follows from it",
    ),
    optional(
        "service_limit",
        Value::Quantity(Dimension::PressureDifference, Range::Positive),
        "none",
        "rise of its drop over that of the clean element at which it is to be changed",
    ),
];

/// The resistance of a clean filter of medium `area` [m^2] with the dust that `fields` say is in it.
pub(super) fn loaded(fields: &Fields<'_>, clean: Resistance, area: f64) -> Option<Resistance> {
    let amount = exactly_one(fields, &["load", "mass"])?;
    let loading = fields.map("loading");
    let growth = if loading.is_some() { GROWTH } else { fields.si_or("growth", GROWTH) };
    if amount == "load" {
        if loading.is_some() {
            fields.problem("load", "`load` beside `loading`", "`mass`: the sheet goes by the mass of dust");
            return None;
        }
        return Some(clean.with_dust(fields.si("load")?, growth));
    }
    let mass = fields.si("mass")?;
    let Some(loading) = loading else {
        let Some(capacity) = fields.si("capacity") else {
            fields.problem(
                "mass",
                "a mass of dust without `capacity` or `loading`",
                "one of them: what the mass is compared with",
            );
            return None;
        };
        return Some(clean.with_dust(mass / capacity, growth));
    };
    if fields.has("growth") {
        fields.problem("growth", "`growth` beside `loading`", "one of them: both say how the drop rises");
        return None;
    }
    let rises = rises(&loading, clean, area)?;
    let Some(rise) = between(&rises, mass) else {
        let last = 1e3 * rises.last().map_or(0.0, |row| row.0);
        fields.problem("mass", format!("{} g", 1e3 * mass), format!("0 to {last} g, where `loading` ends"));
        return None;
    };
    Some(clean.times_viscous(rise))
}

/// Rise of the viscous resistance by dust mass [kg].
fn rises(loading: &Fields<'_>, clean: Resistance, area: f64) -> Option<Vec<(f64, f64)>> {
    let (masses, drops) = (loading.list("mass"), loading.list("drop"));
    let (flow, at) = (loading.si("flow")?, loading.tuple("at")?);
    let [temperature, pressure] = at[..] else { return None };
    let (Some(masses), Some(drops)) = (masses, drops) else {
        loading.problem("", "a sheet without `mass` and `drop`", "both, or `file`");
        return None;
    };
    let refuse = |key, found: String, expected: &str| {
        loading.problem(key, found, expected);
        None
    };
    if masses.len() != drops.len() || masses.len() < 2 {
        return refuse(
            "drop",
            format!("{} drops at {} masses", drops.len(), masses.len()),
            "one for each, two at least",
        );
    }
    if masses[0] > 0.0 || !rising(&masses) || !rising(&drops) {
        return refuse(
            "mass",
            "masses or drops that fall or repeat, or do not begin clean".to_owned(),
            "both rising, the masses from 0",
        );
    }
    let state = BenchState { temperature, pressure };
    let rise = |drop: f64| clean.rise_of(&Gas::dry_air(), BenchPoint { mass_flow: flow, drop }, state, area);
    let at_first = rise(drops[0]);
    if !(clean.viscous > 0.0 && at_first > 0.0) {
        return refuse(
            "drop",
            format!("{} Pa at first", drops[0]),
            "more than the inertial drop of the clean element at this flow",
        );
    }
    // The sheet's own clean drop is one: two benches never agree on it.
    Some(masses.into_iter().zip(drops).map(|(mass, drop)| (mass, rise(drop) / at_first)).collect())
}

/// The value at `x`, in a straight line between rows; `None` beyond them.
fn between(rows: &[(f64, f64)], x: f64) -> Option<f64> {
    let next = rows.iter().position(|row| row.0 >= x)?;
    let (after, value_after) = rows[next];
    let Some((before, value_before)) = next.checked_sub(1).map(|before| rows[before]) else { return Some(value_after) };
    Some(value_before + (x - before) / (after - before) * (value_after - value_before))
}
