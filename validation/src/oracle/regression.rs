//! The models of NIST's reference problems of nonlinear regression, as they are printed with the data, with exact derivatives.

use num_complex::Complex64;

/// A model of `x` with the values `b`.
pub type Curve = fn(f64, &[Complex64]) -> Complex64;

/// The model of a problem.
#[must_use]
pub fn curve(case: &str) -> Option<Curve> {
    Some(match case {
        "Misra1a" | "BoxBOD" => |x, b| b[0] * (1.0 - (-b[1] * x).exp()),
        "Chwirut2" => |x, b| (-b[0] * x).exp() / (b[1] + b[2] * x),
        "Lanczos3" => |x, b| b[0] * (-b[1] * x).exp() + b[2] * (-b[3] * x).exp() + b[4] * (-b[5] * x).exp(),
        "Gauss1" => |x, b| {
            let bell = |k: usize| b[k] * (-(x - b[k + 1]) * (x - b[k + 1]) / (b[k + 2] * b[k + 2])).exp();
            b[0] * (-b[1] * x).exp() + bell(2) + bell(5)
        },
        "DanWood" => |x, b| b[0] * (b[1] * x.ln()).exp(),
        "MGH17" => |x, b| b[0] + b[1] * (-x * b[3]).exp() + b[2] * (-x * b[4]).exp(),
        "Thurber" | "Hahn1" => |x, b| {
            (b[0] + b[1] * x + b[2] * x.powi(2) + b[3] * x.powi(3))
                / (1.0 + b[4] * x + b[5] * x.powi(2) + b[6] * x.powi(3))
        },
        "Rat43" => |x, b| b[0] * (-(1.0 + (b[1] - b[2] * x).exp()).ln() / b[3]).exp(),
        "Eckerle4" => |x, b| b[0] / b[1] * (-0.5 * (x - b[2]) * (x - b[2]) / (b[1] * b[1])).exp(),
        "Bennett5" => |x, b| b[0] * (-(b[1] + x).ln() / b[2]).exp(),
        "MGH09" => |x, b| b[0] * (x * x + x * b[1]) / (x * x + x * b[2] + b[3]),
        "MGH10" => |x, b| b[0] * (b[1] / (x + b[2])).exp(),
        "Kirby2" => |x, b| (b[0] + b[1] * x + b[2] * x * x) / (1.0 + b[3] * x + b[4] * x * x),
        _ => return None,
    })
}

/// Value of the model and its derivative by each of `values`: those of a function of complex numbers, by a step along the imaginary axis that is
/// too small to be felt (Squire and Trapp 1998, SIAM Review 40, 110).
#[must_use]
pub fn with_derivatives(curve: Curve, x: f64, values: &[f64]) -> (f64, Vec<f64>) {
    const STEP: f64 = 1e-100;
    let mut complex: Vec<Complex64> = values.iter().map(|value| Complex64::from(*value)).collect();
    let value = curve(x, &complex).re;
    let mut derivatives = Vec::with_capacity(values.len());
    for index in 0..values.len() {
        complex[index].im = STEP;
        derivatives.push(curve(x, &complex).im / STEP);
        complex[index].im = 0.0;
    }
    (value, derivatives)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn derivatives_are_those_of_the_closed_form() {
        let (value, slopes) = with_derivatives(curve("Misra1a").unwrap(), 2.0, &[3.0, 0.5]);
        let left = (-1.0_f64).exp();
        assert!((value - 3.0 * (1.0 - left)).abs() < 1e-15);
        assert!((slopes[0] - (1.0 - left)).abs() < 1e-15 && (slopes[1] - 6.0 * left).abs() < 1e-15);
        assert!(curve("Nobody").is_none());
    }
}
