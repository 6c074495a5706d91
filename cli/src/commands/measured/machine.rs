//! Logs and the model beside them for programs: JSON and CSV, SI units.

use super::text::meaning;
use crate::commands::write_failed;
use crate::failure::Failure;
use crate::overlay::Overlay;
use serde_json::{Value, json};
use std::io::Write;

/// Version of the form of both outputs; it rises when a key changes its meaning.
const SCHEMA: u32 = 1;

/// Writes one document.
///
/// # Errors
/// Nobody takes the output.
pub(super) fn json(overlays: &[Overlay], out: &mut dyn Write) -> Result<(), Failure> {
    let document = json!({ "schema": SCHEMA, "logs": overlays.iter().map(document).collect::<Vec<_>>() });
    Ok(writeln!(out, "{document:#}")?)
}

/// A log with the model beside it.
pub(crate) fn document(overlay: &Overlay) -> Value {
    let log = &overlay.log;
    let columns = overlay.measured.channels.iter().zip(&log.channels).map(|(channel, data)| {
        json!({
            "name": channel.name,
            "is": meaning(channel),
            "sets": channel.sets,
            "unit_in_log": data.map(|data| data.unit.symbol),
            "unit": data.map(|data| data.dimension.si_symbol()),
            "offset_taken_off": channel.offset.as_ref().map(|offset| offset.value),
            "accuracy": Some(channel.accuracy).filter(|accuracy| *accuracy > 0.0),
            "time_step": data.and_then(|data| data.step),
            "empty": data.map(|data| data.missing),
        })
    });
    let told = log.told.iter().map(|told| json!({ "line": told.line, "text": told.text, "kept_out": told.kept_out }));
    let doubts = overlay.doubts.iter().map(|doubt| {
        json!({ "column": overlay.measured.channels[doubt.channel].name, "states": doubt.stations, "text": doubt.text })
    });
    let states = overlay.stations.iter().zip(&overlay.models).enumerate().map(|(number, (station, model))| {
        let gauges = overlay.measured.channels.iter().enumerate().filter_map(|(channel, about)| {
            let mean = station.means[channel]?;
            let model = model.as_ref().ok().and_then(|model| model[channel]);
            Some(json!({
                "column": about.name, "reading": mean.value, "spread": mean.spread, "rows": mean.rows, "runs": mean.runs, "model": model,
            }))
        });
        json!({
            "number": number,
            "name": station.name,
            "line": station.line,
            "sets": station.sets.iter().map(|(path, value)| json!({ "field": path, "value": value })).collect::<Vec<_>>(),
            "readings": gauges.collect::<Vec<_>>(),
            "why_no_model": model.as_ref().err(),
        })
    });
    json!({
        "file": log.file,
        "form": log.form,
        "point": overlay.measured.point,
        "rows": log.rows_read,
        "runs": log.runs,
        "gaps": log.dropouts,
        "step": log.step,
        "columns": columns.collect::<Vec<_>>(),
        "unused": log.unused,
        "told": told.collect::<Vec<_>>(),
        "doubts": doubts.collect::<Vec<_>>(),
        "states": states.collect::<Vec<_>>(),
    })
}

/// Writes one row for each reading of each steady state.
///
/// # Errors
/// Nobody takes the output.
pub(super) fn csv(overlays: &[Overlay], out: &mut dyn Write) -> Result<(), Failure> {
    let mut csv = csv::Writer::from_writer(out);
    let head = ["log", "state", "line", "column", "unit", "reading", "spread", "rows", "runs", "model"];
    csv.write_record(head).map_err(write_failed)?;
    for overlay in overlays {
        for (station, model) in overlay.stations.iter().zip(&overlay.models) {
            for (number, channel) in overlay.measured.channels.iter().enumerate() {
                let (Some(mean), Some(data)) = (station.means[number], overlay.log.channels[number]) else { continue };
                let model = model.as_ref().ok().and_then(|model| model[number]);
                let record = [
                    overlay.log.file.clone(),
                    station.name.clone(),
                    station.line.to_string(),
                    channel.name.clone(),
                    data.dimension.si_symbol().to_owned(),
                    mean.value.to_string(),
                    mean.spread.to_string(),
                    mean.rows.to_string(),
                    mean.runs.to_string(),
                    model.map_or_else(String::new, |model| model.to_string()),
                ];
                csv.write_record(record).map_err(write_failed)?;
            }
        }
    }
    Ok(csv.flush()?)
}
