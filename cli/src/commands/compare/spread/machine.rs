//! The sampled comparison for programs: JSON and CSV, SI units.

use super::Sampled;
use super::verdict::{Noise, Verdict, sets};
use crate::commands::write_failed;
use crate::failure::Failure;
use serde_json::{Value, json};
use std::io::Write;
use tractwright::study::Of;
use tractwright::study::spread::Difference;

/// Version of the form of both outputs; it rises when a key changes its meaning.
const SCHEMA: u32 = 1;

/// Writes one document with all points.
///
/// # Errors
/// Nobody takes the output.
pub(super) fn json(all: &[Sampled], out: &mut dyn Write) -> Result<(), Failure> {
    let document = json!({ "schema": SCHEMA, "points": all.iter().map(point).collect::<Vec<_>>() });
    Ok(writeln!(out, "{document:#}")?)
}

fn point(sampled: &Sampled) -> Value {
    let layout = |(name, differences): (&String, &Vec<Difference>)| {
        json!({
            "layout": name,
            "differences": differences.iter().map(|d| difference(d, sampled.noise)).collect::<Vec<_>>(),
        })
    };
    json!({
        "point": sampled.point,
        "first": sampled.names[0],
        "samples": sampled.counts[0],
        "left_out": sampled.counts[1],
        "left_out_because": sampled.left_out,
        "seed": sampled.seed,
        "noise": sampled.noise.pull,
        "roll_on_noise": sampled.noise.roll_on,
        "fields": sampled.fields,
        "layouts": sampled.names.iter().skip(1).zip(&sampled.differences).map(layout).collect::<Vec<_>>(),
    })
}

fn difference(difference: &Difference, noise: Noise) -> Value {
    json!({
        "figure": difference.quantity.key(),
        "of": of(&difference.of),
        "unit": difference.quantity.unit(),
        "first_median": difference.first,
        "median": difference.median,
        "low": difference.range[0],
        "high": difference.range[1],
        "verdict": Verdict::of(difference, noise).key(),
        "sets": sets(difference, noise),
    })
}

/// `all`, `between draws` or the name of a draw.
fn of(of: &Of) -> &str {
    match of {
        Of::Whole => "all",
        Of::Draw(draw) => draw,
        Of::Difference => "between draws",
    }
}

/// Writes one row a difference.
///
/// # Errors
/// Nobody takes the output.
pub(super) fn csv(all: &[Sampled], out: &mut dyn Write) -> Result<(), Failure> {
    let mut csv = csv::Writer::from_writer(out);
    let head = [
        "point",
        "layout",
        "first",
        "figure",
        "of",
        "unit",
        "first_median",
        "median",
        "low",
        "high",
        "verdict",
        "sets",
    ];
    csv.write_record(head).map_err(write_failed)?;
    for sampled in all {
        for (name, differences) in sampled.names.iter().skip(1).zip(&sampled.differences) {
            for difference in differences {
                let number = |value: f64| value.to_string();
                let record = [
                    sampled.point.clone(),
                    name.clone(),
                    sampled.names[0].clone(),
                    difference.quantity.key().to_owned(),
                    of(&difference.of).to_owned(),
                    difference.quantity.unit().to_owned(),
                    number(difference.first),
                    number(difference.median),
                    number(difference.range[0]),
                    number(difference.range[1]),
                    Verdict::of(difference, sampled.noise).key().to_owned(),
                    sets(difference, sampled.noise).map_or_else(String::new, |sets| sets.to_string()),
                ];
                csv.write_record(record).map_err(write_failed)?;
            }
        }
    }
    Ok(csv.flush()?)
}
