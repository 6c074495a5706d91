//! The turbine and the wastegate beside it.

use super::root::signed_root;
use crate::heat::ease::larger;

/// Share of pressure or energy drop below which a root goes over into a cubic through nothing.
const REACH: f64 = 0.01;

/// Burnt gas as a perfect gas.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ExhaustGas {
    /// Ratio of specific heats.
    pub gamma: f64,
    /// Specific gas constant [J/(kg K)].
    pub gas_constant: f64,
}

impl ExhaustGas {
    /// Isobaric heat capacity [J/(kg K)].
    #[must_use]
    pub fn heat_capacity(&self) -> f64 {
        self.gas_constant * self.gamma / (self.gamma - 1.0)
    }

    /// Share of the inlet's enthalpy that an isentropic expansion from `p_in` to `p_out` [Pa] gives; below nothing when it rises.
    fn drop(&self, p_in: f64, p_out: f64) -> f64 {
        1.0 - libm::pow(p_out / p_in, (self.gamma - 1.0) / self.gamma)
    }
}

/// A radial turbine with fixed inlet guide passages.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turbine {
    /// Effective area [m^2]: that of an orifice without contraction that passes the same flow at a small pressure difference.
    pub area: f64,
    /// Best efficiency, total to static.
    pub efficiency: f64,
    /// Blade speed ratio, tip speed over the speed of the isentropic expansion, at which it is reached.
    pub best_blade_speed_ratio: f64,
    /// Radius of the wheel's inducer [m].
    pub wheel_radius: f64,
}

impl Turbine {
    /// The turbine that passes `flow` [kg/s] between `p_in` [Pa, total], `t_in` [K, total] and `p_out` [Pa, static]. All above
    /// nothing, `p_in` above `p_out`.
    #[must_use]
    pub fn matched(
        flow: f64,
        gas: &ExhaustGas,
        [p_in, t_in, p_out]: [f64; 3],
        [efficiency, best_blade_speed_ratio, wheel_radius]: [f64; 3],
    ) -> Self {
        let unit = Self { area: 1.0, efficiency, best_blade_speed_ratio, wheel_radius };
        Self { area: flow / unit.flow(gas, p_in, t_in, p_out), ..unit }
    }

    /// Mass flow [kg/s] from `p_in` [Pa, total], `t_in` [K, total] to `p_out` [Pa, static]; backwards below nothing.
    ///
    /// A turbine drops its pressure in stator and rotor, and chokes more softly than a nozzle: `m sqrt(R T) / (A p) =
    /// sqrt(1 - (p_out / p_in)^2)`. Stodola's law of the ellipse (Steam and Gas Turbines, 1927), and the form `k sqrt(1 - Pi^K)` of
    /// Eriksson and Nielsen (2014) with K = 2; both from memory. Below a drop of half a percent the root goes over into a cubic.
    #[must_use]
    pub fn flow(&self, gas: &ExhaustGas, p_in: f64, t_in: f64, p_out: f64) -> f64 {
        let high = p_in.max(p_out);
        let drop = (p_in - p_out) * (p_in + p_out) / (high * high);
        self.area * high / (gas.gas_constant * t_in).sqrt() * signed_root(drop, REACH)
    }

    /// Speed [m/s] of the isentropic expansion; with the sign of the pressure difference.
    fn spouting_speed(gas: &ExhaustGas, p_in: f64, t_in: f64, p_out: f64) -> f64 {
        (2.0 * gas.heat_capacity() * t_in).sqrt() * signed_root(gas.drop(p_in, p_out), REACH)
    }

    /// Work over flow and shaft speed [J s/(kg rad)].
    fn torque_per_flow(&self, gas: &ExhaustGas, speed: f64, [p_in, t_in, p_out]: [f64; 3]) -> f64 {
        let spouting = Self::spouting_speed(gas, p_in, t_in, p_out);
        let best = self.best_blade_speed_ratio;
        self.efficiency * self.wheel_radius * (spouting - 0.5 * speed * self.wheel_radius / best) / best
    }

    /// Efficiency, total to static, at shaft `speed` [rad/s]: a parabola over the blade speed ratio through nothing at rest. Watson
    /// and Janota, Turbocharging the Internal Combustion Engine (1982). Beyond twice the best ratio it is below nothing, the
    /// wheel brakes; it ends at minus one, since no drop at all has no efficiency.
    #[must_use]
    pub fn efficiency(&self, gas: &ExhaustGas, speed: f64, p_in: f64, t_in: f64, p_out: f64) -> f64 {
        /// Least spouting speed, over the speed of sound at the inlet or so, that divides.
        const LEAST: f64 = 1e-6;
        let spouting = Self::spouting_speed(gas, p_in, t_in, p_out);
        let divisor = larger(spouting, LEAST * t_in.sqrt(), LEAST * t_in.sqrt());
        let ratio = speed * self.wheel_radius / (divisor * self.best_blade_speed_ratio);
        larger(self.efficiency * ratio * (2.0 - ratio), -1.0, 0.5)
    }

