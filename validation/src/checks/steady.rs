//! Steady flow through ducts: friction, area change, choking, a standing shock.
//!
//! The exact flows start from what a rake reads at the first face of the duct, so that the loss of a mouth is not laid to the duct.

use crate::case_text::{CaseText, duct};
use crate::check::{Failure, Limit, Measure, Row};
use crate::data;
use crate::marched::{Cell, Reading};
use crate::oracle::fanno::FannoPipe;
use crate::oracle::nozzle::{Nozzle, NozzleFlow};
use crate::oracle::perfect_gas::PerfectGas;
use crate::oracle::pipe_flow::{Inlet, Pipe};
use std::f64::consts::PI;

const GAS: PerfectGas = PerfectGas::AIR;

/// Keys of a mouth of the given diameter [m] with an edge that costs nothing but what a large radius costs.
fn mouth(diameter: f64) -> String {
    format!("kind: mouth, area: {} m2, lip_radius: {diameter} m", 0.25 * PI * diameter * diameter)
}

/// A pipe between the outside and a flow bench.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BenchPipe {
    pipe: FannoPipe,
    back_pressure: f64,
}

impl BenchPipe {
    /// Cells of the pipe.
    pub const CELLS: u32 = 100;

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
            .run(format!("march: acoustic, until: settled, cell: {cell} m"))
            .text()
    }

    /// Rows from what a rake at the first face reads and from the cells of the pipe.
    #[must_use]
    pub fn rows(&self, inlet: &Reading, cells: &[Cell]) -> Vec<Row> {
        const FLOW: Limit = Limit { value: 2e-3, why: "a second-order scheme on 100 cells" };
        const PROFILE: Limit = Limit { value: 1e-3, why: "a second-order scheme on 100 cells" };
        let Reading { total_pressure, total_temperature, mass_flow, .. } = *inlet;
        let exact = FannoPipe { total_pressure, total_temperature, ..self.pipe }.flow(self.back_pressure);
        let states = || {
            let pairs = cells.iter().map(|cell| (cell, exact.at(cell.middle())));
            // Towards a choked outlet all gradients grow without bound.
            pairs.filter(|(_, state)| state.mach < 0.8)
        };
        let pressures = states().map(|(cell, state)| (cell.state.pressure, state.pressure));
        let machs = states().map(|(cell, state)| (cell.mach(GAS), state.mach));
        vec![
            Row::relative("mass flow [kg/s]", mass_flow, exact.mass_flow, FLOW),
            Row::worst("Mach number along the pipe", machs, FLOW),
            Row::worst("pressure along the pipe [Pa]", pressures, PROFILE),
        ]
    }
}

/// A converging-diverging nozzle between the outside and a flow bench.
#[derive(Debug, Clone, Copy)]
pub struct BenchNozzle {
    nozzle: Nozzle,
    exit_pressure_ratio: f64,
}

impl BenchNozzle {
    /// Cells of the nozzle.
    pub const CELLS: u32 = 200;
    /// Unit of length of the published area laws [m].
    const LENGTH: f64 = 0.1;
    /// Unit of area [m^2].
    const AREA: f64 = 1e-3;
    /// Total pressure [Pa] and temperature [K] before it.
    const OUTSIDE: (f64, f64) = (1e5, 300.0);

    /// The nozzle and exit pressure of that name in the table; `area` is its area law.
    ///
    /// # Errors
    /// When the table has none.
    pub fn named(case: &str, nozzle: Nozzle) -> Result<Self, Failure> {
        Ok(Self { nozzle, exit_pressure_ratio: data::case(data::NOZZLES, case)?[0].number("pe_p01")? })
    }

    fn flow(&self, total_pressure: f64) -> NozzleFlow {
        // What counts is the exit pressure over the total pressure that reaches the nozzle.
        self.nozzle.flow(GAS, self.exit_pressure_ratio * Self::OUTSIDE.0 / total_pressure)
    }

    /// Diameter [m] at a place in units of the area law.
    fn diameter(&self, place: f64) -> f64 {
        (4.0 * Self::AREA * (self.nozzle.area)(place) / PI).sqrt()
    }

    /// Place in units of the area law of a distance [m] from the first face.
    fn place(&self, distance: f64) -> f64 {
        self.nozzle.inlet + distance / Self::LENGTH
    }

