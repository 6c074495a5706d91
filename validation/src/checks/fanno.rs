//! Steady flow with friction through a pipe of constant area, choked and not.
//!
//! The exact flow starts from what a rake reads at the first face, so that the loss of the mouth is not laid to the duct.

use crate::case_text::{CaseText, duct, mouth, settled};
use crate::check::{Check, Failure, Group, Limit, Row, rows_only};
use crate::data;
use crate::marched::{Cell, Reading, Tract};
use crate::oracle::fanno::FannoPipe;
use crate::oracle::perfect_gas::PerfectGas;
use tractwright::flow::End;

/// Checks of pipes with friction.
pub const GROUP: Group = Group {
    name: "fanno",
    about: "steady flow with friction through a pipe between the outside and a flow bench",
    checks: &[
        Check {
            name: "unchoked_pipe",
            about: "80 mm and 60 mm pipes at Mach 0.2",
            source: SOURCE,
            run: || rows_only(Ok([measured("intake_pipe_80mm_1m")?, measured("runner_60mm_2m")?].concat())),
        },
        Check {
            name: "choked_pipe",
            about: "a 25 mm pipe of 2 m that is sonic at its end",
            source: SOURCE,
            run: || rows_only(measured("choked_25mm_2m")),
        },
    ],
};

const SOURCE: &str = "Shapiro (1953), The Dynamics and Thermodynamics of Compressible Fluid Flow, volume 1, chapter 6";

fn measured(case: &str) -> Result<Vec<Row>, Failure> {
    let bench = BenchPipe::named(case)?;
    let tract = Tract::read(&bench.case())?;
    let marched = tract.march()?;
    Ok(bench.rows(&marched.rake("pipe", End::First)?, &marched.cells("pipe")?))
}

const GAS: PerfectGas = PerfectGas::AIR;

/// A pipe between the outside and a flow bench.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BenchPipe {
    pipe: FannoPipe,
    back_pressure: f64,
}

impl BenchPipe {
    /// Cells of the pipe.
    pub const CELLS: u32 = 200;

    /// The pipe of that name in the table.
    ///
    /// # Errors
    /// When the table has none.
    pub fn named(case: &str) -> Result<Self, Failure> {
        let rows = data::case(data::FANNO_PIPES, case)?;
        let value = |column| rows[0].number(column);
        let pipe = FannoPipe {
            gas: GAS,
            total_pressure: value("p0_Pa")?,
            total_temperature: value("T0_K")?,
            diameter: value("D_m")?,
            length: value("L_m")?,
            friction_factor: value("f_darcy")?,
        };
        Ok(Self { pipe, back_pressure: value("pe_imposed_Pa")? })
    }

    /// The case file: parts `mouth`, `pipe`, `bench`.
    #[must_use]
    pub fn case(&self) -> String {
        let FannoPipe { total_pressure, total_temperature, diameter, length, friction_factor, .. } = self.pipe;
        let (cell, depression) = (length / f64::from(Self::CELLS), total_pressure - self.back_pressure);
        CaseText::new(total_pressure, total_temperature)
            .part("mouth", mouth(diameter))
            .part("pipe", duct(length, &[(0.0, diameter)], friction_factor))
            .part("bench", format!("kind: draw, depression: {depression} Pa"))
            .line(&["mouth", "pipe", "bench"])
            .run(settled(cell))
            .text()
    }

    /// Rows from what a rake at the first face reads and from the cells of the pipe.
    #[must_use]
    pub fn rows(&self, inlet: &Reading, cells: &[Cell]) -> Vec<Row> {
        const FLOW: Limit = Limit { value: 2e-3, why: "half as much again as a plain second-order scheme misses by" };
        const PROFILE: Limit =
            Limit { value: 1e-3, why: "half as much again as a plain second-order scheme misses by" };
        let Reading { total_pressure, total_temperature, mass_flow, .. } = *inlet;
        let exact = FannoPipe { total_pressure, total_temperature, ..self.pipe }.flow(self.back_pressure);
        // Towards a choked outlet all gradients grow without bound, and the mean of the last cell is no longer the value at its middle.
        let left_out = usize::from(exact.outlet_mach >= 1.0 - 1e-6);
        let states = || cells[..cells.len() - left_out].iter().map(|cell| (cell, exact.at(cell.middle())));
        let pressures = states().map(|(cell, state)| (cell.state.pressure, state.pressure));
        let machs = states().map(|(cell, state)| (cell.mach(GAS), state.mach));
        vec![
            Row::relative("mass flow [kg/s]", mass_flow, exact.mass_flow, FLOW),
            Row::worst("Mach number along the pipe", machs, PROFILE),
            Row::worst("pressure along the pipe [Pa]", pressures, PROFILE),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::marched::perfect::{cells, reading};

    #[test]
    fn an_exact_pipe_holds_and_one_with_more_friction_does_not() {
        for case in ["intake_pipe_80mm_1m", "choked_25mm_2m"] {
            let bench = BenchPipe::named(case).unwrap();
            let rows = |pipe: FannoPipe| {
                let flow = pipe.flow(bench.back_pressure);
                let inlet = reading(flow.mass_flow, pipe.total_pressure, pipe.total_temperature);
                let state = |at: f64| (flow.at(at).mach, flow.at(at).pressure, flow.at(at).temperature);
                bench.rows(&inlet, &cells(BenchPipe::CELLS, pipe.length, state))
            };
            assert!(rows(bench.pipe).iter().all(Row::holds), "{case}");
            let rougher = FannoPipe { friction_factor: 1.05 * bench.pipe.friction_factor, ..bench.pipe };
            assert!(!rows(rougher)[0].holds(), "{case}");
        }
    }
}
