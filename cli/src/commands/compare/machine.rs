//! The comparison for programs: JSON and CSV, SI units.

use crate::commands::write_failed;
use crate::failure::Failure;
use crate::layouts::class::Class;
use crate::layouts::{AtPoint, Layout, why};
use serde_json::{Map, Value, json};
use std::io::Write;

/// Version of the form of both outputs; it rises when a key changes its meaning.
const SCHEMA: u32 = 1;

/// Writes one document with all points.
///
/// # Errors
/// Nobody takes the output.
pub(super) fn json(points: &[AtPoint], out: &mut dyn Write) -> Result<(), Failure> {
    let names = |ranked: Vec<&Layout>| ranked.iter().map(|layout| layout.name.clone()).collect::<Vec<_>>();
    let point = |point: &AtPoint| {
        json!({
            "point": point.name,
            "layouts": point.layouts.iter().map(layout).collect::<Vec<_>>(),
            "by_recovery": names(why::by_recovery(&point.layouts)),
            "by_temperature": names(why::by_temperature(&point.layouts)),
            "range": Value::Null,
            "best_power": Value::Null,
        })
    };
    let units = json!({ "pressure": "Pa", "temperature": "K", "mass_flow": "kg/s", "share": "1", "recovery": "1" });
    let document = json!({ "schema": SCHEMA, "units": units, "points": points.iter().map(point).collect::<Vec<_>>() });
    Ok(writeln!(out, "{document:#}")?)
}

fn layout(layout: &Layout) -> Value {
    let losses: Map<String, Value> =
        Class::ALL.into_iter().map(|class| (class.key().to_owned(), json!(layout.class(class)))).collect();
    let named =
        |items: &[(String, f64)]| items.iter().map(|(name, value)| (name.clone(), json!(value))).collect::<Map<_, _>>();
    json!({
        "layout": layout.name,
        "file": layout.file,
        "outcome": layout.outcome,
        "power": layout.engine.as_ref().map(|made| made.power),
        "torque": layout.engine.as_ref().map(|made| made.torque),
        "regime": layout.engine.as_ref().map(|made| made.regime.clone()),
        "roll_on_time": layout.engine.as_ref().and_then(|made| made.roll_on.as_ref().map(|time| time.1)),
        "response_time": layout.engine.as_ref().and_then(|made| made.response),
        "mass_flow": layout.mass_flow,
        "recovery": layout.recovery,
        "total_pressure": layout.total_pressure,
        "depression": layout.depression,
        "total_temperature": layout.total_temperature,
        "rise": layout.rise,
        "recovery_difference": layout.differences.map(|difference| difference.0),
        "mass_flow_difference": layout.differences.map(|difference| difference.1),
        "lost": layout.lost,
        "losses": losses,
        "heat": named(&layout.heat),
        "causes": named(&layout.causes),
        "origins": named(&layout.origins),
        "air_meter_ratios": named(&layout.meters),
    })
}

/// Writes one row a number.
///
/// # Errors
/// Nobody takes the output.
pub(super) fn csv(points: &[AtPoint], out: &mut dyn Write) -> Result<(), Failure> {
    let mut csv = csv::Writer::from_writer(out);
    csv.write_record(["point", "layout", "quantity", "what", "value", "unit"]).map_err(write_failed)?;
    for point in points {
        for layout in &point.layouts {
            for (quantity, what, value, unit) in lines(layout) {
                let record = [&point.name, &layout.name, quantity, &what, &value.to_string(), unit];
                csv.write_record(record).map_err(write_failed)?;
            }
        }
    }
    Ok(csv.flush()?)
}

fn lines(layout: &Layout) -> Vec<(&'static str, String, f64, &'static str)> {
    let plain = |quantity, value, unit| (quantity, String::new(), value, unit);
    let mut lines = vec![
        plain("mass_flow", layout.mass_flow, "kg/s"),
        plain("recovery", layout.recovery, "1"),
        plain("total_pressure", layout.total_pressure, "Pa"),
        plain("depression", layout.depression, "Pa"),
        plain("total_temperature", layout.total_temperature, "K"),
        plain("rise", layout.rise, "K"),
        plain("lost", layout.lost, "Pa"),
    ];
    if let Some(made) = &layout.engine {
        lines.push(("power", made.regime.clone(), made.power, "W"));
        lines.push(plain("torque", made.torque, "N m"));
        lines.extend(made.roll_on.iter().map(|(speeds, time)| ("roll_on_time", speeds.clone(), *time, "s")));
        lines.extend(made.response.map(|time| plain("response_time", time, "s")));
    }
    if let Some((recovery, mass_flow)) = layout.differences {
        lines.push(plain("recovery_difference", recovery, "1"));
        lines.push(plain("mass_flow_difference", mass_flow, "kg/s"));
    }
    lines.extend(Class::ALL.map(|class| ("loss", class.key().to_owned(), layout.class(class), "Pa")));
    lines.extend(layout.heat.iter().map(|(cause, rise)| ("heat", cause.clone(), *rise, "K")));
    lines.extend(layout.origins.iter().map(|(origin, share)| ("origin", origin.clone(), *share, "1")));
    lines.extend(layout.meters.iter().map(|(meter, ratio)| ("air_meter_ratio", meter.clone(), *ratio, "1")));
    lines
}