    /// The case file: parts `mouth`, `nozzle`, `bench`, the nozzle with a cross-section at each face.
    #[must_use]
    pub fn case(&self) -> String {
        let length = (self.nozzle.outlet - self.nozzle.inlet) * Self::LENGTH;
        let cell = length / f64::from(Self::CELLS);
        let faces = (0..=Self::CELLS).map(|face| f64::from(face) * cell);
        let sections: Vec<_> = faces.map(|at| (at, self.diameter(self.place(at)))).collect();
        let depression = Self::OUTSIDE.0 * (1.0 - self.exit_pressure_ratio);
        CaseText::new(Self::OUTSIDE.0, Self::OUTSIDE.1)
            .part("mouth", mouth(self.diameter(self.nozzle.inlet)))
            .part("nozzle", duct(length, &sections, 0.0))
            .part("bench", format!("kind: draw, depression: {depression} Pa"))
            .line(&["mouth", "nozzle", "bench"])
            .run(format!("march: acoustic, until: settled, cell: {cell} m"))
            .text()
    }

    /// Rows from what a rake at the first face reads, from the cells, and from the mass flows [kg/s] through the faces.
    ///
    /// # Errors
    /// When the exact flow ends before the nozzle does.
    pub fn rows(&self, inlet: &Reading, cells: &[Cell], face_flows: &[f64]) -> Result<Vec<Row>, Failure> {
        const PRESSURE: Limit = Limit { value: 3e-3, why: "a second-order scheme on 200 cells" };
        const FLAT: Limit = Limit { value: 1e-8, why: "a settled march conserves mass from face to face" };
        let exact = self.flow(inlet.total_pressure);
        let clear = |cell: &&Cell| {
            exact.shock.is_none_or(|shock| {
                (self.place(cell.middle()) - shock.position).abs() * Self::LENGTH > 3.0 * (cell.high - cell.low)
            })
        };
        let pressures = cells.iter().filter(clear).map(|cell| {
            let state = exact.at(self.place(cell.middle()));
            (cell.state.pressure / inlet.total_pressure, state.map_or(f64::NAN, |state| state.pressure_ratio))
        });
        let reduced = (GAS.gas_constant * inlet.total_temperature).sqrt() / (inlet.total_pressure * Self::AREA);
        let mut rows = vec![
            Row::relative("mass flow, reduced", inlet.mass_flow * reduced, exact.reduced_flow, PRESSURE),
            Row::worst_by(Measure::Absolute, "pressure over total pressure", pressures, PRESSURE),
            Row::worst("mass flow from face to face", face_flows.iter().map(|flow| (*flow, face_flows[0])), FLAT),
        ];
        if let Some(shock) = exact.shock {
            let width = cells.first().map_or(f64::NAN, |cell| cell.high - cell.low) / Self::LENGTH;
            let limit = Limit { value: 1.5 * width, why: "a captured shock lies within one and a half cells" };
            let found = self.shock(cells).ok_or_else(|| Failure::Missing("standing shock".to_owned()))?;
            rows.push(Row::absolute("place of the shock", found, shock.position, limit));
        }
        Ok(rows)
    }

    /// Where the flow, supersonic behind the throat, becomes subsonic again.
    fn shock(&self, cells: &[Cell]) -> Option<f64> {
        let behind_throat = cells.windows(2).filter(|pair| self.place(pair[0].middle()) > self.nozzle.throat);
        let (before, after) = behind_throat
            .map(|pair| (pair[0], pair[1]))
            .find(|(before, after)| before.mach(GAS) >= 1.0 && after.mach(GAS) < 1.0)?;
        let share = (before.mach(GAS) - 1.0) / (before.mach(GAS) - after.mach(GAS));
        Some(self.place(before.middle() + share * (after.middle() - before.middle())))
    }
}

/// The cone of 0.6 m from 100 mm to 70 mm with f = 0.018 that 0.2 kg/s pass from 98586 Pa and 300 K, both total.
#[derive(Debug, Clone, Copy, Default)]
pub struct BenchCone;

impl BenchCone {
    /// Cells of the cone.
    pub const CELLS: u32 = 60;

    /// The case file at a Courant number: parts `mouth`, `cone`, `draw`.
    #[must_use]
    pub fn case(&self, courant: f64) -> String {
        let Pipe { inlet_diameter, outlet_diameter, length, friction_factor, .. } = Pipe::CONE;
        let cell = length / f64::from(Self::CELLS);
        CaseText::new(98_586.0, 300.0)
            .part("mouth", mouth(inlet_diameter))
            .part("cone", duct(length, &[(0.0, inlet_diameter), (length, outlet_diameter)], friction_factor))
            .part("draw", "kind: draw, flow: 0.2 kg/s")
            .line(&["mouth", "cone", "draw"])
            .run(format!("march: acoustic, until: settled, cell: {cell} m, courant: {courant}"))
            .text()
    }

