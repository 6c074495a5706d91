//! A vessel without heat loss that empties or fills through one opening: the balances of mass and energy as an ordinary differential
//! equation.
//!
//! Moran and Shapiro, Fundamentals of Engineering Thermodynamics, section 4.12; the flow of the opening as in Heywood (1988), appendix C.

use crate::oracle::orifice::Opening;
use crate::oracle::perfect_gas::PerfectGas;

/// A vessel, its opening and the air outside.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vessel {
    /// The gas.
    pub gas: PerfectGas,
    /// Volume [m^3].
    pub volume: f64,
    /// Effective area of the opening [m^2].
    pub opening: f64,
    /// Pressure [Pa] and temperature [K] outside.
    pub outside: Contents,
}

/// Pressure and temperature of a gas at rest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contents {
    /// Pressure [Pa].
    pub pressure: f64,
    /// Temperature [K].
    pub temperature: f64,
}

impl Vessel {
    /// Contents a time [s] after `start`, by so many steps of the classical method of Runge and Kutta.
    #[must_use]
    pub fn after(&self, start: Contents, time: f64, steps: u32) -> Contents {
        let step = time / f64::from(steps);
        let mut stored = self.stored(start);
        for _ in 0..steps {
            let ahead = |rate: [f64; 2], share: f64| [0, 1].map(|k| stored[k] + share * step * rate[k]);
            let first = self.rates(stored);
            let second = self.rates(ahead(first, 0.5));
            let third = self.rates(ahead(second, 0.5));
            let fourth = self.rates(ahead(third, 1.0));
            stored = [0, 1].map(|k| stored[k] + step / 6.0 * (first[k] + 2.0 * (second[k] + third[k]) + fourth[k]));
        }
        self.contents(stored)
    }

    /// Mass [kg] and energy [J].
    fn stored(&self, contents: Contents) -> [f64; 2] {
        let mass = contents.pressure * self.volume / (self.gas.gas_constant * contents.temperature);
        [mass, contents.pressure * self.volume / (self.gas.gamma - 1.0)]
    }

    fn contents(&self, [mass, energy]: [f64; 2]) -> Contents {
        let pressure = energy * (self.gas.gamma - 1.0) / self.volume;
        Contents { pressure, temperature: pressure * self.volume / (mass * self.gas.gas_constant) }
    }

    fn rates(&self, stored: [f64; 2]) -> [f64; 2] {
        let inside = self.contents(stored);
        let (from, to, sign) = if inside.pressure > self.outside.pressure {
            (inside, self.outside, -1.0)
        } else {
            (self.outside, inside, 1.0)
        };
        let opening = Opening {
            gas: self.gas,
            effective_area: self.opening,
            total_pressure: from.pressure,
            total_temperature: from.temperature,
        };
        let flow = sign * opening.mass_flow(to.pressure);
        [flow, flow * self.gas.heat_capacity() * from.temperature]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data;
    use approx::assert_relative_eq;

    #[test]
    fn a_choked_blowdown_agrees_with_the_table() {
        let outside = Contents { pressure: 101_325.0, temperature: 300.0 };
        let vessel = Vessel { gas: PerfectGas::AIR, volume: 0.01, opening: 1e-4, outside };
        let start = Contents { pressure: 5e5, temperature: 300.0 };
        for row in data::case(data::VESSELS, "blowdown_choked").unwrap() {
            let value = |column: &str| row.number(column).unwrap();
            if value("t_s") > 0.0 {
                let found = vessel.after(start, value("t_s"), 200);
                assert_relative_eq!(found.pressure, value("p_Pa"), max_relative = 1e-8);
                assert_relative_eq!(found.temperature, value("T_K"), max_relative = 1e-8);
            }
        }
    }

    #[test]
    fn a_vessel_that_fills_keeps_the_balances() {
        let outside = Contents { pressure: 101_325.0, temperature: 300.0 };
        let vessel = Vessel { gas: PerfectGas::AIR, volume: 0.01, opening: 1e-4, outside };
        let found = vessel.after(Contents { pressure: 1.0, temperature: 300.0 }, 0.1, 400);
        assert_relative_eq!(found.temperature, 1.4 * 300.0, max_relative = 1e-4);
    }
}
