//! What a check reads from a network that the solver has marched.

use crate::check::Failure;
use crate::oracle::perfect_gas::PerfectGas;
use crate::oracle::riemann::State;

/// A cell of a duct.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cell {
    /// Where it begins [m].
    pub low: f64,
    /// Where it ends [m].
    pub high: f64,
    /// Density [kg/m^3], velocity [m/s] and pressure [Pa].
    pub state: State,
}

impl Cell {
    /// Its middle [m].
    #[must_use]
    pub fn middle(&self) -> f64 {
        0.5 * (self.low + self.high)
    }

    /// Mach number.
    #[must_use]
    pub fn mach(&self, gas: PerfectGas) -> f64 {
        let State { density, velocity, pressure } = self.state;
        velocity / (gas.gamma * pressure / density).sqrt()
    }
}

/// What a rake in a duct reads.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// Mass flow [kg/s].
    pub mass_flow: f64,
    /// Static pressure [Pa].
    pub pressure: f64,
    /// Total pressure [Pa].
    pub total_pressure: f64,
    /// Total temperature [K].
    pub total_temperature: f64,
}

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
pub(crate) mod perfect {
    //! What a march without any error would leave.

    use super::{Cell, Reading};
    use crate::oracle::perfect_gas::PerfectGas;
    use crate::oracle::riemann::State;

    /// Cells that hold a given state: Mach number, pressure [Pa] and temperature [K] at the middle [m].
    pub(crate) fn cells(count: u32, length: f64, state: impl Fn(f64) -> (f64, f64, f64)) -> Vec<Cell> {
        let gas = PerfectGas::AIR;
        let width = length / f64::from(count);
        let cell = |index: u32| {
            let low = f64::from(index) * width;
            let (mach, pressure, temperature) = state(low + 0.5 * width);
            let density = pressure / (gas.gas_constant * temperature);
            let velocity = mach * gas.sound_speed(temperature);
            Cell { low, high: low + width, state: State { density, velocity, pressure } }
        };
        (0..count).map(cell).collect()
    }

    /// A rake in slow air.
    pub(crate) fn reading(mass_flow: f64, total_pressure: f64, total_temperature: f64) -> Reading {
        Reading { mass_flow, pressure: total_pressure, total_pressure, total_temperature }
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
