//! The bench for programs: JSON and CSV, SI units.

use super::Found;
use crate::commands::write_failed;
use crate::failure::Failure;
use clap::ValueEnum;
use serde_json::{Value, json};
use std::io::Write;
use tractwright::study::flow_bench::{Air, BenchReading, Removal};

/// Version of the form of both outputs; it rises when a key changes its meaning.
const SCHEMA: u32 = 1;

/// Writes one document.
///
/// # Errors
/// Nobody takes the output.
pub(super) fn json(found: &Found<'_>, out: &mut dyn Write) -> Result<(), Failure> {
    let command = found.command;
    let Air { pressure, temperature, .. } = found.reading.air;
    let other = |other: &super::Other| json!({ "depression": other.depression, "converted": other.converted, "solved": other.solved });
    let removal = |(part, removal): &(String, Result<Removal, String>)| match removal {
        Ok(removal) => json!({
            "part": part,
            "reading": reading(&removal.reading, found),
            "gain": removal.gain,
            "share_of_loss": removal.share,
            "effective_area": removal.area.filter(|area| area.is_finite()),
        }),
        Err(why) => json!({ "part": part, "why": why }),
    };
    let document = json!({
        "schema": SCHEMA,
        "from": command.from,
        "to": command.to,
        "convention": word(&command.convention),
        "entry": word(&command.entry),
        "formula": word(&command.formula),
        "air": { "pressure": pressure, "temperature": temperature, "density": found.reading.air.density() },
        "reading": reading(&found.reading, found),
        "at_other_depressions": found.others.iter().map(other).collect::<Vec<_>>(),
        "in_standard_air": { "density": Air::standard().density(), "mass_flow": found.standard },
        "stay_out": command.stay_out,
        "without": found.removals.iter().map(removal).collect::<Vec<_>>(),
    });
    Ok(writeln!(out, "{document:#}")?)
}

fn reading(reading: &BenchReading, found: &Found<'_>) -> Value {
    json!({
        "mass_flow": reading.mass_flow,
        "volume_flow": reading.volume_flow(),
        "depression": reading.depression,
        "static_depression": reading.static_depression,
        "exit_area": Some(reading.exit_area).filter(|area| area.is_finite()),
        "loss_coefficient": reading.loss_coefficient(found.formula),
        "effective_area": reading.effective_area(found.formula),
    })
}

/// Writes one row for all parts, with no name, and one without each part; of one that cannot be taken out the name alone.
///
/// # Errors
/// Nobody takes the output.
pub(super) fn csv(found: &Found<'_>, out: &mut dyn Write) -> Result<(), Failure> {
    let mut csv = csv::Writer::from_writer(out);
    let head = [
        "without",
        "mass_flow",
        "volume_flow",
        "depression",
        "static_depression",
        "exit_area",
        "loss_coefficient",
        "effective_area",
        "gain",
        "share_of_loss",
        "effective_area_of_part",
    ];
    csv.write_record(head).map_err(write_failed)?;
    let number = |value: Option<f64>| {
        value.filter(|value| value.is_finite()).map_or_else(String::new, |value| value.to_string())
    };
    let all = std::iter::once((String::new(), Some(&found.reading), None));
    let without = found.removals.iter().map(|(part, removal)| {
        let removal = removal.as_ref().ok();
        (part.clone(), removal.map(|removal| &removal.reading), removal)
    });
    for (part, reading, removal) in all.chain(without) {
        let record = [
            part,
            number(reading.map(|reading| reading.mass_flow)),
            number(reading.map(BenchReading::volume_flow)),
            number(reading.map(|reading| reading.depression)),
            number(reading.map(|reading| reading.static_depression)),
            number(reading.map(|reading| reading.exit_area)),
            number(reading.and_then(|reading| reading.loss_coefficient(found.formula))),
            number(reading.map(|reading| reading.effective_area(found.formula))),
            number(removal.map(|removal| removal.gain)),
            number(removal.map(|removal| removal.share)),
            number(removal.and_then(|removal| removal.area)),
        ];
        csv.write_record(record).map_err(write_failed)?;
    }
    Ok(csv.flush()?)
}

/// A choice as the command line has it.
fn word(choice: &impl ValueEnum) -> String {
    choice.to_possible_value().map_or_else(String::new, |value| value.get_name().to_owned())
}
