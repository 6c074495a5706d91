//! The compressor: total-to-total pressure ratio and efficiency over corrected flow and corrected speed.
//!
//! The pressure ratio falls with flow everywhere. A measured speed line turns down again left of its top; there the flow through a
//! compressor has no steady answer alone, so that the line goes on with a slight rise to the left, and the margin to surge is
//! reported instead.

mod generic;
mod rows;
mod speed_lines;
mod table;
#[cfg(test)]
mod tests;

pub use generic::Generic;
pub use rows::{MapFault, MapRow};
pub use speed_lines::SpeedLines;
pub use table::{TableFault, read_rows};

/// A compressor's map.
#[derive(Debug, Clone, PartialEq)]
pub enum Compressor {
    /// From measured speed lines.
    Map(SpeedLines),
    /// A parametric form scaled to one design point.
    Generic(Generic),
}

impl Compressor {
    /// Total-to-total pressure ratio at `corrected_flow` [kg/s] and `corrected_speed` [rad/s].
    ///
    /// Above zero; falls strictly with flow from nothing on; one at rest without flow. A speed below nothing counts as nothing.
    #[must_use]
    pub fn pressure_ratio(&self, corrected_flow: f64, corrected_speed: f64) -> f64 {
        let raw = match self {
            Self::Map(map) => map.raw_pressure_ratio(corrected_flow, corrected_speed),
            Self::Generic(generic) => generic.raw_pressure_ratio(corrected_flow, corrected_speed),
        };
        above_nothing(raw)
    }

    /// Isentropic total-to-total efficiency at `corrected_flow` [kg/s] and `corrected_speed` [rad/s], never below a floor of 0.3, or
    /// of three quarters of the lowest efficiency measured where that is less than 0.4.
    #[must_use]
    pub fn efficiency(&self, corrected_flow: f64, corrected_speed: f64) -> f64 {
        match self {
            Self::Map(map) => map.efficiency(corrected_flow, corrected_speed),
            Self::Generic(generic) => generic.efficiency(corrected_flow, corrected_speed),
        }
    }

    /// Corrected flow [kg/s] at which the compressor surges at `corrected_speed` [rad/s].
    #[must_use]
    pub fn surge_flow(&self, corrected_speed: f64) -> f64 {
        match self {
            Self::Map(map) => map.surge_flow(corrected_speed),
            Self::Generic(generic) => generic.surge_flow(corrected_speed),
        }
    }

    /// Corrected flow [kg/s] at which it chokes at `corrected_speed` [rad/s].
    #[must_use]
    pub fn choke_flow(&self, corrected_speed: f64) -> f64 {
        match self {
            Self::Map(map) => map.choke_flow(corrected_speed),
            Self::Generic(generic) => generic.choke_flow(corrected_speed),
        }
    }

    /// Highest corrected speed [rad/s] that the wheel may have.
    #[must_use]
    pub fn speed_limit(&self) -> f64 {
        match self {
            Self::Map(map) => map.speed_limit(),
            Self::Generic(generic) => generic.speed_limit(),
        }
    }

    /// The state to which flow and speed are corrected.
    #[must_use]
    pub fn reference(&self) -> Reference {
        match self {
            Self::Map(map) => map.reference(),
            Self::Generic(generic) => generic.reference(),
        }
    }
}

/// The total state at the inlet for which a map's flows and speeds hold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reference {
    /// Total pressure [Pa].
    pub pressure: f64,
    /// Total temperature [K].
    pub temperature: f64,
}

impl Reference {
    /// Corrected flow [kg/s] of `flow` [kg/s] at the inlet's total pressure `p01` [Pa] and total temperature `t01` [K]: the flow at
    /// the reference with the same Mach numbers. Saravanamuttoo et al., Gas Turbine Theory, 6th ed., section 4.6.
    #[must_use]
    pub fn corrected_flow(&self, flow: f64, p01: f64, t01: f64) -> f64 {
        flow * (t01 / self.temperature).sqrt() * self.pressure / p01
    }

    /// Corrected speed [rad/s] of `speed` [rad/s] at the inlet's total temperature `t01` [K].
    #[must_use]
    pub fn corrected_speed(&self, speed: f64, t01: f64) -> f64 {
        speed * (self.temperature / t01).sqrt()
    }
}

/// Work [J/kg] that brings a perfect gas of isobaric `heat_capacity` [J/(kg K)] and ratio of heats `gamma` from total temperature
/// `t01` [K] to `pressure_ratio` with isentropic `efficiency`. Saravanamuttoo et al., Gas Turbine Theory, 6th ed., chapter 2.
#[must_use]
pub fn work(heat_capacity: f64, gamma: f64, t01: f64, pressure_ratio: f64, efficiency: f64) -> f64 {
    heat_capacity * (outlet_temperature(gamma, t01, pressure_ratio, efficiency) - t01)
}

/// Total temperature [K] behind the compressor; arguments as of [`work`].
#[must_use]
pub fn outlet_temperature(gamma: f64, t01: f64, pressure_ratio: f64, efficiency: f64) -> f64 {
    t01 * (1.0 + (libm::pow(pressure_ratio, (gamma - 1.0) / gamma) - 1.0) / efficiency)
}

/// A pressure ratio as it is from one on; below one it goes on with the same slope and ends above nothing.
fn above_nothing(raw: f64) -> f64 {
    if raw >= 1.0 { raw } else { 1.0 / (2.0 - raw) }
}
