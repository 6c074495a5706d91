//! A calorically perfect ideal gas in steady isentropic flow.
//!
//! NACA Report 1135 (1953), Equations, Tables and Charts for Compressible Flow, equations 43 to 45 and 80.

use crate::oracle::root::bisect;

/// Highest Mach number that an inverse looks for.
const HIGHEST_MACH: f64 = 100.0;

/// A calorically perfect ideal gas.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PerfectGas {
    /// Ratio of heat capacities.
    pub gamma: f64,
    /// Specific gas constant [J/(kg K)].
    pub gas_constant: f64,
}

impl PerfectGas {
    /// Air as the tables of steady pipe and nozzle flow take it.
    pub const AIR: Self = Self { gamma: 1.4, gas_constant: 287.05 };

    /// Isobaric heat capacity [J/(kg K)].
    #[must_use]
    pub fn heat_capacity(&self) -> f64 {
        self.gamma * self.gas_constant / (self.gamma - 1.0)
    }

    /// Speed of sound [m/s] at `temperature` [K].
    #[must_use]
    pub fn sound_speed(&self, temperature: f64) -> f64 {
        (self.gamma * self.gas_constant * temperature).sqrt()
    }

    /// T/T0 at a Mach number.
    #[must_use]
    pub fn temperature_ratio(&self, mach: f64) -> f64 {
        1.0 / (1.0 + 0.5 * (self.gamma - 1.0) * mach * mach)
    }

    /// p/p0 at a Mach number.
    #[must_use]
    pub fn pressure_ratio(&self, mach: f64) -> f64 {
        libm::pow(self.temperature_ratio(mach), self.gamma / (self.gamma - 1.0))
    }

    /// rho/rho0 at a Mach number.
    #[must_use]
    pub fn density_ratio(&self, mach: f64) -> f64 {
        libm::pow(self.temperature_ratio(mach), 1.0 / (self.gamma - 1.0))
    }

    /// A/A* at a Mach number: area over the area in which the same flow would be sonic.
    #[must_use]
    pub fn area_ratio(&self, mach: f64) -> f64 {
        self.flow_function(1.0) / self.flow_function(mach)
    }

    /// Flow function: mass flow times sqrt(R T0) over area and total pressure.
    #[must_use]
    pub fn flow_function(&self, mach: f64) -> f64 {
        let exponent = 0.5 * (self.gamma + 1.0) / (self.gamma - 1.0);
        self.gamma.sqrt() * mach * libm::pow(self.temperature_ratio(mach), exponent)
    }

    /// Mass flow [kg/s] through `area` [m^2] at a Mach number, from total pressure [Pa] and total temperature [K].
    #[must_use]
    pub fn mass_flow(&self, mach: f64, area: f64, total_pressure: f64, total_temperature: f64) -> f64 {
        self.flow_function(mach) * area * total_pressure / (self.gas_constant * total_temperature).sqrt()
    }

    /// Mach number at a static over total pressure.
    #[must_use]
    pub fn mach_of_pressure_ratio(&self, ratio: f64) -> f64 {
        let exponent = (self.gamma - 1.0) / self.gamma;
        // expm1 keeps the digits of a pressure ratio near one.
        (2.0 / (self.gamma - 1.0) * libm::expm1(-exponent * libm::log(ratio))).sqrt()
    }

    /// Subsonic Mach number at a flow function; `None` beyond choking.
    #[must_use]
    pub fn subsonic_mach(&self, flow_function: f64) -> Option<f64> {
        bisect(0.0, 1.0, |mach| self.flow_function(mach) - flow_function)
    }

    /// Supersonic Mach number at a flow function; `None` beyond choking.
    #[must_use]
    pub fn supersonic_mach(&self, flow_function: f64) -> Option<f64> {
        bisect(1.0, HIGHEST_MACH, |mach| self.flow_function(mach) - flow_function)
    }
}

#[cfg(test)]
mod tests {
    use super::PerfectGas;
    use crate::data;
    use approx::assert_relative_eq;

    #[test]
    fn relations_and_inverses_agree_with_the_table() {
        let air = PerfectGas::AIR;
        for row in data::rows(data::ISENTROPIC).unwrap() {
            let value = |column: &str| row.number(column).unwrap();
            let mach = value("M");
            assert_relative_eq!(air.temperature_ratio(mach), value("T_T0"), max_relative = 1e-10);
            assert_relative_eq!(air.pressure_ratio(mach), value("p_p0"), max_relative = 1e-10);
            assert_relative_eq!(air.density_ratio(mach), value("rho_rho0"), max_relative = 1e-10);
            assert_relative_eq!(air.area_ratio(mach), value("A_Astar"), max_relative = 1e-10);
            assert_relative_eq!(air.flow_function(mach), value("mdot_par"), max_relative = 1e-10);
            assert_relative_eq!(air.mach_of_pressure_ratio(value("p_p0")), mach, max_relative = 1e-7);
            if (mach - 1.0).abs() > 0.02 {
                let flow_function = air.flow_function(1.0) / value("A_Astar");
                let found =
                    if mach < 1.0 { air.subsonic_mach(flow_function) } else { air.supersonic_mach(flow_function) };
                assert_relative_eq!(found.unwrap(), mach, max_relative = 1e-9);
            }
        }
    }
}
