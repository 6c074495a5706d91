//! Sod's shock tube in whole steps of the march: how fast, and how far from the exact solution.

use super::stopwatch::Stopwatch;
use crate::exit;
use crate::failure::Failure;
use std::io::Write;
use tractwright::march::Unobserved;
use tractwright_validation::check;
use tractwright_validation::marched::Tract;
use tractwright_validation::shock_tube::{Problem, Tube, cells_of};

/// Bore of the tube [m]: whatever its wall does is reckoned in every cell, and changes the gas by less than a millionth.
const BORE: f64 = 100.0;
/// Walls, as keys of the duct: friction and film by table over the Reynolds number, or a friction factor in each cell and no film.
const WALLS: [(&str, &str); 2] = [("table", "wall: {temperature: 60 degC}"), ("factor", "friction_factor: 0.02")];
/// Both schemes, as the keys of `run` that choose them.
const SCHEMES: [(&str, &str); 2] = [("ssp_rk2", "none"), ("hancock", "hancock")];

/// One measurement.
struct Measured {
    steps: u64,
    /// Least processor time of a run [s].
    seconds: f64,
    /// Mean absolute error of density, in the problem's unit.
    error: f64,
}

/// Prints CSV, a line for each number of cells, wall and scheme.
pub(super) fn print(cells: &[u32], runs: u32, out: &mut dyn Write) -> Result<u8, Failure> {
    writeln!(out, "walls,scheme,cells,steps,seconds,updates_per_second,l1_density")?;
    for cells in cells {
        for ((walls, wall), (scheme, predictor)) in WALLS.iter().flat_map(|wall| SCHEMES.map(|scheme| (wall, scheme))) {
            let Measured { steps, seconds, error } =
                measure(*cells, wall, predictor, runs).map_err(|failure| Failure::wrong_use(failure.to_string()))?;
            let rate = f64::from(*cells) * steps as f64 / seconds;
            writeln!(out, "{walls},{scheme},{cells},{steps},{seconds:e},{rate:e},{error:e}")?;
        }
    }
    Ok(exit::DONE)
}

fn measure(cells: u32, wall: &str, predictor: &str, runs: u32) -> Result<Measured, check::Failure> {
    let problem = Problem::named("sod")?;
    let tube = Tube { cell: 1.0 / f64::from(cells), ..problem.tube() };
    let duct = format!("kind: duct, length: {} m, diameter: {BORE} m, {wall}", tube.length());
    let scheme = format!("courant: 0.8, limiter: monotonised_central, predictor: {predictor}");
    let tract = Tract::read(&tube.case_with(&duct, &scheme))?;
    let mut best = Measured { steps: 0, seconds: f64::INFINITY, error: f64::NAN };
    for _ in 0..runs.max(1) {
        let mut marched = tract.at_start();
        let stopwatch = Stopwatch::start();
        marched.march.run(&mut Unobserved)?;
        let seconds = stopwatch.seconds();
        let error = problem.mean_errors(&cells_of(&marched)?)[0];
        best = Measured { steps: marched.march.clock.step, seconds: best.seconds.min(seconds), error };
    }
    Ok(best)
}
