//! Values over time, and the frequency of their oscillation.

use crate::check::Failure;
use num_complex::Complex64;
use std::f64::consts::PI;

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

    /// Amplitude and phase of the part that oscillates with `frequency` [Hz] in the last so many `periods`: a factor of exp(i omega t).
    /// The samples are to be equally spaced, a whole number of them to a period.
    ///
    /// # Errors
    /// When there are fewer samples than those periods take.
    pub fn tone(&self, frequency: f64, periods: u32) -> Result<Complex64, Failure> {
        let missing = || Failure::Missing("tone".to_owned());
        let last = *self.times.last().ok_or_else(missing)?;
        let start = last - f64::from(periods) / frequency;
        // Half a sample of tolerance: the sample at the start belongs to the period before.
        let spacing = if let [.., before, last] = self.times[..] { last - before } else { return Err(missing()) };
        let first = self.times.partition_point(|time| *time < start + 0.5 * spacing);
        if first == 0 {
            return Err(missing());
        }
        let samples = self.times[first..].iter().zip(&self.values[first..]);
        let sum: Complex64 =
            samples.map(|(time, value)| Complex64::from_polar(*value, -2.0 * PI * frequency * time)).sum();
        Ok(2.0 * sum / (self.times.len() - first) as f64)
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

    #[test]
    fn a_tone_is_read_beside_a_mean_and_an_overtone() {
        let times: Vec<f64> = (0..=96).map(|index| f64::from(index) / (32.0 * 50.0)).collect();
        let turn = |time: f64| 2.0 * PI * 50.0 * time;
        let value = |time: &f64| 3.0 + 0.2 * libm::cos(turn(*time) + 0.7) + 0.1 * libm::cos(2.0 * turn(*time));
        let series = Series { values: times.iter().map(value).collect(), times };
        let tone = series.tone(50.0, 2).unwrap();
        assert_relative_eq!(tone.norm(), 0.2, max_relative = 1e-12);
        assert_relative_eq!(tone.arg(), 0.7, max_relative = 1e-12);
        assert!(series.tone(50.0, 4).is_err());
    }
}
