//! Corners of published laws made smooth, so that Newton can step across them. Outside the reach named here a law keeps every digit.

/// `x^exponent` of `|x|`, below one an even polynomial in `x` with the same value and slope at one.
///
/// A fractional power has no slope at nothing. With an `exponent` between nothing and two this one rises from there to one, and its
/// slope is nothing at nothing, so that the sign of `x` makes no corner.
pub(super) fn power(x: f64, exponent: f64) -> f64 {
    let square = x * x;
    if square >= 1.0 {
        libm::pow(square, 0.5 * exponent)
    } else {
        0.5 * square * (4.0 - exponent - (2.0 - exponent) * square)
    }
}

/// The larger of two values; where they differ by less than `width` a parabola, at most a quarter of `width` above it.
pub(crate) fn larger(one: f64, other: f64, width: f64) -> f64 {
    let lead = one - other;
    if lead.abs() >= width {
        return one.max(other);
    }
    other + (lead + width) * (lead + width) / (4.0 * width)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_power_keeps_its_value_above_one_and_has_a_slope_everywhere() {
        for exponent in [1.0 / 6.0, 0.25, 0.5, 0.8] {
            assert!((power(7.0, exponent) / libm::pow(7.0, exponent) - 1.0).abs() < 1e-15);
            assert!(power(0.0, exponent).abs() < 1e-300 && (power(1.0, exponent) - 1.0).abs() < 1e-15);
            let slope = |x: f64| (power(x + 1e-6, exponent) - power(x - 1e-6, exponent)) / 2e-6;
            assert!(slope(0.0).abs() < 1e-12 && (slope(1.0) - exponent).abs() < 1e-5);
            for step in 1..100 {
                assert!(slope(f64::from(step) / 50.0) > 0.0, "{exponent} {step}");
            }
        }
    }

    #[test]
    fn the_larger_is_smooth_where_two_meet_and_exact_elsewhere() {
        assert!((larger(3.0, 1.0, 1.0) - 3.0).abs() < 1e-15 && (larger(1.0, 3.0, 1.0) - 3.0).abs() < 1e-15);
        assert!((larger(2.0, 2.0, 1.0) - 2.25).abs() < 1e-15);
        for lead in [-1.0, -0.3, 0.0, 0.7, 1.0] {
            let slope = |at: f64| (larger(at + 1e-6, 0.0, 1.0) - larger(at - 1e-6, 0.0, 1.0)) / 2e-6;
            assert!((slope(lead) - 0.5 * (lead + 1.0)).abs() < 1e-6, "{lead}");
            assert!((larger(lead, 0.0, 1.0) - larger(0.0, lead, 1.0)).abs() < 1e-15, "{lead}");
        }
    }
}