    /// Rows from rakes at the first and last face, at Courant numbers 0.8 and 0.4.
    ///
    /// # Errors
    /// When the flow that was read would choke the cone.
    pub fn rows(&self, coarse: [Reading; 2], fine: [Reading; 2]) -> Result<Vec<Row>, Failure> {
        const LOSS: Limit = Limit { value: 1e-3, why: "a second-order scheme on 60 cells, joints included" };
        const SAME: Limit = Limit { value: 1e-6, why: "a steady state must not carry the step in it" };
        let loss = |[inlet, outlet]: [Reading; 2]| inlet.total_pressure - outlet.total_pressure;
        let inlet = Inlet {
            mass_flow: coarse[0].mass_flow,
            total_pressure: coarse[0].total_pressure,
            total_temperature: coarse[0].total_temperature,
        };
        let exact = Pipe::CONE.total_pressure_loss(&inlet).ok_or_else(|| Failure::NoSolution("the cone".to_owned()))?;
        Ok(vec![
            Row::relative("total-pressure loss [Pa]", loss(coarse), exact, LOSS),
            Row::relative("the same, Courant 0.8 against 0.4 [Pa]", loss(coarse), loss(fine), SAME),
        ])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::oracle::riemann::State;

    /// Cells that hold a given state: Mach number, pressure [Pa] and temperature [K] at the middle [m].
    fn cells(count: u32, length: f64, state: impl Fn(f64) -> (f64, f64, f64)) -> Vec<Cell> {
        let width = length / f64::from(count);
        let cell = |index: u32| {
            let low = f64::from(index) * width;
            let (mach, pressure, temperature) = state(low + 0.5 * width);
            let density = pressure / (GAS.gas_constant * temperature);
            let velocity = mach * GAS.sound_speed(temperature);
            Cell { low, high: low + width, state: State { density, velocity, pressure } }
        };
        (0..count).map(cell).collect()
    }

    fn reading(mass_flow: f64, total_pressure: f64, total_temperature: f64) -> Reading {
        Reading { mass_flow, pressure: total_pressure, total_pressure, total_temperature }
    }

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

    #[test]
    fn an_exact_nozzle_holds_and_one_at_another_exit_pressure_does_not() {
        for (case, nozzle) in [("cdv_subsonic", Nozzle::COSINES), ("cdv_shock", Nozzle::COSINES)] {
            let bench = BenchNozzle::named(case, nozzle).unwrap();
            let (total_pressure, total_temperature) = BenchNozzle::OUTSIDE;
            let rows = |exit_pressure_ratio: f64| {
                let flow = bench.nozzle.flow(GAS, exit_pressure_ratio);
                let root = (GAS.gas_constant * total_temperature).sqrt();
                let mass_flow = flow.reduced_flow * BenchNozzle::AREA * total_pressure / root;
                let state = |at: f64| {
                    let state = flow.at(bench.place(at)).unwrap();
                    let pressure = total_pressure * state.pressure_ratio;
                    (state.mach, pressure, total_temperature * state.temperature_ratio)
                };
                let inlet = reading(mass_flow, total_pressure, total_temperature);
                let length = (bench.nozzle.outlet - bench.nozzle.inlet) * BenchNozzle::LENGTH;
                bench.rows(&inlet, &cells(BenchNozzle::CELLS, length, state), &[mass_flow; 3]).unwrap()
            };
            assert!(rows(bench.exit_pressure_ratio).iter().all(Row::holds), "{case}");
            assert!(!rows(bench.exit_pressure_ratio - 0.02).iter().all(Row::holds), "{case}");
        }
    }

    #[test]
    fn the_exact_cone_holds_and_a_step_in_its_loss_does_not() {
        let inlet = reading(0.2, 98_586.0, 300.0);
        let outlet = |loss: f64| reading(0.2, 98_586.0 - loss, 300.0);
        let good = BenchCone.rows([inlet, outlet(81.754)], [inlet, outlet(81.754)]).unwrap();
        assert!(good.iter().all(Row::holds));
        let bad = BenchCone.rows([inlet, outlet(82.42)], [inlet, outlet(82.0)]).unwrap();
        assert!(!bad.iter().any(Row::holds));
    }
}
