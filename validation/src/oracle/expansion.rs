//! Sudden expansion of a subsonic stream: Borda and Carnot, for a gas.
//!
//! Mass, energy and momentum between the narrow and the wide section, with the static pressure of the narrow one on the annulus.
//! Ward-Smith (1980), Internal Fluid Flow, chapter on compressible sudden enlargement.

use crate::oracle::perfect_gas::PerfectGas;
use crate::oracle::root::bisect;

/// What a sudden expansion does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SuddenExpansion {
    /// Mach number behind it.
    pub mach_behind: f64,
    /// Static pressure behind over ahead.
    pub pressure_ratio: f64,
    /// Total pressure behind over ahead.
    pub total_pressure_ratio: f64,
    /// Total-pressure loss over half rho u^2 ahead.
    pub loss_coefficient: f64,
}

impl SuddenExpansion {
    /// From `mach` (below one) in the narrow section through `area_ratio`, narrow over wide; `None` when there is no answer.
    #[must_use]
    pub fn new(gas: PerfectGas, mach: f64, area_ratio: f64) -> Option<Self> {
        let gamma = gas.gamma;
        // Mass flow over momentum force, sqrt(T0) and R left out: mass and energy make it the same on both sides.
        let mass = |mach: f64| mach / gas.temperature_ratio(mach).sqrt();
        let force_ahead = 1.0 + area_ratio * gamma * mach * mach;
        let target = area_ratio * mass(mach) / force_ahead;
        let mach_behind = bisect(0.0, 1.0, |behind| mass(behind) / (1.0 + gamma * behind * behind) - target)?;
        let pressure_ratio = force_ahead / (1.0 + gamma * mach_behind * mach_behind);
        let total_pressure_ratio = pressure_ratio * gas.pressure_ratio(mach) / gas.pressure_ratio(mach_behind);
        let head = 0.5 * gamma * mach * mach * gas.pressure_ratio(mach);
        let loss_coefficient = (1.0 - total_pressure_ratio) / head;
        Some(Self { mach_behind, pressure_ratio, total_pressure_ratio, loss_coefficient })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data;
    use approx::assert_relative_eq;

    #[test]
    fn expansions_agree_with_the_table() {
        for row in data::rows(data::SUDDEN_EXPANSION).unwrap() {
            let value = |column: &str| row.number(column).unwrap();
            let found = SuddenExpansion::new(PerfectGas::AIR, value("M1"), value("A1_A2")).unwrap();
            assert_relative_eq!(found.mach_behind, value("M2"), max_relative = 1e-8);
            assert_relative_eq!(found.pressure_ratio, value("p2_p1"), max_relative = 1e-8);
            assert_relative_eq!(found.total_pressure_ratio, value("p02_p01"), max_relative = 1e-8);
            assert_relative_eq!(found.loss_coefficient, value("K"), max_relative = 1e-6);
        }
    }

    #[test]
    fn slow_flow_meets_the_incompressible_law() {
        let found = SuddenExpansion::new(PerfectGas::AIR, 1e-3, 0.5).unwrap();
        assert_relative_eq!(found.loss_coefficient, 0.25, max_relative = 1e-4);
    }
}
