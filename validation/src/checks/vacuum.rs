//! Flows in which almost nothing is left, or that begin with pressure ratios of many powers of ten: there stays gas in every cell.

use crate::check::{Check, Failure, Findings, Group, Limit, Row};
use crate::marched::Cell;
use crate::oracle::riemann::State;
use crate::shock_tube::{Problem, Shown, Tube};

/// Checks of what is almost a vacuum.
pub const GROUP: Group = Group {
    name: "vacuum",
    about: "near vacuum and pressure ratios up to 1e9: gas in every cell and at every stage, nothing clipped",
    checks: &[
        Check {
            name: "near_vacuum",
            about: "two streams that part so fast that almost nothing is left between them",
            source: TORO,
            run: near_vacuum,
        },
        Check {
            name: "vacuum_opens",
            about: "two streams that part faster than gas can follow",
            source: TORO,
            run: vacuum_opens,
        },
        Check {
            name: "strong_rarefaction",
            about: "a shock tube of a pressure ratio of 100,000",
            source: TORO,
            run: strong_rarefaction,
        },
        Check {
            name: "strongest_tube",
            about: "a shock tube of a pressure ratio of a thousand million, gamma 5/3",
            source: "LeBlanc's problem, as in Loubere and Shashkov, J. Comput. Phys. 209 (2005) 105 (from memory); exact solution: Toro \
                     (2009), chapter 4",
            run: strongest_tube,
        },
        Check {
            name: "gas_everywhere",
            about: "parting streams, a blast of 100,000 and colliding blasts, watched from step to step",
            source: "density and pressure of a gas are positive; Toro (2009), section 4.3.3; Woodward and Colella (1984)",
            run: gas_everywhere,
        },
    ],
};

const TORO: &str = "exact solution: Toro (2009), chapter 4, with vacuum section 4.6";

/// Keys of `run`: the limiter of the tables of errors at its Courant number.
const SCHEME: &str = "limiter: van_leer, courant: 0.4";

fn near_vacuum() -> Result<Findings, Failure> {
    const ERRORS: [Limit; 3] = [
        Limit { value: 4e-3, why: "a fan down to 0.4 % of the density; half as much again as it is on 400 cells" },
        Limit { value: 1.2e-2, why: "where 0.4 % of the gas is left its velocity is a quotient of small numbers" },
        Limit { value: 2e-3, why: "as for density" },
    ];
    let problem = Problem::named("near_vacuum_strong")?;
    parted("near_vacuum_strong", &problem, ERRORS)
}

fn vacuum_opens() -> Result<Findings, Failure> {
    const ERRORS: [Limit; 3] = [
        Limit { value: 6e-3, why: "half as much again as it is on 400 cells" },
        Limit::none("a vacuum has no velocity"),
        Limit { value: 2e-3, why: "as for density" },
    ];
    parted("vacuum", &Problem::vacuum(), ERRORS)
}

/// Rows of streams that part: there stays gas, mean errors, and that they fall with finer cells.
fn parted(name: &str, problem: &Problem, limits: [Limit; 3]) -> Result<Findings, Failure> {
    const FALLS: Limit =
        Limit { value: 0.0, why: "edges of fans cost first order; half as many cells must cost half as much again" };
    let watch = problem.watch(SCHEME)?;
    let errors = problem.mean_errors(&watch.cells);
    let mut rows = watch.rows(name);
    for ((quantity, error), limit) in ["density", "velocity", "pressure"].into_iter().zip(errors).zip(limits) {
        if !limit.value.is_infinite() {
            rows.push(Row::vanishing(format!("mean error of {quantity}"), error, limit));
        }
    }
    let half = problem.on_cells(200);
    let coarse = half.mean_errors(&half.march(SCHEME)?)[0];
    rows.push(Row::at_least("mean error of density on 200 cells over that on 400", coarse / errors[0], 1.5, FALLS));
    Ok(Findings::from(rows).with(problem.figure(name, Shown::Density, &watch.cells)).with(problem.figure(
        name,
        Shown::Velocity,
        &watch.cells,
    )))
}

fn strong_rarefaction() -> Result<Findings, Failure> {
    const PLATEAU: Limit = Limit { value: 2e-2, why: "overshoots of a second-order scheme beside strong shocks" };
    let problem = Problem::named("strong_raref_1e5")?.on_cells(1600);
    let watch = problem.watch(SCHEME)?;
    let mut rows = watch.rows("pressure ratio of 1e5");
    // Beside the contact the first steps, in which the whole fan lies in a few cells, leave a dip that moves with it.
    rows.extend(problem.plateau_rows(&watch.cells, PLATEAU).into_iter().skip(1));
    let solution = problem.solution();
    let place = |speed: f64| problem.start + speed * problem.end_time;
    let (contact, head) = (place(solution.star_velocity), place(solution.right_wave().head));
    let clear = (head - contact) / 3.0;
    let shocked = watch.cells.iter().filter(|cell| cell.low > contact + clear && cell.high < head - clear);
    let pressures = shocked.map(|cell| (cell.state.pressure, solution.star_pressure));
    rows.push(Row::worst("pressure between contact and shock", pressures, PLATEAU));
    Ok(Findings::from(rows)
        .with(problem.figure("pressure ratio of 1e5", Shown::Density, &watch.cells).logarithmic(false, true))
        .with(problem.figure("pressure ratio of 1e5", Shown::Velocity, &watch.cells)))
}

fn strongest_tube() -> Result<Findings, Failure> {
    const PLACE: Limit = Limit {
        value: 1e-2,
        why: "the fan falls by three powers of ten within a few cells at first and is too hot there; first order in the cell",
    };
    const FALLS: Limit = Limit { value: 0.0, why: "it must come nearer with finer cells" };
    let problem = Problem::named("leblanc")?.on_cells(1600);
    let watch = problem.watch(SCHEME)?;
    let exact = problem.start + problem.solution().right_wave().head * problem.end_time;
    let place = shock_place(&watch.cells);
    let coarse = problem.on_cells(400);
    let coarse_place = shock_place(&coarse.march(SCHEME)?);
    let mut rows = watch.rows("pressure ratio of 1e9");
    rows.push(Row::relative("place of the shock on 1600 cells", place, exact, PLACE));
    let gain = (coarse_place - exact).abs() / (place - exact).abs();
    rows.push(Row::at_least("its error on 400 cells over that on 1600", gain, 2.0, FALLS));
    Ok(Findings::from(rows)
        .with(problem.figure("pressure ratio of 1e9", Shown::Density, &watch.cells).logarithmic(false, true))
        .with(problem.figure("pressure ratio of 1e9", Shown::Velocity, &watch.cells)))
}

/// Where gas at rest begins, seen from the last cell: the last shock.
fn shock_place(cells: &[Cell]) -> f64 {
    let moves = |cell: &&Cell| cell.state.velocity > 0.3;
    cells.iter().rev().find(moves).map_or(f64::NAN, |cell| cell.high)
}

fn gas_everywhere() -> Result<Findings, Failure> {
    let mut rows = Vec::new();
    for case in ["toro2_123", "toro3_left_blast"] {
        rows.extend(Problem::named(case)?.watch(SCHEME)?.rows(case));
    }
    let at = |pressure| State { density: 1.0, velocity: 0.0, pressure };
    let stretches = vec![(0.1, at(1000.0)), (0.9, at(0.01)), (1.0, at(100.0))];
    let blasts = Tube { gamma: 1.4, cell: 1.0 / 400.0, stretches, end_time: 0.038 };
    rows.extend(blasts.watch(SCHEME)?.rows("colliding blasts"));
    Ok(Findings::from(rows))
}
