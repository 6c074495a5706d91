//! Values over time, and the frequency of their oscillation.

use crate::check::Failure;

/// A value over time.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Series {
    /// Times [s], rising.
    pub times: Vec<f64>,
    /// Values at those times.
    pub values: Vec<f64>,
}

impl Series {
    /// Times [s] at which the value passes `level`, between samples by straight lines.
    #[must_use]
    pub fn crossings(&self, level: f64) -> Vec<f64> {
        let points = self.times.iter().zip(&self.values).map(|(time, value)| (*time, value - level));
        let pairs = points.clone().zip(points.skip(1));
        pairs
            .filter(|((_, before), (_, after))| (*before < 0.0) != (*after < 0.0))
            .map(|((start, before), (end, after))| start + (end - start) * before / (before - after))
            .collect()
    }

    /// Frequency [Hz] of an oscillation about `level`: the straight line of least squares through its crossings.
    ///
    /// # Errors
    /// When there are fewer than three crossings.
    pub fn frequency(&self, level: f64) -> Result<f64, Failure> {
        let crossings = self.crossings(level);
        if crossings.len() < 3 {
            return Err(Failure::Missing("oscillation".to_owned()));
        }
        let indices = || (0_u32..).map(f64::from);
        let count = crossings.len() as f64;
        let middle = 0.5 * (count - 1.0);
        let mean = crossings.iter().sum::<f64>() / count;
        let both: f64 = crossings.iter().zip(indices()).map(|(time, index)| (index - middle) * (time - mean)).sum();
        let square: f64 = crossings.iter().zip(indices()).map(|(_, index)| (index - middle) * (index - middle)).sum();
        Ok(0.5 * square / both)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn the_frequency_of_a_dying_oscillation_is_read() {
        let times: Vec<f64> = (0..4000).map(|index| f64::from(index) * 1e-5).collect();
        let value = |time: &f64| 5.0 + libm::exp(-20.0 * time) * libm::cos(2.0 * std::f64::consts::PI * 171.0 * time);
        let series = Series { values: times.iter().map(value).collect(), times };
        assert_relative_eq!(series.frequency(5.0).unwrap(), 171.0, max_relative = 1e-4);
        assert!(series.frequency(9.0).is_err());
    }
}
