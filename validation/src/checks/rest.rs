//! Gas at rest rests, whatever the shape of the tract.

use crate::case_text::{CaseText, InitialState, Stretch, duct, sections_at_faces, smooth_duct};
use crate::check::{Check, Failure, Findings, Group, Limit, Measure, Row};
use crate::dice::Dice;
use crate::figure::Figure;
use crate::marched::{Cell, Tract};
use crate::oracle::perfect_gas::PerfectGas;

/// Checks of gas at rest.
pub const GROUP: Group = Group {
    name: "rest",
    about: "nothing moves where nothing drives it",
    checks: &[
        Check {
            name: "still_air",
            about: "tracts of random shape with area changes, volumes, a wye, a filter, a screen, hot air beside cold",
            source: "hydrostatics: equal pressure moves nothing",
            run: still_air,
        },
        Check {
            name: "any_area_law",
            about: "closed ducts of four area laws over more than ten thousand steps",
            source: "hydrostatics: equal pressure moves nothing",
            run: any_area_law,
        },
    ],
};

/// Tracts that are drawn.
const SEEDS: [u64; 3] = [1, 2, 3];

fn still_air() -> Result<Findings, Failure> {
    let mut figure = Figure::new("What moves in tracts at rest", "cell", "velocity over the speed of sound");
    let mut rows = Vec::new();
    for seed in SEEDS {
        let tract = Tract::read(&rest_case(seed))?;
        let cells = tract.march()?.all_cells()?;
        rows.extend(rest_rows(&cells));
        figure = figure.computed(format!("tract {seed}"), machs(&cells));
    }
    Ok(Findings::from(rows).with(figure.reference("rest", [(0.0, 0.0), (250.0, 0.0)])))
}

/// Mach numbers of cells, over their numbers.
fn machs(cells: &[Cell]) -> Vec<(f64, f64)> {
    (0_u32..).map(f64::from).zip(cells.iter().map(|cell| cell.mach(PerfectGas::AIR))).collect()
}

