//! Which inputs of a study the spread of a figure comes from: Sobol's indices, first order and total.
//!
//! The figure is fitted by orthogonal polynomials of the inputs; its variance is then the sum of the squares of the coefficients, and an index the share
//! of those in which the input stands: alone for the first order, at all for the total. Sudret 2008, Reliability Engineering and System Safety
//! 93, 964. Any table whose samples fill the space will do; how well the polynomials foretell samples that they have not seen is told beside.

use faer::Mat;
use faer::linalg::solvers::{Qr, SolveLstsq};

/// Highest degree of a polynomial.
const HIGHEST_DEGREE: usize = 10;
/// Samples that there must be for each coefficient.
const SAMPLES_A_TERM: usize = 2;
/// Most coefficients, for the time that a fit takes.
const MOST_TERMS: usize = 600;

/// How an input is distributed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Distribution {
    /// Evenly between -1 and 1: polynomials of Legendre.
    Uniform,
    /// Normally about 0, with a standard deviation of 1: polynomials of Hermite.
    Normal,
}

/// What the spread of a figure comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Indices {
    /// Share of the variance that each input makes alone.
    pub first: Vec<f64>,
    /// Share of the variance in which each input has a part.
    pub total: Vec<f64>,
    /// Share of the variance that the polynomials foretell of samples that they have not seen: one is all, and an index is no better than this.
    pub foretold: f64,
    /// Standard deviation of the figure over the inputs.
    pub deviation: f64,
}

/// A polynomial in all inputs: its degree in each.
type Term = Vec<usize>;

/// The indices of the figures `values` of `samples` [samples x inputs], each in the scale of its distribution; `None` where there are too few samples, or
/// the figure does not move.
///
/// Of the polynomials by total degree and by number of inputs that stand together in one term, those are taken that foretell best.
#[must_use]
pub fn indices(samples: &[Vec<f64>], inputs: &[Distribution], values: &[f64]) -> Option<Indices> {
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    let scatter: f64 = values.iter().map(|value| (value - mean) * (value - mean)).sum();
    // What moves by rounding alone has no causes.
    if scatter.is_nan() || scatter <= values.len() as f64 * 1e-24 * mean * mean {
        return None;
    }
    let mut best: Option<(Vec<Term>, Fit)> = None;
    for together in 1..=inputs.len() {
        for degree in together..=HIGHEST_DEGREE {
            let most = (values.len() / SAMPLES_A_TERM).min(MOST_TERMS);
            let Some(terms) = terms(inputs.len(), degree, together, most) else { break };
            let Some(fit) = fit(samples, inputs, values, &terms) else { continue };
            if best.as_ref().is_none_or(|(_, known)| fit.missed < known.missed) {
                best = Some((terms, fit));
            }
        }
    }
    let (terms, fit) = best?;
    let variance = |counts: &dyn Fn(&Term) -> bool| -> f64 {
        let pairs = terms.iter().zip(&fit.coefficients).filter(|(term, _)| term.iter().any(|degree| *degree > 0));
        pairs.filter(|(term, _)| counts(term)).map(|(_, coefficient)| coefficient * coefficient).sum()
    };
    let whole = variance(&|_| true);
    let alone = |input: usize| {
        variance(&|term| term.iter().enumerate().all(|(place, degree)| (place == input) == (*degree > 0)))
    };
    Some(Indices {
        first: (0..inputs.len()).map(|input| alone(input) / whole).collect(),
        total: (0..inputs.len()).map(|input| variance(&|term| term[input] > 0) / whole).collect(),
        foretold: 1.0 - fit.missed / scatter,
        deviation: whole.sqrt(),
    })
}

/// The terms up to a total `degree` in which at most so many inputs stand `together`; `None` when there are more than `most`.
fn terms(inputs: usize, degree: usize, together: usize, most: usize) -> Option<Vec<Term>> {
    let mut all: Vec<Term> = vec![vec![0; inputs]];
    for input in 0..inputs {
        let mut raised = Vec::new();
        for term in &all {
            let (sum, standing) = (term.iter().sum::<usize>(), term.iter().filter(|degree| **degree > 0).count());
            if standing == together {
                continue;
            }
            for own in 1..=degree - sum {
                let mut term = term.clone();
                term[input] = own;
                raised.push(term);
            }
        }
        all.extend(raised);
        if all.len() > most {
            return None;
        }
    }
    Some(all)
}

struct Fit {
    coefficients: Vec<f64>,
    /// Sum of the squares by which each sample is missed by the fit of all others.
    missed: f64,
}

