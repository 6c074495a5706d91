//! `validate`: the solver against what is known from elsewhere.

use super::{Format, write_failed};
use crate::failure::Failure;
use crate::print::table::wrap;
use crate::print::{Row, Table, WIDTH};
use crate::{Streams, exit};
use serde_json::{Value, json};
use std::io::Write;
use std::sync::Mutex;
use tractwright_validation::check::{Outcome, Row as Compared, run_all};

/// Runs every check against something outside the project; exits 4 when one does not hold
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  tractwright validate
  tractwright validate --only gas --format json")]
pub(crate) struct Validate {
    /// One check, or one group of checks
    #[arg(long, value_name = "NAME")]
    only: Option<String>,
    /// Form of the output
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

impl Validate {
    pub(crate) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        let err = Mutex::new(&mut *streams.err);
        let told = |outcome: &Outcome| {
            if let Ok(mut err) = err.lock() {
                // A closed standard error silences the lines, not the checks.
                let _ = writeln!(err, "{}: {}", outcome.check.name, word(outcome.holds()));
            }
        };
        let outcomes = run_all(self.only.as_deref(), told).map_err(|error| Failure::wrong_use(error.to_string()))?;
        match self.format {
            Format::Text => write!(streams.out, "{}", text(&outcomes))?,
            Format::Json => writeln!(streams.out, "{:#}", Value::Array(outcomes.iter().flat_map(objects).collect()))?,
            Format::Csv => csv(&outcomes, streams.out)?,
        }
        Ok(if outcomes.iter().all(Outcome::holds) { exit::DONE } else { exit::DID_NOT_HOLD })
    }
}

fn word(holds: bool) -> &'static str {
    if holds { "holds" } else { "DOES NOT HOLD" }
}

fn text(outcomes: &[Outcome]) -> String {
    let mut text = String::new();
    for outcome in outcomes {
        for line in wrap(&format!("{}: {}", outcome.check.name, outcome.check.about), WIDTH) {
            text.push_str(&format!("{line}\n"));
        }
        for line in wrap(&format!("  source: {}", outcome.check.source), WIDTH) {
            text.push_str(&format!("{line}\n"));
        }
        text.push_str(&match &outcome.findings {
            Ok(found) if found.rows.is_empty() => format!("  {}: no value was compared\n", word(false)),
            Ok(found) => table(&found.rows).render(),
            Err(failure) => format!("  {}: {failure}\n", word(false)),
        });
        text.push('\n');
    }
    let held = outcomes.iter().filter(|outcome| outcome.holds()).count();
    text.push_str(&format!("{held} of {} checks hold\n", outcomes.len()));
    text
}

fn table(rows: &[Compared]) -> Table {
    let heads = ["computed", "reference", "error", "limit"].map(str::to_owned).to_vec();
    let row = |row: &Compared| {
        let cells = vec![digits(row.computed), digits(row.reference), short(row.error()), short(row.limit.value)];
        Row::new(format!("  {}", row.quantity), cells).noted(word(row.holds()))
    };
    Table { head: Row::new("  quantity", heads), rows: rows.iter().map(row).collect() }
}

/// Six figures, as text that stays short for any size.
fn digits(value: f64) -> String {
    let size = value.abs();
    if size != 0.0 && !(1e-3..1e6).contains(&size) {
        format!("{value:.5e}")
    } else {
        crate::print::number::trimmed(value, 6)
    }
}

fn short(value: f64) -> String {
    format!("{value:.1e}")
}

/// One object a compared value; one for a check that gave none.
fn objects(outcome: &Outcome) -> Vec<Value> {
    let check = outcome.check;
    match &outcome.findings {
        Ok(found) if !found.rows.is_empty() => found
            .rows
            .iter()
            .map(|row| {
                json!({
                    "check": check.name,
                    "group": outcome.group.name,
                    "quantity": row.quantity,
                    "computed": row.computed,
                    "reference": row.reference,
                    "error": row.error(),
                    "measure": row.measure.word(),
                    "limit": row.limit.value,
                    "why": row.limit.why,
                    "pass": row.holds(),
                    "source": check.source,
                })
            })
            .collect(),
        other => {
            let found = other.as_ref().map_or_else(ToString::to_string, |_| "no value was compared".to_owned());
            vec![json!({
                "check": check.name, "group": outcome.group.name, "quantity": found, "computed": null, "reference": null,
                "error": null, "measure": null, "limit": null, "why": null, "pass": false, "source": check.source,
            })]
        }
    }
}

fn csv(outcomes: &[Outcome], out: &mut dyn Write) -> Result<(), Failure> {
    let mut csv = csv::Writer::from_writer(out);
    let keys =
        ["check", "group", "quantity", "computed", "reference", "error", "measure", "limit", "why", "pass", "source"];
    csv.write_record(keys).map_err(write_failed)?;
    for object in outcomes.iter().flat_map(objects) {
        let plain = |key| match &object[key] {
            Value::String(text) => text.clone(),
            Value::Null => String::new(),
            other => other.to_string(),
        };
        csv.write_record(keys.map(plain)).map_err(write_failed)?;
    }
    Ok(csv.flush()?)
}
