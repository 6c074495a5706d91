//! Contacts that stand, fans through the speed of sound, shocks that meet walls, waves and each other.

use crate::check::{Check, Failure, Findings, Group, Limit, Measure, Row};
use crate::data;
use crate::figure::Figure;
use crate::marched::Cell;
use crate::oracle::riemann::State;
use crate::oracle::shock::{NormalShock, Reflection};
use crate::shock_tube::{Problem, Shown, Tube};

/// Checks of shocks beyond the Riemann problem.
pub const GROUP: Group = Group {
    name: "shocks",
    about: "contacts that stand or creep, sonic fans, shocks that meet walls, waves and each other",
    checks: &[
        Check {
            name: "standing_contact",
            about: "a contact between gases at rest stays where it is",
            source: "exact solution: Toro (2009), section 10.8",
            run: standing_contact,
        },
        Check {
            name: "creeping_contact",
            about: "a contact that moves slowly, alone and behind a strong shock",
            source: "exact solution: Toro (2009), sections 6.4 and 10.8",
            run: creeping_contact,
        },
        Check {
            name: "streams_that_meet",
            about: "two cold streams that meet and leave gas at rest between two shocks",
            source: "Noh, J. Comput. Phys. 72 (1987) 78, planar and with a little pressure; exact solution: Toro (2009), chapter 4",
            run: streams_that_meet,
        },
        Check {
            name: "sonic_fan",
            about: "a rarefaction through the speed of sound has no jump in it",
            source: "exact solution: Toro (2009), section 6.4",
            run: sonic_fan,
        },
        Check {
            name: "wall_reflection",
            about: "shocks of Mach 1.1 to 5 that a closed end sends back",
            source: "Liepmann and Roshko (1957), Elements of Gasdynamics, chapter 3; NACA Report 1135 (1953)",
            run: wall_reflection,
        },
        Check {
            name: "shock_and_waves",
            about: "a shock of Mach 3 that runs into waves of entropy",
            source: "Shu and Osher, J. Comput. Phys. 83 (1989) 32, example 8; means of a fifth-order scheme on 12800 cells",
            run: shock_and_waves,
        },
        Check {
            name: "colliding_blasts",
            about: "two blasts that collide between walls",
            source: "Woodward and Colella, J. Comput. Phys. 54 (1984) 115; means of a fifth-order scheme on 12800 cells",
            run: colliding_blasts,
        },
    ],
};

/// Keys of `run` with which the marks were set.
const SCHEME: &str = "limiter: van_leer, courant: 0.4";

fn standing_contact() -> Result<Findings, Failure> {
    const KEPT: Limit = Limit { value: 1e-12, why: "a flux that knows contacts keeps them to round-off" };
    let problem = Problem::named("toro_ch10_6_stationary_contact")?;
    let cells = problem.march(SCHEME)?;
    let densities = cells.iter().map(|cell| {
        let side = problem.side(cell.middle() < problem.start);
        (cell.state.density, side.density)
    });
    let speeds = cells.iter().map(|cell| (cell.state.velocity, 0.0));
    let rows = vec![
        Row::worst_by(Measure::Absolute, "density", densities, KEPT),
        Row::worst_by(Measure::Absolute, "velocity", speeds, KEPT),
    ];
    Ok(Findings::from(rows).with(problem.figure("standing contact", Shown::Density, &cells)))
}

