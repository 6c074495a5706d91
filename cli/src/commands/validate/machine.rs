//! Outcomes for scripts.

use crate::commands::write_failed;
use crate::failure::Failure;
use serde_json::{Value, json};
use std::io::Write;
use tractwright_validation::check::{Measure, Outcome, Row};
use tractwright_validation::tally::Verdict;

/// Keys of an object, in their order.
const KEYS: [&str; 13] = [
    "check",
    "group",
    "about",
    "quantity",
    "computed",
    "reference",
    "band",
    "error",
    "measure",
    "limit",
    "why",
    "verdict",
    "source",
];

/// A list with one object a compared value.
pub(super) fn json(outcomes: &[Outcome]) -> Value {
    Value::Array(outcomes.iter().flat_map(objects).collect())
}

/// One object a compared value; one for a check that gave none.
fn objects(outcome: &Outcome) -> Vec<Value> {
    match &outcome.findings {
        Ok(found) if !found.rows.is_empty() => found.rows.iter().map(|row| object(outcome, row)).collect(),
        other => {
            let found = other.as_ref().map_or_else(ToString::to_string, |_| "no value was compared".to_owned());
            vec![json!({
                "check": outcome.check.name,
                "group": outcome.group.name,
                "about": outcome.check.about,
                "quantity": found,
                "computed": null,
                "reference": null,
                "band": null,
                "error": null,
                "measure": null,
                "limit": null,
                "why": null,
                "verdict": word(Verdict::DoesNotHold),
                "source": outcome.check.source,
            })]
        }
    }
}

fn object(outcome: &Outcome, row: &Row) -> Value {
    let band = match row.measure {
        Measure::Outside { band } => Some(band),
        _ => None,
    };
    json!({
        "check": outcome.check.name,
        "group": outcome.group.name,
        "about": outcome.check.about,
        "quantity": row.quantity,
        "computed": row.computed,
        "reference": row.reference,
        "band": band,
        "error": row.error(),
        "measure": row.measure.word(),
        // No number of JSON is infinite: what only informs has no limit.
        "limit": row.limit.value,
        "why": row.limit.why,
        "verdict": word(row.verdict()),
        "source": outcome.check.source,
    })
}

fn word(verdict: Verdict) -> String {
    verdict.word().to_lowercase()
}

/// The same as CSV.
pub(super) fn csv(outcomes: &[Outcome], out: &mut dyn Write) -> Result<(), Failure> {
    let mut csv = csv::Writer::from_writer(out);
    csv.write_record(KEYS).map_err(write_failed)?;
    for object in outcomes.iter().flat_map(objects) {
        csv.write_record(KEYS.map(|key| plain(&object[key]))).map_err(write_failed)?;
    }
    Ok(csv.flush()?)
}

fn plain(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        Value::Null => String::new(),
        Value::Array(items) => items.iter().map(plain).collect::<Vec<_>>().join(" to "),
        other => other.to_string(),
    }
}
