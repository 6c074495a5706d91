//! What must hold whatever the numbers are: gas at rest rests, a closed network keeps its mass and energy, what is symmetric stays so.

use crate::case_text::{CaseText, InitialState, Stretch, duct, smooth_duct};
use crate::check::{Limit, Measure, Row};
use crate::marched::Cell;

/// A tract of every shape in which nothing drives the air: parts `snout`, `box`, `tube`, `trunk`, `left`, `right`.
#[must_use]
pub fn rest_case() -> String {
    CaseText::new(99_600.0, 297.15)
        .part("mouth", "kind: mouth, area: 80 cm2")
        .part("snout", duct(0.45, &[(0.0, 0.12), (0.1, 0.07), (0.3, 0.11), (0.45, 0.09)], 0.02))
        .part("box", "kind: plenum, volume: 11 L")
        .part(
            "filter",
            "kind: filter, media_area: 0.2 m2, \
             curve: {flow: 60 120 240 g/s, drop: 90 205 510 Pa, at: [20 degC, 101.3 kPa]}",
        )
        .part("tube", duct(0.6, &[(0.0, 0.1), (0.2, 0.07)], 0.02))
        .part("y", "kind: wye, legs: {trunk: 0 deg, left: 35 deg, right: -35 deg}")
        .part("left", smooth_duct(0.3, 0.05))
        .part("right", smooth_duct(0.4, 0.06))
        .part("left_end", "kind: wall")
        .part("right_end", "kind: wall")
        .line(&["mouth", "snout", "box", "filter", "tube", "y.trunk"])
        .line(&["y.left", "left", "left_end"])
        .line(&["y.right", "right", "right_end"])
        .run("march: acoustic, until: 0.1 s, cell: 8 mm")
        .text()
}

/// Rows of gas at rest, from all cells of all ducts.
#[must_use]
pub fn rest_rows(cells: &[Cell]) -> Vec<Row> {
    const SPEED: Limit = Limit { value: 1e-9, why: "round-off of a pressure balance over the speed of sound" };
    const PRESSURE: Limit = Limit { value: 1e-12, why: "round-off" };
    let speeds = cells.iter().map(|cell| (cell.state.velocity, 0.0));
    let pressures = cells.iter().map(|cell| (cell.state.pressure, 99_600.0));
    vec![
        Row::worst_by(Measure::Absolute, "velocity [m/s]", speeds, SPEED),
        Row::worst("pressure [Pa]", pressures, PRESSURE),
    ]
}

/// Mass [kg] and energy [J] that a network holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Holdings {
    /// Mass [kg].
    pub mass: f64,
    /// Internal and kinetic energy [J].
    pub energy: f64,
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

/// Numbers that look random and are the same on any machine: the multiplier and increment are Knuth's for 64 bits (Knuth, The Art of
/// Computer Programming, volume 2, section 3.3.4).
#[derive(Debug, Clone, Copy)]
struct Dice(u64);

impl Dice {
    /// A number between two bounds.
    fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let share = f64::from((self.0 >> 32) as u32) / f64::from(u32::MAX);
        low + share * (high - low)
    }
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
    // The shortest step of these shapes is some 10 microseconds, so this takes ten thousand steps.
    case.run("march: acoustic, until: 0.15 s, cell: 10 mm").text()
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

/// A tube that bursts in its middle third, between walls, the same from both ends: part `tube`.
#[must_use]
pub fn symmetric_case() -> String {
    let state = |pressure, temperature| InitialState { pressure, temperature, velocity: 0.0 };
    CaseText::new(1e5, 300.0)
        .part("left", "kind: wall")
        .part("tube", duct(0.96, &[(0.0, 0.06), (0.32, 0.1), (0.64, 0.1), (0.96, 0.06)], 0.02))
        .part("right", "kind: wall")
        .line(&["left", "tube", "right"])
        .initial("tube", Stretch { from: 0.0, to: 0.32 }, state(1e5, 300.0))
        .initial("tube", Stretch { from: 0.32, to: 0.64 }, state(3e5, 400.0))
        .initial("tube", Stretch { from: 0.64, to: 0.96 }, state(1e5, 300.0))
        .run("march: acoustic, until: 5 ms, cell: 10 mm")
        .text()
}

/// Rows of a tube that is the same from both ends.
#[must_use]
pub fn symmetry_rows(cells: &[Cell]) -> Vec<Row> {
    const LIMIT: Limit = Limit { value: 1e-11, why: "round-off, which shocks magnify" };
    const SPEED: Limit = Limit { value: 1e-8, why: "the same round-off times the speed of sound" };
    let mirrored = || cells.iter().zip(cells.iter().rev());
    let pressures = mirrored().map(|(one, other)| (one.state.pressure, other.state.pressure));
    let speeds = mirrored().map(|(one, other)| (one.state.velocity, -other.state.velocity));
    vec![
        Row::worst("pressure, one half against the other [Pa]", pressures, LIMIT),
        Row::worst_by(Measure::Absolute, "velocity, one half against the other [m/s]", speeds, SPEED),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::oracle::riemann::State;

    fn cell(velocity: f64, pressure: f64) -> Cell {
        Cell { low: 0.0, high: 0.01, state: State { density: 1.2, velocity, pressure } }
    }

    #[test]
    fn a_draught_is_seen() {
        assert!(rest_rows(&[cell(0.0, 99_600.0), cell(1e-11, 99_600.0)]).iter().all(Row::holds));
        assert!(!rest_rows(&[cell(0.0, 99_600.0), cell(1e-8, 99_600.0)])[0].holds());
        assert!(!rest_rows(&[])[0].holds());
    }

    #[test]
    fn a_leak_is_seen() {
        let start = Holdings { mass: 0.02, energy: 5000.0 };
        assert!(conservation_rows(start, start).iter().all(Row::holds));
        let end = Holdings { mass: 0.02 * (1.0 + 1e-11), ..start };
        assert!(!conservation_rows(start, end)[0].holds());
    }

    #[test]
    fn a_bias_is_seen() {
        assert!(symmetry_rows(&[cell(3.0, 1e5), cell(0.0, 2e5), cell(-3.0, 1e5)]).iter().all(Row::holds));
        assert!(!symmetry_rows(&[cell(3.0, 1e5), cell(0.0, 2e5), cell(-3.0 + 1e-7, 1e5)])[1].holds());
    }

    #[test]
    fn a_seed_gives_one_network_and_another_seed_another() {
        assert_eq!(closed_case(1), closed_case(1));
        assert_ne!(closed_case(1), closed_case(2));
    }
}
