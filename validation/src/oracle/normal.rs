//! The normal distribution.

use super::root::bisect;

/// Share of the standard normal distribution below `x`. Abramowitz and Stegun, Handbook of Mathematical Functions, 26.2.29.
#[must_use]
pub fn share_below(x: f64) -> f64 {
    0.5 * libm::erfc(-x / std::f64::consts::SQRT_2)
}

/// Value below which a `share` of the standard normal distribution lies; not a number for a share that is none.
#[must_use]
pub fn quantile(share: f64) -> f64 {
    bisect(-10.0, 10.0, |x| share_below(x) - share).unwrap_or(f64::NAN)
}

/// Density of the standard normal distribution.
#[must_use]
pub fn density(x: f64) -> f64 {
    libm::exp(-0.5 * x * x) / (2.0 * std::f64::consts::PI).sqrt()
}

/// Standard error of the quantile of this `share` of `count` values from a distribution of standard deviation `deviation`, for many
/// values. Stuart and Ord, Kendall's Advanced Theory of Statistics, volume 1, section 10.10 (from memory).
#[must_use]
pub fn quantile_error(share: f64, count: usize, deviation: f64) -> f64 {
    deviation * (share * (1.0 - share) / count as f64).sqrt() / density(quantile(share))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_are_those_of_the_table() {
        // Abramowitz and Stegun, table 26.1.
        for (share, x) in [(0.5, 0.0), (0.8, 0.841_621_234), (0.9, 1.281_551_566), (0.975, 1.959_963_985)] {
            assert!((quantile(share) - x).abs() < 1e-9, "{share}: {}", quantile(share));
        }
        assert!((density(0.0) - 0.398_942_280).abs() < 1e-9);
    }
}
