//! The four-stroke engine as a mean over its cycle.
//!
//! Heywood, Internal Combustion Engine Fundamentals (1988), chapters 2 and 13; Eriksson and Nielsen, Modeling and Control of Engines
//! and Drivelines (2014), chapter 7, from memory.

use crate::heat::ease::larger;
use std::f64::consts::PI;

/// Crank angle of a cycle [rad].
const CYCLE: f64 = 4.0 * PI;

/// Air [kg/s] that an engine of `displacement` [m^3] takes at crank `speed` [rad/s] from a manifold of `pressure` [Pa] and
/// `temperature` [K]. Heywood (1988), eq. 2.27.
#[must_use]
pub fn air_flow(
    volumetric_efficiency: f64,
    displacement: f64,
    speed: f64,
    pressure: f64,
    temperature: f64,
    gas_constant: f64,
) -> f64 {
    volumetric_efficiency * displacement * pressure / (gas_constant * temperature) * speed / CYCLE
}

/// Fuel [kg/s] for `air` [kg/s]: `lambda` times `stoichiometric` kilograms of air for each of fuel.
#[must_use]
pub fn fuel_flow(air: f64, lambda: f64, stoichiometric: f64) -> f64 {
    air / (lambda * stoichiometric)
}

/// Brake power [W] of `fuel` [kg/s] at a brake `specific_consumption` [kg/J].
#[must_use]
pub fn brake_power(fuel: f64, specific_consumption: f64) -> f64 {
    fuel / specific_consumption
}

/// Work or power that `fuel` [kg or kg/s] of `heating_value` [J/kg] gives to the pistons, gross. Where air is short, at a `lambda` below
/// one, only the fuel that finds air counts. Eriksson and Nielsen (2014), from memory.
#[must_use]
pub fn indicated_work(fuel: f64, heating_value: f64, indicated_efficiency: f64, lambda: f64) -> f64 {
    fuel * heating_value * indicated_efficiency * lambda.min(1.0)
}

/// Pumping work [J] of a cycle: what the pistons give to push out against `exhaust_pressure` and draw in from `manifold_pressure`
/// [Pa]; below nothing when the charge pushes. Heywood (1988), section 13.4, for an ideal exchange.
#[must_use]
pub fn pumping_work(exhaust_pressure: f64, manifold_pressure: f64, displacement: f64) -> f64 {
    (exhaust_pressure - manifold_pressure) * displacement
}

/// Friction mean effective pressure [Pa] at crank `speed` [rad/s]: `c0 + c1 |speed| + c2 speed^2`. The form of Heywood (1988), section
/// 13.5, with the user's coefficients.
#[must_use]
pub fn friction_pressure(coefficients: [f64; 3], speed: f64) -> f64 {
    let [constant, linear, square] = coefficients;
    constant + (linear + square * speed.abs()) * speed.abs()
}

/// Torque that a charge warmer than the fuel's octane bears costs, by later sparks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChargeSensitivity {
    /// Charge temperature [K] above which the spark is retarded.
    pub threshold: f64,
    /// Share of indicated work lost for each kelvin above it [1/K].
    pub per_kelvin: f64,
}

impl ChargeSensitivity {
    /// Kelvin on both sides of the threshold within which the loss sets in. An own choice: a control has no corner, nor has Newton.
    pub const KNEE: f64 = 5.0;
    /// Share of indicated work that stays at the least, and the width in which it is reached. An own choice: a control that retards
    /// further cuts fuel.
    const LEAST: f64 = 0.5;
    const EASE: f64 = 0.1;

    /// Share of indicated work that a charge of `temperature` [K] leaves: one up to [`ChargeSensitivity::KNEE`] below the threshold,
    /// from as much above it on the straight line. That retard costs torque in proportion is common practice, no source.
    #[must_use]
    pub fn share(&self, temperature: f64) -> f64 {
        let above = larger(temperature - self.threshold, 0.0, Self::KNEE);
        larger(1.0 - self.per_kelvin * above, Self::LEAST, Self::EASE)
    }
}

/// A spark-ignition engine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Engine {
    /// Displacement of all cylinders [m^3].
    pub displacement: f64,
    /// Air taken over the air that fills the displacement at the manifold's state.
    pub volumetric_efficiency: f64,
    /// Air over the air that burns the fuel.
    pub lambda: f64,
    /// Air over fuel [kg/kg] that just burns.
    pub stoichiometric: f64,
    /// Lower heating value of the fuel [J/kg].
    pub heating_value: f64,
    /// Gross indicated work over the heat of the fuel that finds air.
    pub indicated_efficiency: f64,
    /// What a warm charge costs.
    pub charge: ChargeSensitivity,
    /// Coefficients of [`friction_pressure`] [Pa, Pa s, Pa s^2].
    pub friction: [f64; 3],
}

/// What stands around the cylinders.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ports {
    /// Pressure of the manifold [Pa].
    pub manifold_pressure: f64,
    /// Temperature of the charge [K].
    pub charge_temperature: f64,
    /// Pressure before the turbine, or in the exhaust without one [Pa].
    pub exhaust_pressure: f64,
    /// Specific gas constant of the charge [J/(kg K)].
    pub gas_constant: f64,
}

