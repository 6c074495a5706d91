//! Two draws of given flow: their difference is linear in what spreads.

use crate::check::{Failure, Findings, Limit, Row, rows_only};
use crate::oracle::normal;
use tractwright::case::{Case, REST};
use tractwright::error::Error;
use tractwright::study::spread::{Difference, Samples, differences};
use tractwright::study::{Of, Quantity};

/// Samples.
const COUNT: usize = 1_000;
/// Flows of the layouts and standard deviation of the second [g/s].
const FLOWS: [f64; 2] = [100.0, 105.0];
const DEVIATION: f64 = 2.0;

/// The rows.
pub(super) fn samples() -> Result<Findings, Failure> {
    // Four standard errors of these quantiles from so many samples, [g/s].
    let errors = [0.1, 0.5, 0.9].map(|share| 4.0 * normal::quantile_error(share, COUNT, DEVIATION));
    let limit = |value: f64| Limit { value, why: "four standard errors of a quantile from 1000 samples" };
    let [first, second] = FLOWS;
    let found = difference([format!("{first} g/s"), format!("{second} +- {DEVIATION} g/s")])?;
    let exact = |share: f64| second - first + DEVIATION * normal::quantile(share);
    let mut rows = vec![
        Row::absolute("10 % quantile [g/s]", 1e3 * found.range[0], exact(0.1), limit(errors[0])),
        Row::absolute("median [g/s]", 1e3 * found.median, exact(0.5), limit(errors[1])),
        Row::absolute("90 % quantile [g/s]", 1e3 * found.range[1], exact(0.9), limit(errors[2])),
    ];
    const ROUND_OFF: Limit = Limit { value: 1e-9, why: "round-off of numbers in g/s" };
    let alike = difference([format!("{first} +- 10 g/s uniform"), format!("{second} +- 10 g/s uniform")])?;
    rows.push(Row::vanishing("range of equal draws [g/s]", 1e3 * (alike.range[1] - alike.range[0]), ROUND_OFF));
    const NOTHING: Limit = Limit { value: 0.0, why: "the same numbers are computed twice" };
    let same = difference([format!("{first} +- 10 g/s"), format!("{first} +- 10 g/s")])?;
    let largest = same.range.iter().chain([&same.median]).fold(0.0_f64, |most, value| most.max(value.abs()));
    rows.push(Row::vanishing("difference of identical layouts [g/s]", 1e3 * largest, NOTHING));
    rows_only(Ok(rows))
}

fn difference(flows: [String; 2]) -> Result<Difference, Failure> {
    let cases: Result<Vec<Case>, Error> = flows.iter().map(|flow| draw(flow)).collect();
    let samples = Samples::new(cases?, REST, 11)?;
    let drawn: Result<Vec<_>, Error> =
        (0..COUNT).map(|number| samples.sample(number).map(|sample| sample.figures)).collect();
    let of_flow = |found: &Difference| found.quantity == Quantity::MassFlow && found.of == Of::Whole;
    differences(&drawn?, 1).into_iter().find(of_flow).ok_or_else(|| Failure::Missing("flow".to_owned()))
}

fn draw(flow: &str) -> Result<Case, Error> {
    let text = format!(
        "parts:\n  tube: {{kind: duct, length: 100 mm, diameter: 100 mm}}\n  turbo: {{kind: draw, flow: {flow}}}\n\
         flow: [[outside, tube, turbo]]\nrun: {{until: steady, cell: 25 mm}}\n"
    );
    Ok(Case::from_text("draw", &text)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_deviation_that_is_a_quarter_too_large_is_seen() {
        let wrong = 5.0 + 1.25 * DEVIATION * normal::quantile(0.9);
        let value = 4.0 * normal::quantile_error(0.9, COUNT, DEVIATION);
        let row = Row::absolute("90 %", wrong, 5.0 + DEVIATION * normal::quantile(0.9), Limit { value, why: "" });
        assert!(!row.holds());
    }
}
