//! Steady flow through a converging-diverging nozzle, with and without a shock in it.
//!
//! The exact flow starts from what a rake reads at the first face, so that the loss of the mouth is not laid to the duct.

use crate::bench_pipe::PRESSURE_ERROR;
use crate::case_text::{CaseText, duct, mouth, sections_at_faces, settled};
use crate::check::{Check, Failure, Findings, Group, Limit, Measure, Row};
use crate::data;
use crate::figure::Figure;
use crate::marched::{Cell, Reading, Tract};
use crate::oracle::nozzle::{Nozzle, NozzleFlow};
use crate::oracle::perfect_gas::PerfectGas;
use crate::refinement::Refinement;
use std::f64::consts::PI;
use tractwright::flow::End;

/// Checks of nozzles.
pub const GROUP: Group = Group {
    name: "nozzle",
    about: "steady flow through converging-diverging nozzles",
    checks: &[
        Check {
            name: "subsonic_nozzle",
            about: "isentropic from end to end",
            source: SOURCE,
            run: || measured(&[("anderson_subsonic", Nozzle::ANDERSON_SUBSONIC), ("cdv_subsonic", Nozzle::COSINES)]),
        },
        Check {
            name: "nozzle_with_shock",
            about: "choked, with a shock in the diverging part",
            source: SOURCE,
            run: || measured(&[("anderson_shock", Nozzle::ANDERSON), ("cdv_shock", Nozzle::COSINES)]),
        },
        Check {
            name: "supersonic_nozzle",
            about: "choked, supersonic up to its end, at Mach 3.36 and 1.85",
            source: SOURCE,
            run: || measured(&[("anderson_supersonic", Nozzle::ANDERSON), ("cdv_supersonic", Nozzle::COSINES)]),
        },
        Check {
            name: "nozzle_order",
            about: "pressure along the subsonic nozzles while cells are halved",
            source: SOURCE,
            run: refined,
        },
    ],
};

const SOURCE: &str =
    "NACA Report 1135 (1953); area laws from memory of Anderson (1995), sections 7.3 and 7.4, and of AIAA-87-0355";

fn measured(cases: &[(&str, Nozzle)]) -> Result<Findings, Failure> {
    let mut figure = Figure::new("Pressure along nozzles", "place over length", "pressure over total pressure");
    let mut rows = Vec::new();
    for (case, nozzle) in cases {
        let bench = BenchNozzle::named(case, *nozzle)?;
        let tract = Tract::read(&bench.case())?;
        let marched = tract.march()?;
        let (inlet, cells) = (marched.rake("nozzle", End::First)?, marched.cells("nozzle")?);
        let named = |row: Row| Row { quantity: format!("{case}: {}", row.quantity), ..row };
        rows.extend(bench.rows(&inlet, &cells, marched.face_flows("nozzle")?)?.into_iter().map(named));
        let exact = bench.flow(inlet.total_pressure);
        let along = |cell: &Cell| cell.middle() / (BenchNozzle::LENGTH * (nozzle.outlet - nozzle.inlet));
        let pressure =
            |cell: &Cell| exact.at(bench.place(cell.middle())).map_or(f64::NAN, |state| state.pressure_ratio);
        figure = figure
            .computed(*case, cells.iter().map(|cell| (along(cell), cell.state.pressure / inlet.total_pressure)))
            .reference(format!("{case}, exact"), cells.iter().map(|cell| (along(cell), pressure(cell))));
    }
    Ok(Findings::from(rows).with(figure))
}

fn refined() -> Result<Findings, Failure> {
    let of = |case: &str, nozzle: Nozzle| {
        let bench = BenchNozzle::named(case, nozzle)?;
        Refinement::of(case, &[50, 100, 200], |cells| bench.error(cells))
    };
    let refinements = [of("anderson_subsonic", Nozzle::ANDERSON_SUBSONIC)?, of("cdv_subsonic", Nozzle::COSINES)?];
    let rows: Vec<_> = refinements.iter().flat_map(Refinement::rows).collect();
    Ok(Findings::from(rows).with(Refinement::figure("Nozzles", PRESSURE_ERROR, &refinements)))
}

const GAS: PerfectGas = PerfectGas::AIR;

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
        self.case_of(Self::CELLS)
    }

    /// The same with another number of cells.
    fn case_of(&self, cells: u32) -> String {
        let length = (self.nozzle.outlet - self.nozzle.inlet) * Self::LENGTH;
        let cell = length / f64::from(cells);
        let sections = sections_at_faces(length, cells, |at| self.diameter(self.place(at)));
        let depression = Self::OUTSIDE.0 * (1.0 - self.exit_pressure_ratio);
        CaseText::new(Self::OUTSIDE.0, Self::OUTSIDE.1)
            .part("mouth", mouth(self.diameter(self.nozzle.inlet)))
            .part("nozzle", duct(length, &sections, 0.0))
            .part("bench", format!("kind: draw, depression: {depression} Pa"))
            .line(&["mouth", "nozzle", "bench"])
            .run(settled(cell))
            .text()
    }

    /// Mean over the cells of what the pressure is off, over the total pressure, in smooth flow.
    fn error(&self, cells: u32) -> Result<f64, Failure> {
        let tract = Tract::read(&self.case_of(cells))?;
        let marched = tract.march()?;
        let inlet = marched.rake("nozzle", End::First)?;
        let exact = self.flow(inlet.total_pressure);
        let off = marched.cells("nozzle")?.into_iter().map(|cell| {
            let exact = exact.at(self.place(cell.middle())).map_or(f64::NAN, |state| state.pressure_ratio);
            (cell.state.pressure / inlet.total_pressure - exact).abs()
        });
        Ok(off.sum::<f64>() / f64::from(cells))
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
            let last = cells.last().map_or(f64::NAN, |cell| {
                cell.state.pressure / GAS.pressure_ratio(cell.mach(GAS)) / inlet.total_pressure
            });
            rows.push(Row::relative("total pressure behind the shock", last, shock.total_pressure_ratio, PRESSURE));
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::marched::perfect::{cells, reading};

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
}
