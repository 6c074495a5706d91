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
        "notes": opened.reading.notes,
        "end_time": opened.end()?,
        "steps": opened.number("steps")?,
        "retaken_steps": opened.number("retaken_steps")?,
        "choked_steps": opened.number("choked_steps")?,
        "cells": opened.cells(),
        "summary": summary,
        "measured": super::measured::machine(opened),
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
        for line in beside_branches(opened)? {
            csv.write_record(key.into_iter().chain(line.each_ref().map(String::as_str))).map_err(write_failed)?;
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

/// Branch, quantity, part, what, basis, value and unit of phases, walls, air meters and the engine at its last row.
fn beside_branches(opened: &Opened) -> Result<Vec<[String; 7]>, Failure> {
    let mut lines = Vec::new();
    let mut line = |branch: &str, quantity: &str, part: &str, what: &str, value: f64, unit: &str| {
        lines.push([branch, quantity, part, what, "", &value.to_string(), unit].map(str::to_owned));
    };
    for phase in opened.phases()? {
        line("", "phase_end", &phase.point, "", phase.to, "s");
        for draw in &phase.draws {
            line(&draw.draw, "phase_mass_flow", &phase.point, "", draw.mass_flow, "kg/s");
            line(&draw.draw, "phase_total_temperature", &phase.point, "", draw.temperature, "K");
            line(&draw.draw, "phase_highest_temperature", &phase.point, "", draw.highest, "K");
            line(&draw.draw, "phase_highest_at", &phase.point, "", draw.highest_at, "s");
            if let Some(time) = draw.back_after {
                line(&draw.draw, "phase_back_after", &phase.point, "", time, "s");
            }
        }
        for (bay, temperature) in &phase.bays {
            line("", "phase_temperature", bay, &phase.point, *temperature, "K");
        }
    }
    for wall in opened.reading.wall_figures()? {
        line("", "highest_wall_temperature", &wall.part, &wall.what, wall.highest, "K");
        if let Some((limit, _)) = &wall.limit {
            line("", "limit_of_material", &wall.part, &wall.what, *limit, "K");
        }
        if let Some(depression) = wall.depression {
            line("", "highest_depression", &wall.part, &wall.what, depression, "Pa");
        }
    }
    for meter in &opened.summary.meters {
        line("", "air_meter_flow", &meter.part, "", meter.mass_flow, "kg/s");
        line("", "air_meter_reading", &meter.part, "", meter.reading, "kg/s");
        line("", "air_meter_ratio", &meter.part, "reading over flow", meter.ratio, "1");
    }
    if let Some(now) = opened.reading.engine_figures()?.last() {
        line("", "power", "engine", "at the last row", now.power, "W");
        line("", "torque", "engine", "at the last row", now.torque, "N m");
        line("", "crank_speed", "engine", "at the last row", now.crank_speed, "rad/s");
        for turbo in &now.turbos {
            for (quantity, value, unit) in [
                ("charge_pressure", turbo.charge_pressure, "Pa"),
                ("exhaust_pressure", turbo.exhaust_pressure, "Pa"),
                ("back_pressure", turbo.back_pressure, "Pa"),
                ("shaft_speed", turbo.shaft_speed, "rad/s"),
                ("speed_margin", turbo.speed_margin, "1"),
                ("surge_margin", turbo.surge_margin, "1"),
                ("choke_margin", turbo.choke_margin, "1"),
            ] {
                line(&turbo.draw, quantity, "engine", turbo.regime, value, unit);
            }
        }
    }
    Ok(lines)
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
    lines.extend(branch.causes.iter().map(|found| line("warmth", "", &found.cause, "", found.rise, "K")));
    lines.extend(branch.heat.iter().map(|heat| line("heat", &heat.place, &heat.cause, "", heat.rise, "K")));
    lines
}
