//! How often two layouts must be measured in turns until their difference shows.

/// Quantiles of the normal distribution for a confidence of 95 % on both sides, 0.975, and for a power of 80 %, 0.8. Abramowitz and Stegun,
/// Handbook of Mathematical Functions, table 26.1.
const CONFIDENCE: f64 = 1.959_963_984_540_054;
const POWER: f64 = 0.841_621_233_572_914_2;
/// Variance of the difference of a set A-B-A over that of one pull: B less the mean of two A has 1 + 1/4 + 1/4. A drift that is straight in time
/// falls out of it.
const SET_VARIANCE: f64 = 1.5;

/// Number of sets from which on nobody counts any more.
const MOST_SETS: f64 = 1e9;

/// Sets of three pulls, A-B-A, that find a `difference` with a confidence of 95 % (both sides) and a power of 80 %, where one pull
/// scatters by a standard deviation of `noise` in the unit of the difference; `None` when no number does.
///
/// n = ((z_0.975 + z_0.8) s / difference)^2 with s^2 = 1.5 noise^2, at least one: the sample size of a mean with known scatter, as in Montgomery,
/// Design and Analysis of Experiments, chapter 2, or Chow, Shao and Wang, Sample Size Calculations in Clinical Research, chapter 3 (both
/// from memory). Where the scatter is estimated from the same sets, some two more are needed.
#[must_use]
pub fn sets_needed(noise: f64, difference: f64) -> Option<u64> {
    let root = (CONFIDENCE + POWER) * SET_VARIANCE.sqrt() * noise / difference;
    let sets = (root * root).ceil();
    (sets < MOST_SETS).then_some(sets.max(1.0) as u64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_size_is_that_of_the_textbook() {
        // (1.960 + 0.842)^2 = 7.849 sets where one set scatters as much as the difference is; 1.5 times that with pulls that do.
        for (noise, difference, sets) in [
            (1.0 / 1.5_f64.sqrt(), 1.0, 8),
            (1.0, 1.0, 12),
            (0.01, 0.005, 48),
            (0.01, -0.005, 48),
            (0.01, 0.001, 1_178),
            (0.0, 0.001, 1),
        ] {
            assert_eq!(sets_needed(noise, difference), Some(sets), "{noise} {difference}");
        }
        assert_eq!(sets_needed(0.01, 0.0), None);
        assert_eq!(sets_needed(0.01, f64::NAN), None);
    }
}
