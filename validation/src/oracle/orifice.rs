//! Flow from a reservoir through a small opening, with choking; expansibility of orifice plates and nozzles.
//!
//! Heywood (1988), Internal Combustion Engine Fundamentals, appendix C; ISO 5167-2:2003, equation 5; ISO 5167-3:2003.

use crate::oracle::perfect_gas::PerfectGas;

/// Air before and pressure behind an opening.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Opening {
    /// The gas.
    pub gas: PerfectGas,
    /// Area times discharge coefficient [m^2].
    pub effective_area: f64,
    /// Total pressure before it [Pa].
    pub total_pressure: f64,
    /// Total temperature before it [K].
    pub total_temperature: f64,
}

impl Opening {
    /// Mach number in the jet against `back_pressure` [Pa], not above the total pressure; one when choked.
    #[must_use]
    pub fn mach(&self, back_pressure: f64) -> f64 {
        self.gas.mach_of_pressure_ratio((back_pressure / self.total_pressure).min(1.0)).min(1.0)
    }

    /// Mass flow [kg/s] against `back_pressure` [Pa].
    #[must_use]
    pub fn mass_flow(&self, back_pressure: f64) -> f64 {
        let mach = self.mach(back_pressure);
        self.gas.mass_flow(mach, self.effective_area, self.total_pressure, self.total_temperature)
    }

    /// Mass flow [kg/s] if the gas did not expand: area sqrt(2 rho dp).
    #[must_use]
    pub fn incompressible_mass_flow(&self, back_pressure: f64) -> f64 {
        let density = self.total_pressure / (self.gas.gas_constant * self.total_temperature);
        self.effective_area * (2.0 * density * (self.total_pressure - back_pressure)).sqrt()
    }
}

/// Expansibility of an orifice plate at a diameter ratio and a downstream over upstream pressure, not below 0.75.
#[must_use]
pub fn plate_expansibility(diameter_ratio: f64, pressure_ratio: f64, gamma: f64) -> f64 {
    let fourth = libm::pow(diameter_ratio, 4.0);
    1.0 - (0.351 + 0.256 * fourth + 0.93 * fourth * fourth) * (1.0 - libm::pow(pressure_ratio, 1.0 / gamma))
}

/// Expansibility of a nozzle or Venturi tube, from isentropic flow.
#[must_use]
pub fn nozzle_expansibility(diameter_ratio: f64, pressure_ratio: f64, gamma: f64) -> f64 {
    if pressure_ratio >= 1.0 {
        return 1.0;
    }
    let fourth = libm::pow(diameter_ratio, 4.0);
    let throat = libm::pow(pressure_ratio, 2.0 / gamma);
    let expansion = (1.0 - libm::pow(pressure_ratio, (gamma - 1.0) / gamma)) / (1.0 - pressure_ratio);
    (gamma * throat / (gamma - 1.0) * (1.0 - fourth) / (1.0 - fourth * throat) * expansion).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data;
    use approx::assert_relative_eq;

    #[test]
    fn the_flow_function_agrees_with_the_table() {
        let opening = Opening {
            gas: PerfectGas::AIR,
            effective_area: 1e-3,
            total_pressure: 101_325.0,
            total_temperature: 293.15,
        };
        for row in data::rows(data::NOZZLE_FLOW).unwrap() {
            let value = |column: &str| row.number(column).unwrap();
            let back_pressure = value("p_p0") * opening.total_pressure;
            assert_relative_eq!(opening.mass_flow(back_pressure), value("mdot_kg_s"), max_relative = 1e-8);
            assert_relative_eq!(opening.mach(back_pressure), value("M_throat"), max_relative = 1e-8);
            let incompressible = opening.incompressible_mass_flow(back_pressure);
            assert_relative_eq!(incompressible, value("mdot_incompressible_kg_s"), max_relative = 1e-8);
        }
    }

    #[test]
    fn expansibilities_agree_with_the_table() {
        for row in data::rows(data::EXPANSIBILITY).unwrap() {
            let value = |column: &str| row.number(column).unwrap();
            let (beta, ratio) = (value("beta"), value("p2_p1"));
            assert_relative_eq!(plate_expansibility(beta, ratio, 1.4), value("eps_orifice"), max_relative = 1e-8);
            let nozzle = nozzle_expansibility(beta, ratio, 1.4);
            assert_relative_eq!(nozzle, value("eps_nozzle_venturi"), max_relative = 1e-8);
        }
    }
}
