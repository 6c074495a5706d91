//! Every limiter with every flux and both marches: what each pair errs, and how fast that falls.

use super::order::{Wave, marched, order_row};
use crate::check::{Failure, Findings, Limit, Row, rows_only};
use crate::data::{self, DataError, SCHEME_ERRORS};
use crate::figure::Figure;
use crate::ring::{Field, Scheme};
use crate::shock_tube::Problem;
use rayon::prelude::*;

/// Where the errors come from.
pub const SOURCE: &str = "errors of an independent code of the same schemes: Toro (2009), chapters 10, 13 and 14";

const LIMITERS: [&str; 5] = ["van_albada", "van_leer", "monotonised_central", "minmod", "none"];
const FLUXES: [&str; 3] = ["hllc", "hll", "rusanov"];
const MARCHES: [&str; 2] = ["none", "hancock"];
/// Cells of the two grids of an order.
const COUNTS: [u32; 2] = [128, 256];

/// All schemes with these limiters.
fn schemes(limiters: &[&'static str]) -> Vec<Scheme> {
    let all = limiters.iter().flat_map(|limiter| FLUXES.map(|riemann| (limiter, riemann)));
    let marches = |(limiter, riemann): (&&'static str, &'static str)| {
        MARCHES.map(|predictor| Scheme { limiter, riemann, predictor, courant: 0.4 })
    };
    all.flat_map(marches).collect()
}

fn name(scheme: Scheme) -> String {
    let march = if scheme.predictor == "none" { "Runge-Kutta" } else { "Hancock" };
    format!("{}, {}, {march}", scheme.limiter, scheme.riemann)
}

/// Rows of a smooth wave: error and order of each scheme, and what its mirror image does otherwise.
///
/// # Errors
/// The solver refused or stopped, or the table of errors lacks a row.
pub fn waves(wave: &Wave) -> Result<Findings, Failure> {
    let found: Result<Vec<_>, Failure> = schemes(&LIMITERS).par_iter().map(|scheme| of_scheme(wave, *scheme)).collect();
    let found = found?;
    let points = |which: usize| found.iter().enumerate().map(move |(k, (_, errors))| (k as f64, errors[which]));
    let title = format!("{} wave, 256 cells", wave.name);
    let figure = Figure::new(title, "scheme, in the order of the rows", "mean error of density")
        .logarithmic(false, true)
        .computed("solver", points(0))
        .reference("another code", points(1));
    Ok(Findings::from(found.iter().flat_map(|(rows, _)| rows.clone()).collect::<Vec<_>>()).with(figure))
}

/// Rows of one scheme, and the errors on the finer grid: the solver's and the other code's.
fn of_scheme(wave: &Wave, scheme: Scheme) -> Result<(Vec<Row>, [f64; 2]), Failure> {
    const CODE: Limit =
        Limit { value: 0.02, why: "another code, which takes signal speeds from the states at the faces" };
    const MIRROR: Limit =
        Limit { value: 1e-11, why: "round-off of hundreds of steps, which a limiter that switches enlarges" };
    let march = |count: u32| marched(wave.state, wave.until, count, scheme);
    let ([coarse, coarse_exact], [fine, exact]) = (march(COUNTS[0])?, march(COUNTS[1])?);
    let errors = [coarse.mean_error(&coarse_exact), fine.mean_error(&exact)];
    let known = known_error(wave.name, scheme, COUNTS[1])?;
    let name = name(scheme);
    let mut rows = vec![
        Row::relative(format!("error at {} cells, {name}", COUNTS[1]), errors[1], known, CODE),
        order_row(&name, scheme.limiter, errors),
    ];
    if let Some(mirrored) = wave.mirrored {
        let [left, _] = marched(mirrored, wave.until, COUNTS[0], scheme)?;
        rows.push(Row::vanishing(format!("right against left, {name}"), mirror_difference(&coarse, &left), MIRROR));
    }
    Ok((rows, [errors[1], known]))
}

/// Largest difference of a field from the mirror image of another.
fn mirror_difference(right: &Field, left: &Field) -> f64 {
    let pairs = right.cells.iter().zip(left.cells.iter().rev());
    let differences = pairs.flat_map(|(one, other)| [one[0] - other[0], one[1] + other[1], one[2] - other[2]]);
    differences.map(f64::abs).max_by(f64::total_cmp).unwrap_or(f64::NAN)
}

/// Error of the other code.
fn known_error(wave: &str, scheme: Scheme, count: u32) -> Result<f64, DataError> {
    let cells = count.to_string();
    let wanted = [
        ("wave", wave),
        ("limiter", scheme.limiter),
        ("flux", scheme.riemann),
        ("predictor", scheme.predictor),
        ("cells", &cells),
    ];
    for row in data::rows(SCHEME_ERRORS)? {
        if wanted.iter().all(|(column, value)| row.text(column) == Ok(value)) {
            return row.number("error");
        }
    }
    Err(DataError::NoRow(name(scheme)))
}

/// Rows of Sod's shock tube: the error of each limited scheme on 400 cells.
///
/// # Errors
/// The solver refused or stopped, or the table of errors lacks a row.
pub fn sod() -> Result<Findings, Failure> {
    const CODE: Limit = Limit {
        value: 0.1,
        why: "another code, which takes signal speeds from the states at the faces: at jumps these differ",
    };
    let row = |scheme: &Scheme| {
        let problem = Problem::named("sod")?;
        let error = problem.mean_errors(&problem.march(&scheme.keys())?)[0];
        let known = known_error("sod", *scheme, 400)?;
        Ok(Row::relative(format!("mean error of density, {}", name(*scheme)), error, known, CODE))
    };
    rows_only(schemes(&LIMITERS[..4]).par_iter().map(row).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_displaced_mirror_image_is_seen() {
        let field = |cells: Vec<[f64; 3]>| Field { volumes: vec![1.0; cells.len()], cells };
        let right = field(vec![[1.0, 0.2, 3.0], [1.1, 0.1, 3.5]]);
        let left = field(vec![[1.1, -0.1, 3.5], [1.0, -0.2, 3.0]]);
        assert!(mirror_difference(&right, &left) <= 0.0);
        assert!(mirror_difference(&right, &right) > 0.3);
        assert!(!mirror_difference(&field(vec![]), &left).is_finite());
    }

    #[test]
    fn an_order_too_low_does_not_hold() {
        assert!(order_row("wave", "none", [4.0e-4, 1.0e-4]).holds());
        assert!(!order_row("wave", "none", [3.8e-4, 1.0e-4]).holds());
        assert!(order_row("wave", "van_leer", [3.6e-4, 1.0e-4]).holds());
        assert!(!order_row("wave", "van_leer", [3.2e-4, 1.0e-4]).holds());
        assert!(order_row("wave", "minmod", [2.0e-4, 1.0e-4]).informs());
    }
}