fn creeping_contact() -> Result<Findings, Failure> {
    const KEPT: Limit = Limit { value: 1e-12, why: "a contact alone makes no pressure and no velocity" };
    const WIDTH: Limit = Limit { value: 2.0, why: "cells; the middle of a smeared contact" };
    const PLATEAU: Limit = Limit { value: 2e-2, why: "overshoots beside a shock of a pressure ratio of 46,000" };
    let problem = Problem::named("toro_ch10_7_slow_contact")?;
    let cells = problem.march(SCHEME)?;
    let pressures = cells.iter().map(|cell| (cell.state.pressure, 1.0));
    let speeds = cells.iter().map(|cell| (cell.state.velocity, 0.1));
    let mut rows = vec![
        Row::worst_by(Measure::Absolute, "pressure, contact alone", pressures, KEPT),
        Row::worst_by(Measure::Absolute, "velocity, contact alone", speeds, KEPT),
        contact_row("place of the contact alone, in cells", &problem, &cells, WIDTH),
    ];
    let strong = Problem::named("toro_ch6_5_slow_contact")?;
    let behind = strong.march(SCHEME)?;
    rows.extend(strong.plateau_rows(&behind, PLATEAU).into_iter().take(1));
    rows.push(contact_row("place of the contact behind a shock, in cells", &strong, &behind, WIDTH));
    Ok(Findings::from(rows).with(problem.figure("creeping contact", Shown::Density, &cells)).with(strong.figure(
        "creeping contact behind a strong shock",
        Shown::Density,
        &behind,
    )))
}

/// Row of the place at which density passes the middle of its jump across the contact, in cells.
fn contact_row(quantity: &str, problem: &Problem, cells: &[Cell], limit: Limit) -> Row {
    let solution = problem.solution();
    let exact = problem.start + solution.star_velocity * problem.end_time;
    let level = 0.5 * (solution.star_left_density() + solution.star_right_density());
    let near = |pair: &&[Cell]| (pair[0].middle() - exact).abs() < 30.0 * problem.cell();
    let crossed = |pair: &&[Cell]| (pair[0].state.density - level) * (pair[1].state.density - level) <= 0.0;
    let place = cells.windows(2).filter(near).find(crossed).map_or(f64::NAN, |pair| {
        let share = (level - pair[0].state.density) / (pair[1].state.density - pair[0].state.density);
        pair[0].middle() + share * (pair[1].middle() - pair[0].middle())
    });
    Row::absolute(quantity, place / problem.cell(), exact / problem.cell(), limit)
}

fn streams_that_meet() -> Result<Findings, Failure> {
    const PLATEAU: Limit =
        Limit { value: 3e-2, why: "overshoots of a second-order scheme beside shocks into gas without pressure" };
    const HEATED: Limit =
        Limit { value: 2e-2, why: "the same, outside the ten cells where the shocks parted, which they overheat" };
    let problem = Problem::named("noh_planar")?;
    let cells = problem.march(SCHEME)?;
    let mut rows: Vec<Row> = problem.plateau_rows(&cells, PLATEAU).into_iter().take(1).collect();
    let (solution, clear) = (problem.solution(), 10.0 * problem.cell());
    let edge = solution.right_wave().head * problem.end_time - clear;
    let plateau = cells.iter().filter(|cell| {
        let from_middle = (cell.middle() - problem.start).abs();
        from_middle > clear && from_middle < edge
    });
    let densities = plateau.map(|cell| (cell.state.density, solution.star_left_density()));
    rows.push(Row::worst("density between the shocks", densities, HEATED));
    Ok(Findings::from(rows).with(problem.figure("streams that meet", Shown::Density, &cells)))
}

fn sonic_fan() -> Result<Findings, Failure> {
    const SMOOTH: Limit =
        Limit { value: 1.5, why: "up to two and a half mean steps; a plain second-order scheme has 1.4" };
    let problem = Problem::named("toro_ch6_1_modified_sod")?;
    let cells = problem.march(SCHEME)?;
    let wave = problem.solution().left_wave();
    let place = |speed: f64| problem.start + speed * problem.end_time;
    let fan: Vec<_> = cells
        .iter()
        .filter(|cell| cell.low >= place(wave.head) && cell.high <= place(wave.tail))
        .map(|cell| cell.state.density)
        .collect();
    let fall = fan.first().zip(fan.last()).map_or(f64::NAN, |(first, last)| first - last);
    let mean = fall / (fan.len() as f64 - 1.0);
    let steps = fan.windows(2).map(|pair| ((pair[0] - pair[1]) / mean, 1.0));
    let mut rows = vec![Row::worst_by(Measure::Absolute, "step from cell to cell, over the mean step", steps, SMOOTH)];
    rows.extend(problem.mean_error_rows("toro_ch6_1_modified_sod", &cells)?);
    Ok(Findings::from(rows).with(problem.figure("sonic fan", Shown::Density, &cells)).with(problem.figure(
        "sonic fan",
        Shown::Velocity,
        &cells,
    )))
}