/// Least squares, and what it would miss of each sample if it had not seen it: the residual over one less the sample's leverage (Allen 1974,
/// Technometrics 16, 125).
fn fit(samples: &[Vec<f64>], inputs: &[Distribution], values: &[f64], terms: &[Term]) -> Option<Fit> {
    let degree = terms.iter().flatten().copied().max().unwrap_or(0);
    let powers: Vec<Vec<Vec<f64>>> = samples
        .iter()
        .map(|sample| sample.iter().zip(inputs).map(|(x, input)| polynomials(*input, *x, degree)).collect())
        .collect();
    let entry = |sample: usize, term: usize| -> f64 {
        terms[term].iter().enumerate().map(|(input, degree)| powers[sample][input][*degree]).product()
    };
    let matrix = Mat::from_fn(values.len(), terms.len(), entry);
    let wanted = Mat::from_fn(values.len(), 1, |row, _| values[row]);
    let factors = Qr::new(matrix.as_ref());
    let solved = factors.solve_lstsq(wanted.as_ref());
    let coefficients: Vec<f64> = (0..terms.len()).map(|term| solved[(term, 0)]).collect();
    if coefficients.iter().any(|coefficient| !coefficient.is_finite()) {
        return None;
    }
    let basis = factors.compute_thin_Q();
    let mut missed = 0.0;
    for (row, value) in values.iter().enumerate() {
        let leverage: f64 = (0..terms.len()).map(|column| basis[(row, column)] * basis[(row, column)]).sum();
        let found: f64 = (0..terms.len()).map(|term| matrix[(row, term)] * coefficients[term]).sum();
        let alone = (value - found) / (1.0 - leverage).max(f64::MIN_POSITIVE);
        missed += alone * alone;
    }
    missed.is_finite().then_some(Fit { coefficients, missed })
}

/// The polynomials up to `degree` at `x`, each of mean square one over its distribution: Abramowitz and Stegun, Handbook of Mathematical
/// Functions, table 22.2 and section 22.7.
fn polynomials(distribution: Distribution, x: f64, degree: usize) -> Vec<f64> {
    let mut values = vec![1.0, x];
    for n in 1..degree {
        let (order, last, before) = (n as f64, values[n], values[n - 1]);
        values.push(match distribution {
            Distribution::Uniform => ((2.0 * order + 1.0) * x * last - order * before) / (order + 1.0),
            Distribution::Normal => x * last - order * before,
        });
    }
    let mut factorial = 1.0;
    for (n, value) in values.iter_mut().enumerate() {
        factorial *= n.max(1) as f64;
        *value *= match distribution {
            Distribution::Uniform => (2.0 * n as f64 + 1.0).sqrt(),
            Distribution::Normal => 1.0 / f64::sqrt(factorial),
        };
    }
    values
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::Dice;
    use std::f64::consts::PI;

    fn sobol(count: u32, axes: u32) -> Vec<Vec<f64>> {
        let share = |number, axis| 2.0 * f64::from(sobol_burley::sample(number, axis, 7)) - 1.0;
        (0..count).map(|number| (0..axes).map(|axis| share(number, axis)).collect()).collect()
    }

    #[test]
    fn ishigamis_function_has_its_published_indices() {
        // Ishigami and Homma 1990; the closed forms with a = 7, b = 0.1 as in Sudret 2008, section 5.2 (from memory).
        let samples = sobol(1200, 3);
        let (a, b) = (7.0, 0.1);
        let value = |x: &Vec<f64>| {
            let [x, y, z] = [x[0], x[1], x[2]].map(|x| PI * x);
            libm::sin(x) + a * libm::sin(y).powi(2) + b * z.powi(4) * libm::sin(x)
        };
        let values: Vec<f64> = samples.iter().map(value).collect();
        let found = indices(&samples, &[Distribution::Uniform; 3], &values).unwrap();
        let variance = a * a / 8.0 + b * PI.powi(4) / 5.0 + b * b * PI.powi(8) / 18.0 + 0.5;
        let first = 0.5 * (1.0 + b * PI.powi(4) / 5.0).powi(2) / variance;
        let second = a * a / 8.0 / variance;
        let both = 8.0 * b * b * PI.powi(8) / 225.0 / variance;
        assert!((first - 0.3139).abs() < 1e-4 && (second - 0.4424).abs() < 1e-4, "the closed forms");
        for (found, exact) in found.first.iter().zip([first, second, 0.0]) {
            assert!((found - exact).abs() < 5e-3, "{found} {exact}");
        }
        for (found, exact) in found.total.iter().zip([first + both, second, both]) {
            assert!((found - exact).abs() < 5e-3, "{found} {exact}");
        }
        assert!(found.foretold > 0.99, "{}", found.foretold);
        assert!((found.deviation / variance.sqrt() - 1.0).abs() < 5e-3);
    }

    #[test]
    fn a_sum_of_normal_inputs_has_the_squares_of_its_factors() {
        let dice = Dice::new(2);
        let samples: Vec<Vec<f64>> =
            (0..100).map(|k| ["a", "b", "c"].map(|name| dice.normal(name, k)).to_vec()).collect();
        let values: Vec<f64> = samples.iter().map(|x| 5.0 + 3.0 * x[0] - 4.0 * x[1]).collect();
        let found = indices(&samples, &[Distribution::Normal; 3], &values).unwrap();
        for (found, exact) in found.first.iter().zip([0.36, 0.64, 0.0]) {
            assert!((found - exact).abs() < 1e-9);
        }
        assert!((found.deviation - 5.0).abs() < 1e-9 && found.foretold > 1.0 - 1e-12);
    }

    #[test]
    fn noise_is_not_foretold_and_what_stands_still_has_no_indices() {
        let dice = Dice::new(3);
        let samples = sobol(64, 2);
        let noise: Vec<f64> = (0..64).map(|k| dice.normal("noise", k)).collect();
        assert!(indices(&samples, &[Distribution::Uniform; 2], &noise).unwrap().foretold < 0.3);
        assert_eq!(indices(&samples, &[Distribution::Uniform; 2], &[3.0; 64]), None);
        assert_eq!(indices(&samples[..3], &[Distribution::Uniform; 2], &noise[..3]), None);
    }
}
