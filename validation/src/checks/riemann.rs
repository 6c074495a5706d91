//! Shock tubes against the exact solution of the Riemann problem.

use crate::check::{Check, Failure, Findings, Group, Limit, Row};
use crate::shock_tube::{Problem, Shown};

/// Checks of shock tubes.
pub const GROUP: Group = Group {
    name: "riemann",
    about: "shock tubes: profiles, states between the waves and mean errors on 400 cells",
    checks: &[
        Check {
            name: "sod",
            about: "rarefaction, contact and shock, by Runge-Kutta and by Hancock's steps",
            source: "Sod, J. Comput. Phys. 27 (1978) 1; exact solution by Toro (2009), chapter 4",
            run: sod,
        },
        Check {
            name: "lax",
            about: "a strong contact in moving gas",
            source: "Lax, Commun. Pure Appl. Math. 7 (1954) 159; exact solution by Toro (2009), chapter 4",
            run: || marched("lax", "lax", Some(WEAK_PLATEAU)),
        },
        Check {
            name: "toro1",
            about: "Sod's problem at a later time",
            source: TORO,
            run: || marched("toro1", "sod", Some(WEAK_PLATEAU)),
        },
        Check {
            name: "toro2",
            about: "two rarefactions that leave almost a vacuum",
            source: TORO,
            run: || marched("toro2_123", "toro2_123", None),
        },
        Check {
            name: "toro3",
            about: "a blast of a pressure ratio of 100,000 to the right",
            source: TORO,
            run: || marched("toro3_left_blast", "toro3_left_blast", Some(STRONG_PLATEAU)),
        },
        Check {
            name: "toro4",
            about: "a blast of a pressure ratio of 10,000 to the left",
            source: TORO,
            run: || marched("toro4_right_blast", "toro4_right_blast", Some(STRONG_PLATEAU)),
        },
        Check {
            name: "toro5",
            about: "two blasts that collide",
            source: TORO,
            run: || marched("toro5_collision", "toro5_collision", Some(STRONG_PLATEAU)),
        },
    ],
};

const TORO: &str =
    "Toro (2009), Riemann Solvers and Numerical Methods for Fluid Dynamics, 3rd ed., sections 4.2 to 4.6";

const WEAK_PLATEAU: Limit = Limit { value: 5e-3, why: "overshoots of a second-order scheme beside weak waves" };
const STRONG_PLATEAU: Limit = Limit { value: 2e-2, why: "overshoots of a second-order scheme beside strong shocks" };

/// How far points of a profile may be off, by how strong the waves are.
fn profile_limit(case: &str) -> Limit {
    let (value, why) = match case {
        "toro2_123" => (2.5e-2, "a velocity where two per cent of the gas are left is a quotient of small numbers"),
        "sod" | "lax" | "toro1" => (5e-3, "overshoots of a second-order scheme beside weak waves"),
        _ => (2e-2, "overshoots of a second-order scheme beside strong shocks"),
    };
    Limit { value, why }
}

fn sod() -> Result<Findings, Failure> {
    const WHY: &str = "a second-order scheme with HLLC reaches 1.28e-3, one with Roe's fluxes 9.3e-4";
    let problem = Problem::named("sod")?;
    let mut found = marched("sod", "sod", Some(WEAK_PLATEAU))?;
    for (steps, scheme, value) in [("Runge-Kutta", RUNGE_KUTTA, 1.5e-3), ("Hancock", HANCOCK, 1.1e-3)] {
        let error = problem.mean_errors(&problem.march(scheme)?)[0];
        found.rows.push(Row::vanishing(format!("mean error of density, {steps}"), error, Limit { value, why: WHY }));
    }
    Ok(found)
}

/// What the problem `case` gives: its mean errors against those of `yardstick` in the table on three grids, its plateaus, its profiles.
fn marched(case: &str, yardstick: &str, plateau: Option<Limit>) -> Result<Findings, Failure> {
    let problem = Problem::named(case)?;
    let cells = problem.march(PLAIN)?;
    let mut rows = problem.mean_error_rows(yardstick, &cells)?;
    let sharp = problem.mean_error_rows(yardstick, &problem.march(SHARP)?)?;
    rows.extend(sharp.into_iter().take(1).map(|row| named(row, "sharp limiter")));
    for count in [100, 200] {
        let coarse = problem.on_cells(count);
        let errors = coarse.mean_error_rows(yardstick, &coarse.march(PLAIN)?)?;
        rows.extend(errors.into_iter().map(|row| named(row, &format!("{count} cells"))));
    }
    rows.extend(plateau.into_iter().flat_map(|limit| problem.plateau_rows(&cells, limit)));
    rows.extend(problem.profile_rows(case, &cells, profile_limit(case))?);
    let figure = |shown| problem.figure(case, shown, &cells);
    let [density, velocity, pressure] = [Shown::Density, Shown::Velocity, Shown::Pressure].map(figure);
    Ok(Findings::from(rows).with(density).with(velocity).with(pressure))
}

/// The row with one more word about it.
fn named(row: Row, what: &str) -> Row {
    Row { quantity: format!("{}, {what}", row.quantity), ..row }
}

/// Keys of `run` with which the table of errors was made: its sharper limiter, Courant number 0.4.
const PLAIN: &str = "limiter: van_leer, courant: 0.4";
/// The same with the limiter for shock tubes. It keeps contacts narrower and rings more: behind the slow shock of `toro5` its
/// pressure is off by 6.9 in the mean, against 2.7 by the other, so that only densities are judged with it.
const SHARP: &str = "limiter: monotonised_central, courant: 0.4";
/// Runge-Kutta steps at the default Courant number.
const RUNGE_KUTTA: &str = "limiter: monotonised_central";
/// The same for Hancock's steps.
const HANCOCK: &str = "limiter: monotonised_central, predictor: hancock";
