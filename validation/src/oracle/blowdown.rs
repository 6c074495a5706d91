//! An adiabatic vessel that empties through an ideal nozzle.
//!
//! Its gas expands along an isentrope while the nozzle lets out what the isentropic relations say: NACA Report 1135 (1953); Moran and
//! Shapiro, Fundamentals of Engineering Thermodynamics, section 4.12. Integrated by the classical Runge-Kutta method.

use crate::oracle::orifice::Opening;

/// A vessel with an opening.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Blowdown {
    /// The opening, with the gas in the vessel at the start before it.
    pub opening: Opening,
    /// Volume of the vessel [m^3].
    pub volume: f64,
    /// Pressure outside [Pa].
    pub back_pressure: f64,
}

/// Steps of the integration.
const STEPS: u32 = 400;

impl Blowdown {
    /// Mass in the vessel at the start [kg].
    #[must_use]
    pub fn mass(&self) -> f64 {
        let Opening { gas, total_pressure, total_temperature, .. } = self.opening;
        total_pressure * self.volume / (gas.gas_constant * total_temperature)
    }

    /// Pressure in the vessel [Pa] when a share of its mass is left.
    #[must_use]
    pub fn pressure(&self, share: f64) -> f64 {
        self.opening.total_pressure * libm::pow(share, self.opening.gas.gamma)
    }

    /// Share of its mass that is left after a time [s].
    #[must_use]
    pub fn left(&self, time: f64) -> f64 {
        let step = time / f64::from(STEPS);
        let rate = |share: f64| -self.flow(share) / self.mass();
        (0..STEPS).fold(1.0, |share, _| {
            let first = rate(share);
            let second = rate(share + 0.5 * step * first);
            let third = rate(share + 0.5 * step * second);
            let fourth = rate(share + step * third);
            share + step * (first + 2.0 * second + 2.0 * third + fourth) / 6.0
        })
    }

    /// Mass flow [kg/s] when a share of the mass is left.
    fn flow(&self, share: f64) -> f64 {
        let total_pressure = self.pressure(share);
        let total_temperature = self.opening.total_temperature * libm::pow(share, self.opening.gas.gamma - 1.0);
        let now = Opening { total_pressure, total_temperature, ..self.opening };
        if total_pressure > self.back_pressure { now.mass_flow(self.back_pressure) } else { 0.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data;
    use crate::oracle::perfect_gas::PerfectGas;
    use approx::assert_relative_eq;

    #[test]
    fn a_choked_vessel_empties_as_the_table_says() {
        let vessel = Blowdown {
            opening: Opening {
                gas: PerfectGas::AIR,
                effective_area: 1e-4,
                total_pressure: 5e5,
                total_temperature: 300.0,
            },
            volume: 0.01,
            back_pressure: 101_325.0,
        };
        for row in data::case(data::VESSELS, "blowdown_choked").unwrap() {
            let left = vessel.left(row.number("t_s").unwrap());
            assert_relative_eq!(vessel.pressure(left), row.number("p_Pa").unwrap(), max_relative = 1e-8);
        }
    }

    #[test]
    fn it_ends_at_the_pressure_outside() {
        let opening =
            Opening { gas: PerfectGas::AIR, effective_area: 1e-4, total_pressure: 1.2e5, total_temperature: 300.0 };
        let vessel = Blowdown { opening, volume: 1e-3, back_pressure: 1e5 };
        assert_relative_eq!(vessel.pressure(vessel.left(0.1)), 1e5, max_relative = 1e-3);
    }
}
