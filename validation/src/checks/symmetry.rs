//! What is symmetric stays so.

use crate::case_text::{CaseText, InitialState, Stretch, duct};
use crate::check::{Check, Failure, Group, Limit, Measure, Row, rows_only};
use crate::marched::{Cell, Tract};
use crate::oracle::riemann::State;

/// Checks of symmetry.
pub const GROUP: Group = Group {
    name: "symmetry",
    about: "what is the same from both sides behaves so",
    checks: &[
        Check {
            name: "burst_tube",
            about: "a tube that bursts in its middle, one half against the other",
            source: SOURCE,
            run: || {
                let tract = Tract::read(&burst_case())?;
                let cells = tract.march()?.cells("tube")?;
                rows_only(Ok(alike_rows("one half against the other", mirrored(&cells, &cells))))
            },
        },
        Check {
            name: "mirrored_tract",
            about: "a tract read from one end and from the other",
            source: SOURCE,
            run: || rows_only(mirrored_tract()),
        },
        Check {
            name: "twin_branches",
            about: "two branches behind a symmetrical wye, which breathe in turn with the trunk",
            source: SOURCE,
            run: || {
                let tract = Tract::read(&twin_case())?;
                let marched = tract.march()?;
                let (left, right) = (marched.cells("left")?, marched.cells("right")?);
                let pairs = left.iter().zip(&right).map(|(left, right)| (left.state, right.state));
                rows_only(Ok(alike_rows("one branch against the other", pairs)))
            },
        },
    ],
};

const SOURCE: &str = "symmetry of the equations";

fn mirrored_tract() -> Result<Vec<Row>, Failure> {
    let (there, back) = (Tract::read(&uneven_case(false))?, Tract::read(&uneven_case(true))?);
    let (there, back) = (there.march()?, back.march()?);
    let rows = ["cone", "bore"].map(|name| {
        let (one, other) = (there.cells(name)?, back.cells(name)?);
        Ok(alike_rows(&format!("`{name}` read both ways"), mirrored(&one, &other)))
    });
    Ok(rows.into_iter().collect::<Result<Vec<_>, Failure>>()?.concat())
}

fn still(pressure: f64, temperature: f64) -> InitialState {
    InitialState { pressure, temperature, velocity: 0.0 }
}

/// A tube that bursts in its middle third, between walls, the same from both ends: part `tube`.
#[must_use]
pub fn burst_case() -> String {
    CaseText::new(1e5, 300.0)
        .part("left", "kind: wall")
        .part("tube", duct(0.96, &[(0.0, 0.06), (0.32, 0.1), (0.64, 0.1), (0.96, 0.06)], 0.02))
        .part("right", "kind: wall")
        .line(&["left", "tube", "right"])
        .initial("tube", Stretch { from: 0.32, to: 0.64 }, still(3e5, 400.0))
        .run("march: acoustic, until: 5 ms, cell: 10 mm")
        .text()
}

/// Two rooms joined by a cone, a screen, a step and a bore, from the one to the other or `backwards`: parts `cone` and `bore`.
#[must_use]
pub fn uneven_case(backwards: bool) -> String {
    const CONE: [(f64, f64); 2] = [(0.0, 0.09), (0.4, 0.06)];
    let cone = if backwards { CONE.map(|(at, diameter)| (0.4 - at, diameter)) } else { CONE };
    let mut sections = cone.to_vec();
    sections.sort_by(|one, other| one.0.total_cmp(&other.0));
    let mut line = ["full", "cone", "mesh", "bore", "empty"];
    if backwards {
        line.reverse();
    }
    CaseText::new(1e5, 300.0)
        .part("full", "kind: plenum, volume: 3 L")
        .part("cone", duct(0.4, &sections, 0.02))
        .part("mesh", "kind: screen, pattern: wire_mesh, open_area: 60 %")
        .part("bore", duct(0.3, &[(0.0, 0.05)], 0.03))
        .part("empty", "kind: plenum, volume: 5 L")
        .line(&line)
        .initial_volume("full", 1.3e5, 350.0)
        .run("march: acoustic, until: 20 ms, cell: 10 mm")
        .text()
}

/// A room that breathes through a trunk and a symmetrical wye into two alike branches: parts `left` and `right`.
#[must_use]
pub fn twin_case() -> String {
    let branch = || duct(0.4, &[(0.0, 0.06), (0.4, 0.05)], 0.02);
    CaseText::new(1e5, 300.0)
        .part("room", "kind: plenum, volume: 3 L")
        .part("trunk", duct(0.3, &[(0.0, 0.08)], 0.02))
        .part("y", "kind: wye, legs: {trunk: 0 deg, left: 35 deg, right: -35 deg}")
        .part("left", branch())
        .part("right", branch())
        .part("left_turbo", "kind: draw, corrected_flow: 150 g/s, pulse: {amplitude: 0.3, frequency: 100 Hz}")
        .part("right_turbo", "kind: draw, corrected_flow: 150 g/s, pulse: {amplitude: 0.3, frequency: 100 Hz}")
        .part("mouth", "kind: mouth, area: 60 cm2")
        .part("snout", duct(0.2, &[(0.0, 0.0874)], 0.02))
        .line(&["mouth", "snout", "room", "trunk", "y.trunk"])
        .line(&["y.left", "left", "left_turbo"])
        .line(&["y.right", "right", "right_turbo"])
        .initial_volume("room", 0.8e5, 320.0)
        .run("march: acoustic, until: 50 ms, cell: 10 mm")
        .text()
}

/// The states of `cells` beside those of `others` read from the other end.
fn mirrored<'a>(cells: &'a [Cell], others: &'a [Cell]) -> impl Iterator<Item = (State, State)> + Clone + 'a {
    let turned = |cell: &Cell| State { velocity: -cell.state.velocity, ..cell.state };
    cells.iter().zip(others.iter().rev()).map(move |(one, other)| (one.state, turned(other)))
}

/// Rows of pairs of states that should be alike.
#[must_use]
pub fn alike_rows(what: &str, pairs: impl Iterator<Item = (State, State)> + Clone) -> Vec<Row> {
    const LIMIT: Limit = Limit { value: 1e-11, why: "round-off, which shocks magnify" };
    const SPEED: Limit = Limit { value: 1e-8, why: "the same round-off times the speed of sound" };
    let pressures = pairs.clone().map(|(one, other)| (one.pressure, other.pressure));
    let speeds = pairs.map(|(one, other)| (one.velocity, other.velocity));
    vec![
        Row::worst(format!("pressure, {what} [Pa]"), pressures, LIMIT),
        Row::worst_by(Measure::Absolute, format!("velocity, {what} [m/s]"), speeds, SPEED),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cell(velocity: f64, pressure: f64) -> Cell {
        Cell { low: 0.0, high: 0.01, state: State { density: 1.2, velocity, pressure } }
    }

    #[test]
    fn a_bias_is_seen() {
        let fair = [cell(3.0, 1e5), cell(0.0, 2e5), cell(-3.0, 1e5)];
        assert!(alike_rows("", mirrored(&fair, &fair)).iter().all(Row::holds));
        let biased = [cell(3.0, 1e5), cell(0.0, 2e5), cell(-3.0 + 1e-7, 1e5)];
        assert!(!alike_rows("", mirrored(&biased, &biased))[1].holds());
    }
}
