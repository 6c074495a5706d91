//! Shocks that run through a change of area, gradual or sudden.

use crate::case_text::{CaseText, GAS_CONSTANT, InitialState, Stretch, smooth_duct};
use crate::check::{Check, Failure, Findings, Group, Limit, Measure, Row};
use crate::data;
use crate::figure::Figure;
use crate::marched::{Cell, Tract};
use crate::oracle::riemann::State;
use crate::oracle::shock_passage::{Passage, ShockPassage};
use crate::shock_tube::{Shown, Tube};
use std::f64::consts::PI;

/// Checks of shocks that change their area.
pub const GROUP: Group = Group {
    name: "shock_passage",
    about: "shocks through contractions and expansions: what goes back, what goes on",
    checks: &[
        Check {
            name: "gradual_change",
            about: "a transition over 8 and over 16 cells, states on both sides of it long after",
            source: "Greatrix and Gottlieb (1982), UTIAS Report 268; LeFloch and Thanh (2003), Commun. Math. Sci. 1, 763",
            run: gradual,
        },
        Check {
            name: "sudden_change",
            about: "a step between two ducts",
            source: "mass, energy and momentum (Borda and Carnot, Benson 1982); contraction Idelchik, 3rd ed., diagram 4-9",
            run: sudden,
        },
    ],
};

const GAMMA: f64 = 1.4;
/// Keys of `run` with which the marks were set.
const SCHEME: &str = "limiter: van_leer, courant: 0.4";

/// Rows of the table that are marched: weak to strong shocks, contractions and expansions.
fn gradual() -> Result<Findings, Failure> {
    let mut found = Findings::default();
    for row in data::rows(data::SHOCK_AREA_CHANGE)? {
        let (mach, area) = (row.number("Ms")?, row.number("A2_A1")?);
        let marched = [1.02, 1.1, 1.2, 1.3, 1.4, 1.5].iter().any(|wanted: &f64| (wanted - mach).abs() < 1e-9);
        if row.text("model")? != "isentropic" || !marched || (area - 1.0).abs() < 1e-9 {
            continue;
        }
        let side = |density, velocity, pressure| -> Result<State, Failure> {
            Ok(State {
                density: row.number(density)?,
                velocity: row.number(velocity)?,
                pressure: row.number(pressure)?,
            })
        };
        let exact = [side("rho_L", "u_L", "p_L")?, side("rho_R", "u_R", "p_R")?];
        for (count, limit) in limits(&exact[0], area) {
            let transition = Transition { mach, area, cells: f64::from(count) };
            let cells = transition.march()?;
            let name = format!("Mach {mach}, area {area}, {count} cells");
            found.rows.push(worst_of_sides(&name, transition.read(&cells), exact, limit));
            let shown = (mach - 1.2).abs() < 1e-9 && count == 8 && [0.25, 4.0].contains(&area);
            if shown {
                found.figures.push(transition.figure(&cells, exact));
            }
        }
    }
    Ok(found)
}

/// Numbers of cells in the transition, and how far the states beside it may be off.
fn limits(before: &State, area: f64) -> Vec<(u32, Limit)> {
    const SONIC: &str = "gas at Mach 0.7 and more before the change: what its cells lose is multiplied by 1/(1 - M^2), twice; second order";
    let mach = before.velocity / (GAMMA * before.pressure / before.density).sqrt();
    if mach > 0.7 {
        let limit = |value| Limit { value, why: SONIC };
        return vec![(8, limit(4.5e-2)), (16, limit(9e-3)), (32, limit(2e-3))];
    }
    let coarse = if area > 3.0 {
        Limit { value: 8e-3, why: "the bore doubles within 8 cells" }
    } else {
        Limit { value: 5e-3, why: "8 cells in the transition" }
    };
    vec![(8, coarse), (16, Limit { value: 1.5e-3, why: "16 cells in the transition" })]
}

/// Row of the worst of pressure and velocity on both sides of a passage.
fn worst_of_sides(name: &str, found: [State; 2], exact: [State; 2], limit: Limit) -> Row {
    let pairs = found
        .into_iter()
        .zip(exact)
        .flat_map(|(found, exact)| [(found.pressure / exact.pressure, 1.0), (found.velocity / exact.velocity, 1.0)]);
    Row::worst(format!("worst of pressures and velocities over exact, {name}"), pairs, limit)
}

/// A shock that comes to a gradual change of area; lengths in cells.
struct Transition {
    mach: f64,
    area: f64,
    /// Cells in the transition.
    cells: f64,
}

impl Transition {
    /// Lengths of the transition that the shock runs behind it before the tube is read.
    const AFTER: f64 = 16.0;
    /// The same before it, at the start.
    const BEFORE: f64 = 2.0;
    /// Length of a cell [m].
    const CELL: f64 = 1e-3;

    /// Where the transition begins: so far from the wall behind that the wave from there does not arrive.
    fn start(&self) -> f64 {
        (1.3 * Self::AFTER + 8.0) * self.cells
    }

    fn length(&self) -> f64 {
        self.start() + (1.0 + 1.3 * Self::AFTER) * self.cells
    }

