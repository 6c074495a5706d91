//! Steady flow of an ideal gas through a converging-diverging nozzle, with or without a normal shock in it.
//!
//! Quasi-one-dimensional theory: isentropic on both sides of a shock, the shock where the exit pressure puts it. Liepmann and Roshko
//! (1957), Elements of Gasdynamics, sections 5.1 to 5.4; NACA Report 1135 (1953).

use crate::oracle::perfect_gas::PerfectGas;
use crate::oracle::root::bisect;
use crate::oracle::shock::NormalShock;

/// Shape of a nozzle.
#[derive(Debug, Clone, Copy)]
pub struct Nozzle {
    /// Area over the distance along the axis, in any units.
    pub area: fn(f64) -> f64,
    /// Where it begins.
    pub inlet: f64,
    /// Where it is narrowest.
    pub throat: f64,
    /// Where it ends.
    pub outlet: f64,
}

/// A normal shock in the nozzle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StandingShock {
    /// Where it stands.
    pub position: f64,
    /// Mach number ahead of it.
    pub mach_ahead: f64,
    /// Total pressure behind over ahead.
    pub total_pressure_ratio: f64,
}

/// Flow through a nozzle.
#[derive(Debug, Clone, Copy)]
pub struct NozzleFlow {
    nozzle: Nozzle,
    gas: PerfectGas,
    /// Mass flow times sqrt(R T0) over inlet total pressure, in the nozzle's unit of area.
    pub reduced_flow: f64,
    /// Whether the diverging part, up to a shock, is supersonic.
    pub supersonic: bool,
    /// The shock, when there is one.
    pub shock: Option<StandingShock>,
}

/// State at one place, relative to the reservoir.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NozzleState {
    /// Mach number.
    pub mach: f64,
    /// Static pressure over inlet total pressure.
    pub pressure_ratio: f64,
    /// Static over total temperature.
    pub temperature_ratio: f64,
}

impl Nozzle {
    /// Anderson's nozzle: one parabola. Area law from memory of Anderson (1995), Computational Fluid Dynamics: The Basics with
    /// Applications, section 7.3; the flow is exact for it whatever its origin.
    pub const ANDERSON: Self =
        Self { area: |x| 1.0 + 2.2 * (x - 1.5) * (x - 1.5), inlet: 0.0, throat: 1.5, outlet: 3.0 };

    /// The same with a slender diverging part, for subsonic flow. As above, section 7.4.
    pub const ANDERSON_SUBSONIC: Self = Self {
        area: |x| 1.0 + if x <= 1.5 { 2.2 } else { 0.2223 } * (x - 1.5) * (x - 1.5),
        inlet: 0.0,
        throat: 1.5,
        outlet: 3.0,
    };

    /// Nozzle of cosines used to verify converging-diverging flow. Area law from memory of AIAA-87-0355.
    pub const COSINES: Self = Self {
        area: |x| {
            let cosine = libm::cos((0.2 * x - 1.0) * std::f64::consts::PI);
            if x <= 5.0 { 1.75 - 0.75 * cosine } else { 1.25 - 0.25 * cosine }
        },
        inlet: 0.0,
        throat: 5.0,
        outlet: 10.0,
    };

    /// Flow at an exit static pressure over inlet total pressure.
    ///
    /// Below the pressure at which the shock has left the nozzle the flow inside no longer depends on it.
    #[must_use]
    pub fn flow(&self, gas: PerfectGas, exit_pressure_ratio: f64) -> NozzleFlow {
        let choked = gas.flow_function(1.0) * (self.area)(self.throat);
        let flow = |reduced_flow, supersonic, shock| NozzleFlow { nozzle: *self, gas, reduced_flow, supersonic, shock };
        let exit_mach = gas.mach_of_pressure_ratio(exit_pressure_ratio);
        let subsonic = gas.flow_function(exit_mach) * (self.area)(self.outlet);
        if exit_mach <= 1.0 && subsonic <= choked {
            return flow(subsonic, false, None);
        }
        let exit_pressure = |position: f64| {
            let shock = standing_shock(self, gas, choked, position)?;
            flow(choked, true, Some(shock)).at(self.outlet).map(|state| state.pressure_ratio)
        };
        let position = bisect(self.throat, self.outlet, |position| {
            exit_pressure(position).unwrap_or(f64::NAN) - exit_pressure_ratio
        });
        flow(choked, true, position.and_then(|position| standing_shock(self, gas, choked, position)))
    }
}

