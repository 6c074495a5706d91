//! Readings of the car beside a result.

use crate::opened::Opened;
use crate::overlay::{Beside, BesideTap, Laid};
use crate::print::number::{fixed, signed_significant, significant};
use crate::print::{Row, Table};
use serde_json::{Value, json};
use std::path::Path;

/// Where the readings of a log come from, or why there are none.
pub(crate) fn words(opened: &Opened, log: &Path, laid: &Laid) -> String {
    match laid {
        Laid::State(beside) => format!("Measured, {}, {}:", log.display(), beside.station),
        Laid::Course(overlay) => {
            let set = overlay.set_in_words(&opened.reading.case);
            let at = if set.is_empty() { String::new() } else { format!(", anew at {set} of the log") };
            let states = overlay.stations.len();
            format!(
                "Measured, {}, {states} states over the whole course; the model goes through it{at}:",
                log.display()
            )
        }
        Laid::Not(why) => format!("{} is not laid over this result: {why}.", log.display()),
    }
}

/// The readings beside the model, if there are any.
pub(crate) fn table(laid: &Laid) -> Option<Table> {
    match laid {
        Laid::State(beside) => Some(in_state(beside)),
        Laid::Course(overlay) => Some(crate::commands::measured::beside(overlay)),
        Laid::Not(_) => None,
    }
}

/// What is to be said below the table of a course: doubts, and states of which the model says nothing.
pub(crate) fn remarks(laid: &Laid) -> Vec<String> {
    laid.course().map_or_else(Vec::new, |overlay| {
        crate::commands::measured::doubts(overlay).into_iter().chain(overlay.without_model()).collect()
    })
}

/// The readings beside what the result has there, as the gauges would read it.
fn in_state(beside: &Beside) -> Table {
    let head = ["unit", "read", "model", "model less it", "over spread"].map(str::to_owned).to_vec();
    let row = |tap: &BesideTap| {
        let apart = tap.unit.difference_from_si(tap.model - tap.mean.value);
        let cells = vec![
            tap.unit.symbol.to_owned(),
            significant(tap.unit.from_si(tap.mean.value)),
            significant(tap.unit.from_si(tap.model)),
            signed_significant(apart),
            fixed((tap.model - tap.mean.value) / tap.mean.spread, 1),
        ];
        let x = tap.x.map_or(String::new(), |x| format!(" at {} mm", fixed(1e3 * x, 0)));
        Row::new(tap.channel.name.clone(), cells).noted(format!("{}{x}: {}", tap.part, tap.reads.words()))
    };
    Table { head: Row::new("gauge", head), rows: beside.taps.iter().map(row).collect() }
}

/// For programs, in SI units.
pub(super) fn machine(opened: &Opened) -> Value {
    let of_log = |(log, laid): &(std::path::PathBuf, Laid)| {
        let gauge = |tap: &BesideTap| {
            json!({
                "column": tap.channel.name, "part": tap.part, "x": tap.x, "reads": tap.reads.words(), "reading": tap.mean.value,
                "spread": tap.mean.spread, "model": tap.model,
            })
        };
        match laid {
            Laid::State(beside) => {
                json!({ "log": log, "state": beside.station, "gauges": beside.taps.iter().map(gauge).collect::<Vec<_>>() })
            }
            Laid::Course(overlay) => json!({ "log": log, "course": crate::commands::measured::document(overlay) }),
            Laid::Not(why) => json!({ "log": log, "why": why }),
        }
    };
    Value::Array(opened.beside.iter().map(of_log).collect())
}
