//! Tubes that are watched from step to step.

use super::{Problem, Tube, cells_of};
use crate::check::{Failure, Limit, Row};
use crate::marched::{Cell, Tract};
use tractwright::flow::DuctId;

/// What was seen along a march, in SI.
#[derive(Debug, Clone, PartialEq)]
pub struct Watch {
    /// The cells at its end, without units.
    pub cells: Vec<Cell>,
    /// Least density of any cell after any step [kg/m^3].
    pub least_density: f64,
    /// Least pressure of any cell after any step [Pa].
    pub least_pressure: f64,
    /// Steps that were undone and taken again with half their length. A stage without density or pressure is undone and never clipped,
    /// so that a march which takes no step twice had gas in every stage.
    pub retakes: u64,
}

impl Tube {
    /// Marches and watches.
    ///
    /// # Errors
    /// The solver refused or stopped.
    pub fn watch(&self, scheme: &str) -> Result<Watch, Failure> {
        let tract = Tract::read(&self.case(scheme))?;
        let (mut least_density, mut least_pressure) = (f64::INFINITY, f64::INFINITY);
        let least = |values: &[f64], most: f64| values.iter().copied().fold(most, f64::min);
        let marched = tract.march_watching(|march| {
            let state = march.network.arena.cell_states(&march.work.cells, DuctId(0));
            least_density = least(state.density, least_density);
            least_pressure = least(state.pressure, least_pressure);
        })?;
        let retakes = marched.march.counters.retakes;
        Ok(Watch { cells: cells_of(&marched)?, least_density, least_pressure, retakes })
    }
}

impl Problem {
    /// Marches and watches; the cells are those on the length of the problem.
    ///
    /// # Errors
    /// The solver refused or stopped.
    pub fn watch(&self, scheme: &str) -> Result<Watch, Failure> {
        let watch = self.tube().watch(scheme)?;
        Ok(Watch { cells: self.on_length(&watch.cells), ..watch })
    }
}

impl Watch {
    /// Rows: something is left everywhere after every step, and no step had to be taken again.
    #[must_use]
    pub fn rows(&self, name: &str) -> Vec<Row> {
        const POSITIVE: Limit = Limit { value: 0.0, why: "gas has density and pressure" };
        const NONE: Limit = Limit { value: 0.0, why: "a stage that is no gas is refused, never clipped" };
        vec![
            Row::at_least(
                format!("{name}: least density of all steps [kg/m^3]"),
                self.least_density,
                f64::MIN_POSITIVE,
                POSITIVE,
            ),
            Row::at_least(
                format!("{name}: least pressure of all steps [Pa]"),
                self.least_pressure,
                f64::MIN_POSITIVE,
                POSITIVE,
            ),
            Row::vanishing(format!("{name}: steps taken again"), self.retakes as f64, NONE),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_vacuum_and_a_step_taken_again_are_seen() {
        let watch = Watch { cells: Vec::new(), least_density: 1e-9, least_pressure: 1e-12, retakes: 0 };
        assert!(watch.rows("gas").iter().all(Row::holds));
        let empty = Watch { least_density: 0.0, least_pressure: -1e-9, retakes: 1, ..watch };
        assert!(!empty.rows("nothing").iter().any(Row::holds));
    }
}
