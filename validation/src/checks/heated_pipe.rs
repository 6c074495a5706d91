//! Steady flow with given heat, alone and together with friction and change of area.

use crate::bench_pipe::{PRESSURE_ERROR, PipeBench, PipeRun, temperature};
use crate::check::{Check, Failure, Findings, Group, Limit, Row};
use crate::data;
use crate::figure::Figure;
use crate::oracle::perfect_gas::PerfectGas;
use crate::oracle::pipe_flow::{Inlet, Pipe, Station};
use crate::refinement::Refinement;

/// Checks of heated pipes.
pub const GROUP: Group = Group {
    name: "heated_pipe",
    about: "steady flow with heat, alone and with friction and change of area",
    checks: &[
        Check {
            name: "rayleigh_points",
            about: "the points of the table met along a pipe of 200 cells that heat chokes",
            source: RAYLEIGH,
            run: points,
        },
        Check {
            name: "area_friction_heat",
            about: "five pipes of 100 cells: cone, diffuser, constant area, with and without friction, heated, cooled and neither",
            source: GENERAL,
            run: all_at_once,
        },
        Check {
            name: "heated_pipe_order",
            about: "pressure along the same pipes while cells are halved",
            source: GENERAL,
            run: refined,
        },
    ],
};

const RAYLEIGH: &str =
    "Shapiro (1953), The Dynamics and Thermodynamics of Compressible Fluid Flow, volume 1, chapter 7 and table B.3";
const GENERAL: &str = "Shapiro (1953), volume 1, chapter 8, table 8.1, integrated along the pipe";

const GAS: PerfectGas = PerfectGas::AIR;

const RISE: Limit = Limit { value: 1e-8, why: "conservation of energy in a settled march" };

/// Pipes by name: inlet and outlet diameter, length, friction factor, heat per metre [W/m], and pressure [Pa], temperature [K] and Mach
/// number at the inlet.
const PIPES: [(&str, [f64; 5], [f64; 3]); 5] = [
    ("cone, friction, heat", [0.08, 0.06, 1.0, 0.02, 3000.0], [101_325.0, 300.0, 0.2]),
    ("diffuser, friction, cooling", [0.06, 0.09, 0.8, 0.025, -1500.0], [110_000.0, 340.0, 0.35]),
    ("constant area, heat", [0.08, 0.08, 1.0, 0.0, 20_000.0], [101_325.0, 300.0, 0.25]),
    ("constant area, friction", [0.06, 0.06, 3.0, 0.025, 0.0], [101_325.0, 300.0, 0.3]),
    ("cone", [0.09, 0.06, 0.5, 0.0, 0.0], [101_325.0, 300.0, 0.2]),
];

/// A bench on which the pipe takes about the flow that it has at that state of its inlet.
fn bench(form: [f64; 5], inlet: [f64; 3], cells: u32) -> Result<PipeBench, Failure> {
    let [inlet_diameter, outlet_diameter, length, friction_factor, heat] = form;
    let [pressure, temperature, mach] = inlet;
    let pipe = Pipe { gas: GAS, inlet_diameter, outlet_diameter, length, friction_factor, heat };
    let total_pressure = pressure / GAS.pressure_ratio(mach);
    let total_temperature = temperature / GAS.temperature_ratio(mach);
    let mass_flow = GAS.mass_flow(mach, pipe.area(0.0), total_pressure, total_temperature);
    let outlet = pipe.at(&Inlet { mass_flow, total_pressure, total_temperature }, length);
    let back_pressure = outlet.ok_or_else(|| Failure::NoSolution("a heated pipe".to_owned()))?.pressure;
    Ok(PipeBench { pipe, total_pressure, total_temperature, back_pressure, cells })
}

/// Row of the rise of total temperature against the heat that the stream took.
fn rise_row(name: &str, pipe: &Pipe, run: &PipeRun) -> Row {
    let rise = run.outlet.total_temperature - run.inlet.total_temperature;
    let exact = pipe.heat * pipe.length / (run.inlet.mass_flow * GAS.heat_capacity());
    Row::relative(format!("{name}: rise of total temperature [K]"), rise, exact, RISE)
}

/// Rows of a run.
fn rows(name: &str, pipe: &Pipe, run: &PipeRun, exact: &[Station], outlet: &Station) -> Vec<Row> {
    const PROFILE: Limit = Limit { value: 1e-3, why: "half as much again as a plain second-order scheme misses by" };
    const OUTLET: Limit = Limit { value: 2e-3, why: "the same, where the flow is fastest" };
    let cells = || run.cells.iter().zip(exact);
    let named = |what: &str| format!("{name}: {what}");
    let pressures = cells().map(|(cell, exact)| (cell.state.pressure, exact.pressure));
    let temperatures = cells().map(|(cell, exact)| (temperature(cell), exact.temperature));
    let mut rows = vec![
        Row::worst(named("pressure [Pa]"), pressures, PROFILE),
        Row::worst(named("temperature [K]"), temperatures, PROFILE),
        Row::worst(named("Mach number"), cells().map(|(cell, exact)| (cell.mach(GAS), exact.mach)), OUTLET),
        Row::relative(
            named("total pressure at the outlet [Pa]"),
            run.outlet.total_pressure,
            outlet.total_pressure,
            PROFILE,
        ),
    ];
    if pipe.heat.abs() > 0.0 {
        rows.push(rise_row(name, pipe, run));
    }
    rows
}

