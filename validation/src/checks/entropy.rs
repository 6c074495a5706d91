//! Shocks make entropy at a known rate; a scheme makes some more, and less of that on finer cells.

use crate::check::{Check, Failure, Findings, Group, Limit, Row};
use crate::data;
use crate::figure::Figure;
use crate::marched::Cell;
use crate::oracle::riemann::State;
use crate::shock_tube::Problem;

/// Checks of entropy.
pub const GROUP: Group = Group {
    name: "entropy",
    about: "shocks make at least the entropy that they must, and come down to it on finer cells",
    checks: &[
        Check { name: "entropy_of_sod", about: "one weak shock", source: SOURCE, run: || shocked("sod", Some(1.35)) },
        Check {
            name: "entropy_of_lax",
            about: "a shock in front of a strong contact",
            source: SOURCE,
            run: || shocked("lax", None),
        },
        Check {
            name: "entropy_of_blasts",
            about: "strong shocks to the right and to the left",
            source: SOURCE,
            run: || Ok(joined(shocked("toro3_left_blast", None)?, shocked("toro4_right_blast", None)?)),
        },
        Check {
            name: "entropy_of_collision",
            about: "two strong shocks",
            source: SOURCE,
            run: || shocked("toro5_collision", None),
        },
        Check { name: "entropy_of_fans", about: "two rarefactions, which make none", source: SOURCE, run: fans },
    ],
};

const SOURCE: &str = "exact states: Toro (2009), chapter 4; mass flux through each shock times its jump of entropy";

/// Keys of `run`: the limiter of the tables of errors at its Courant number.
const SCHEME: &str = "limiter: van_leer, courant: 0.4";
/// Numbers of cells.
const GRIDS: [u32; 3] = [100, 200, 400];

/// Findings about a problem with shocks; `most` is the most that may be made on 400 cells, over the exact rate.
fn shocked(case: &str, most: Option<f64>) -> Result<Findings, Failure> {
    const LEAST: Limit = Limit { value: 0.0, why: "second law: numerical dissipation only adds" };
    const MOST: Limit = Limit {
        value: 0.0,
        why: "a plain second-order scheme makes 1.17 to 1.26 times the exact rate, one of first order 1.78",
    };
    const FALLS: Limit = Limit { value: 0.0, why: "the contact and the corners of fans are smeared less" };
    let exact = exact_rate(case)?;
    let ratios = rates(case)?.map(|rate| rate / exact);
    let mut rows = vec![
        Row::at_least(format!("{case}: made on 400 cells, over the exact rate"), ratios[2], 1.0, LEAST),
        Row::at_least(
            format!("{case}: too much on 100 cells over that on 200"),
            excess(ratios[0], ratios[1]),
            1.2,
            FALLS,
        ),
        Row::at_least(
            format!("{case}: too much on 200 cells over that on 400"),
            excess(ratios[1], ratios[2]),
            1.2,
            FALLS,
        ),
    ];
    if let Some(most) = most {
        // What the mark leaves over, which must not be negative.
        rows.push(Row::at_least(
            format!("{case}: left below {most} times the exact rate"),
            most - ratios[2],
            0.0,
            MOST,
        ));
    }
    let title = format!("{case}: entropy made over the exact rate");
    Ok(Findings::from(rows).with(figure(&title, ratios, 1.0)))
}

fn excess(coarse: f64, fine: f64) -> f64 {
    (coarse - 1.0) / (fine - 1.0)
}

fn figure(title: &str, values: [f64; 3], exact: f64) -> Figure {
    let ends = [GRIDS[0], GRIDS[2]].map(|cells| (f64::from(cells), exact));
    Figure::new(title, "cells", "entropy made")
        .reference("exact", ends)
        .computed("march", GRIDS.map(f64::from).into_iter().zip(values))
        .logarithmic(true, false)
}