fn wall_reflection() -> Result<Findings, Failure> {
    let mut all = Findings::default();
    for mach in [1.1, 1.2, 1.5, 2.0, 3.0, 5.0] {
        let Findings { rows, figures } = reflected(mach)?;
        all.rows.extend(rows);
        all.figures.extend(figures);
    }
    Ok(all)
}

/// What becomes of a shock that runs at `mach` into gas at rest before a wall, in units of that gas's density, pressure and of length, on
/// 400 cells a unit.
fn reflected(mach: f64) -> Result<Findings, Failure> {
    const GAMMA: f64 = 1.4;
    const CELL: f64 = 1.0 / 400.0;
    const WALL: f64 = 4.0;
    const START: f64 = 3.5;
    const SPEED: Limit = Limit { value: 5e-3, why: "on 400 cells a unit" };
    let strong = mach > 2.5;
    let ringing = "what a plain second-order scheme rings by behind a shock";
    let heated =
        "the same, outside the five cells that a wall overheats; behind strong shocks the overheating reaches farther";
    let pressure = Limit { value: if strong { 8e-3 } else { 5e-3 }, why: ringing };
    let temperature = Limit { value: if strong { 2e-2 } else { 1e-2 }, why: heated };
    let (sound, shock, wall) = (GAMMA.sqrt(), NormalShock::new(GAMMA, mach), Reflection::new(GAMMA, mach));
    let behind =
        State { density: shock.density_ratio, velocity: shock.velocity_behind * sound, pressure: shock.pressure_ratio };
    let ahead = State { density: 1.0, velocity: 0.0, pressure: 1.0 };
    let (arrival, way_back) = ((WALL - START) / (mach * sound), 0.3);
    let end_time = arrival + way_back / (wall.shock_speed * sound);
    let stretches = vec![(START, behind), (WALL, ahead)];
    let cells = Tube { gamma: GAMMA, cell: CELL, stretches, end_time }.march(SCHEME)?;
    let outside_front = |cell: &&Cell| cell.low > WALL - way_back + 12.0 * CELL;
    let still = || cells.iter().filter(outside_front);
    let pressures = still().map(|cell| (cell.state.pressure, wall.pressure_ratio));
    let exact = wall.pressure_ratio / wall.density_ratio;
    let temperatures = still()
        .filter(|cell| cell.high < WALL - 5.0 * CELL)
        .map(|cell| (cell.state.pressure / cell.state.density, exact));
    let front = front(&cells, 0.5 * (wall.pressure_ratio + shock.pressure_ratio));
    let speed = (WALL - front.unwrap_or(f64::NAN)) / (end_time - arrival) / sound;
    let rows = vec![
        Row::worst(format!("pressure before the wall, Mach {mach}"), pressures, pressure),
        Row::worst(format!("temperature before the wall, Mach {mach}"), temperatures, temperature),
        Row::relative(format!("speed of the shock that comes back, Mach {mach}"), speed, wall.shock_speed, SPEED),
    ];
    let exact = WALL - wall.shock_speed * sound * (end_time - arrival);
    let line = [
        (START, shock.pressure_ratio),
        (exact, shock.pressure_ratio),
        (exact, wall.pressure_ratio),
        (WALL, wall.pressure_ratio),
    ];
    let seen: Vec<Cell> = cells.iter().filter(|cell| cell.low > START).copied().collect();
    let figure = Figure::new(format!("shock of Mach {mach} back from a wall"), "place", "pressure over that ahead")
        .reference("exact", line)
        .computed("400 cells a unit", Shown::Pressure.points(&seen));
    Ok(Findings::from(rows).with(figure))
}

/// Where the pressure, seen from the last cell, first falls through `level`.
fn front(cells: &[Cell], level: f64) -> Option<f64> {
    let pair = cells.windows(2).rev().find(|pair| pair[0].state.pressure < level && pair[1].state.pressure >= level)?;
    let [before, after] = [pair[0], pair[1]];
    let share = (level - before.state.pressure) / (after.state.pressure - before.state.pressure);
    Some(before.middle() + share * (after.middle() - before.middle()))
}