fn all_at_once() -> Result<Findings, Failure> {
    let mut figure = Figure::new("Pipes with area change, friction and heat", "place over length", "Mach number");
    let mut found = Vec::new();
    for (name, form, inlet) in PIPES {
        let bench = bench(form, inlet, 100)?;
        let run = bench.measure()?;
        let (exact, outlet) = run.exact(&bench.pipe)?;
        found.extend(rows(name, &bench.pipe, &run, &exact, &outlet));
        let place = |middle: f64| middle / bench.pipe.length;
        let dots = run.cells.iter().map(|cell| (place(cell.middle()), cell.mach(GAS)));
        let line = run.cells.iter().zip(&exact).map(|(cell, exact)| (place(cell.middle()), exact.mach));
        figure = figure.computed(name, dots).reference(format!("{name}, exact"), line);
    }
    Ok(Findings::from(found).with(figure))
}

fn refined() -> Result<Findings, Failure> {
    let of =
        |(name, form, inlet)| Refinement::of(name, &[25, 50, 100], |cells| bench(form, inlet, cells)?.pressure_error());
    let refinements = PIPES.into_iter().map(of).collect::<Result<Vec<_>, Failure>>()?;
    let rows: Vec<_> = refinements.iter().flat_map(Refinement::rows).collect();
    let figure = Refinement::figure("Heated pipes", PRESSURE_ERROR, &refinements);
    Ok(Findings::from(rows).with(figure))
}

/// A pipe of constant area that heat chokes from about Mach 0.2 at its inlet.
fn choked_by_heat() -> PipeBench {
    const MACH: f64 = 0.2;
    let (diameter, length, total_pressure, total_temperature) = (0.05, 1.0, 2e5, 300.0);
    let pipe =
        Pipe { gas: GAS, inlet_diameter: diameter, outlet_diameter: diameter, length, friction_factor: 0.0, heat: 0.0 };
    let mass_flow = GAS.mass_flow(MACH, pipe.area(0.0), total_pressure, total_temperature);
    let rise = total_temperature * (1.0 / GAS.rayleigh_total_temperature(MACH) - 1.0);
    let heat = mass_flow * GAS.heat_capacity() * rise / length;
    PipeBench { pipe: Pipe { heat, ..pipe }, total_pressure, total_temperature, back_pressure: 5e4, cells: 200 }
}

fn points() -> Result<Findings, Failure> {
    const POINT: Limit = Limit { value: 2e-3, why: "a second-order scheme on 200 cells, met between two of them" };
    const INLET: Limit = Limit { value: 2e-3, why: "the last cell does not see how steep the flow ends" };
    let bench = choked_by_heat();
    let run = bench.measure()?;
    let (inlet, heat) = (run.inlet, bench.pipe.heat);
    let inlet_mach = inlet.mach(GAS);
    let exact_mach = GAS.rayleigh_subsonic_mach(inlet.total_temperature / run.outlet.total_temperature);
    let mut rows = vec![
        rise_row("choked by heat", &bench.pipe, &run),
        Row::relative("Mach number at the inlet that chokes", inlet_mach, exact_mach, INLET),
    ];
    let sonic_temperature = inlet.total_temperature / GAS.rayleigh_total_temperature(inlet_mach);
    let sonic_pressure = inlet.pressure / GAS.rayleigh_pressure(inlet_mach);
    let mut dots = Vec::new();
    for point in data::rows(data::RAYLEIGH)? {
        let mach = point.number("M")?;
        if !(0.21..0.88).contains(&mach) {
            continue;
        }
        let rise = point.number("T0_T0star")? * sonic_temperature - inlet.total_temperature;
        let place = rise * inlet.mass_flow * GAS.heat_capacity() / heat;
        let pressure = run.at(place, |cell| cell.state.pressure) / sonic_pressure;
        let named = |what: &str| format!("{what} where T0/T0* of Mach {mach} is reached");
        rows.push(Row::relative(named("p/p*"), pressure, point.number("p_pstar")?, POINT));
        rows.push(Row::relative(named("M"), run.at(place, |cell| cell.mach(GAS)), mach, POINT));
        dots.push((mach, pressure));
    }
    let line = dots.iter().map(|(mach, _)| (*mach, GAS.rayleigh_pressure(*mach)));
    let figure = Figure::new("A pipe that heat chokes", "Mach number", "pressure over that where sonic")
        .reference("exact", line)
        .computed("met along the pipe", dots.iter().copied());
    Ok(Findings::from(rows).with(figure))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::marched::Reading;
    use crate::marched::perfect::cells;

    #[test]
    fn an_exact_pipe_holds_and_one_with_more_heat_does_not() {
        let (name, form, inlet) = PIPES[2];
        let bench = bench(form, inlet, 100).unwrap();
        let rows = |heat: f64| {
            let pipe = Pipe { heat, ..bench.pipe };
            let mach = inlet[2];
            let (total_pressure, total_temperature) = (bench.total_pressure, bench.total_temperature);
            let mass_flow = GAS.mass_flow(mach, pipe.area(0.0), total_pressure, total_temperature);
            let stream = Inlet { mass_flow, total_pressure, total_temperature };
            let state = |at: f64| {
                let Station { mach, pressure, temperature, .. } = pipe.at(&stream, at).unwrap();
                (mach, pressure, temperature)
            };
            let reading = |at: f64| {
                let Station { pressure, total_pressure, total_temperature, .. } = pipe.at(&stream, at).unwrap();
                Reading { mass_flow, pressure, total_pressure, total_temperature }
            };
            let run =
                PipeRun { inlet: reading(0.0), outlet: reading(pipe.length), cells: cells(20, pipe.length, state) };
            let (exact, outlet) = run.exact(&bench.pipe).unwrap();
            rows(name, &bench.pipe, &run, &exact, &outlet)
        };
        assert!(rows(bench.pipe.heat).iter().all(Row::holds));
        let warmer = rows(1.05 * bench.pipe.heat);
        assert!(!warmer[4].holds() && !warmer.iter().any(|row| row.error() < 1e-5));
    }
}
