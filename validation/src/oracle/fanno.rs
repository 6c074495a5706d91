//! Adiabatic flow with friction in a duct of constant area.
//!
//! Shapiro (1953), The Dynamics and Thermodynamics of Compressible Fluid Flow, volume 1, chapter 6. The friction factor is Darcy's.

use crate::oracle::perfect_gas::PerfectGas;
use crate::oracle::root::bisect;

/// Lowest Mach number that an inverse looks for.
const LOWEST_MACH: f64 = 1e-6;

impl PerfectGas {
    /// f L*/D: friction factor times the length, in diameters, after which a flow at this Mach number would be sonic.
    #[must_use]
    pub fn fanno_length(&self, mach: f64) -> f64 {
        let (gamma, square) = (self.gamma, mach * mach);
        (1.0 - square) / (gamma * square)
            + 0.5 * (gamma + 1.0) / gamma * libm::log((gamma + 1.0) * square / (2.0 + (gamma - 1.0) * square))
    }

    /// T/T*.
    #[must_use]
    pub fn fanno_temperature(&self, mach: f64) -> f64 {
        self.temperature_ratio(mach) / self.temperature_ratio(1.0)
    }

    /// p/p*.
    #[must_use]
    pub fn fanno_pressure(&self, mach: f64) -> f64 {
        self.fanno_temperature(mach).sqrt() / mach
    }

    /// p0/p0*.
    #[must_use]
    pub fn fanno_total_pressure(&self, mach: f64) -> f64 {
        self.area_ratio(mach)
    }

    /// Subsonic Mach number at f L*/D.
    fn fanno_subsonic_mach(&self, length: f64) -> f64 {
        bisect(LOWEST_MACH, 1.0, |mach| self.fanno_length(mach) - length).unwrap_or(1.0)
    }
}

/// A pipe that a reservoir feeds through an inlet without loss.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FannoPipe {
    /// The gas.
    pub gas: PerfectGas,
    /// Total pressure of the reservoir [Pa].
    pub total_pressure: f64,
    /// Total temperature of the reservoir [K].
    pub total_temperature: f64,
    /// Diameter [m].
    pub diameter: f64,
    /// Length [m].
    pub length: f64,
    /// Darcy friction factor.
    pub friction_factor: f64,
}

/// Flow through a [`FannoPipe`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FannoFlow {
    pipe: FannoPipe,
    /// Mach number at the inlet.
    pub inlet_mach: f64,
    /// Mach number at the outlet; one when choked.
    pub outlet_mach: f64,
    /// Mass flow [kg/s].
    pub mass_flow: f64,
}

/// State at one place of a pipe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FannoState {
    /// Mach number.
    pub mach: f64,
    /// Static pressure [Pa].
    pub pressure: f64,
    /// Static temperature [K].
    pub temperature: f64,
    /// Total pressure [Pa].
    pub total_pressure: f64,
}

impl FannoPipe {
    /// Cross-section [m^2].
    #[must_use]
    pub fn area(&self) -> f64 {
        0.25 * std::f64::consts::PI * self.diameter * self.diameter
    }

    /// Flow against `back_pressure` [Pa] behind the outlet; choked when that is low enough.
    #[must_use]
    pub fn flow(&self, back_pressure: f64) -> FannoFlow {
        let choked = self.gas.fanno_subsonic_mach(self.friction_factor * self.length / self.diameter);
        let inlet_mach =
            bisect(LOWEST_MACH, choked, |mach| self.flow_at(mach).at(self.length).pressure - back_pressure);
        self.flow_at(inlet_mach.unwrap_or(choked))
    }

    /// Flow with a given Mach number at the inlet, not above the one that chokes the outlet.
    #[must_use]
    pub fn flow_at(&self, inlet_mach: f64) -> FannoFlow {
        let mass_flow = self.gas.mass_flow(inlet_mach, self.area(), self.total_pressure, self.total_temperature);
        let mut flow = FannoFlow { pipe: *self, inlet_mach, outlet_mach: inlet_mach, mass_flow };
        flow.outlet_mach = flow.at(self.length).mach;
        flow
    }
}

impl FannoFlow {
    /// State at `position` [m] behind the inlet.
    #[must_use]
    pub fn at(&self, position: f64) -> FannoState {
        let (pipe, gas) = (&self.pipe, &self.pipe.gas);
        let left = gas.fanno_length(self.inlet_mach) - pipe.friction_factor * position / pipe.diameter;
        let mach = gas.fanno_subsonic_mach(left.max(0.0));
        let total_pressure =
            pipe.total_pressure * gas.fanno_total_pressure(mach) / gas.fanno_total_pressure(self.inlet_mach);
        FannoState {
            mach,
            pressure: total_pressure * gas.pressure_ratio(mach),
            temperature: pipe.total_temperature * gas.temperature_ratio(mach),
            total_pressure,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data;
    use approx::assert_relative_eq;

    #[test]
    fn relations_agree_with_the_table() {
        let air = PerfectGas::AIR;
        for row in data::rows(data::FANNO).unwrap() {
            let value = |column: &str| row.number(column).unwrap();
            let mach = value("M");
            assert_relative_eq!(air.fanno_length(mach), value("fD_Lstar_D"), max_relative = 1e-10, epsilon = 1e-14);
            assert_relative_eq!(air.fanno_temperature(mach), value("T_Tstar"), max_relative = 1e-10);
            assert_relative_eq!(air.fanno_pressure(mach), value("p_pstar"), max_relative = 1e-10);
            assert_relative_eq!(air.fanno_total_pressure(mach), value("p0_p0star"), max_relative = 1e-10);
        }
    }

    #[test]
    fn pipes_agree_with_the_table() {
        for row in data::rows(data::FANNO_PIPES).unwrap() {
            let value = |column: &str| row.number(column).unwrap();
            let pipe = FannoPipe {
                gas: PerfectGas::AIR,
                total_pressure: value("p0_Pa"),
                total_temperature: value("T0_K"),
                diameter: value("D_m"),
                length: value("L_m"),
                friction_factor: value("f_darcy"),
            };
            let flow = match row.number("pe_imposed_Pa") {
                Ok(back_pressure) => pipe.flow(back_pressure),
                Err(_) => pipe.flow_at(value("M1")),
            };
            let (inlet, outlet) = (flow.at(0.0), flow.at(pipe.length));
            for (found, column) in [
                (flow.mass_flow, "mdot_kg_s"),
                (inlet.mach, "M1"),
                (inlet.pressure, "p1_Pa"),
                (inlet.temperature, "T1_K"),
                (outlet.mach, "M2"),
                (outlet.pressure, "p2_Pa"),
                (outlet.temperature, "T2_K"),
                (outlet.total_pressure, "p02_Pa"),
                (pipe.total_pressure - outlet.total_pressure, "p0_loss_Pa"),
            ] {
                assert_relative_eq!(found, value(column), max_relative = 2e-8);
            }
        }
    }
}
