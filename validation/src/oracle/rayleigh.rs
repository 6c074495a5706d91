//! Flow with heat and without friction in a duct of constant area.
//!
//! Shapiro (1953), The Dynamics and Thermodynamics of Compressible Fluid Flow, volume 1, chapter 7.

use crate::oracle::perfect_gas::PerfectGas;
use crate::oracle::root::bisect;

/// Lowest Mach number that an inverse looks for.
const LOWEST_MACH: f64 = 1e-6;

impl PerfectGas {
    /// T0/T0*.
    #[must_use]
    pub fn rayleigh_total_temperature(&self, mach: f64) -> f64 {
        self.rayleigh_temperature(mach) * self.temperature_ratio(1.0) / self.temperature_ratio(mach)
    }

    /// T/T*.
    #[must_use]
    pub fn rayleigh_temperature(&self, mach: f64) -> f64 {
        let ratio = mach * self.rayleigh_pressure(mach);
        ratio * ratio
    }

    /// p/p*: p (1 + gamma M^2) stays the same along the duct.
    #[must_use]
    pub fn rayleigh_pressure(&self, mach: f64) -> f64 {
        (1.0 + self.gamma) / (1.0 + self.gamma * mach * mach)
    }

    /// p0/p0*.
    #[must_use]
    pub fn rayleigh_total_pressure(&self, mach: f64) -> f64 {
        self.rayleigh_pressure(mach) * self.pressure_ratio(1.0) / self.pressure_ratio(mach)
    }

    /// Subsonic Mach number at T0/T0*; one where the heat would choke the duct.
    #[must_use]
    pub fn rayleigh_subsonic_mach(&self, total_temperature: f64) -> f64 {
        bisect(LOWEST_MACH, 1.0, |mach| self.rayleigh_total_temperature(mach) - total_temperature).unwrap_or(1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data;
    use approx::assert_relative_eq;

    #[test]
    fn relations_and_inverse_agree_with_the_table() {
        let air = PerfectGas::AIR;
        for row in data::rows(data::RAYLEIGH).unwrap() {
            let value = |column: &str| row.number(column).unwrap();
            let mach = value("M");
            assert_relative_eq!(air.rayleigh_total_temperature(mach), value("T0_T0star"), max_relative = 1e-11);
            assert_relative_eq!(air.rayleigh_temperature(mach), value("T_Tstar"), max_relative = 1e-11);
            assert_relative_eq!(air.rayleigh_pressure(mach), value("p_pstar"), max_relative = 1e-11);
            assert_relative_eq!(air.rayleigh_total_pressure(mach), value("p0_p0star"), max_relative = 1e-11);
            if mach < 0.98 {
                assert_relative_eq!(air.rayleigh_subsonic_mach(value("T0_T0star")), mach, max_relative = 1e-9);
            }
        }
    }
}
