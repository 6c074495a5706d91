//! The checks, one file a group, and the one list of them.

use crate::check::Group;

pub mod cone;
pub mod conservation;
pub mod crosstalk;
pub mod entropy;
pub mod explosions;
pub mod fanno;
pub mod filter;
pub mod flow_bench;
pub mod gas;
pub mod heated_pipe;
pub mod junction_waves;
pub mod ledger;
pub mod losses;
pub mod modes;
pub mod nozzle;
pub mod order;
pub mod order_table;
pub mod orifice;
pub mod pulses;
pub mod radiation;
pub mod ram;
pub mod ram_sweep;
pub mod resonance;
pub mod rest;
pub mod reverse_flow;
pub mod riemann;
pub mod shock_passage;
pub mod shocks;
pub mod symmetry;
pub mod transmission;
pub mod vacuum;
pub mod volumes;
pub mod walls;
pub mod wye;
pub mod wye_flows;
pub mod wye_waves;
pub mod zero_flow;

/// Every group of checks, in the order they are printed.
pub const GROUPS: &[Group] = &[
    gas::GROUP,
    riemann::GROUP,
    shocks::GROUP,
    vacuum::GROUP,
    entropy::GROUP,
    explosions::GROUP,
    shock_passage::GROUP,
    junction_waves::GROUP,
    fanno::GROUP,
    heated_pipe::GROUP,
    nozzle::GROUP,
    cone::GROUP,
    order::GROUP,
    rest::GROUP,
    conservation::GROUP,
    symmetry::GROUP,
    walls::GROUP,
    losses::GROUP,
    orifice::GROUP,
    filter::GROUP,
    flow_bench::GROUP,
    ram::GROUP,
    volumes::GROUP,
    crosstalk::GROUP,
    resonance::GROUP,
    radiation::GROUP,
    transmission::GROUP,
    zero_flow::GROUP,
    reverse_flow::GROUP,
    wye::GROUP,
    ledger::GROUP,
];

#[cfg(test)]
mod tests {
    use super::GROUPS;
    use crate::check::{Outcome, Row, run_all};

    /// Runs one group and tells all that it gave when something does not hold.
    fn holds(group: &str) {
        let outcomes = run_all(Some(group), |_| ()).unwrap();
        let told: Vec<_> = outcomes.iter().map(report).collect();
        assert!(outcomes.iter().all(Outcome::holds), "\n{}", told.join("\n"));
    }

    fn report(outcome: &Outcome) -> String {
        let name = outcome.check.name;
        let line = |row: &Row| {
            let Row { quantity, computed, reference, limit, .. } = row;
            let mark = if row.holds() { "holds" } else { "DOES NOT HOLD" };
            format!(
                "{name}: {quantity}: {computed} for {reference}, {:.2e} of {:.1e}, {mark}",
                row.error(),
                limit.value
            )
        };
        match &outcome.findings {
            Err(failure) => format!("{name}: {failure}"),
            Ok(found) => found.rows.iter().map(line).collect::<Vec<_>>().join("\n"),
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

    groups!(gas riemann shocks vacuum entropy explosions shock_passage junction_waves fanno heated_pipe nozzle cone order rest conservation symmetry walls losses orifice filter flow_bench ram volumes crosstalk resonance radiation transmission zero_flow reverse_flow wye ledger);
}
