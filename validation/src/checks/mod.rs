//! The checks, one file a group, and the one list of them.

use crate::check::Group;

pub mod cone;
pub mod conservation;
pub mod crosstalk;
pub mod engine;
pub mod entropy;
pub mod explosions;
pub mod fanno;
pub mod filter;
pub mod fit;
pub mod flow_bench;
pub mod gas;
pub mod heat_laws;
pub mod heated_pipe;
pub mod junction_waves;
pub mod ledger;
pub mod losses;
pub mod modes;
pub mod nozzle;
pub mod order;
pub mod order_table;
pub mod orifice;
pub mod power;
pub mod pulses;
pub mod radiation;
pub mod ram;
pub mod ram_sweep;
pub mod ramps;
pub mod resonance;
pub mod rest;
pub mod reverse_flow;
pub mod riemann;
pub mod shock_passage;
pub mod shocks;
pub mod soak;
pub mod spread;
pub mod symmetry;
pub mod trade;
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
    heat_laws::GROUP,
    soak::GROUP,
    ramps::GROUP,
    power::GROUP,
    engine::GROUP,
    trade::GROUP,
    spread::GROUP,
    fit::GROUP,
];

#[cfg(test)]
mod tests {
    use super::GROUPS;
    use crate::check::{Outcome, Row, run_all};
    use crate::page;
    use crate::tally::{Tally, Verdict};

    /// The page in this folder is written by this command.
    const REGENERATE: &str = "cargo run --release --bin tractwright -- validate --page validation/CHECKS.md --force";

    fn page_text() -> String {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/CHECKS.md");
        std::fs::read_to_string(path).unwrap_or_else(|error| panic!("{path}: {error}: {REGENERATE}"))
    }

    fn run(group: &str) -> Vec<Outcome> {
        run_all(Some(group), |_| ()).unwrap()
    }

    /// Tells all that a group gave when something does not hold.
    fn holds(outcomes: &[Outcome]) {
        let told: Vec<_> = outcomes.iter().map(report).collect();
        assert!(outcomes.iter().all(Outcome::holds), "\n{}", told.join("\n"));
    }

    fn stands_on_the_page(outcomes: &[Outcome]) {
        let difference = page::first_difference(&page::read(&page_text()), outcomes);
        assert!(difference.is_none(), "{}; {REGENERATE}", difference.unwrap_or_default());
    }

    fn report(outcome: &Outcome) -> String {
        let name = outcome.check.name;
        let line = |row: &Row| {
            let Row { quantity, computed, reference, limit, .. } = row;
            let mark = row.verdict().word();
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

    /// Two tests a group on one run of it, so that a failure names itself.
    macro_rules! groups {
        ($($name:ident)*) => {
            $(mod $name {
                use crate::check::Outcome;
                use std::sync::LazyLock;

                static OUTCOMES: LazyLock<Vec<Outcome>> = LazyLock::new(|| super::run(stringify!($name)));

                #[test]
                fn holds() {
                    super::holds(&OUTCOMES);
                }

                #[test]
                fn stands_on_the_page() {
                    super::stands_on_the_page(&OUTCOMES);
                }
            })*

            #[test]
            fn every_group_is_tested() {
                let tested = [$(stringify!($name)),*];
                let all: Vec<_> = GROUPS.iter().map(|group| group.name).collect();
                assert_eq!(all, tested);
            }
        };
    }

    #[test]
    fn the_page_shows_just_the_checks_that_there_are_and_counts_them() {
        let text = page_text();
        let sections = page::read(&text);
        let shown: Vec<_> = sections.iter().map(|(name, _)| name.as_str()).collect();
        let all: Vec<_> = GROUPS.iter().flat_map(|group| group.checks).map(|check| check.name).collect();
        assert_eq!(shown, all, "{REGENERATE}");
        let words = [Verdict::Holds, Verdict::DoesNotHold, Verdict::Informs];
        let verdict = |cells: &Vec<String>| words.into_iter().find(|verdict| verdict.word() == cells[6]).unwrap();
        let verdicts = sections.iter().map(|(_, rows)| rows.iter().map(verdict).collect::<Vec<_>>());
        let tally = Tally::of_verdicts(verdicts.map(|rows| (Verdict::of(rows.clone()), rows)));
        assert!(text.contains(&tally.lines().join("; ")) && text.contains(page::program()), "{REGENERATE}");
    }

    groups!(gas riemann shocks vacuum entropy explosions shock_passage junction_waves fanno heated_pipe nozzle cone order rest conservation symmetry walls losses orifice filter flow_bench ram volumes crosstalk resonance radiation transmission zero_flow reverse_flow wye ledger heat_laws soak ramps power engine trade spread fit);
}
