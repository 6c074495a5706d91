//! Fits in which a bound is met or a prior counts, beside a general-purpose library.

use super::curve::{Observed, TO_THE_END};
use crate::check::{Failure, Findings, Limit, Row, rows_only};
use crate::data::{self, BOUNDED_FITS};
use tractwright::study::fit::{Certainty, Prior, Spreads, Unknown, least_squares};

const FITS: &[&str] = &["Chwirut2", "Rat43", "Misra1a"];

const VALUES: Limit =
    Limit { value: 1e-6, why: "both seek the same least sum; the library stops where it changes by 1e-15" };
const ERRORS: Limit = Limit { value: 1e-4, why: "the library's derivatives are differences" };
const BOUND: Limit = Limit { value: 0.0, why: "a value that is held stands on its bound to the bit" };

/// The rows.
pub(super) fn run() -> Result<Findings, Failure> {
    rows_only(FITS.iter().map(|case| rows_of(case)).collect::<Result<Vec<_>, _>>().map(|rows| rows.concat()))
}

fn rows_of(case: &str) -> Result<Vec<Row>, Failure> {
    let told = data::case(BOUNDED_FITS, case)?;
    let number = |row: &data::Row, column: &str| {
        Ok::<_, Failure>(if row.text(column)?.is_empty() { None } else { Some(row.number(column)?) })
    };
    let unknown = |row: &data::Row| {
        let prior = number(row, "prior")?.zip(number(row, "prior_spread")?);
        Ok(Unknown {
            start: row.number("start")?,
            bounds: [row.number("least")?, row.number("most")?],
            prior: prior.map(|(value, spread)| Prior { value, spread }),
        })
    };
    let unknowns = told.iter().map(unknown).collect::<Result<Vec<_>, Failure>>()?;
    let mut observed = Observed::of(case)?;
    let spread = told.first().map_or(Ok(0.0), |row| row.number("spread"))?;
    let spreads = if spread > 0.0 { Spreads::Known } else { Spreads::ByResiduals };
    if spread > 0.0 {
        observed.spread = spread;
    }
    let found = least_squares(&mut observed, &unknowns, &TO_THE_END);
    let found = found.map_err(|failure| Failure::NoSolution(format!("{case}: {failure:?}")))?;
    let certainty = Certainty::of(&found, &unknowns, spreads);
    let certainty = certainty.ok_or_else(|| Failure::Missing(format!("certainty of {case}")))?;
    let first_free = found.at_bound.iter().position(|held| !held).unwrap_or(0);
    let (mut rows, mut values, mut errors, mut correlations) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for (index, row) in told.iter().enumerate() {
        let (value, reference) = (found.values[index], row.number("value")?);
        let Some(error) = number(row, "error")? else {
            rows.push(Row::absolute(
                format!("{case}, {} on its bound", row.text("parameter")?),
                value,
                reference,
                BOUND,
            ));
            let held = if found.at_bound[index] && certainty.errors[index].is_none() { 1.0 } else { 0.0 };
            rows.push(Row::absolute(
                format!("{case}, {} held and without an error", row.text("parameter")?),
                held,
                1.0,
                BOUND,
            ));
            continue;
        };
        values.push((value, reference));
        errors.push((certainty.errors[index].unwrap_or(f64::NAN), error));
        correlations.push((certainty.correlations[first_free][index], row.number("correlation")?));
    }
    rows.push(Row::worst(format!("{case}, worst value"), values, VALUES));
    rows.push(Row::worst(format!("{case}, worst standard error"), errors, ERRORS));
    rows.push(Row::worst(format!("{case}, worst correlation"), correlations, ERRORS));
    Ok(rows)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_beside_its_bound_is_seen() {
        let rows = rows_of("Chwirut2").unwrap();
        assert!(rows.iter().all(Row::holds), "{rows:?}");
        assert!(!Row::absolute("b1", 0.15 - 1e-9, rows[0].reference, BOUND).holds());
    }
}
