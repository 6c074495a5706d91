//! Order of accuracy on smooth flow: with halved cells, and with a halved step, the error must fall to a quarter.

use super::order_table;
use crate::check::{Check, Failure, Findings, Group, Limit, Row};
use crate::data::{self, DataError, ORDERS};
use crate::figure::Figure;
use crate::oracle::mms::{self, Wall};
use crate::oracle::riemann::State;
use crate::oracle::waves;
use crate::ring::{Field, Ring, Scheme};
use rayon::prelude::*;

/// Checks of the order of accuracy.
pub const GROUP: Group = Group {
    name: "order",
    about: "order of accuracy in space and time, for each limiter, flux and march",
    checks: &[
        Check {
            name: "entropy_wave",
            about: "hot and cold gas carried once around a ring, Runge-Kutta steps",
            source: "exact translation; errors of an independent plain scheme",
            run: || wave(&ENTROPY),
        },
        Check {
            name: "simple_wave",
            about: "a sound wave that steepens, before it breaks, Runge-Kutta steps",
            source: "Landau and Lifshitz (1987), Fluid Mechanics, section 101; errors of an independent plain scheme",
            run: || wave(&SIMPLE),
        },
        Check {
            name: "manufactured",
            about: "waves in a duct of varying area, without and with wall friction and heat, by both marches",
            source: "manufactured solution: Roache (2002), J. Fluids Eng. 124, 4; sources checked by finite differences",
            run: manufactured,
        },
        Check {
            name: "time_step",
            about: "the step alone halved, on one grid: flow that friction brakes, and the manufactured solution",
            source: "closed form of braked flow; Richardson's differences of successive answers",
            run: time_step,
        },
        Check {
            name: "wave_table",
            about: "error and order on the entropy wave for each limiter, flux and march",
            source: order_table::SOURCE,
            run: || order_table::waves(&ENTROPY),
        },
        Check {
            name: "sound_table",
            about: "error and order on the simple wave, to the right and to the left, for each limiter, flux and march",
            source: order_table::SOURCE,
            run: || order_table::waves(&SIMPLE),
        },
        Check {
            name: "sod_table",
            about: "error on Sod's shock tube for each limiter, flux and march",
            source: order_table::SOURCE,
            run: order_table::sod,
        },
    ],
};

const UNLIMITED: Limit = Limit { value: 0.05, why: "second order less what is left at 256 cells" };
const LIMITED: Limit = Limit { value: 0.2, why: "limiters clip crests, which costs a fifth of an order" };
const MINMOD: Limit = Limit::none("minmod takes the smaller slope wherever slopes change, not second order at crests");

/// A smooth wave whose course is known.
#[derive(Debug)]
pub struct Wave {
    /// Its name in the tables.
    pub name: &'static str,
    /// Its state at a place and time.
    pub state: fn(f64, f64) -> State,
    /// The same in a mirror, where that is another wave.
    pub mirrored: Option<fn(f64, f64) -> State>,
    /// When it is compared.
    pub until: f64,
    /// Its rows in the table of orders.
    published: &'static str,
}

const ENTROPY: Wave =
    Wave { name: "entropy", state: waves::entropy_wave, mirrored: None, until: 1.0, published: "entropy_wave_T1" };

const SIMPLE: Wave = Wave {
    name: "simple",
    state: waves::simple_wave,
    mirrored: Some(waves::mirrored_simple_wave),
    until: 0.5,
    published: "simple_wave_t0.5",
};

/// Answer of a march from the exact start, and the exact answer.
///
/// # Errors
/// The solver refused or stopped.
pub fn marched(state: fn(f64, f64) -> State, until: f64, count: u32, scheme: Scheme) -> Result<[Field; 2], Failure> {
    let at = |t: f64| Field::straight(count, |x| mms::conserved(state(x, t)));
    Ok([Ring::straight(count, scheme, 0.0)?.march(&at(0.0), until)?, at(until)])
}

/// Row of the order that two errors show, of which the second belongs to half the cell.
#[must_use]
pub fn order_row(name: &str, limiter: &str, errors: [f64; 2]) -> Row {
    let limit = match limiter {
        "none" => UNLIMITED,
        "minmod" => MINMOD,
        _ => LIMITED,
    };
    Row::at_least(format!("order, {name}"), (errors[0] / errors[1]).log2(), 2.0, limit)
}