fn standing_shock(nozzle: &Nozzle, gas: PerfectGas, choked: f64, position: f64) -> Option<StandingShock> {
    let mach_ahead = gas.supersonic_mach(choked / (nozzle.area)(position))?;
    let total_pressure_ratio = NormalShock::new(gas.gamma, mach_ahead).total_pressure_ratio;
    Some(StandingShock { position, mach_ahead, total_pressure_ratio })
}

impl NozzleFlow {
    /// State at `position`; `None` outside the range in which the flow fits through the area.
    #[must_use]
    pub fn at(&self, position: f64) -> Option<NozzleState> {
        let behind = self.shock.filter(|shock| position >= shock.position);
        let total_pressure = behind.map_or(1.0, |shock| shock.total_pressure_ratio);
        // The throat of a choked nozzle asks for the largest flow function, up to round-off.
        let largest = self.gas.flow_function(1.0);
        let flow_function = (self.reduced_flow / ((self.nozzle.area)(position) * total_pressure)).min(largest);
        let supersonic = self.supersonic && position > self.nozzle.throat && behind.is_none();
        let mach =
            if supersonic { self.gas.supersonic_mach(flow_function) } else { self.gas.subsonic_mach(flow_function) }?;
        Some(NozzleState {
            mach,
            pressure_ratio: total_pressure * self.gas.pressure_ratio(mach),
            temperature_ratio: self.gas.temperature_ratio(mach),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data;
    use approx::assert_relative_eq;

    fn nozzle(case: &str) -> Nozzle {
        match case {
            "anderson_subsonic" => Nozzle::ANDERSON_SUBSONIC,
            case if case.starts_with("anderson") => Nozzle::ANDERSON,
            _ => Nozzle::COSINES,
        }
    }

    #[test]
    fn regimes_and_shocks_agree_with_the_table() {
        for row in data::rows(data::NOZZLES).unwrap() {
            let value = |column: &str| row.number(column).unwrap();
            let flow = nozzle(row.text("case").unwrap()).flow(PerfectGas::AIR, value("pe_p01"));
            assert_relative_eq!(flow.reduced_flow, value("mdot_par"), max_relative = 1e-9);
            assert_relative_eq!(flow.at(flow.nozzle.throat).unwrap().mach, value("M_throat"), max_relative = 1e-7);
            assert_relative_eq!(flow.at(flow.nozzle.outlet).unwrap().mach, value("M_exit"), max_relative = 1e-8);
            assert_eq!(flow.shock.is_some(), row.text("kind") == Ok("shock"));
            if let Some(shock) = flow.shock {
                assert_relative_eq!(shock.position, value("x_shock"), max_relative = 1e-9);
                assert_relative_eq!(shock.mach_ahead, value("M1_shock"), max_relative = 1e-9);
                assert_relative_eq!(shock.total_pressure_ratio, value("p02_p01"), max_relative = 1e-9);
            }
        }
    }

    #[test]
    fn a_pressure_just_above_the_supersonic_exits_leaves_no_shock_inside() {
        // The supersonic exit has 0.160176 of the total pressure; from there to 0.6157 waves stand outside only.
        for exit_pressure in [0.16, 0.1602, 0.5] {
            assert!(Nozzle::COSINES.flow(PerfectGas::AIR, exit_pressure).shock.is_none(), "{exit_pressure}");
        }
    }

    #[test]
    fn profiles_agree_with_the_table() {
        for row in data::rows(data::NOZZLES).unwrap() {
            let case = row.text("case").unwrap();
            let flow = nozzle(case).flow(PerfectGas::AIR, row.number("pe_p01").unwrap());
            for point in data::case(data::NOZZLE_PROFILES, case).unwrap() {
                let value = |column: &str| point.number(column).unwrap();
                let state = flow.at(value("x")).unwrap();
                // At a sonic throat the Mach number goes with the square root of the area, which costs half the digits.
                let tolerance = if (value("M") - 1.0).abs() < 1e-3 { 1e-7 } else { 1e-9 };
                assert_relative_eq!(state.mach, value("M"), max_relative = tolerance);
                assert_relative_eq!(state.pressure_ratio, value("p_p01"), max_relative = tolerance);
                assert_relative_eq!(state.temperature_ratio, value("T_T0"), max_relative = tolerance);
            }
        }
    }
}
