//! Shock tubes: how far a march in a duct is from the exact solution of the Riemann problem.
//!
//! The problems are published without units. Here a unit of pressure is 1 bar, of density 1 kg/m^3 and of length 1 m; the
//! results are brought back before they are compared. The ends are walls: where the gas moves at the start they stand far enough
//! away not to be felt.

use crate::case_text::{CaseText, GAS_CONSTANT, InitialState, Stretch, duct};
use crate::check::{Failure, Limit, Row};
use crate::data;
use crate::marched::{Cell, Marched, Tract};
use crate::oracle::riemann::{Riemann, State, Wave};

mod profile;
mod watched;

pub use profile::Shown;
pub use watched::Watch;

/// Unit of pressure [Pa].
const PRESSURE: f64 = 1e5;
/// Unit of density [kg/m^3].
const DENSITY: f64 = 1.0;
/// Cells on the length of a problem, where nothing else is asked for.
const CELLS: u32 = 400;
/// Bore of a straight tube [m].
const BORE: f64 = 0.1;
/// Cells behind a shock that do not belong to a plateau.
const SHOCK_CELLS: f64 = 4.0;
/// The same beside the tail of a rarefaction, a corner that any second-order scheme rounds off over a dozen cells.
const TAIL_CELLS: f64 = 16.0;

/// Unit of velocity [m/s].
fn velocity_unit() -> f64 {
    (PRESSURE / DENSITY).sqrt()
}

/// A tube between two walls, without units.
#[derive(Debug, Clone, PartialEq)]
pub struct Tube {
    /// Ratio of heat capacities.
    pub gamma: f64,
    /// Length of a cell.
    pub cell: f64,
    /// Where each stretch ends, counted from the first wall, and the state in it; the last end is the second wall.
    pub stretches: Vec<(f64, State)>,
    /// When the march ends.
    pub end_time: f64,
}

impl Tube {
    /// Its length.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.stretches.last().map_or(0.0, |stretch| stretch.0)
    }

    /// The case file of a straight tube; `scheme` are keys of `run` that choose limiter and time stepping.
    #[must_use]
    pub fn case(&self, scheme: &str) -> String {
        self.case_through(&[(0.0, BORE)], scheme)
    }

    /// The same for a tube with a bore that changes: `sections` are places and diameters.
    #[must_use]
    pub fn case_through(&self, sections: &[(f64, f64)], scheme: &str) -> String {
        self.case_with(&duct(self.length(), sections, 0.0), scheme)
    }

    /// The same with a tube of one's own: its keys.
    #[must_use]
    pub fn case_with(&self, tube: &str, scheme: &str) -> String {
        let mut case = CaseText::with_gas(PRESSURE, PRESSURE / (DENSITY * GAS_CONSTANT), self.gamma)
            .part("left", "kind: wall")
            .part("tube", tube)
            .part("right", "kind: wall")
            .line(&["left", "tube", "right"]);
        let mut from = 0.0;
        for (to, state) in &self.stretches {
            case = case.initial("tube", Stretch { from, to: *to }, initial_state(*state));
            from = *to;
        }
        let (until, cell) = (self.end_time / velocity_unit(), self.cell);
        case.run(format!("march: acoustic, until: {until} s, cell: {cell} m, {scheme}")).text()
    }

    /// Its cells at the end of a march, without units.
    ///
    /// # Errors
    /// The solver refused or stopped.
    pub fn march(&self, scheme: &str) -> Result<Vec<Cell>, Failure> {
        cells_of(&Tract::read(&self.case(scheme))?.march()?)
    }

    /// The same in a tube with a bore that changes.
    ///
    /// # Errors
    /// As for [`Tube::march`].
    pub fn march_through(&self, sections: &[(f64, f64)], scheme: &str) -> Result<Vec<Cell>, Failure> {
        cells_of(&Tract::read(&self.case_through(sections, scheme))?.march()?)
    }
}

/// The cells of a marched tube, without units.
///
/// # Errors
/// When it is no tube.
pub fn cells_of(tube: &Marched<'_>) -> Result<Vec<Cell>, Failure> {
    Ok(tube.cells("tube")?.iter().map(without_units).collect())
}

fn without_units(cell: &Cell) -> Cell {
    let State { density, velocity, pressure } = cell.state;
    let state =
        State { density: density / DENSITY, velocity: velocity / velocity_unit(), pressure: pressure / PRESSURE };
    Cell { state, ..*cell }
}

/// A Riemann problem on a length, 1 for most.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Problem {
    gamma: f64,
    left: State,
    right: State,
    /// Where the membrane stands.
    pub start: f64,
    /// When the march ends.
    pub end_time: f64,
    length: f64,
    cells: u32,
}