/// Limiters in the words of the case file, and their names in the table of orders if they are there.
const LIMITERS: [(&str, Option<&str>); 5] = [
    ("none", Some("none")),
    ("van_leer", Some("van Leer")),
    ("van_albada", None),
    ("monotonised_central", None),
    ("minmod", None),
];

/// Cells of the grids, the last two of which are judged.
const COUNTS: [u32; 4] = [32, 64, 128, 256];

fn wave(wave: &Wave) -> Result<Findings, Failure> {
    let error = |limiter: &'static str, count: u32| {
        let [found, exact] = marched(wave.state, wave.until, count, Scheme::plain(limiter))?;
        Ok(found.mean_error(&exact))
    };
    grids(wave.published, "", &LIMITERS, error)
}

/// Errors of limiters over the grids: rows of the order and of the error at 256 cells, and a picture.
fn grids(
    problem: &str,
    suffix: &str,
    limiters: &[(&'static str, Option<&'static str>)],
    error: impl Fn(&'static str, u32) -> Result<f64, Failure> + Sync,
) -> Result<Findings, Failure> {
    const PLAIN: Limit =
        Limit { value: 0.01, why: "another code of the same scheme, which differs in the signal speeds of its fluxes" };
    let mut findings = Findings::default();
    let title = format!("{problem}{suffix}");
    let mut figure = Figure::new(title, "cells", "mean error of density times area").logarithmic(true, true);
    for (limiter, published) in limiters {
        let errors: Result<Vec<_>, Failure> = COUNTS.par_iter().map(|count| error(limiter, *count)).collect();
        let errors = errors?;
        let name = format!("{limiter}{suffix}");
        findings.rows.push(order_row(&name, limiter, [errors[2], errors[3]]));
        figure = figure.computed(*limiter, COUNTS.into_iter().map(f64::from).zip(errors.iter().copied()));
        if let Some(published) = published {
            let known = known_errors(problem, published)?;
            findings.rows.push(Row::relative(format!("error at 256 cells, {name}"), errors[3], known[3].1, PLAIN));
            figure = figure.reference(format!("{published}, another code"), known);
        }
    }
    Ok(findings.with(figure))
}

/// Cells and errors of the plain scheme on the grids.
fn known_errors(problem: &str, limiter: &str) -> Result<Vec<(f64, f64)>, DataError> {
    let mut known = Vec::new();
    for row in data::rows(ORDERS)? {
        if row.text("problem")? == problem && row.text("limiter")? == limiter && row.number("N")? <= 256.0 {
            known.push((row.number("N")?, row.number("L1_error")?));
        }
    }
    if known.len() == COUNTS.len() { Ok(known) } else { Err(DataError::NoRow(format!("{problem}, {limiter}"))) }
}

/// Name of the manufactured solution in the table of orders.
const MANUFACTURED: &str = "mms_quasi1d_t0.5";

/// Answer and exact answer of the manufactured solution after half a unit of time.
fn manufactured_fields(count: u32, scheme: Scheme, wall: Option<Wall>) -> Result<[Field; 2], Failure> {
    let at = |t: f64| Field::means(count, mms::volume, |x| mms::content(x, t));
    Ok([Ring::manufactured(count, scheme, wall)?.march(&at(0.0), 0.5)?, at(0.5)])
}

fn manufactured() -> Result<Findings, Failure> {
    let cases = [
        ("", "none", None),
        (", wall, Runge-Kutta", "none", Some(Wall::STRONG)),
        (", wall, Hancock", "hancock", Some(Wall::STRONG)),
    ];
    let mut findings = Findings::default();
    for (suffix, predictor, wall) in cases {
        let error = |limiter: &'static str, count: u32| {
            let [found, exact] = manufactured_fields(count, Scheme { predictor, ..Scheme::plain(limiter) }, wall)?;
            Ok(found.mean_error(&exact))
        };
        // Only the solution without a wall has been marched by another code.
        let limiters = LIMITERS.map(|(limiter, published)| (limiter, published.filter(|_| wall.is_none())));
        let found = grids(MANUFACTURED, suffix, &limiters, error)?;
        findings.rows.extend(found.rows);
        findings.figures.extend(found.figures);
    }
    Ok(findings)
}

