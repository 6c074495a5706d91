//! The implicit Runge-Kutta method of the slow march.
//!
//! Alexander 1977, SIAM Journal on Numerical Analysis 14, 1006: three stages with the same diagonal, third order, L-stable, and the last stage
//! is the end of the step, so that joints balance there exactly. A second-order combination of the same stages tells the error.

/// Root of `x^3 - 3 x^2 + 3/2 x - 1/6 = 0` between a third and a half, which makes the method L-stable.
pub(super) const DIAGONAL: f64 = 0.435_866_521_508_459;
const SECOND: f64 = 0.5 * (1.0 - DIAGONAL);
const FIRST_WEIGHT: f64 = -0.25 * (6.0 * DIAGONAL * DIAGONAL - 16.0 * DIAGONAL + 1.0);
const SECOND_WEIGHT: f64 = 0.25 * (6.0 * DIAGONAL * DIAGONAL - 20.0 * DIAGONAL + 5.0);

/// Number of stages.
pub(super) const STAGES: usize = 3;

/// Weights of the rates of earlier stages, over the step.
pub(super) const BEFORE: [&[f64]; STAGES] = [&[], &[SECOND], &[FIRST_WEIGHT, SECOND_WEIGHT]];

/// Times of the stages, over the step.
pub(super) const TIMES: [f64; STAGES] = [DIAGONAL, DIAGONAL + SECOND, 1.0];

/// Weights of the stages in the step.
pub(super) const WEIGHTS: [f64; STAGES] = [FIRST_WEIGHT, SECOND_WEIGHT, DIAGONAL];

/// Weight of the second stage in the second-order combination of the first two.
const OTHER_SECOND: f64 = (0.5 - DIAGONAL) / SECOND;

/// Weights of the stages in the estimate of the error.
pub(super) const ERROR: [f64; STAGES] = [FIRST_WEIGHT - (1.0 - OTHER_SECOND), SECOND_WEIGHT - OTHER_SECOND, DIAGONAL];

#[cfg(test)]
mod tests {
    use super::*;

    /// End of one step of `dx/dt = rate x` from one, and the estimate of its error.
    fn step(rate: f64, step: f64) -> (f64, f64) {
        let mut rates = Vec::new();
        for before in BEFORE {
            let base: f64 = 1.0 + before.iter().zip(&rates).map(|(weight, k)| step * weight * k).sum::<f64>();
            rates.push(rate * base / (1.0 - step * DIAGONAL * rate));
        }
        let sum = |weights: [f64; STAGES]| weights.iter().zip(&rates).map(|(weight, k)| step * weight * k).sum::<f64>();
        (1.0 + sum(WEIGHTS), sum(ERROR))
    }

    #[test]
    fn the_conditions_of_third_order_hold() {
        let sum = |value: &dyn Fn(usize) -> f64| (0..STAGES).map(|k| WEIGHTS[k] * value(k)).sum::<f64>();
        let stage = |k: usize, value: &dyn Fn(usize) -> f64| {
            BEFORE[k].iter().enumerate().map(|(j, weight)| weight * value(j)).sum::<f64>() + DIAGONAL * value(k)
        };
        assert!((sum(&|_| 1.0) - 1.0).abs() < 1e-14);
        assert!((sum(&|k| TIMES[k]) - 0.5).abs() < 1e-14);
        assert!((sum(&|k| TIMES[k] * TIMES[k]) - 1.0 / 3.0).abs() < 1e-14);
        assert!((sum(&|k| stage(k, &|j| TIMES[j])) - 1.0 / 6.0).abs() < 1e-14);
        for (k, time) in TIMES.iter().enumerate() {
            assert!((stage(k, &|_| 1.0) - time).abs() < 1e-15);
        }
        assert!(ERROR.iter().sum::<f64>().abs() < 1e-14);
    }

    #[test]
    fn steps_are_of_third_order_and_damp_what_is_stiff() {
        let error = |h: f64| (step(-1.0, h).0 - (-h).exp()).abs();
        let order = (error(0.02) / error(0.01)).log2();
        assert!((order - 4.0).abs() < 0.05, "{order}");
        let estimate = (step(-1.0, 0.02).1 / step(-1.0, 0.01).1).abs().log2();
        assert!((estimate - 3.0).abs() < 0.05, "{estimate}");
        assert!(step(-1e9, 1.0).0.abs() < 1e-8);
    }
}