impl Problem {
    /// The problem of that name in the table of star states.
    ///
    /// # Errors
    /// When the table has none.
    pub fn named(case: &str) -> Result<Self, Failure> {
        let rows = data::case(data::STAR_STATES, case)?;
        let side = |density, velocity, pressure| -> Result<State, Failure> {
            let value = |column| rows[0].number(column);
            Ok(State { density: value(density)?, velocity: value(velocity)?, pressure: value(pressure)? })
        };
        Ok(Self {
            gamma: rows[0].number("gamma")?,
            left: side("rhoL", "uL", "pL")?,
            right: side("rhoR", "uR", "pR")?,
            start: rows[0].number("x0")?,
            end_time: rows[0].number("t_end")?,
            length: rows[0].number("length")?,
            cells: CELLS,
        })
    }

    /// Two streams that part from the middle of the unit length so fast that a vacuum opens between them: the profiles of that name.
    #[must_use]
    pub fn vacuum() -> Self {
        let side = |velocity| State { density: 1.0, velocity, pressure: 0.4 };
        let (left, right) = (side(-4.0), side(4.0));
        Self { gamma: 1.4, left, right, start: 0.5, end_time: 0.08, length: 1.0, cells: CELLS }
    }

    /// The same on another number of cells.
    #[must_use]
    pub fn on_cells(self, cells: u32) -> Self {
        Self { cells, ..self }
    }

    /// Length of a cell.
    #[must_use]
    pub fn cell(&self) -> f64 {
        self.length / f64::from(self.cells)
    }

    /// The state on the left of the membrane at the start, or on its right.
    #[must_use]
    pub fn side(&self, left: bool) -> State {
        if left { self.left } else { self.right }
    }

    /// Ratio of heat capacities.
    #[must_use]
    pub fn gamma(&self) -> f64 {
        self.gamma
    }

    /// The exact solution.
    #[must_use]
    pub fn solution(&self) -> Riemann {
        Riemann::new(self.gamma, self.left, self.right)
    }

    /// Length added beyond an end so that what its wall does stays outside the length of the problem.
    fn margin(&self, state: State) -> f64 {
        if state.velocity == 0.0 {
            return 0.0;
        }
        let reach = state.velocity.abs() + (self.gamma * state.pressure / state.density).sqrt();
        ((reach * self.end_time / self.cell()).ceil() + 10.0) * self.cell()
    }

    /// The tube, with room before its walls.
    #[must_use]
    pub fn tube(&self) -> Tube {
        let (before, after) = (self.margin(self.left), self.margin(self.right));
        let stretches = vec![(before + self.start, self.left), (before + self.length + after, self.right)];
        Tube { gamma: self.gamma, cell: self.cell(), stretches, end_time: self.end_time }
    }

    /// The cells on the length of the problem at the end of a march.
    ///
    /// # Errors
    /// The solver refused or stopped.
    pub fn march(&self, scheme: &str) -> Result<Vec<Cell>, Failure> {
        Ok(self.on_length(&self.tube().march(scheme)?))
    }

    /// The cells of the tube that lie on the length of the problem.
    #[must_use]
    pub fn on_length(&self, tube: &[Cell]) -> Vec<Cell> {
        let before = self.margin(self.left);
        let moved = |cell: &Cell| Cell { low: cell.low - before, high: cell.high - before, ..*cell };
        tube.iter().map(moved).filter(|cell| (0.0..=self.length).contains(&cell.middle())).collect()
    }

    /// Mean absolute difference of density, velocity and pressure from the exact cell means.
    #[must_use]
    pub fn mean_errors(&self, cells: &[Cell]) -> [f64; 3] {
        let solution = self.solution();
        let mut sums = [0.0; 3];
        for cell in cells {
            let exact = self.exact_mean(&solution, cell);
            sums[0] += (cell.state.density - exact.density).abs();
            sums[1] += (cell.state.velocity - exact.velocity).abs();
            sums[2] += (cell.state.pressure - exact.pressure).abs();
        }
        sums.map(|sum| sum / cells.len() as f64)
    }

    fn exact_mean(&self, solution: &Riemann, cell: &Cell) -> State {
        solution.mean((cell.low - self.start) / self.end_time, (cell.high - self.start) / self.end_time)
    }

