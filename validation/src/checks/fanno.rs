//! Steady flow with friction through a pipe of constant area, choked and not.
//!
//! The exact flow starts from what a rake reads at the first face, so that the loss of the mouth is not laid to the duct.

use crate::bench_pipe::{PRESSURE_ERROR, PipeBench, PipeRun, temperature, total_pressure};
use crate::check::{Check, Failure, Findings, Group, Limit, Row};
use crate::data;
use crate::figure::Figure;
use crate::oracle::fanno::{FannoFlow, FannoPipe};
use crate::oracle::perfect_gas::PerfectGas;
use crate::oracle::pipe_flow::Pipe;
use crate::refinement::Refinement;

/// Checks of pipes with friction.
pub const GROUP: Group = Group {
    name: "fanno",
    about: "steady flow with friction through a pipe between the outside and a flow bench",
    checks: &[
        Check {
            name: "unchoked_pipe",
            about: "80 mm, 60 mm and 100 mm pipes at Mach 0.2, on 100 cells",
            source: SOURCE,
            run: || measured(&["intake_pipe_80mm_1m", "runner_60mm_2m", "given_M1_0.2"], 100),
        },
        Check {
            name: "choked_pipe",
            about: "a 25 mm pipe of 2 m that is sonic at its end, on 200 cells",
            source: SOURCE,
            run: || measured(&["choked_25mm_2m"], 200),
        },
        Check {
            name: "fanno_points",
            about: "the points of the table met along three choked pipes of 200 cells, from Mach 0.1, 0.3 and 0.6",
            source: SOURCE,
            run: points,
        },
        Check {
            name: "fanno_order",
            about: "pressure along the unchoked pipes while cells are halved",
            source: SOURCE,
            run: refined,
        },
    ],
};

const SOURCE: &str =
    "Shapiro (1953), The Dynamics and Thermodynamics of Compressible Fluid Flow, volume 1, chapter 6 and table B.4";

const GAS: PerfectGas = PerfectGas::AIR;

/// A pipe between the outside and a flow bench.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BenchPipe {
    pipe: FannoPipe,
    back_pressure: f64,
}

impl BenchPipe {
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
        // Where the table gives the inlet's Mach number, the pressure that it leads to is imposed.
        let back_pressure = value("pe_imposed_Pa").or_else(|_| value("p2_Pa"))?;
        Ok(Self { pipe, back_pressure })
    }

    /// The bench with this many cells.
    #[must_use]
    pub fn bench(&self, cells: u32) -> PipeBench {
        let FannoPipe { gas, total_pressure, total_temperature, diameter, length, friction_factor } = self.pipe;
        let (inlet_diameter, outlet_diameter) = (diameter, diameter);
        let pipe = Pipe { gas, inlet_diameter, outlet_diameter, length, friction_factor, heat: 0.0 };
        PipeBench { pipe, total_pressure, total_temperature, back_pressure: self.back_pressure, cells }
    }

    /// The exact flow from what the rake at the first face read.
    #[must_use]
    pub fn exact(&self, run: &PipeRun) -> FannoFlow {
        let (total_pressure, total_temperature) = (run.inlet.total_pressure, run.inlet.total_temperature);
        FannoPipe { total_pressure, total_temperature, ..self.pipe }.flow(self.back_pressure)
    }

    /// Rows of a run.
    #[must_use]
    pub fn rows(&self, run: &PipeRun) -> Vec<Row> {
        const SMOOTH: Limit =
            Limit { value: 1e-5, why: "ten times what a second-order scheme leaves where gradients are low" };
        const FLOW: Limit = Limit { value: 2e-3, why: "half as much again as a plain second-order scheme misses by" };
        const PROFILE: Limit =
            Limit { value: 1e-3, why: "half as much again as a plain second-order scheme misses by" };
        let exact = self.exact(run);
        let chokes = exact.outlet_mach >= 1.0 - 1e-6;
        let (flow, profile) = if chokes { (FLOW, PROFILE) } else { (SMOOTH, SMOOTH) };
        // Towards a choked outlet all gradients grow without bound, and the mean of the last cell is no longer the value at its middle.
        let cells = &run.cells[..run.cells.len() - usize::from(chokes)];
        let states = || cells.iter().map(|cell| (cell, exact.at(cell.middle())));
        let mut rows = vec![
            Row::relative("mass flow [kg/s]", run.inlet.mass_flow, exact.mass_flow, flow),
            Row::worst("Mach number", states().map(|(cell, state)| (cell.mach(GAS), state.mach)), profile),
            Row::worst("pressure [Pa]", states().map(|(cell, state)| (cell.state.pressure, state.pressure)), profile),
            Row::worst(
                "temperature [K]",
                states().map(|(cell, state)| (temperature(cell), state.temperature)),
                profile,
            ),
            Row::worst(
                "total pressure [Pa]",
                states().map(|(cell, state)| (total_pressure(cell), state.total_pressure)),
                profile,
            ),
        ];
        if !chokes {
            rows.push(Row::relative("Mach number at the outlet", run.outlet.mach(GAS), exact.outlet_mach, SMOOTH));
            let lost = run.inlet.total_pressure - run.outlet.total_pressure;
            let exact = exact.at(0.0).total_pressure - exact.at(self.pipe.length).total_pressure;
            rows.push(Row::relative("total pressure lost [Pa]", lost, exact, SMOOTH));
        }
        rows
    }
}

