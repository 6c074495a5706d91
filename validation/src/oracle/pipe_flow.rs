//! Steady flow with area change, friction and wall heat at once, by integrating along the pipe.
//!
//! Shapiro (1953), The Dynamics and Thermodynamics of Compressible Fluid Flow, volume 1, chapter 8, table 8.1, in the form
//! d(ln p0)/dx = -gamma M^2/2 (f/D + d(ln T0)/dx). The area enters through the Mach number alone, so a change of area without
//! friction and heat keeps the total pressure to the last bit.

use crate::oracle::perfect_gas::PerfectGas;

/// Steps along the whole pipe: the classical fourth-order method leaves an error far below 1e-10 of the loss with them.
const STEPS: f64 = 1000.0;

/// A round pipe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pipe {
    /// The gas.
    pub gas: PerfectGas,
    /// Diameter at the inlet [m].
    pub inlet_diameter: f64,
    /// Diameter at the outlet [m]; it changes linearly between the two.
    pub outlet_diameter: f64,
    /// Length [m].
    pub length: f64,
    /// Darcy friction factor.
    pub friction_factor: f64,
    /// Heat that the wall gives to the gas [W/m].
    pub heat: f64,
}

/// A stream at the inlet of a pipe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Inlet {
    /// Mass flow [kg/s].
    pub mass_flow: f64,
    /// Total pressure [Pa].
    pub total_pressure: f64,
    /// Total temperature [K].
    pub total_temperature: f64,
}

/// State at one place of a pipe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Station {
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

impl Pipe {
    /// A cone with friction in which the joint and the cell errors of a steady march show: 0.6 m from 100 mm to 70 mm, f = 0.018.
    pub const CONE: Self = Self {
        gas: PerfectGas::AIR,
        inlet_diameter: 0.1,
        outlet_diameter: 0.07,
        length: 0.6,
        friction_factor: 0.018,
        heat: 0.0,
    };

    /// Diameter [m] at `position` [m].
    #[must_use]
    pub fn diameter(&self, position: f64) -> f64 {
        self.inlet_diameter + (self.outlet_diameter - self.inlet_diameter) * position / self.length
    }

    /// Area [m^2] at `position` [m].
    #[must_use]
    pub fn area(&self, position: f64) -> f64 {
        0.25 * std::f64::consts::PI * self.diameter(position) * self.diameter(position)
    }

    /// State at `position` [m] behind the inlet; `None` when the pipe chokes before it.
    #[must_use]
    pub fn at(&self, inlet: &Inlet, position: f64) -> Option<Station> {
        self.along(inlet, [position])?.pop()
    }

    /// States at `positions` [m] behind the inlet, rising; `None` when the pipe chokes before the last.
    #[must_use]
    pub fn along(&self, inlet: &Inlet, positions: impl IntoIterator<Item = f64>) -> Option<Vec<Station>> {
        let (mut start, mut total_pressure) = (0.0, inlet.total_pressure);
        let state = |position: f64| {
            total_pressure = self.advance(inlet, start, position, total_pressure)?;
            start = position;
            self.station(inlet, position, total_pressure)
        };
        positions.into_iter().map(state).collect()
    }

    /// Total pressure [Pa] at `end` [m] from that at `start`, by the classical method of Runge and Kutta.
    fn advance(&self, inlet: &Inlet, start: f64, end: f64, mut total_pressure: f64) -> Option<f64> {
        let steps = ((end - start) / self.length * STEPS).ceil().max(1.0);
        let step = (end - start) / steps;
        for index in 0..steps as u32 {
            let start = start + f64::from(index) * step;
            let slope = |ahead: f64, change: f64| self.loss_slope(inlet, start + ahead * step, total_pressure + change);
            let first = slope(0.0, 0.0)?;
            let second = slope(0.5, 0.5 * step * first)?;
            let third = slope(0.5, 0.5 * step * second)?;
            let fourth = slope(1.0, step * third)?;
            total_pressure += step / 6.0 * (first + 2.0 * second + 2.0 * third + fourth);
        }
        Some(total_pressure)
    }

