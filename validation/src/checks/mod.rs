//! The checks, one file a group, and the one list of them.

use crate::check::Group;

pub mod balance;
pub mod cone;
pub mod fanno;
pub mod gas;
pub mod loss;
pub mod nozzle;
pub mod resonance;
pub mod riemann;
pub mod sweep;

/// Every group of checks, in the order they are printed.
pub const GROUPS: &[Group] = &[gas::GROUP];

#[cfg(test)]
mod tests {
    use crate::check::{Outcome, run_all};

    #[test]
    fn every_check_holds() {
        let outcomes = run_all(None, |_| ()).unwrap();
        let failed: Vec<_> = outcomes.iter().filter(|outcome| !outcome.holds()).map(report).collect();
        assert!(failed.is_empty(), "{}", failed.join("\n"));
    }

    fn report(outcome: &Outcome) -> String {
        match &outcome.rows {
            Err(failure) => format!("{}: {failure}", outcome.check.name),
            Ok(rows) => rows
                .iter()
                .filter(|row| !row.holds())
                .map(|row| {
                    let (name, limit) = (outcome.check.name, row.limit.value);
                    format!("{name}: {}: {} for {}, limit {limit}", row.quantity, row.computed, row.reference)
                })
                .collect::<Vec<_>>()
                .join("\n"),
        }
    }
}