fn measured(cases: &[&str], cells: u32) -> Result<Findings, Failure> {
    let mut figure =
        Figure::new("Pressure along pipes with friction", "place over length", "pressure over that outside");
    let mut rows = Vec::new();
    for case in cases {
        let pipe = BenchPipe::named(case)?;
        let run = pipe.bench(cells).measure()?;
        let named = |row: Row| Row { quantity: format!("{case}: {}", row.quantity), ..row };
        rows.extend(pipe.rows(&run).into_iter().map(named));
        let (exact, pressure) = (pipe.exact(&run), pipe.pipe.total_pressure);
        let place = |at: f64| at / pipe.pipe.length;
        let dots = run.cells.iter().map(|cell| (place(cell.middle()), cell.state.pressure / pressure));
        let line = run.cells.iter().map(|cell| (place(cell.middle()), exact.at(cell.middle()).pressure / pressure));
        figure = figure.computed(*case, dots).reference(format!("{case}, exact"), line);
    }
    Ok(Findings::from(rows).with(figure))
}

/// A pipe of 50 mm that is choked by its own friction from a Mach number at its inlet.
fn choked_from(mach: f64) -> BenchPipe {
    // A rough short pipe is the same flow as a smooth long one, and settles sooner.
    const FRICTION: f64 = 0.5;
    const DIAMETER: f64 = 0.05;
    let length = GAS.fanno_length(mach) * DIAMETER / FRICTION;
    let pipe = FannoPipe {
        gas: GAS,
        total_pressure: 1e5,
        total_temperature: 300.0,
        diameter: DIAMETER,
        length,
        friction_factor: FRICTION,
    };
    BenchPipe { pipe, back_pressure: 0.5 * pipe.flow_at(mach).at(length).pressure }
}

fn points() -> Result<Findings, Failure> {
    const POINT: Limit = Limit { value: 2e-3, why: "a second-order scheme on 200 cells, met between two of them" };
    let mut figure = Figure::new("Choked pipes with friction", "Mach number", "pressure over that where sonic");
    let (mut rows, mut dots) = (Vec::new(), Vec::new());
    for (inlet, range) in [(0.1, 0.12..0.31), (0.3, 0.32..0.61), (0.6, 0.62..0.87)] {
        let pipe = choked_from(inlet);
        let run = pipe.bench(200).measure()?;
        // Mass flow and total temperature give the sonic state alone: rho* u* = m / A.
        let sonic_temperature = run.inlet.total_temperature * GAS.temperature_ratio(1.0);
        let sonic_pressure = run.inlet.mass_flow * GAS.gas_constant * sonic_temperature
            / (pipe.pipe.area() * GAS.sound_speed(sonic_temperature));
        for point in data::rows(data::FANNO)? {
            let mach = point.number("M")?;
            if !range.contains(&mach) {
                continue;
            }
            let to_end = point.number("fD_Lstar_D")? * pipe.pipe.diameter / pipe.pipe.friction_factor;
            let place = pipe.pipe.length - to_end;
            let pressure = run.at(place, |cell| cell.state.pressure) / sonic_pressure;
            let named = |what: &str| format!("{what} where fL*/D of Mach {mach} is left");
            rows.push(Row::relative(named("p/p*"), pressure, point.number("p_pstar")?, POINT));
            rows.push(Row::relative(named("M"), run.at(place, |cell| cell.mach(GAS)), mach, POINT));
            dots.push((mach, pressure));
        }
    }
    figure = figure.computed("met along the pipes", dots.iter().copied());
    figure = figure.reference("exact", dots.iter().map(|(mach, _)| (*mach, GAS.fanno_pressure(*mach))));
    Ok(Findings::from(rows).with(figure))
}

fn refined() -> Result<Findings, Failure> {
    let of = |case: &str| {
        let pipe = BenchPipe::named(case)?;
        Refinement::of(case, &[25, 50, 100], |cells| pipe.bench(cells).pressure_error())
    };
    let refinements = [of("runner_60mm_2m")?, of("given_M1_0.2")?];
    let rows: Vec<_> = refinements.iter().flat_map(Refinement::rows).collect();
    let figure = Refinement::figure("Pipes with friction", PRESSURE_ERROR, &refinements);
    Ok(Findings::from(rows).with(figure))
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
                let at_end = flow.at(pipe.length);
                let outlet = crate::marched::Reading {
                    pressure: at_end.pressure,
                    ..reading(flow.mass_flow, at_end.total_pressure, pipe.total_temperature)
                };
                let state = |at: f64| (flow.at(at).mach, flow.at(at).pressure, flow.at(at).temperature);
                bench.rows(&PipeRun { inlet, outlet, cells: cells(200, pipe.length, state) })
            };
            assert!(rows(bench.pipe).iter().all(Row::holds), "{case}");
            let rougher = FannoPipe { friction_factor: 1.05 * bench.pipe.friction_factor, ..bench.pipe };
            assert!(!rows(rougher)[0].holds(), "{case}");
        }
    }
}