/// Courant numbers of one grid, each half the one before.
const COURANTS: [f64; 6] = [0.8, 0.4, 0.2, 0.1, 0.05, 0.025];
const IN_TIME: Limit = Limit { value: 0.1, why: "second order less what the short first steps of a march blur" };
/// Hancock's step is one with its cell: on one grid what it errs is the square of the cell times a polynomial of the Courant number.
const WITH_CELL: Limit = Limit { value: 0.2, why: "the polynomial of the Courant number is not yet straight" };
const CURVED: Limit =
    Limit::none("the polynomial of the Courant number is curved here; with the cell halved too the order is two");

fn time_step() -> Result<Findings, Failure> {
    let mut findings = braked()?;
    for (name, predictor, order) in [("Runge-Kutta", "none", 2.0), ("Hancock", "hancock", 1.0)] {
        let differences = halved_steps(predictor)?;
        let last = differences.len() - 2;
        for (k, pair) in differences.windows(2).enumerate() {
            let limit = match predictor {
                "none" => IN_TIME,
                _ if k == last => WITH_CELL,
                _ => CURVED,
            };
            let quantity = format!("order of the step alone from Courant number {}, {name}", COURANTS[k]);
            findings.rows.push(Row::at_least(quantity, (pair[0].1 / pair[1].1).log2(), order, limit));
        }
        let (finest, least) = differences[last + 1];
        let line = COURANTS.map(|courant| (courant, least * (courant / finest).powf(order)));
        let figure = Figure::new(format!("halved steps, {name}"), "Courant number", "difference to half the step");
        findings = findings
            .with(figure.logarithmic(true, true).computed(name, differences).reference(format!("order {order}"), line));
    }
    Ok(findings)
}

/// Courant numbers on one grid of the manufactured solution, and how far the answers lie from those of half the step.
fn halved_steps(predictor: &'static str) -> Result<Vec<(f64, f64)>, Failure> {
    const CELLS: u32 = 64;
    let answer = |courant: &f64| {
        let scheme = Scheme { predictor, courant: *courant, ..Scheme::plain("none") };
        manufactured_fields(CELLS, scheme, Some(Wall::STRONG)).map(|[found, _]| found)
    };
    let answers: Result<Vec<Field>, Failure> = COURANTS.par_iter().map(answer).collect();
    let differences = answers?.windows(2).map(|pair| pair[0].mean_error(&pair[1])).collect::<Vec<_>>();
    Ok(COURANTS.into_iter().zip(differences).collect())
}

/// Even flow around a ring that friction brakes, where cells err nothing: du/dt = -f u^2 / (2 D), so u = 1 / (1 + f t / (2 D)).
fn braked() -> Result<Findings, Failure> {
    const FRICTION_FACTOR: f64 = 0.1;
    const CELLS: u32 = 32;
    let exact = 1.0 / (1.0 + 0.5 * FRICTION_FACTOR / Ring::DIAMETER);
    let start = Field::straight(CELLS, |_| mms::conserved(State { density: 1.0, velocity: 1.0, pressure: 1.0 }));
    let mut findings = Findings::default();
    for (name, predictor) in [("Runge-Kutta", "none"), ("Hancock", "hancock")] {
        let error = |courant: f64| {
            let scheme = Scheme { predictor, courant, ..Scheme::plain("van_albada") };
            let cells = Ring::straight(CELLS, scheme, FRICTION_FACTOR)?.march(&start, 1.0)?.cells;
            Ok::<f64, Failure>((cells[0][1] / cells[0][0] - exact).abs())
        };
        let errors = [error(COURANTS[0])?, error(COURANTS[1])?, error(COURANTS[2])?];
        for (courant, pair) in COURANTS.iter().zip(errors.windows(2)) {
            let quantity = format!("order of braked flow from Courant number {courant}, {name}");
            findings.rows.push(Row::at_least(quantity, (pair[0] / pair[1]).log2(), 2.0, IN_TIME));
        }
    }
    Ok(findings)
}