fn fans() -> Result<Findings, Failure> {
    const LEAST: Limit = Limit { value: 0.0, why: "second law" };
    const FALLS: Limit = Limit { value: 0.0, why: "all of it is made by the scheme, where the streams part at first" };
    let rates = rates("toro2_123")?;
    let rows = vec![
        Row::at_least("rate on 400 cells", rates[2], 0.0, LEAST),
        Row::at_least("rate on 100 cells over that on 200", rates[0] / rates[1], 1.5, FALLS),
        Row::at_least("rate on 200 cells over that on 400", rates[1] / rates[2], 1.5, FALLS),
    ];
    Ok(Findings::from(rows).with(figure("toro2_123: entropy made by rarefactions", rates, 0.0)))
}

fn joined(mut one: Findings, other: Findings) -> Findings {
    one.rows.extend(other.rows);
    one.figures.extend(other.figures);
    one
}

fn exact_rate(case: &str) -> Result<f64, Failure> {
    Ok(data::case(data::ENTROPY_PRODUCTION, case)?[0].number("dS_dt")?)
}

/// Rates at which marches on all grids make entropy.
fn rates(case: &str) -> Result<[f64; 3], Failure> {
    let problem = Problem::named(case)?;
    let mut rates = [0.0; 3];
    for (rate, cells) in rates.iter_mut().zip(GRIDS) {
        let problem = problem.on_cells(cells);
        *rate = made(&problem, &problem.march(SCHEME)?);
    }
    Ok(rates)
}

/// Entropy per volume, gas constant 1.
fn density_of_entropy(gamma: f64, state: State) -> f64 {
    state.density * libm::log(state.pressure / libm::pow(state.density, gamma)) / (gamma - 1.0)
}

/// Mean rate at which entropy is made on the length of a problem, whose ends no wave has reached.
fn made(problem: &Problem, cells: &[Cell]) -> f64 {
    let entropy = |state| density_of_entropy(problem.gamma(), state);
    let (left, right) = (problem.side(true), problem.side(false));
    let held: f64 = cells.iter().map(|cell| entropy(cell.state) * problem.cell()).sum();
    let length = problem.cell() * cells.len() as f64;
    let at_start = entropy(left) * problem.start + entropy(right) * (length - problem.start);
    let left_over = right.velocity * entropy(right) - left.velocity * entropy(left);
    (held - at_start) / problem.end_time + left_over
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::oracle::riemann::Wave;
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    #[test]
    fn exact_rates_follow_from_the_jumps() {
        for row in data::rows(data::ENTROPY_PRODUCTION).unwrap() {
            let problem = Problem::named(row.text("case").unwrap()).unwrap();
            let (solution, gamma) = (problem.solution(), problem.gamma());
            let specific =
                |density: f64, pressure: f64| libm::log(pressure / libm::pow(density, gamma)) / (gamma - 1.0);
            let shock = |outer: State, star_density: f64, wave: Wave| {
                if !wave.is_shock() {
                    return 0.0;
                }
                let flux = outer.density * (outer.velocity - wave.head).abs();
                flux * (specific(star_density, solution.star_pressure) - specific(outer.density, outer.pressure))
            };
            let sum = shock(problem.side(true), solution.star_left_density(), solution.left_wave())
                + shock(problem.side(false), solution.star_right_density(), solution.right_wave());
            assert_relative_eq!(sum, row.number("dS_dt").unwrap(), max_relative = 1e-8, epsilon = 1e-12);
        }
    }

    #[test]
    fn exact_means_make_the_exact_rate_up_to_what_a_cell_mixes() {
        let problem = Problem::named("sod").unwrap().on_cells(4000);
        let solution = problem.solution();
        let cells: Vec<Cell> = (0..4000)
            .map(|index| {
                let low = f64::from(index) / 4000.0;
                let ray = |x: f64| (x - problem.start) / problem.end_time;
                Cell { low, high: low + 2.5e-4, state: solution.mean(ray(low), ray(low + 2.5e-4)) }
            })
            .collect();
        assert_abs_diff_eq!(made(&problem, &cells) / exact_rate("sod").unwrap(), 1.0, epsilon = 5e-3);
    }
}
