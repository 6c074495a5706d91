//! NIST's reference problems of nonlinear regression.

use super::curve::{Observed, TO_THE_END};
use crate::check::{Failure, Findings, Limit, Row, rows_only};
use crate::data::{self, REGRESSION_VALUES};
use tractwright::study::fit::{Certainty, Spreads, Unknown, least_squares};

const PROBLEMS: &[&str] = &[
    "Misra1a", "Chwirut2", "Lanczos3", "Gauss1", "DanWood", "MGH17", "Thurber", "Hahn1", "Rat43", "Eckerle4",
    "Bennett5", "MGH09", "Kirby2", "BoxBOD", "MGH10",
];

const VALUES: Limit =
    Limit { value: 1e-6, why: "six digits, by which NIST's datasets are usually judged, of eleven certified" };
const ERRORS: Limit = Limit { value: 1e-4, why: "four digits of a standard error are more than anyone uses" };

/// The rows.
pub(super) fn run() -> Result<Findings, Failure> {
    rows_only(PROBLEMS.iter().map(|case| problem(case)).collect::<Result<Vec<_>, _>>().map(|rows| rows.concat()))
}

fn problem(case: &str) -> Result<Vec<Row>, Failure> {
    let mut rows = data::case(REGRESSION_VALUES, case)?;
    let residual = rows.pop().ok_or_else(|| Failure::Missing(format!("{case} residual")))?;
    let (mut values, mut errors, mut deviations) = (Vec::new(), Vec::new(), Vec::new());
    for start in ["start_1", "start_2"] {
        let unknown = |row: &data::Row| {
            Ok(Unknown { start: row.number(start)?, bounds: [f64::NEG_INFINITY, f64::INFINITY], prior: None })
        };
        let unknowns = rows.iter().map(unknown).collect::<Result<Vec<_>, Failure>>()?;
        let found = least_squares(&mut Observed::of(case)?, &unknowns, &TO_THE_END);
        let found = found.map_err(|failure| Failure::NoSolution(format!("{case} from {start}: {failure:?}")))?;
        let certainty = Certainty::of(&found, &unknowns, Spreads::ByResiduals);
        let certainty = certainty.ok_or_else(|| Failure::Missing(format!("certainty of {case}")))?;
        for (row, (value, error)) in rows.iter().zip(found.values.iter().zip(&certainty.errors)) {
            values.push((*value, row.number("certified")?));
            errors.push((error.unwrap_or(f64::NAN), row.number("deviation")?));
        }
        deviations.push((certainty.deviation(), residual.number("certified")?));
    }
    Ok(vec![
        Row::worst(format!("{case}, worst value of both starts"), values, VALUES),
        Row::worst(format!("{case}, worst standard error"), errors, ERRORS),
        Row::worst(format!("{case}, deviation of the residuals"), deviations, VALUES),
    ])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_standard_error_that_forgets_the_values_is_seen() {
        // With 14 observations and two values: the deviation of the residuals over 14 instead of 12.
        let row = &problem("Misra1a").unwrap()[1];
        assert!(row.holds());
        let wrong = Row::relative("wrong", row.computed * (12.0_f64 / 14.0).sqrt(), row.reference, ERRORS);
        assert!(!wrong.holds());
    }
}