    /// Fall of total pressure [Pa] over the whole pipe; `None` when it chokes.
    #[must_use]
    pub fn total_pressure_loss(&self, inlet: &Inlet) -> Option<f64> {
        self.at(inlet, self.length).map(|outlet| inlet.total_pressure - outlet.total_pressure)
    }

    fn loss_slope(&self, inlet: &Inlet, position: f64, total_pressure: f64) -> Option<f64> {
        let station = self.station(inlet, position, total_pressure)?;
        let warming = self.total_temperature_slope(inlet) / station.total_temperature;
        let friction = self.friction_factor / self.diameter(position);
        Some(-total_pressure * 0.5 * self.gas.gamma * station.mach * station.mach * (friction + warming))
    }

    fn total_temperature_slope(&self, inlet: &Inlet) -> f64 {
        self.heat / (inlet.mass_flow * self.gas.heat_capacity())
    }

    fn station(&self, inlet: &Inlet, position: f64, total_pressure: f64) -> Option<Station> {
        let total_temperature = inlet.total_temperature + self.total_temperature_slope(inlet) * position;
        let reduced_flow = inlet.mass_flow * (self.gas.gas_constant * total_temperature).sqrt();
        let mach = self.gas.subsonic_mach(reduced_flow / (self.area(position) * total_pressure))?;
        Some(Station {
            mach,
            pressure: total_pressure * self.gas.pressure_ratio(mach),
            temperature: total_temperature * self.gas.temperature_ratio(mach),
            total_pressure,
            total_temperature,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data;
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    /// Inlet and outlet diameter, length, friction factor and heat per metre, from the head of the table.
    const PIPES: [(&str, [f64; 5]); 3] = [
        ("taper_friction_heat", [0.08, 0.06, 1.0, 0.02, 3000.0]),
        ("constant_area_friction_fanno", [0.06, 0.06, 3.0, 0.025, 0.0]),
        ("nozzle_no_loss", [0.09, 0.06, 0.5, 0.0, 0.0]),
    ];

    #[test]
    fn stations_agree_with_the_table() {
        for (case, [inlet_diameter, outlet_diameter, length, friction_factor, heat]) in PIPES {
            let gas = PerfectGas::AIR;
            let pipe = Pipe { gas, inlet_diameter, outlet_diameter, length, friction_factor, heat };
            let rows = data::case(data::PIPE_FLOW, case).unwrap();
            let first = |column: &str| rows[0].number(column).unwrap();
            let inlet = Inlet {
                mass_flow: first("mdot_kg_s"),
                total_pressure: first("p0_Pa"),
                total_temperature: first("T0_K"),
            };
            for row in &rows {
                let value = |column: &str| row.number(column).unwrap();
                let station = pipe.at(&inlet, value("x_m")).unwrap();
                assert_relative_eq!(station.mach, value("M"), max_relative = 3e-8);
                assert_relative_eq!(station.pressure, value("p_Pa"), max_relative = 1e-8);
                assert_relative_eq!(station.temperature, value("T_K"), max_relative = 1e-8);
                assert_relative_eq!(station.total_pressure, value("p0_Pa"), max_relative = 1e-8);
                assert_relative_eq!(station.total_temperature, value("T0_K"), max_relative = 1e-8);
            }
        }
    }

    #[test]
    fn the_cone_loses_what_an_integration_of_its_own_gives() {
        // Both pressure and temperature of the inlet are total values: static ones would give 81.51 to 81.82 Pa.
        let inlet = Inlet { mass_flow: 0.2, total_pressure: 98_586.0, total_temperature: 300.0 };
        assert_abs_diff_eq!(Pipe::CONE.total_pressure_loss(&inlet).unwrap(), 81.75, epsilon = 0.005);
    }

    #[test]
    fn a_choked_cone_is_told() {
        let inlet = Inlet { mass_flow: 2.0, total_pressure: 98_586.0, total_temperature: 300.0 };
        assert_eq!(Pipe::CONE.total_pressure_loss(&inlet), None);
    }
}