/// A name, and the diameter [m] over the place on 0..1.
type AreaLaw = (&'static str, fn(f64) -> f64);

const LAWS: [AreaLaw; 4] = [
    ("wave", |x| 0.06 * (1.0 + 0.3 * libm::sin(2.0 * std::f64::consts::PI * x)).sqrt()),
    ("throat", |x| 0.08 * (1.0 - 0.8 * libm::exp(-400.0 * (x - 0.4) * (x - 0.4)))),
    ("cone", |x| 0.02 + 0.1 * x),
    ("teeth", |x| if (20.0 * x).fract() < 0.5 { 0.05 } else { 0.09 }),
];

fn any_area_law() -> Result<Findings, Failure> {
    const CELLS: u32 = 100;
    const REST: Limit = Limit { value: 1e-12, why: "round-off of ten thousand steps" };
    const STEPS: Limit = Limit { value: 0.0, why: "round-off needs steps to gather" };
    let mut figure = Figure::new("What moves in closed ducts at rest", "cell", "velocity over the speed of sound");
    let mut rows = Vec::new();
    for (name, law) in LAWS {
        let text = CaseText::new(PRESSURE, 300.0)
            .part("first", "kind: wall")
            .part("duct", duct(1.0, &sections_at_faces(1.0, CELLS, law), 0.02))
            .part("last", "kind: wall")
            .line(&["first", "duct", "last"])
            .run("march: acoustic, until: 0.26 s, cell: 10 mm")
            .text();
        let tract = Tract::read(&text)?;
        let marched = tract.march()?;
        let cells = marched.cells("duct")?;
        let speeds = machs(&cells).into_iter().map(|(_, mach)| (mach, 0.0));
        rows.push(Row::worst_by(Measure::Absolute, format!("{name}: velocity over sound speed"), speeds, REST));
        let pressures = cells.iter().map(|cell| (cell.state.pressure, PRESSURE));
        rows.push(Row::worst(format!("{name}: pressure [Pa]"), pressures, REST));
        rows.push(Row::at_least(format!("{name}: steps"), marched.march.clock.step as f64, 1e4, STEPS));
        figure = figure.computed(name, machs(&cells));
    }
    Ok(Findings::from(rows).with(figure.reference("rest", [(0.0, 0.0), (f64::from(CELLS), 0.0)])))
}

/// Pressure outside [Pa].
const PRESSURE: f64 = 99_600.0;

/// A tract of shapes drawn from `seed` in which nothing drives the air: a mouth, volumes with a filter between duct and box, a wye
/// with a screen in one leg and blind ends.
#[must_use]
pub fn rest_case(seed: u64) -> String {
    let mut dice = Dice(seed);
    let mut wavy = |length: f64| {
        let sections: Vec<_> = (0..=4).map(|at| (0.25 * f64::from(at) * length, dice.between(0.04, 0.12))).collect();
        duct(length, &sections, 0.02)
    };
    CaseText::new(PRESSURE, 297.15)
        .part("mouth", "kind: mouth, area: 80 cm2")
        .part("snout", wavy(0.45))
        .part("box", "kind: plenum, volume: 11 L")
        .part(
            "filter",
            "kind: filter, media_area: 0.2 m2, \
             curve: {flow: 60 120 240 g/s, drop: 90 205 510 Pa, at: [20 degC, 101.3 kPa]}",
        )
        .part("room", "kind: plenum, volume: 2 L")
        .part("tube", wavy(0.6))
        .part("y", "kind: wye, legs: {trunk: 0 deg, left: 35 deg, right: -50 deg}")
        .part("left", wavy(0.3))
        .part("mesh", "kind: screen, pattern: wire_mesh, open_area: 60 %")
        .part("left_tip", wavy(0.2))
        .part("right", smooth_duct(0.4, 0.06))
        .part("left_end", "kind: wall")
        .part("right_end", "kind: wall")
        .line(&["mouth", "snout", "box", "filter", "room", "tube", "y.trunk"])
        .line(&["y.left", "left", "mesh", "left_tip", "left_end"])
        .line(&["y.right", "right", "right_end"])
        // Hot air beside cold at one pressure stays where it is.
        .initial(
            "tube",
            Stretch { from: 0.0, to: 0.3 },
            InitialState { pressure: PRESSURE, temperature: 350.0, velocity: 0.0 },
        )
        .initial_volume("room", PRESSURE, 330.0)
        .run("march: acoustic, until: 0.1 s, cell: 8 mm")
        .text()
}

/// Rows of gas at rest, from all cells of all ducts.
#[must_use]
pub fn rest_rows(cells: &[Cell]) -> Vec<Row> {
    const SPEED: Limit = Limit { value: 1e-9, why: "round-off of a pressure balance over the speed of sound" };
    const SAME: Limit = Limit { value: 1e-12, why: "round-off" };
    let speeds = cells.iter().map(|cell| (cell.state.velocity, 0.0));
    let pressures = cells.iter().map(|cell| (cell.state.pressure, PRESSURE));
    vec![
        Row::worst_by(Measure::Absolute, "velocity [m/s]", speeds, SPEED),
        Row::worst("pressure [Pa]", pressures, SAME),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::oracle::riemann::State;

    fn cell(velocity: f64, pressure: f64) -> Cell {
        Cell { low: 0.0, high: 0.01, state: State { density: 1.2, velocity, pressure } }
    }

    #[test]
    fn a_draught_is_seen() {
        assert!(rest_rows(&[cell(0.0, PRESSURE), cell(1e-11, PRESSURE)]).iter().all(Row::holds));
        assert!(!rest_rows(&[cell(0.0, PRESSURE), cell(1e-8, PRESSURE)])[0].holds());
        assert!(!rest_rows(&[])[0].holds());
    }
}