    fn march(&self) -> Result<Vec<Cell>, Failure> {
        let exact = ShockPassage::new(GAMMA, self.mach, 1.0, Passage::Gradual)
            .ok_or_else(|| Failure::NoSolution(format!("shock of Mach {}", self.mach)))?;
        let at_rest = State { density: 1.0, velocity: 0.0, pressure: 1.0 };
        let membrane = self.start() - Self::BEFORE * self.cells;
        let stretches = vec![(membrane * Self::CELL, exact.incident), (self.length() * Self::CELL, at_rest)];
        let speed = self.mach * GAMMA.sqrt();
        let end_time = (Self::BEFORE + 1.0 + Self::AFTER) * self.cells * Self::CELL / speed;
        Tube { gamma: GAMMA, cell: Self::CELL, stretches, end_time }.march_through(&self.sections(), SCHEME)
    }

    /// The bore goes over from one to the other like a cosine of its logarithm, cross-sections at the faces.
    fn sections(&self) -> Vec<(f64, f64)> {
        let mut sections = vec![(0.0, 0.1)];
        for face in 0..=self.cells as u32 {
            let share = 0.5 * (1.0 - libm::cos(PI * f64::from(face) / self.cells));
            let bore = 0.1 * libm::pow(self.area, 0.5 * share);
            sections.push(((self.start() + f64::from(face)) * Self::CELL, bore));
        }
        sections
    }

    /// Mean states of four cells, four cells off the transition on each side.
    fn read(&self, cells: &[Cell]) -> [State; 2] {
        let (first, last) = (self.start() as usize, (self.start() + self.cells) as usize);
        [mean(&cells[first - 8..first - 4]), mean(&cells[last + 4..last + 8])]
    }

    fn figure(&self, cells: &[Cell], exact: [State; 2]) -> Figure {
        let from = self.start() * Self::CELL;
        let line = |shown: Shown| {
            let width = 6.0 * self.cells * Self::CELL;
            let ends = [(-width, exact[0]), (0.0, exact[0]), (self.cells * Self::CELL, exact[1]), (width, exact[1])];
            ends.map(|(place, state)| (place, shown.of(state)))
        };
        let near: Vec<Cell> = cells
            .iter()
            .map(|cell| Cell { low: cell.low - from, high: cell.high - from, ..*cell })
            .filter(|cell| cell.middle().abs() < 16.0 * self.cells * Self::CELL)
            .collect();
        let title = format!("shock of Mach {} through an area ratio of {}", self.mach, self.area);
        Figure::new(title, "place behind the start of the change", "pressure over that ahead")
            .reference("exact beside the change", line(Shown::Pressure))
            .computed("8 cells in the change", Shown::Pressure.points(&near))
    }
}

fn mean(cells: &[Cell]) -> State {
    let of = |shown: Shown| cells.iter().map(|cell| shown.of(cell.state)).sum::<f64>() / cells.len() as f64;
    State { density: of(Shown::Density), velocity: of(Shown::Velocity), pressure: of(Shown::Pressure) }
}

/// Pressure [Pa] of the gas at rest in the ducts with a step.
const PRESSURE: f64 = 101_325.0;
/// Its temperature [K].
const TEMPERATURE: f64 = 298.15;

fn sudden() -> Result<Findings, Failure> {
    const LIMIT: Limit = Limit { value: 2e-3, why: "200 cells a duct; the step itself is solved to round-off" };
    const TABLE: Limit = Limit { value: 2e-3, why: "as above; values of the table" };
    let mut found = Findings::default();
    for (mach, area) in [
        (1.02, 0.25),
        (1.02, 4.0),
        (1.1, 0.5),
        (1.1, 2.0),
        (1.2, 0.25),
        (1.2, 0.75),
        (1.2, 2.0),
        (1.2, 4.0),
        (1.3, 0.5),
        (1.3, 4.0),
        (1.4, 2.0),
    ] {
        let passage = if area > 1.0 { Passage::Expansion } else { Passage::Contraction };
        let exact = ShockPassage::new(GAMMA, mach, area, passage)
            .ok_or_else(|| Failure::NoSolution(format!("shock of Mach {mach} through area {area}")))?;
        let [before, behind] = step(mach, area, exact.incident)?;
        let sides = [mean(&before[195..198]), mean(&behind[2..5])];
        let name = format!("step, Mach {mach}, area {area}");
        found.rows.push(worst_of_sides(&name, sides, [exact.before, exact.behind], LIMIT));
        if let Some([left, right]) = tabulated(mach, area)? {
            found.rows.push(worst_of_sides(&format!("{name}, table"), sides, [left, right], TABLE));
        }
        if (mach - 1.2).abs() < 1e-9 && [0.25, 4.0].contains(&area) {
            found.figures.push(step_figure(mach, area, [before, behind], &exact));
        }
    }
    found.rows.extend(acoustic_rows()?);
    Ok(found)
}