    /// Rows of the mean errors against what a plain second-order scheme reaches, half as much again.
    ///
    /// # Errors
    /// When the table of those errors has no such case.
    pub fn mean_error_rows(&self, case: &str, cells: &[Cell]) -> Result<Vec<Row>, Failure> {
        const WHY: &str = "1.5 times what a plain second-order scheme with minmod reaches on as many cells";
        let (table, count) = (data::case(data::RIEMANN_ERRORS, case)?, self.cells.to_string());
        let wanted = |row: &&data::Row| row.text("limiter") == Ok("minmod") && row.text("N") == Ok(count.as_str());
        let plain = table.iter().find(wanted).ok_or_else(|| data::DataError::NoRow(case.to_owned()))?;
        let columns = [("density", "L1_rho"), ("velocity", "L1_u"), ("pressure", "L1_p")];
        let row = |((quantity, column), error): ((&str, &str), f64)| {
            let limit = Limit { value: 1.5 * plain.number(column)?, why: WHY };
            Ok(Row::vanishing(format!("mean error of {quantity}"), error, limit))
        };
        columns.into_iter().zip(self.mean_errors(cells)).map(row).collect()
    }

    /// Rows of the plateaus between the waves.
    #[must_use]
    pub fn plateau_rows(&self, cells: &[Cell], limit: Limit) -> Vec<Row> {
        let solution = self.solution();
        let [tail, contact, head] = [solution.left_wave().tail, solution.star_velocity, solution.right_wave().tail]
            .map(|speed| self.start + speed * self.end_time);
        let clear = |wave: Wave| if wave.is_shock() { SHOCK_CELLS } else { TAIL_CELLS } * self.cell();
        let (low, high) = (tail + clear(solution.left_wave()), head - clear(solution.right_wave()));
        let between = |low: f64, high: f64| {
            cells.iter().filter(move |cell| cell.low >= low && cell.high <= high).map(|cell| cell.state)
        };
        let star = || between(low, high);
        // A contact is smeared over many cells, so density is read in the middle third of its plateau.
        let middle = |low: f64, high: f64| between(low + (high - low) / 3.0, high - (high - low) / 3.0);
        let densities = |low, high, exact| middle(low, high).map(move |state| (state.density, exact));
        vec![
            Row::worst("pressure between the waves", star().map(|s| (s.pressure, solution.star_pressure)), limit),
            Row::worst("velocity between the waves", star().map(|s| (s.velocity, solution.star_velocity)), limit),
            Row::worst("density left", densities(tail, contact, solution.star_left_density()), limit),
            Row::worst("density right", densities(contact, head, solution.star_right_density()), limit),
        ]
    }
}

fn initial_state(state: State) -> InitialState {
    let (pressure, density) = (state.pressure * PRESSURE, state.density * DENSITY);
    InitialState {
        pressure,
        temperature: pressure / (density * GAS_CONSTANT),
        velocity: state.velocity * velocity_unit(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PLATEAU: Limit = Limit { value: 5e-3, why: "test" };

    /// The tube as a perfect march would leave it, moved by a number of cells.
    fn perfect_tube(problem: &Problem, moved: f64) -> Vec<Cell> {
        let (solution, width) = (problem.solution(), 1.0 / f64::from(CELLS));
        let (before, after) = (problem.margin(problem.left), problem.margin(problem.right));
        let count = ((before + 1.0 + after) / width).round() as u32;
        let cell = |index: u32| {
            let low = f64::from(index) * width;
            let place = low - before - problem.start - moved * width;
            let mean = solution.mean(place / problem.end_time, (place + width) / problem.end_time);
            Cell { low, high: low + width, state: mean }
        };
        (0..count).map(cell).collect()
    }

    #[test]
    fn a_perfect_march_holds_and_a_displaced_one_does_not() {
        for case in ["sod", "lax", "toro3_left_blast", "toro4_right_blast", "toro5_collision"] {
            let problem = Problem::named(case).unwrap();
            let good = problem.on_length(&perfect_tube(&problem, 0.0));
            assert_eq!(good.len(), 400, "{case}");
            assert!(problem.mean_error_rows(case, &good).unwrap().iter().all(Row::holds), "{case}");
            assert!(problem.plateau_rows(&good, PLATEAU).iter().all(Row::holds), "{case}");
            assert!(problem.profile_rows(case, &good, PLATEAU).unwrap().iter().all(Row::holds), "{case}");
            let bad = problem.on_length(&perfect_tube(&problem, 30.0));
            assert!(!problem.mean_error_rows(case, &bad).unwrap().iter().any(Row::holds), "{case}");
            assert!(!problem.plateau_rows(&bad, PLATEAU).iter().all(Row::holds), "{case}");
            assert!(!problem.profile_rows(case, &bad, PLATEAU).unwrap().iter().all(Row::holds), "{case}");
        }
    }

    #[test]
    fn moving_gas_gets_room_before_the_walls() {
        assert!(Problem::named("sod").unwrap().tube().case("limiter: minmod").contains("length: 1 m"));
        let collision = Problem::named("toro5_collision").unwrap();
        assert!(collision.margin(collision.left) > 1.05);
    }
}
