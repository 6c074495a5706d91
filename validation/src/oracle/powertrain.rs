//! A turbocharged engine as a mean over its cycle, by the closed formulas of the books.

use std::f64::consts::PI;

/// Temperature [K] behind a compressor that brings a perfect gas from `t01` [K] to `ratio` with isentropic `efficiency`. Saravanamuttoo
/// et al., Gas Turbine Theory, 6th ed., eq. 2.11.
#[must_use]
pub fn compressed(t01: f64, ratio: f64, efficiency: f64, gamma: f64) -> f64 {
    let ideal = t01 * libm::exp(libm::log(ratio) * (1.0 - 1.0 / gamma));
    t01 + (ideal - t01) / efficiency
}

/// Air [kg/s] that a four-stroke of displaced `volume` [m^3] takes at `crank` [rad/s] from a charge of `density` [kg/m^3]. Heywood,
/// Internal Combustion Engine Fundamentals (1988), section 2.10.
#[must_use]
pub fn speed_density(filling: f64, volume: f64, crank: f64, density: f64) -> f64 {
    let cycles = crank / (2.0 * PI) / 2.0;
    cycles * filling * density * volume
}

/// Value at `x` of the parabola through three points. Lagrange's form; Abramowitz and Stegun (1964), 25.2.
#[must_use]
pub fn parabola(points: [(f64, f64); 3], x: f64) -> f64 {
    let term = |at: usize| {
        let others = (0..3).filter(|other| *other != at);
        points[at].1 * others.map(|other| (x - points[other].0) / (points[at].0 - points[other].0)).product::<f64>()
    };
    (0..3).map(term).sum()
}

/// Mean effective pressures [Pa] over `volume` [m^3] as torque [N m] of a four-stroke. Heywood (1988), eq. 2.20.
#[must_use]
pub fn torque_of_pressure(mean_effective: f64, volume: f64) -> f64 {
    mean_effective * volume / (4.0 * PI)
}

/// Burnt gas that flows from a total pressure and temperature to a pressure behind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Burnt {
    /// Ratio of heat capacities.
    pub gamma: f64,
    /// Specific gas constant [J/(kg K)].
    pub gas_constant: f64,
    /// Total pressure before [Pa].
    pub pressure: f64,
    /// Total temperature before [K].
    pub temperature: f64,
    /// Pressure behind [Pa].
    pub behind: f64,
}

impl Burnt {
    fn ratio(&self) -> f64 {
        self.behind / self.pressure
    }

    /// Flow of a turbine that passes `known_flow` at the state `known`: Stodola's ellipse (Steam and Gas Turbines, 1927), from memory.
    #[must_use]
    pub fn ellipse_flow(&self, known: &Self, known_flow: f64) -> f64 {
        let arc = |state: &Self| (1.0 - state.ratio() * state.ratio()).sqrt();
        let reduced = self.pressure / known.pressure * (known.temperature / self.temperature).sqrt();
        known_flow * reduced * arc(self) / arc(known)
    }

    /// Half the square of the spouting speed: work [J/kg] of the ideal expansion.
    #[must_use]
    pub fn ideal_work(&self) -> f64 {
        let exponent = (self.gamma - 1.0) / self.gamma;
        let heat_capacity = self.gas_constant / exponent;
        heat_capacity * self.temperature * (1.0 - libm::exp(exponent * libm::log(self.ratio())))
    }

    /// Work [J/kg] of a wheel of tip speed `tip` [m/s] whose efficiency is a parabola through `best` at `best_ratio` of the spouting
    /// speed. Watson and Janota, Turbocharging the Internal Combustion Engine (1982), from memory.
    #[must_use]
    pub fn work(&self, tip: f64, best: f64, best_ratio: f64) -> f64 {
        let share = tip / (2.0 * self.ideal_work()).sqrt() / best_ratio;
        let off = share - 1.0;
        best * (1.0 - off * off) * self.ideal_work()
    }

    /// Flow [kg/s] through a nozzle of `area` [m^2], choked or not. NACA Report 1135 (1953), eq. 44 and 80, through the Mach number.
    #[must_use]
    pub fn nozzle_flow(&self, area: f64) -> f64 {
        let half = 0.5 * (self.gamma - 1.0);
        let expanded = libm::exp(-libm::log(self.ratio()) * (self.gamma - 1.0) / self.gamma);
        let mach = ((expanded - 1.0) / half).sqrt().min(1.0);
        let cooling = 1.0 + half * mach * mach;
        let thinning = libm::exp(-0.5 * (self.gamma + 1.0) / (self.gamma - 1.0) * libm::log(cooling));
        area * self.pressure * (self.gamma / (self.gas_constant * self.temperature)).sqrt() * mach * thinning
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    const GAS: Burnt = Burnt { gamma: 1.4, gas_constant: 287.05, pressure: 2e5, temperature: 300.0, behind: 1e5 };

    #[test]
    fn a_nozzle_chokes_at_the_published_flow_function() {
        // m sqrt(R T0) / (A p0) of air at Mach 1 is 0.6847; NACA Report 1135.
        let choked = GAS.nozzle_flow(1.0) * (287.05_f64 * 300.0).sqrt() / 2e5;
        assert_relative_eq!(choked, 0.6847, max_relative = 1e-4);
        let more = Burnt { behind: 1.5e5, ..GAS }.nozzle_flow(1.0);
        assert!(more < 0.99 * GAS.nozzle_flow(1.0) && more > 0.8 * GAS.nozzle_flow(1.0));
    }

    #[test]
    fn a_turbine_is_best_where_it_is_said_to_be() {
        let tip = 0.7 * (2.0 * GAS.ideal_work()).sqrt();
        assert_relative_eq!(GAS.work(tip, 0.68, 0.7), 0.68 * GAS.ideal_work(), max_relative = 1e-14);
        assert!(GAS.work(1.1 * tip, 0.68, 0.7) < GAS.work(tip, 0.68, 0.7));
        assert_relative_eq!(GAS.ellipse_flow(&GAS, 0.1), 0.1, max_relative = 1e-14);
    }

    #[test]
    fn round_numbers_come_out() {
        // Ratio 4 from 288 K at efficiency 0.85: 164.7 K more at gamma 1.4; worked by hand.
        assert_relative_eq!(compressed(288.0, 4.0, 0.85, 1.4), 288.0 + 164.66, max_relative = 1e-4);
        // Two litres at 6000 rpm and density 1.2: 0.12 kg/s.
        assert_relative_eq!(speed_density(1.0, 2e-3, 200.0 * PI, 1.2), 0.12, max_relative = 1e-14);
        assert_relative_eq!(parabola([(0.0, 1.0), (1.0, 2.0), (2.0, 5.0)], 3.0), 10.0, max_relative = 1e-14);
        // 10 bar over two litres: 159.2 N m.
        assert_relative_eq!(torque_of_pressure(1e6, 2e-3), 159.155, max_relative = 1e-5);
    }
}