/// Rows of a shock so weak that a step loses nothing of it: what goes on and comes back follows from the areas alone.
fn acoustic_rows() -> Result<Vec<Row>, Failure> {
    const LIMIT: Limit = Limit {
        value: 3e-3,
        why: "of the incoming amplitude; a shock of Mach 1.001, whose own losses are of that order",
    };
    let mut rows = Vec::new();
    for area in [0.5, 2.0] {
        let passage = ShockPassage::new(GAMMA, 1.001, 1.0, Passage::Gradual)
            .ok_or_else(|| Failure::NoSolution("weak shock".to_owned()))?;
        let [before, behind] = step(1.001, area, passage.incident)?;
        let amplitude = passage.incident.pressure - 1.0;
        let on = (mean(&behind[2..5]).pressure - 1.0) / amplitude;
        let back = (mean(&before[195..198]).pressure - passage.incident.pressure) / amplitude;
        for (what, value, exact) in
            [("goes on", on, 2.0 / (1.0 + area)), ("comes back", back, (1.0 - area) / (1.0 + area))]
        {
            rows.push(Row {
                measure: Measure::Absolute,
                ..Row::relative(format!("share that {what}, Mach 1.001, step to area {area}"), value, exact, LIMIT)
            });
        }
    }
    Ok(rows)
}

/// States on both sides of a sudden expansion in the table.
fn tabulated(mach: f64, area: f64) -> Result<Option<[State; 2]>, Failure> {
    for row in data::rows(data::SHOCK_AREA_CHANGE)? {
        let same = (row.number("Ms")? - mach).abs() < 1e-9 && (row.number("A2_A1")? - area).abs() < 1e-9;
        if same && row.text("model")? == "borda" {
            let side = |density, velocity, pressure| -> Result<State, Failure> {
                Ok(State {
                    density: row.number(density)?,
                    velocity: row.number(velocity)?,
                    pressure: row.number(pressure)?,
                })
            };
            return Ok(Some([side("rho_L", "u_L", "p_L")?, side("rho_R", "u_R", "p_R")?]));
        }
    }
    Ok(None)
}

/// Cells of two ducts of 1 m and 200 cells with a step between them, some time after a shock came through; units of the gas ahead.
fn step(mach: f64, area: f64, incident: State) -> Result<[Vec<Cell>; 2], Failure> {
    const SHOCK: f64 = 0.75;
    let sound = (GAMMA * GAS_CONSTANT * TEMPERATURE).sqrt();
    let until = 0.7 / (mach * sound);
    let case = CaseText::new(PRESSURE, TEMPERATURE)
        .part("left", "kind: wall")
        .part("before", smooth_duct(1.0, 0.05))
        .part("change", "kind: step")
        .part("behind", smooth_duct(1.0, 0.05 * area.sqrt()))
        .part("right", "kind: wall")
        .line(&["left", "before", "change", "behind", "right"])
        .initial("before", Stretch { from: 0.0, to: SHOCK }, shocked(incident))
        .run(format!("march: acoustic, until: {until} s, cell: 5 mm, {SCHEME}"));
    let tract = Tract::read(&case.text())?;
    let marched = tract.march()?;
    let cells = |name: &str| Ok::<_, Failure>(marched.cells(name)?.iter().map(without_units).collect());
    Ok([cells("before")?, cells("behind")?])
}

/// State behind a shock in SI, from units of the gas ahead.
#[must_use]
pub fn shocked(state: State) -> InitialState {
    InitialState {
        pressure: state.pressure * PRESSURE,
        temperature: TEMPERATURE * state.pressure / state.density,
        velocity: state.velocity * (GAS_CONSTANT * TEMPERATURE).sqrt(),
    }
}

/// A cell in units of the gas ahead.
#[must_use]
pub fn without_units(cell: &Cell) -> Cell {
    let State { density, velocity, pressure } = cell.state;
    let state = State {
        density: density * GAS_CONSTANT * TEMPERATURE / PRESSURE,
        velocity: velocity / (GAS_CONSTANT * TEMPERATURE).sqrt(),
        pressure: pressure / PRESSURE,
    };
    Cell { state, ..*cell }
}

fn step_figure(mach: f64, area: f64, ducts: [Vec<Cell>; 2], exact: &ShockPassage) -> Figure {
    let [before, behind] = ducts;
    let moved = behind.iter().map(|cell| (cell.middle() + 1.0, cell.state.pressure));
    let line = [
        (0.85, exact.before.pressure),
        (1.0, exact.before.pressure),
        (1.0, exact.behind.pressure),
        (1.15, exact.behind.pressure),
    ];
    Figure::new(format!("shock of Mach {mach} through a step to area {area}"), "place [m]", "pressure over that ahead")
        .reference("exact beside the step", line)
        .computed("200 cells a duct", Shown::Pressure.points(&before).chain(moved))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn another_area_is_seen() {
        const LIMIT: Limit = Limit { value: 1e-2, why: "test" };
        let sides = |area| {
            let exact = ShockPassage::new(GAMMA, 1.2, area, Passage::Expansion).unwrap();
            [exact.before, exact.behind]
        };
        assert!(worst_of_sides("same", sides(2.0), sides(2.0), LIMIT).holds());
        assert!(!worst_of_sides("wider", sides(2.1), sides(2.0), LIMIT).holds());
    }
}
