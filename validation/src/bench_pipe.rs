//! A pipe between the outside and a flow bench, with area change, friction and given heat, held against an integration along it.
//!
//! The exact flow starts from what a rake reads at the first face, so that the loss of the mouth is not laid to the pipe.

use crate::case_text::{CaseText, duct, mouth, settled};
use crate::check::Failure;
use crate::marched::{Cell, Reading, Tract};
use crate::oracle::perfect_gas::PerfectGas;
use crate::oracle::pipe_flow::{Inlet, Pipe, Station};
use tractwright::flow::End;

/// Name of the axis of pressure errors.
pub const PRESSURE_ERROR: &str = "mean error of pressure over total pressure";

/// A pipe on its bench.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PipeBench {
    /// The pipe.
    pub pipe: Pipe,
    /// Total pressure [Pa] outside.
    pub total_pressure: f64,
    /// Total temperature [K] outside.
    pub total_temperature: f64,
    /// Static pressure [Pa] behind the pipe.
    pub back_pressure: f64,
    /// Cells of the pipe.
    pub cells: u32,
}

/// What was found on the bench.
#[derive(Debug, Clone, PartialEq)]
pub struct PipeRun {
    /// A rake at the first face.
    pub inlet: Reading,
    /// A rake at the last face.
    pub outlet: Reading,
    /// The cells.
    pub cells: Vec<Cell>,
}

impl PipeBench {
    /// The case file: parts `mouth`, `pipe`, `bench`.
    #[must_use]
    pub fn case(&self) -> String {
        let Pipe { inlet_diameter, outlet_diameter, length, friction_factor, heat, .. } = self.pipe;
        let sections = [(0.0, inlet_diameter), (length, outlet_diameter)];
        let pipe = format!("{}, wall: {{heat: {} W}}", duct(length, &sections, friction_factor), heat * length);
        CaseText::new(self.total_pressure, self.total_temperature)
            .part("mouth", mouth(inlet_diameter))
            .part("pipe", pipe)
            .part("bench", format!("kind: draw, depression: {} Pa", self.total_pressure - self.back_pressure))
            .line(&["mouth", "pipe", "bench"])
            .run(settled(length / f64::from(self.cells)))
            .text()
    }

    /// Marches the case.
    ///
    /// # Errors
    /// The solver refused or stopped.
    pub fn measure(&self) -> Result<PipeRun, Failure> {
        let tract = Tract::read(&self.case())?;
        let marched = tract.march()?;
        let [inlet, outlet] = [End::First, End::Last].map(|end| marched.rake("pipe", end));
        Ok(PipeRun { inlet: inlet?, outlet: outlet?, cells: marched.cells("pipe")? })
    }

    /// Mean over the cells of what the pressure is off, over the total pressure at the inlet.
    ///
    /// # Errors
    /// As for [`PipeBench::measure`], and when the flow that was read would choke the pipe.
    pub fn pressure_error(&self) -> Result<f64, Failure> {
        let run = self.measure()?;
        let (stations, _) = run.exact(&self.pipe)?;
        let off = run.cells.iter().zip(&stations).map(|(cell, station)| (cell.state.pressure - station.pressure).abs());
        Ok(off.sum::<f64>() / (stations.len() as f64 * run.inlet.total_pressure))
    }
}

impl PipeRun {
    /// The exact states at the middles of the cells, and at the outlet.
    ///
    /// # Errors
    /// When the flow that was read would choke the pipe.
    pub fn exact(&self, pipe: &Pipe) -> Result<(Vec<Station>, Station), Failure> {
        let Reading { mass_flow, total_pressure, total_temperature, .. } = self.inlet;
        let inlet = Inlet { mass_flow, total_pressure, total_temperature };
        let middles = self.cells.iter().map(Cell::middle).chain([pipe.length]);
        let mut stations = pipe.along(&inlet, middles).ok_or_else(|| Failure::NoSolution("the pipe".to_owned()))?;
        let outlet = stations.pop().ok_or_else(|| Failure::Missing("cell".to_owned()))?;
        Ok((stations, outlet))
    }

    /// A quantity of the cells at a place [m], by the cubic through the four cells around it.
    #[must_use]
    pub fn at(&self, place: f64, quantity: impl Fn(&Cell) -> f64) -> f64 {
        let after = self.cells.partition_point(|cell| cell.middle() < place);
        let first = after.saturating_sub(2).min(self.cells.len().saturating_sub(4));
        let around = &self.cells[first..self.cells.len().min(first + 4)];
        let share = |of: &Cell| {
            let others = around.iter().filter(|other| !std::ptr::eq(*other, of));
            others.map(|other| (place - other.middle()) / (of.middle() - other.middle())).product::<f64>()
        };
        around.iter().map(|cell| share(cell) * quantity(cell)).sum()
    }
}

/// Static temperature [K] in a cell.
#[must_use]
pub fn temperature(cell: &Cell) -> f64 {
    cell.state.pressure / (cell.state.density * PerfectGas::AIR.gas_constant)
}

/// Total pressure [Pa] in a cell.
#[must_use]
pub fn total_pressure(cell: &Cell) -> f64 {
    cell.state.pressure / PerfectGas::AIR.pressure_ratio(cell.mach(PerfectGas::AIR))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::marched::perfect::{cells, reading};

    #[test]
    fn a_cubic_is_met_between_the_cells() {
        let inlet = reading(0.1, 1e5, 300.0);
        let run =
            PipeRun { inlet, outlet: inlet, cells: cells(10, 1.0, |at| (0.1, 1e5 * (1.0 + at * at * at), 300.0)) };
        for place in [0.0, 0.31, 0.5, 1.0] {
            let found = run.at(place, |cell| cell.state.pressure);
            assert!((found / (1e5 * (1.0 + place * place * place)) - 1.0).abs() < 1e-12, "{place}");
        }
    }
}
