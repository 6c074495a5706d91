//! The summary for programs: JSON and CSV, SI units.

use crate::commands::write_failed;
use crate::failure::Failure;
use crate::opened::Opened;
use serde_json::{Value, json};
use std::io::Write;
use tractwright::ledger::BranchSummary;

/// Version of the form of both outputs; it rises when a key changes its meaning.
const SCHEMA: u32 = 1;

/// Writes one document with all results.
///
/// # Errors
/// A file cannot be read, or nobody takes the output.
pub(super) fn json(results: &[Opened], out: &mut dyn Write) -> Result<(), Failure> {
    let results = results.iter().map(result).collect::<Result<Vec<_>, _>>()?;
    let units = json!({
        "pressure": "Pa", "temperature": "K", "mass_flow": "kg/s", "length": "m", "time": "s", "speed": "m/s",
        "share": "1", "recovery": "1", "closure": "1"
    });
    let document = json!({ "schema": SCHEMA, "units": units, "results": results });
    Ok(writeln!(out, "{document:#}")?)
}

fn result(opened: &Opened) -> Result<Value, Failure> {
    let summary = serde_json::to_value(&opened.summary).map_err(|error| Failure::file(error.to_string()))?;
    Ok(json!({
        "file": opened.path.to_string_lossy(),
        "case": opened.reading.case_name,
        "title": opened.reading.case.title,
        "point": opened.reading.point,
        "outcome": opened.reading.outcome,
        "stopped_by": opened.reading.stopped_by,
        "end_time": opened.end()?,
        "steps": opened.number("steps")?,
        "retaken_steps": opened.number("retaken_steps")?,
        "choked_steps": opened.number("choked_steps")?,
        "cells": opened.cells(),
        "summary": summary,
        "engine": serde_json::to_value(opened.reading.engine_figures()?).map_err(|error| Failure::file(error.to_string()))?,
        "phases": serde_json::to_value(opened.phases()?).map_err(|error| Failure::file(error.to_string()))?,
        "walls": serde_json::to_value(opened.reading.wall_figures()?).map_err(|error| Failure::file(error.to_string()))?,
    }))
}

/// Writes one row a number.
///
/// # Errors
/// Nobody takes the output.
pub(super) fn csv(results: &[Opened], out: &mut dyn Write) -> Result<(), Failure> {
    let mut csv = csv::Writer::from_writer(out);
    let head = ["result", "case", "point", "branch", "quantity", "part", "what", "basis", "value", "unit"];
    csv.write_record(head).map_err(write_failed)?;
    for opened in results {
        let file = opened.path.to_string_lossy();
        let key = [file.as_ref(), &opened.reading.case_name, &opened.reading.point];
        for branch in &opened.summary.branches {
            for line in lines(branch) {
                let line = line.each_ref().map(String::as_str);
                csv.write_record(key.into_iter().chain([branch.draw.as_str()]).chain(line)).map_err(write_failed)?;
            }
        }
        let totals = &opened.summary.totals;
        for (name, value, unit) in [
            ("mass_error", totals.mass_error, "1"),
            ("energy_error", totals.energy_error, "1"),
            ("inflow", totals.inflow, "kg/s"),
        ] {
            let line = ["", name, "", "", "", &value.to_string(), unit];
            csv.write_record(key.into_iter().chain(line)).map_err(write_failed)?;
        }
    }
    Ok(csv.flush()?)
}

/// Quantity, part, what, basis, value and unit of all that is known of a branch.
fn lines(branch: &BranchSummary) -> Vec<[String; 6]> {
    let line = |quantity: &str, part: &str, what: &str, basis: &str, value: f64, unit: &str| {
        [quantity, part, what, basis, &value.to_string(), unit].map(str::to_owned)
    };
    let plain = |quantity: &str, value: f64, unit: &str| line(quantity, "", "", "", value, unit);
    let mut lines = vec![
        plain("bore", branch.bore, "m"),
        line("mass_flow", "", "", &branch.demand, branch.mass_flow, "kg/s"),
        plain("flow_swing", branch.flow_swing, "kg/s"),
        plain("flow_share", branch.flow_share, "1"),
        plain("total_pressure", branch.total_pressure, "Pa"),
        plain("recovery", branch.recovery, "1"),
        plain("static_pressure", branch.static_pressure, "Pa"),
        plain("depression", branch.depression, "Pa"),
        plain("total_temperature", branch.total_temperature, "K"),
        plain("rise", branch.rise, "K"),
        plain("lost", branch.lost, "Pa"),
        plain("dissipation_closure", branch.dissipation_closure, "1"),
        plain("heat_closure", branch.heat_closure, "1"),
    ];
    lines.extend(branch.origins.iter().map(|origin| line("origin", &origin.origin, "", "", origin.share, "1")));
    lines.extend(branch.losses.iter().map(|loss| line("loss", &loss.part, &loss.what, &loss.basis, loss.lost, "Pa")));
    lines.extend(branch.heat.iter().map(|heat| line("heat", &heat.place, &heat.cause, "", heat.rise, "K")));
    lines
}
