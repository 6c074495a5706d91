//! The fit for programs: JSON and CSV, SI units.

use super::Fitting;
use crate::commands::write_failed;
use crate::failure::Failure;
use serde_json::{Value, json};
use std::io::Write;
use tractwright::study::fit::{Alike, Ending, Group};

/// Version of the form of both outputs; it rises when a key changes its meaning.
const SCHEMA: u32 = 1;

/// Writes one document.
///
/// # Errors
/// Nobody takes the output.
pub(super) fn json(fitting: &Fitting<'_>, out: &mut dyn Write) -> Result<(), Failure> {
    let certainty = &fitting.certainty;
    let value = |index: usize| {
        let fitted = &fitting.fitted[index];
        json!({
            "paths": fitted.paths,
            "unit": fitted.number.dimension.si_symbol(),
            "before": fitted.unknown.start,
            "prior": fitted.unknown.prior.map(|prior| json!({ "value": prior.value, "spread": prior.spread })),
            "bounds": fitted.unknown.bounds.map(|bound| Some(bound).filter(|bound| bound.is_finite())),
            "value": fitting.found.values[index],
            "standard_error": finite(certainty.errors[index]),
            "at_bound": fitting.found.at_bound[index],
            "share_from_readings": certainty.from_readings[index],
            "unfelt": certainty.unfelt.contains(&index),
        })
    };
    let alike = |group: &Alike| {
        let paths: Vec<&str> = group.unknowns.iter().map(|index| fitting.fitted[*index].paths[0].as_str()).collect();
        json!({ "paths": paths, "unknown_combinations": group.unknown_combinations, "condition_index": finite(Some(group.condition)) })
    };
    let group = |name: &str, group: &Group| {
        let pull = group
            .pull
            .map(|(value, shift)| json!({ "path": fitting.fitted[value].paths[0], "standard_errors": shift }));
        json!({
            "name": name,
            "readings": group.readings,
            "rms": group.deviation,
            "rms_unseen": group.unseen,
            "pull": pull,
        })
    };
    let tap = |of: &Group| {
        let channel = &fitting.measured.channels[of.of];
        let mut value = group(&channel.name, of);
        value["mean"] = json!(of.mean);
        value["unit"] = json!(channel.dimension().map(tractwright::quantity::Dimension::si_symbol));
        value
    };
    let reading = |(row, reading): (usize, &tractwright::study::fit::FitReading)| {
        let residual = fitting.found.slopes.residuals[row];
        json!({
            "station": fitting.stations[reading.station].name,
            "gauge": fitting.measured.channels[reading.channel].name,
            "read": reading.value,
            "spread": reading.spread,
            "model": reading.value + residual * reading.spread,
            "residual": residual,
        })
    };
    let correlations: Vec<Vec<Value>> = certainty
        .correlations
        .iter()
        .map(|row| row.iter().map(|value| json!(Some(*value).filter(|value| value.is_finite()))).collect())
        .collect();
    let stuck = match &fitting.found.ending {
        Ending::Stuck { unknown, refused } => json!({ "path": fitting.fitted[*unknown].paths[0], "reason": refused }),
        _ => Value::Null,
    };
    let document = json!({
        "schema": SCHEMA,
        "point": fitting.measured.point,
        "remarks": fitting.remarks,
        "values": (0..fitting.fitted.len()).map(value).collect::<Vec<_>>(),
        "correlations": correlations,
        "not_told_apart": certainty.alike.iter().map(alike).collect::<Vec<_>>(),
        "sum_of_squares": certainty.squares,
        "degrees_of_freedom": certainty.freedom,
        "deviation": certainty.deviation(),
        "rms_one_left_out": fitting.unseen,
        "gauges": fitting.taps.iter().map(tap).collect::<Vec<_>>(),
        "stations": fitting.by_station.iter().map(|of| group(&fitting.stations[of.of].name, of)).collect::<Vec<_>>(),
        "readings": fitting.readings.iter().enumerate().map(reading).collect::<Vec<_>>(),
        "evaluations": fitting.found.evaluations[0],
        "evaluations_with_derivatives": fitting.found.evaluations[1],
        "converged": fitting.found.ending.has_converged(),
        "ending": fitting.found.ending.words(),
        "stuck": stuck,
        "written": fitting.written.display().to_string(),
    });
    Ok(writeln!(out, "{document:#}")?)
}

fn finite(value: Option<f64>) -> Option<f64> {
    value.filter(|value| value.is_finite())
}

/// Writes one row a value, with its correlations.
///
/// # Errors
/// Nobody takes the output.
pub(super) fn csv(fitting: &Fitting<'_>, out: &mut dyn Write) -> Result<(), Failure> {
    let mut csv = csv::Writer::from_writer(out);
    let head = ["path", "unit", "before", "value", "standard_error", "at_bound", "share_from_readings"];
    let correlations = fitting.fitted.iter().map(|fitted| format!("correlation_with_{}", fitted.paths[0]));
    csv.write_record(head.into_iter().map(str::to_owned).chain(correlations)).map_err(write_failed)?;
    let number = |value: Option<f64>| finite(value).map_or_else(String::new, |value| value.to_string());
    for (index, fitted) in fitting.fitted.iter().enumerate() {
        let certainty = &fitting.certainty;
        let record = [
            fitted.paths.join(" "),
            fitted.number.dimension.si_symbol().to_owned(),
            fitted.unknown.start.to_string(),
            fitting.found.values[index].to_string(),
            number(certainty.errors[index]),
            fitting.found.at_bound[index].to_string(),
            certainty.from_readings[index].to_string(),
        ];
        let correlations = certainty.correlations[index].iter().map(|value| number(Some(*value)));
        csv.write_record(record.into_iter().chain(correlations)).map_err(write_failed)?;
    }
    Ok(csv.flush()?)
}
