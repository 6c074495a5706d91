//! The checks, one file a group, and the one list of them.

use crate::check::Group;

pub mod cone;
pub mod conservation;
pub mod fanno;
pub mod filter;
pub mod gas;
pub mod losses;
pub mod nozzle;
pub mod resonance;
pub mod orifice;
pub mod rest;
pub mod riemann;
#[cfg(test)]
pub mod sweep;
pub mod symmetry;
pub mod volumes;

/// Every group of checks, in the order they are printed.
pub const GROUPS: &[Group] = &[
    gas::GROUP,
    riemann::GROUP,
    fanno::GROUP,
    nozzle::GROUP,
    cone::GROUP,
    rest::GROUP,
    conservation::GROUP,
    symmetry::GROUP,
    losses::GROUP,
    orifice::GROUP,
    filter::GROUP,
    volumes::GROUP,
    resonance::GROUP,
];

#[cfg(test)]
mod tests {
    use super::GROUPS;
    use crate::check::{Outcome, run_all};

    /// Runs one group and lists all that does not hold.
    fn holds(group: &str) {
        let outcomes = run_all(Some(group), |_| ()).unwrap();
        for outcome in &outcomes {
            println!("{}", report(outcome));
        }
        assert!(outcomes.iter().all(Outcome::holds), "see above");
    }

    fn report(outcome: &Outcome) -> String {
        let name = outcome.check.name;
        match &outcome.rows {
            Err(failure) => format!("{name}: {failure}"),
            Ok(rows) => {
                let line = |row: &crate::check::Row| {
                    let (computed, reference, error, limit) =
                        (row.computed, row.reference, row.error(), row.limit.value);
                    let mark = if row.holds() { "" } else { "  DOES NOT HOLD" };
                    format!("{name}: {}: {computed} for {reference}, {error:.2e} of {limit:.1e}{mark}", row.quantity)
                };
                rows.iter().map(line).collect::<Vec<_>>().join("\n")
            }
        }
    }

    /// One test a group, so that a failure names itself.
    macro_rules! groups {
        ($($name:ident)*) => {
            $(#[test]
            fn $name() {
                holds(stringify!($name));
            })*

            #[test]
            fn every_group_is_tested() {
                let tested = [$(stringify!($name)),*];
                let all: Vec<_> = GROUPS.iter().map(|group| group.name).collect();
                assert_eq!(all, tested);
            }
        };
    }

    groups!(gas riemann fanno nozzle cone rest conservation symmetry losses orifice filter volumes resonance);
}