fn shock_and_waves() -> Result<Findings, Failure> {
    const LIMIT: Limit = Limit { value: 0.09, why: "1.5 times what a plain second-order scheme misses by" };
    const CELL: f64 = 0.025;
    /// Room for what the wall on the left does.
    const ROOM: f64 = 9.0;
    let behind = State { density: 3.857_143, velocity: 2.629_369, pressure: 10.333_33 };
    // Cell means of 1 + 0.2 sin 5x.
    let mean = |low: f64, high: f64| 1.0 + 0.04 * (libm::cos(5.0 * low) - libm::cos(5.0 * high)) / (high - low);
    let mut stretches = vec![(ROOM + 1.0, behind)];
    stretches.extend((40..400).map(|cell| {
        let (low, high) = (CELL * f64::from(cell) - 5.0, CELL * f64::from(cell + 1) - 5.0);
        (ROOM + 5.0 + high, State { density: mean(low, high), velocity: 0.0, pressure: 1.0 })
    }));
    let cells = Tube { gamma: 1.4, cell: CELL, stretches, end_time: 1.8 }.march(SCHEME)?;
    let shown: Vec<_> = cells.into_iter().filter(|cell| cell.middle() > ROOM).collect();
    let rows = vec![Row::vanishing("mean error of density", mean_density_error(&shown, data::SHOCK_AND_WAVES)?, LIMIT)];
    Ok(Findings::from(rows).with(density_figure("shock of Mach 3 into waves", &shown, data::SHOCK_AND_WAVES)?))
}

fn colliding_blasts() -> Result<Findings, Failure> {
    const LIMIT: Limit = Limit { value: 0.18, why: "1.5 times what a plain second-order scheme misses by" };
    const KEPT: Limit = Limit { value: 1e-12, why: "round-off; walls let nothing through" };
    let at = |pressure| State { density: 1.0, velocity: 0.0, pressure };
    let stretches = vec![(0.1, at(1000.0)), (0.9, at(0.01)), (1.0, at(100.0))];
    let cells = Tube { gamma: 1.4, cell: 1.0 / 400.0, stretches, end_time: 0.038 }.march(SCHEME)?;
    let energy = |cell: &Cell| {
        let State { density, velocity, pressure } = cell.state;
        (pressure / 0.4 + 0.5 * density * velocity * velocity) * (cell.high - cell.low)
    };
    let start = (1000.0 * 0.1 + 0.01 * 0.8 + 100.0 * 0.1) / 0.4;
    let rows = vec![
        Row::vanishing("mean error of density", mean_density_error(&cells, data::COLLIDING_BLASTS)?, LIMIT),
        Row::relative("energy", cells.iter().map(energy).sum(), start, KEPT),
    ];
    Ok(Findings::from(rows).with(density_figure("colliding blasts", &cells, data::COLLIDING_BLASTS)?))
}

/// The density of cells over that of a table of cell means.
fn density_figure(title: &str, cells: &[Cell], table: &str) -> Result<Figure, Failure> {
    let means =
        data::rows(table)?.into_iter().map(|row| Ok(row.number("rho")?)).collect::<Result<Vec<_>, Failure>>()?;
    let places = cells.iter().map(Cell::middle);
    Ok(Figure::new(title, "place", "density")
        .reference("12800 cells, fifth order", places.zip(means))
        .computed(format!("{} cells", cells.len()), Shown::Density.points(cells)))
}

/// Mean absolute difference of density from a table of cell means; not a number when the cells are not those of the table.
fn mean_density_error(cells: &[Cell], table: &str) -> Result<f64, Failure> {
    let rows = data::rows(table)?;
    if rows.len() != cells.len() {
        return Err(Failure::Missing(format!("{} cells", rows.len())));
    }
    let differences = rows.iter().zip(cells).map(|(row, cell)| Ok((cell.state.density - row.number("rho")?).abs()));
    let sum = differences.sum::<Result<f64, Failure>>()?;
    Ok(sum / cells.len() as f64)
}