    /// Work [J/kg] that the gas gives to the wheel at shaft `speed` [rad/s]: the ideal work times the parabola of
    /// [`Turbine::efficiency`] without its end, written so that nothing is divided by a drop that may vanish.
    #[must_use]
    pub fn work_per_mass(&self, gas: &ExhaustGas, speed: f64, p_in: f64, t_in: f64, p_out: f64) -> f64 {
        speed * self.torque_per_flow(gas, speed, [p_in, t_in, p_out])
    }

    /// Torque [N m] on the shaft at `speed` [rad/s], at rest too; a gas that flows backwards gives none of either sign.
    #[must_use]
    pub fn torque(&self, gas: &ExhaustGas, speed: f64, p_in: f64, t_in: f64, p_out: f64) -> f64 {
        // With the flow's own cubic near nothing the corner at nothing is one of the third order.
        let flow = self.flow(gas, p_in, t_in, p_out).max(0.0);
        flow * self.torque_per_flow(gas, speed, [p_in, t_in, p_out])
    }
}

/// The valve that leads gas past the turbine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wastegate {
    /// Effective area [m^2] wide open.
    pub area: f64,
    /// Largest opening that its actuator gives, as a share of wide open.
    pub most: f64,
}

impl Wastegate {
    /// Mass flow [kg/s] at `opening`, taken as nothing below it and as `most` above, from `p_in` [Pa, total], `t_in` [K, total] to
    /// `p_out` [Pa]; backwards below nothing.
    ///
    /// Isentropic nozzle, choked below the critical pressure ratio. Heywood, Internal Combustion Engine Fundamentals (1988),
    /// appendix C. Below a drop of one percent the root goes over into a cubic.
    #[must_use]
    pub fn flow(&self, gas: &ExhaustGas, opening: f64, p_in: f64, t_in: f64, p_out: f64) -> f64 {
        let (high, low) = (p_in.max(p_out), p_in.min(p_out));
        let area = self.area * opening.clamp(0.0, self.most);
        let flow = area * high / (gas.gas_constant * t_in).sqrt() * nozzle(gas.gamma, low / high);
        flow.copysign(p_in - p_out)
    }
}