impl Engine {
    /// Air [kg/s] taken at crank `speed` [rad/s].
    #[must_use]
    pub fn air_flow(&self, speed: f64, ports: &Ports) -> f64 {
        let Ports { manifold_pressure, charge_temperature, gas_constant, .. } = *ports;
        let Self { volumetric_efficiency, displacement, .. } = *self;
        air_flow(volumetric_efficiency, displacement, speed, manifold_pressure, charge_temperature, gas_constant)
    }

    /// Fuel [kg/s] for `air` [kg/s].
    #[must_use]
    pub fn fuel_flow(&self, air: f64) -> f64 {
        fuel_flow(air, self.lambda, self.stoichiometric)
    }

    /// Torque [N m] at the crank at `speed` [rad/s], above rest: friction does not turn its sign here.
    ///
    /// The works of one cycle over its crank angle: gross indicated, less what a warm charge costs, pumping and friction. Heywood
    /// (1988), eq. 2.15 and section 13.3.
    #[must_use]
    pub fn brake_torque(&self, speed: f64, ports: &Ports) -> f64 {
        let fuel = self.fuel_flow(self.air_flow(CYCLE, ports));
        let gross = indicated_work(fuel, self.heating_value, self.indicated_efficiency, self.lambda);
        let pumping = pumping_work(ports.exhaust_pressure, ports.manifold_pressure, self.displacement);
        let friction = friction_pressure(self.friction, speed) * self.displacement;
        (gross * self.charge.share(ports.charge_temperature) - pumping - friction) / CYCLE
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::powertrain::finite::is_smooth;

    const ENGINE: Engine = Engine {
        displacement: 3e-3,
        volumetric_efficiency: 0.95,
        lambda: 0.8,
        stoichiometric: 14.7,
        heating_value: 42.5e6,
        indicated_efficiency: 0.4,
        charge: ChargeSensitivity { threshold: 318.15, per_kelvin: 1.5e-3 },
        friction: [7e4, 40.0, 0.12],
    };
    const PORTS: Ports =
        Ports { manifold_pressure: 2.2e5, charge_temperature: 310.0, exhaust_pressure: 2.1e5, gas_constant: 287.05 };

    #[test]
    fn brake_power_is_what_the_fuel_gives_less_the_losses() {
        for speed in [100.0, 300.0, 700.0] {
            let fuel = ENGINE.fuel_flow(ENGINE.air_flow(speed, &PORTS));
            let cycles = speed / (4.0 * PI);
            let gross = fuel * 42.5e6 * 0.4 * 0.8;
            let losses = cycles * 3e-3 * (-1e4 + 7e4 + 40.0 * speed + 0.12 * speed * speed);
            let power = ENGINE.brake_torque(speed, &PORTS) * speed;
            assert!((power / (gross - losses) - 1.0).abs() < 1e-12, "{speed}: {power}");
        }
    }

    #[test]
    fn fuel_beyond_what_burns_gives_nothing() {
        let work = |lambda: f64| indicated_work(fuel_flow(1.0, lambda, 14.7), 42e6, 0.4, lambda);
        assert!((work(0.7) / work(1.0) - 1.0).abs() < 1e-14 && (work(1.25) / work(1.0) - 0.8).abs() < 1e-14);
        assert!((brake_power(0.01, 300.0 / 3.6e9) - 120_000.0).abs() < 1e-9);
    }

    #[test]
    fn a_warm_charge_costs_torque_on_one_side_and_without_a_corner() {
        let share = |above: f64| ENGINE.charge.share(318.15 + above);
        assert!((share(-5.0) - 1.0).abs() < 1e-15 && (share(-60.0) - 1.0).abs() < 1e-15);
        assert!((share(20.0) - 0.97).abs() < 1e-12 && (share(5.0) - 1.0 + 7.5e-3).abs() < 1e-12);
        assert!((share(1e4) - 0.5).abs() < 1e-12);
        let slope = |above: f64| (share(above + 1e-4) - share(above - 1e-4)) / 2e-4;
        for (place, known) in [(-5.0, 0.0), (0.0, -0.75e-3), (5.0, -1.5e-3), (50.0, -1.5e-3)] {
            assert!((slope(place) - known).abs() < 1e-6, "{place}");
        }
        is_smooth("charge", [-100.0, 600.0], share);
    }

    #[test]
    fn torque_is_smooth_through_rest_and_equal_pressures() {
        assert!(ENGINE.brake_torque(0.0, &PORTS).is_finite() && ENGINE.air_flow(0.0, &PORTS).abs() < 1e-300);
        is_smooth("torque over speed", [0.0, 900.0], |speed| ENGINE.brake_torque(speed, &PORTS));
        let charged = |pressure| ENGINE.brake_torque(300.0, &Ports { manifold_pressure: pressure, ..PORTS });
        is_smooth("torque over charge", [1e4, 3e5], charged);
        assert!(charged(2.1e5) > charged(1e5) && pumping_work(1e5, 1e5, 3e-3).abs() < 1e-300);
    }
}
