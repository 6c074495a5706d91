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