/// `m sqrt(R T) / (A p)` of a nozzle at the ratio of pressure behind to before it, at most one.
fn nozzle(gamma: f64, ratio: f64) -> f64 {
    let critical = libm::pow(2.0 / (gamma + 1.0), gamma / (gamma - 1.0));
    let square = |ratio: f64| {
        let part = libm::pow(ratio, 2.0 / gamma);
        2.0 * gamma / (gamma - 1.0) * (part - libm::pow(ratio, (gamma + 1.0) / gamma))
    };
    if ratio <= 1.0 - REACH {
        return square(ratio.max(critical)).sqrt();
    }
    // The odd cubic in the drop that meets value and slope where it begins.
    let edge = 1.0 - REACH;
    let value = square(edge).sqrt();
    let rise = (gamma + 1.0) / gamma * libm::pow(edge, 1.0 / gamma) - 2.0 / gamma * libm::pow(edge, 2.0 / gamma - 1.0);
    let slope = gamma / (gamma - 1.0) * rise / value * REACH;
    let bend = 0.5 * (slope - value);
    let t = (1.0 - ratio) / REACH;
    t * (value - bend + bend * t * t)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::powertrain::finite::{falls, is_smooth};

    const GAS: ExhaustGas = ExhaustGas { gamma: 1.33, gas_constant: 287.0 };
    const TURBINE: Turbine = Turbine { area: 1e-3, efficiency: 0.7, best_blade_speed_ratio: 0.65, wheel_radius: 0.03 };
    const GATE: Wastegate = Wastegate { area: 6e-4, most: 0.9 };

    #[test]
    fn a_matched_turbine_passes_the_flow() {
        for (flow, p_in, p_out) in [(0.2, 2.2e5, 1.3e5), (0.01, 1.05e5, 1.0e5), (0.4, 6e5, 1e5), (0.001, 1.001e5, 1e5)]
        {
            let turbine = Turbine::matched(flow, &GAS, [p_in, 1150.0, p_out], [0.7, 0.65, 0.03]);
            assert!((turbine.flow(&GAS, p_in, 1150.0, p_out) / flow - 1.0).abs() < 1e-14);
        }
    }

    #[test]
    fn a_small_drop_passes_what_an_orifice_of_the_area_does() {
        let (p_in, p_out, temperature) = (1.02e5, 1e5, 1000.0);
        let orifice = (2.0 * p_in / (GAS.gas_constant * temperature) * (p_in - p_out)).sqrt();
        let turbine = TURBINE.flow(&GAS, p_in, temperature, p_out) / TURBINE.area;
        let gate = GATE.flow(&GAS, 0.5, p_in, temperature, p_out) / (0.5 * GATE.area);
        assert!(
            (turbine / orifice - 1.0).abs() < 0.01 && (gate / orifice - 1.0).abs() < 0.02,
            "{turbine} {gate} {orifice}"
        );
    }

    #[test]
    fn a_choked_gate_does_not_feel_the_pressure_behind() {
        let most = GAS.gamma.sqrt() * libm::pow(2.0 / 2.33, 0.5 * 2.33 / 0.33);
        let flow = |p_out| GATE.flow(&GAS, 2.0, 3e5, 1000.0, p_out);
        let exact = most * 0.9 * GATE.area * 3e5 / (GAS.gas_constant * 1000.0_f64).sqrt();
        assert!((flow(1e5) / exact - 1.0).abs() < 1e-12 && (flow(0.0) / exact - 1.0).abs() < 1e-12);
        assert!(GATE.flow(&GAS, -1.0, 3e5, 1000.0, 1e5).abs() < 1e-300);
    }

    #[test]
    fn flows_fall_with_the_pressure_behind_through_nothing() {
        let turbine = |p_out| TURBINE.flow(&GAS, 1.5e5, 1000.0, p_out);
        let gate = |p_out| GATE.flow(&GAS, 0.5, 1.5e5, 1000.0, p_out);
        falls("turbine", [1e3, 3e5], turbine);
        falls("gate", [0.9e5, 2.5e5], gate);
        is_smooth("turbine", [0.0, 3e5], turbine);
        is_smooth("gate", [0.0, 3e5], gate);
        for law in [&turbine as &dyn Fn(f64) -> f64, &gate] {
            let slope = |p_out: f64| (law(p_out + 0.5) - law(p_out - 0.5)) / 1.0;
            for place in [1.5e5, 0.99 * 1.5e5, 1.5e5 / 0.99, 1.5e5 * (1.0 - REACH).sqrt()] {
                let (left, right) = (slope(place - 0.6), slope(place + 0.6));
                assert!((left / right - 1.0).abs() < 0.02, "{place}: {left} {right}");
            }
        }
    }

    #[test]
    fn the_best_blade_speed_ratio_is_the_best() {
        let (p_in, t_in, p_out) = (2.2e5, 1200.0, 1.2e5);
        let ideal = GAS.heat_capacity() * t_in * (1.0 - libm::pow(p_out / p_in, 0.33 / 1.33));
        let best = 0.65 * (2.0 * ideal).sqrt() / 0.03;
        let efficiency = |speed| TURBINE.efficiency(&GAS, speed, p_in, t_in, p_out);
        assert!((efficiency(best) - 0.7).abs() < 1e-12);
        assert!(efficiency(0.9 * best) < 0.7 && efficiency(1.1 * best) < 0.7);
        for share in [0.3, 0.8, 1.0, 1.4, 1.9] {
            let work = TURBINE.work_per_mass(&GAS, share * best, p_in, t_in, p_out);
            assert!((work - efficiency(share * best) * ideal).abs() < 1e-9 * ideal, "{share}");
            let torque = TURBINE.torque(&GAS, share * best, p_in, t_in, p_out);
            let power = TURBINE.flow(&GAS, p_in, t_in, p_out) * work;
            assert!((torque * share * best / power - 1.0).abs() < 1e-12);
        }
        assert!(TURBINE.torque(&GAS, 0.0, p_in, t_in, p_out) > 0.0);
        assert!(TURBINE.torque(&GAS, 3.0 * best, p_in, t_in, p_out) < 0.0);
    }

    #[test]
    fn all_is_smooth_through_rest_and_no_pressure_difference() {
        for speed in [0.0, 1.0, 1e4] {
            is_smooth("torque", [0.5e5, 3e5], |p_in| TURBINE.torque(&GAS, speed, p_in, 900.0, 1e5));
            is_smooth("work", [0.5e5, 3e5], |p_in| TURBINE.work_per_mass(&GAS, speed, p_in, 900.0, 1e5));
        }
        for p_in in [0.8e5, 1e5, 1.000_01e5, 2e5] {
            is_smooth("torque", [-1e3, 2e4], |speed| TURBINE.torque(&GAS, speed, p_in, 900.0, 1e5));
            assert!(
                (0..40).all(|step| TURBINE.efficiency(&GAS, 500.0 * f64::from(step), p_in, 900.0, 1e5).abs() <= 1.0)
            );
        }
    }
}
