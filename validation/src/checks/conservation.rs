//! A closed network keeps its mass and energy, whatever happens in it.

use crate::case_text::{CaseText, InitialState, Stretch, duct};
use crate::check::{Check, Failure, Group, Limit, Row, rows_only};
use crate::dice::Dice;
use crate::marched::{Marched, Tract};

/// Checks of what is kept.
pub const GROUP: Group = Group {
    name: "conservation",
    about: "mass and energy of closed networks over more than ten thousand steps",
    checks: &[Check {
        name: "closed_network",
        about: "rooms in a ring, a wye and blind ends, from random pressures, temperatures and velocities",
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
    let tract = Tract::read(&closed_case(seed))?;
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

/// A closed network with shapes and states drawn from `seed`: parts `room_1`.. and `duct_0`.. in a ring of rooms, with a wye and two
/// blind ends hung on the first room.
#[must_use]
pub fn closed_case(seed: u64) -> String {
    const ROOMS: usize = 4;
    let mut dice = Dice(seed);
    let mut case = CaseText::new(1e5, 300.0);
    for room in 0..ROOMS {
        let volume = dice.between(1.0, 20.0);
        let name = format!("room_{room}");
        case = case.part(&name, format!("kind: plenum, volume: {volume} L")).initial_volume(
            &name,
            dice.between(8e4, 1.3e5),
            dice.between(250.0, 400.0),
        );
    }
    for room in 0..ROOMS {
        let name = format!("duct_{room}");
        case = random_duct(case, &name, &mut dice).line(&[
            &format!("room_{room}"),
            &name,
            &format!("room_{}", (room + 1) % ROOMS),
        ]);
    }
    case = case
        .part("y", "kind: wye, legs: {trunk: 0 deg, left: 40 deg, right: -30 deg}")
        .part("left_end", "kind: wall")
        .part("right_end", "kind: wall");
    case = random_duct(case, "trunk", &mut dice).line(&["room_0", "trunk", "y.trunk"]);
    case = random_duct(case, "left", &mut dice).line(&["y.left", "left", "left_end"]);
    case = random_duct(case, "right", &mut dice).line(&["y.right", "right", "right_end"]);
    // A step of these shapes is some 18 microseconds, so this takes more than ten thousand steps.
    case.run("march: acoustic, until: 0.22 s, cell: 10 mm").text()
}

fn random_duct(case: CaseText, name: &str, dice: &mut Dice) -> CaseText {
    let length = dice.between(0.2, 0.8);
    let sections = [(0.0, dice.between(0.04, 0.12)), (length, dice.between(0.04, 0.12))];
    let state = InitialState {
        pressure: dice.between(8e4, 1.3e5),
        temperature: dice.between(250.0, 400.0),
        velocity: dice.between(-60.0, 60.0),
    };
    case.part(name, duct(length, &sections, 0.02)).initial(name, Stretch { from: 0.0, to: length }, state)
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

    #[test]
    fn a_seed_gives_one_network_and_another_seed_another() {
        assert_eq!(closed_case(1), closed_case(1));
        assert_ne!(closed_case(1), closed_case(2));
    }
}
