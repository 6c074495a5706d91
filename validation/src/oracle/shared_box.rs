//! A box that an open duct feeds and from which two tubes lead to draws: its steady flow.
//!
//! Isentropic ducts (NACA Report 1135) between handbook losses: at an inlet K velocity heads of the duct behind it, at the end of the
//! feed the whole velocity head. The left draw takes a mass flow, the right one a corrected flow, m sqrt(T0) / p0.

use crate::oracle::perfect_gas::PerfectGas;
use crate::oracle::root::bisect;
use std::f64::consts::PI;

/// A duct of constant area without friction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tube {
    /// Length [m].
    pub length: f64,
    /// Diameter [m].
    pub diameter: f64,
    /// Velocity heads that its inlet costs.
    pub inlet_loss: f64,
}

/// The box with its ducts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SharedBox {
    /// The gas.
    pub gas: PerfectGas,
    /// Pressure outside [Pa].
    pub pressure: f64,
    /// Temperature outside [K].
    pub temperature: f64,
    /// From the outside to the box.
    pub feed: Tube,
    /// Volume of the box [m^3].
    pub volume: f64,
    /// From the box to the left draw.
    pub left: Tube,
    /// From the box to the right draw.
    pub right: Tube,
    /// Mass flow that the left draw takes [kg/s].
    pub left_flow: f64,
    /// Mass flow that the right draw would take in the state outside [kg/s].
    pub right_flow: f64,
}

/// A stream in a tube.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stream {
    /// Mass flow [kg/s].
    pub mass_flow: f64,
    /// Mach number.
    pub mach: f64,
    /// Static pressure [Pa].
    pub pressure: f64,
    /// Static temperature [K].
    pub temperature: f64,
    /// Total pressure [Pa].
    pub total_pressure: f64,
    /// Total temperature [K].
    pub total_temperature: f64,
}

impl Tube {
    /// Cross-section [m^2].
    #[must_use]
    pub fn area(&self) -> f64 {
        0.25 * PI * self.diameter * self.diameter
    }

    /// The stream of a mass flow [kg/s] that enters from air at rest; `None` when the tube cannot take it.
    #[must_use]
    pub fn entered(&self, gas: PerfectGas, pressure: f64, temperature: f64, mass_flow: f64) -> Option<Stream> {
        let total =
            |mach: f64| mass_flow * (gas.gas_constant * temperature).sqrt() / (self.area() * gas.flow_function(mach));
        let head = |mach: f64| 0.5 * gas.gamma * mach * mach * gas.pressure_ratio(mach) * total(mach);
        // Of the two flows that lose the same the slower one is meant; an inlet works far below this.
        let mach = bisect(1e-15, 0.7, |mach| total(mach) + self.inlet_loss * head(mach) - pressure)?;
        let total_pressure = total(mach);
        Some(Stream {
            mass_flow,
            mach,
            pressure: total_pressure * gas.pressure_ratio(mach),
            temperature: temperature * gas.temperature_ratio(mach),
            total_pressure,
            total_temperature: temperature,
        })
    }
}

impl Stream {
    /// Density [kg/m^3].
    #[must_use]
    pub fn density(&self, gas: PerfectGas) -> f64 {
        self.pressure / (gas.gas_constant * self.temperature)
    }

    /// Velocity [m/s].
    #[must_use]
    pub fn velocity(&self, gas: PerfectGas) -> f64 {
        self.mach * gas.sound_speed(self.temperature)
    }

    /// Velocity head, half rho V^2 [Pa].
    #[must_use]
    pub fn head(&self, gas: PerfectGas) -> f64 {
        0.5 * gas.gamma * self.mach * self.mach * self.pressure
    }
}

/// The steady flow of a [`SharedBox`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SteadyFlow {
    /// In the feed.
    pub feed: Stream,
    /// In the left tube.
    pub left: Stream,
    /// In the right tube.
    pub right: Stream,
}

impl SteadyFlow {
    /// Pressure in the box [Pa].
    #[must_use]
    pub fn box_pressure(&self) -> f64 {
        self.feed.pressure
    }
}

impl SharedBox {
    /// About the size of the demo car's: thin lips at the mouth, sharp edges in the box.
    pub const EXAMPLE: Self = Self {
        gas: PerfectGas::AIR,
        pressure: 1e5,
        temperature: 300.0,
        feed: Tube { length: 0.4, diameter: 0.08, inlet_loss: 1.0 },
        volume: 0.008,
        left: Tube { length: 0.4, diameter: 0.06, inlet_loss: 0.5 },
        right: Tube { length: 0.5, diameter: 0.06, inlet_loss: 0.5 },
        left_flow: 0.08,
        right_flow: 0.08,
    };

    /// The steady flow; `None` when a tube chokes.
    #[must_use]
    pub fn steady(&self) -> Option<SteadyFlow> {
        let excess = |flow: f64| {
            let taken =
                self.with_right(flow).map(|steady| self.right_flow * steady.right.total_pressure / self.pressure);
            flow - taken.unwrap_or(f64::NAN)
        };
        self.with_right(bisect(1e-9 * self.right_flow, self.right_flow, excess)?)
    }

    /// The flow with a mass flow [kg/s] through the right tube.
    fn with_right(&self, flow: f64) -> Option<SteadyFlow> {
        let (gas, temperature) = (self.gas, self.temperature);
        let feed = self.feed.entered(gas, self.pressure, temperature, self.left_flow + flow)?;
        let left = self.left.entered(gas, feed.pressure, temperature, self.left_flow)?;
        let right = self.right.entered(gas, feed.pressure, temperature, flow)?;
        Some(SteadyFlow { feed, left, right })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BOX: SharedBox = SharedBox::EXAMPLE;

    #[test]
    fn slow_flow_loses_heads_of_constant_density() {
        let scale = 0.1;
        let slow = SharedBox { left_flow: scale * BOX.left_flow, right_flow: scale * BOX.right_flow, ..BOX };
        let steady = slow.steady().unwrap();
        let density = 1e5 / (287.05 * 300.0);
        let head = |flow: f64, tube: &Tube| 0.5 * (flow / tube.area()) * (flow / tube.area()) / density;
        let in_box = 1e5 - steady.box_pressure();
        assert!((in_box / (2.0 * head(0.016, &slow.feed)) - 1.0).abs() < 1e-3);
        let lost = 1e5 - steady.right.total_pressure;
        assert!((lost / (2.0 * head(0.016, &slow.feed) + 0.5 * head(0.008, &slow.right)) - 1.0).abs() < 1e-3);
    }

    #[test]
    fn the_right_draw_takes_less_the_more_the_left_takes() {
        let flow = |left_flow: f64| SharedBox { left_flow, ..BOX }.steady().unwrap().right.mass_flow;
        assert!(flow(0.16) < flow(0.08) && flow(0.08) < 0.08);
    }
}
