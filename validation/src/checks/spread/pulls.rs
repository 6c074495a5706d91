//! Power of the test that the told number of sets A-B-A makes.

use crate::check::{Failure, Findings, Limit, Row, rows_only};
use crate::oracle::normal;
use tractwright::study::sets_needed;

/// Noise of a pull and difference, both over the value.
const CASES: [[f64; 2]; 4] = [[0.01, 0.01], [0.01, 0.005], [0.01, 0.001], [0.004, 0.003]];

const EXACT: Limit = Limit { value: 1e-9, why: "round-off of the normal distribution" };

/// The rows.
pub(super) fn power() -> Result<Findings, Failure> {
    let mut rows = Vec::new();
    for [noise, difference] in CASES {
        let Some(sets) = sets_needed(noise, difference) else {
            return Err(Failure::Missing(format!("number of sets for {difference}")));
        };
        let named =
            |count: u64| format!("noise {} %, difference {} %: power of {count} sets", 1e2 * noise, 1e2 * difference);
        rows.push(Row::at_least(named(sets), power_of(sets, noise, difference), 0.8, EXACT));
        rows.push(Row::within(named(sets - 1), power_of(sets - 1, noise, difference), [0.0, 0.8], EXACT));
    }
    rows_only(Ok(rows))
}

/// Chance that the mean of `sets` differences B - (A + A') / 2 lies beyond 1.96 of its standard errors on the right side.
fn power_of(sets: u64, noise: f64, difference: f64) -> f64 {
    // Variances of independent pulls add: one for B, a quarter for each A.
    let error = noise * (1.0 + 0.25 + 0.25_f64).sqrt() / (sets as f64).sqrt();
    normal::share_below(difference / error - normal::quantile(0.975))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_set_too_few_lacks_power() {
        let sets = sets_needed(0.01, 0.005).expect("a number of sets");
        let row = Row::at_least("power", power_of(sets - 1, 0.01, 0.005), 0.8, EXACT);
        assert!(!row.holds());
    }
}
