//! The levers for programs: JSON and CSV, SI units beside those of the user.

use super::Found;
use crate::commands::write_failed;
use crate::failure::Failure;
use serde_json::{Value, json};
use std::io::Write;
use tractwright::case::Number;
use tractwright::study::levers::{Lever, Sides};

/// Version of the form of both outputs; it rises when a key changes its meaning.
const SCHEMA: u32 = 1;

/// Writes one document.
///
/// # Errors
/// Nobody takes the output.
pub(super) fn json(found: &Found<'_>, out: &mut dyn Write) -> Result<(), Failure> {
    let quantity = found.aim.quantity();
    let unknown = |(number, why): &(&Number, String)| json!({ "path": number.path, "why": why });
    let document = json!({
        "schema": SCHEMA,
        "aim": quantity.key(),
        "unit": quantity.unit(),
        "now": found.study.now(),
        "step": found.study.step,
        "within": found.study.within,
        "tolerance_target": found.target,
        "levers": found.levers.iter().map(|(number, lever)| one(number, lever, found.target)).collect::<Vec<_>>(),
        "without_effect": found.without,
        "unknown": found.unknown.iter().map(unknown).collect::<Vec<_>>(),
    });
    Ok(writeln!(out, "{document:#}")?)
}

fn one(number: &Number, lever: &Lever, target: f64) -> Value {
    json!({
        "path": number.path,
        "text": number.text,
        "value": number.value,
        "unit": number.dimension.si_symbol(),
        "derivative": lever.derivative,
        "derivative_of_twice_the_step": lever.check,
        "side": side(lever),
        "workshop_step": lever.step.width,
        "workshop_step_text": lever.step.words,
        "change_per_workshop_step": lever.per_step(),
        "best_value": lever.best,
        "gain": lever.gain,
        "tolerance": lever.tolerance(target),
    })
}

fn side(lever: &Lever) -> &'static str {
    match lever.sides {
        Sides::Both => "both",
        Sides::Above(_) => "above",
        Sides::Below(_) => "below",
    }
}

/// Writes one row a lever.
///
/// # Errors
/// Nobody takes the output.
pub(super) fn csv(found: &Found<'_>, out: &mut dyn Write) -> Result<(), Failure> {
    let mut csv = csv::Writer::from_writer(out);
    let head = [
        "path",
        "text",
        "value",
        "unit",
        "derivative",
        "derivative_of_twice_the_step",
        "side",
        "workshop_step",
        "change_per_workshop_step",
        "best_value",
        "gain",
        "tolerance",
    ];
    csv.write_record(head).map_err(write_failed)?;
    for (number, lever) in &found.levers {
        let record = [
            number.path.clone(),
            number.text.clone(),
            number.value.to_string(),
            number.dimension.si_symbol().to_owned(),
            lever.derivative.to_string(),
            lever.check.map_or_else(String::new, |check| check.to_string()),
            side(lever).to_owned(),
            lever.step.width.to_string(),
            lever.per_step().to_string(),
            lever.best.to_string(),
            lever.gain.to_string(),
            lever.tolerance(found.target).to_string(),
        ];
        csv.write_record(record).map_err(write_failed)?;
    }
    Ok(csv.flush()?)
}
