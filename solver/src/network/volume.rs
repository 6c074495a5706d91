//! A stored volume: mass, energy and the masses of each origin.

use crate::gas::Gas;
use crate::joint::VolumeState;

/// A plenum as the network integrates it.
#[derive(Debug, Clone, PartialEq)]
pub struct Volume {
    /// Name of the part.
    pub name: String,
    /// Volume [m^3].
    pub size: f64,
    /// Wall temperature [K] and film coefficient times surface [W/K]; `None` when adiabatic.
    pub wall: Option<(f64, f64)>,
    /// Sum of the areas of all openings [m^2], for the time step.
    pub open_area: f64,
    /// Sum of area over length of all openings with inertance [m], for the time step.
    pub open_admittance: f64,
}

impl Volume {
    /// State from the stored `[mass, energy, ...]`.
    #[must_use]
    pub fn state(&self, gas: &Gas, stored: &[f64]) -> VolumeState {
        let pressure = (gas.gamma - 1.0) * stored[1] / self.size;
        VolumeState { pressure, temperature: pressure * self.size / (stored[0] * gas.gas_constant) }
    }

    /// Writes the stored values of `pressure` [Pa], `temperature` [K] and `shares`.
    pub fn store(&self, gas: &Gas, pressure: f64, temperature: f64, shares: &[f64], stored: &mut [f64]) {
        stored[0] = pressure * self.size / (gas.gas_constant * temperature);
        stored[1] = pressure * self.size / (gas.gamma - 1.0);
        let mass = stored[0];
        for (value, share) in stored[2..].iter_mut().zip(shares) {
            *value = mass * share;
        }
    }

    /// Heat from the wall [W].
    #[must_use]
    pub fn wall_heat(&self, state: VolumeState) -> f64 {
        self.wall.map_or(0.0, |(temperature, conductance)| conductance * (temperature - state.temperature))
    }
}
