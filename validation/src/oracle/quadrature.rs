//! Integrals of smooth functions.

/// Nodes and weights of the five-point Gauss-Legendre rule on -1..1. Abramowitz and Stegun (1964), table 25.4.
const GAUSS: [(f64, f64); 5] = [
    (-0.906_179_845_938_664, 0.236_926_885_056_189_1),
    (-0.538_469_310_105_683_1, 0.478_628_670_499_366_5),
    (0.0, 0.568_888_888_888_888_9),
    (0.538_469_310_105_683_1, 0.478_628_670_499_366_5),
    (0.906_179_845_938_664, 0.236_926_885_056_189_1),
];

/// Integral of `function` over `low..high`, exact for polynomials of degree nine.
#[must_use]
pub fn gauss<const N: usize>(low: f64, high: f64, function: impl Fn(f64) -> [f64; N]) -> [f64; N] {
    let (middle, half) = (0.5 * (low + high), 0.5 * (high - low));
    GAUSS.iter().fold([0.0; N], |sum, (node, weight)| {
        let value = function(middle + half * node);
        std::array::from_fn(|component| sum[component] + weight * half * value[component])
    })
}

#[cfg(test)]
mod tests {
    use super::gauss;

    #[test]
    fn a_polynomial_of_degree_nine_is_exact() {
        let [integral] = gauss(0.0, 2.0, |x: f64| [x.powi(9)]);
        assert!((integral - 102.4).abs() < 1e-12);
    }
}
