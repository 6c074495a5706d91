//! A closed network keeps its mass and energy, whatever happens in it.

use crate::check::{Check, Failure, Group, Limit, Row, rows_only};
use crate::marched::{Marched, Tract};
use crate::random_tract::closed_tract;

/// Checks of what is kept.
pub const GROUP: Group = Group {
    name: "conservation",
    about: "mass and energy of closed networks over more than ten thousand steps",
    checks: &[Check {
        name: "closed_network",
        about: "rooms in a ring with random ducts, losses, wyes and blind ends, from random states",
        source: "conservation of mass and energy",
        run: || {
            let rows: Result<Vec<_>, Failure> = SEEDS.iter().map(|seed| kept(*seed)).collect();
            rows_only(Ok(rows?.concat()))
        },
    }],
};

/// Networks that are drawn.
const SEEDS: [u64; 2] = [1, 2];

fn kept(seed: u64) -> Result<Vec<Row>, Failure> {
    const STEPS: Limit = Limit { value: 0.0, why: "round-off needs steps to gather" };
    // A step is some 40 microseconds, so this takes more than ten thousand.
    let tract = Tract::read(&closed_tract(seed, 3).case("until: 0.45 s, cell: 20 mm"))?;
    let start = Holdings::of(&tract.at_start());
    let marched = tract.march()?;
    let mut rows = conservation_rows(start, Holdings::of(&marched));
    rows.push(Row::at_least("steps", marched.march.clock.step as f64, 10_000.0, STEPS));
    Ok(rows)
}

/// Mass [kg] and energy [J] that a network holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Holdings {
    /// Mass [kg].
    pub mass: f64,
    /// Internal and kinetic energy [J].
    pub energy: f64,
}

impl Holdings {
    /// What the network of a march holds at its present state.
    #[must_use]
    pub fn of(marched: &Marched<'_>) -> Self {
        let stored = marched.march.network.stored(&marched.march.y);
        Self { mass: stored[0], energy: stored[1] }
    }
}

/// Rows of a closed network, from what it held at the start and at the end.
#[must_use]
pub fn conservation_rows(start: Holdings, end: Holdings) -> Vec<Row> {
    const LIMIT: Limit = Limit { value: 1e-12, why: "round-off of ten thousand steps" };
    vec![
        Row::relative("mass [kg]", end.mass, start.mass, LIMIT),
        Row::relative("energy [J]", end.energy, start.energy, LIMIT),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_leak_is_seen() {
        let start = Holdings { mass: 0.02, energy: 5000.0 };
        assert!(conservation_rows(start, start).iter().all(Row::holds));
        let end = Holdings { mass: 0.02 * (1.0 + 1e-11), ..start };
        assert!(!conservation_rows(start, end)[0].holds());
    }
}
