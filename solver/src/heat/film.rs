//! Film coefficients on outer surfaces in still and in moving air.

use super::nusselt;
use crate::gas::{Gas, STANDARD_GRAVITY};

/// What a surface is to the air around it. The length that goes with it stands at each shape.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// An upright plate: its height, which also stands for the way of a stream along it.
    UprightPlate,
    /// The same in air so rough that its boundary layer is turbulent from the edge on.
    RoughAirPlate,
    /// A level face that looks up: area over circumference.
    FacingUp,
    /// A level face that looks down: area over circumference.
    FacingDown,
    /// A level cylinder with the stream across it: its diameter.
    Cylinder,
}

/// A surface and the air that it stands in.
#[derive(Debug, Clone, Copy)]
pub struct Film<'a> {
    /// The air.
    pub gas: &'a Gas,
    /// Pressure of the air [Pa].
    pub pressure: f64,
    /// Temperature of the surface [K].
    pub surface: f64,
    /// Temperature of the air away from the surface [K].
    pub air: f64,
    /// Shape of the surface.
    pub shape: Shape,
    /// Length that belongs to the shape [m].
    pub length: f64,
}

/// Film coefficient [W/(m^2 K)] of an upright plate of `surface` [K] in `air` [K] at `pressure` [Pa] that moves along its `length` [m]
/// at `speed` [m/s]: [`Film::coefficient`].
#[must_use]
pub fn outer(gas: &Gas, pressure: f64, surface: f64, air: f64, length: f64, speed: f64) -> f64 {
    Film { gas, pressure, surface, air, shape: Shape::UprightPlate, length }.coefficient(speed)
}

impl Film<'_> {
    /// Film coefficient [W/(m^2 K)] in air that passes at `speed` [m/s], either way: still air and stream together.
    ///
    /// Finite and without corner through equal temperatures and through rest. Natural convection begins within some 1e-6 K at a
    /// length of 0.2 m, so that the coefficient has a steep slope there, but the heat `h (T_surface - T_air)` has not.
    #[must_use]
    pub fn coefficient(&self, speed: f64) -> f64 {
        nusselt::natural_and_forced(self.natural(), self.forced(speed))
    }

    /// Film coefficient [W/(m^2 K)] in still air.
    #[must_use]
    pub fn natural(&self) -> f64 {
        let (rayleigh, prandtl) = (self.rayleigh(), self.prandtl());
        let nusselt = match self.shape {
            Shape::UprightPlate | Shape::RoughAirPlate => nusselt::upright_plate(rayleigh, prandtl),
            Shape::Cylinder => nusselt::level_cylinder(rayleigh, prandtl),
            Shape::FacingUp if rayleigh >= 0.0 => nusselt::level_plate_free(rayleigh),
            Shape::FacingDown if rayleigh < 0.0 => nusselt::level_plate_free(rayleigh),
            Shape::FacingUp | Shape::FacingDown => nusselt::level_plate_held(rayleigh),
        };
        self.of(nusselt)
    }

    /// Film coefficient [W/(m^2 K)] of a stream of `speed` [m/s] without any lift by warmth.
    #[must_use]
    pub fn forced(&self, speed: f64) -> f64 {
        let (reynolds, prandtl) = (self.reynolds(speed), self.prandtl());
        let nusselt = match self.shape {
            Shape::RoughAirPlate => nusselt::tripped_plate(reynolds, prandtl),
            Shape::UprightPlate | Shape::FacingUp | Shape::FacingDown => nusselt::plate(reynolds, prandtl),
            Shape::Cylinder => nusselt::cylinder(reynolds, prandtl),
        };
        self.of(nusselt)
    }

    /// Rayleigh number by the film temperature, with 1/T as expansion of an ideal gas; negative at a surface colder than the air.
    #[must_use]
    pub fn rayleigh(&self) -> f64 {
        let buoyancy = STANDARD_GRAVITY * (self.surface - self.air) / self.temperature();
        let viscosity = self.kinematic_viscosity();
        buoyancy * self.length * self.length * self.length * self.prandtl() / (viscosity * viscosity)
    }

    /// Reynolds number of a stream of `speed` [m/s] by the film temperature.
    #[must_use]
    pub fn reynolds(&self, speed: f64) -> f64 {
        speed * self.length / self.kinematic_viscosity()
    }

    /// Prandtl number of the film.
    #[must_use]
    pub fn prandtl(&self) -> f64 {
        self.gas.viscosity(self.temperature()) * self.gas.heat_capacity / self.conductivity()
    }

    /// Mean of both temperatures [K].
    fn temperature(&self) -> f64 {
        0.5 * (self.surface + self.air)
    }

    fn kinematic_viscosity(&self) -> f64 {
        let temperature = self.temperature();
        self.gas.viscosity(temperature) * self.gas.gas_constant * temperature / self.pressure
    }

    /// Conductivity of the air [W/(m K)], as [`Gas::conductivity`] where the viscosity is given, else by the law of the US Standard
    /// Atmosphere 1976, which is closer to nature by 2 % at 340 K than a fixed Prandtl number.
    fn conductivity(&self) -> f64 {
        let temperature = self.temperature();
        if self.gas.fixed_viscosity.is_some() {
            return self.gas.conductivity(temperature);
        }
        let scale = temperature + 245.4 * libm::exp10(-12.0 / temperature);
        2.646_38e-3 * temperature * temperature.sqrt() / scale
    }

    fn of(&self, nusselt: f64) -> f64 {
        nusselt * self.conductivity() / self.length
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SHAPES: [Shape; 5] =
        [Shape::UprightPlate, Shape::RoughAirPlate, Shape::FacingUp, Shape::FacingDown, Shape::Cylinder];

    fn film(gas: &Gas, shape: Shape, surface: f64) -> Film<'_> {
        Film { gas, pressure: 101_325.0, surface, air: 300.0, shape, length: 0.2 }
    }

    #[test]
    fn the_heat_rises_with_the_difference_of_temperature_without_jump() {
        let gas = Gas::dry_air();
        for shape in SHAPES {
            for speed in [0.0, 0.3, 10.0] {
                let heat = |rise: f64| film(&gas, shape, 300.0 + rise).coefficient(speed) * rise;
                let mut before = heat(-60.0);
                for step in -5_999..6_000 {
                    let here = heat(f64::from(step) * 0.01);
                    assert!(here > before && here - before < 2.0, "{shape:?} {speed} {step}: {before} {here}");
                    before = here;
                }
                let slope = (heat(1e-9) - heat(-1e-9)) / 2e-9;
                assert!(slope > 0.0 && slope < 100.0, "{shape:?} {speed}: {slope}");
            }
        }
    }

    #[test]
    fn the_coefficient_rises_with_speed_either_way_and_is_flat_at_rest() {
        let gas = Gas::dry_air();
        for shape in SHAPES {
            for surface in [280.0, 300.0, 400.0] {
                let at = |speed: f64| film(&gas, shape, surface).coefficient(speed);
                let mut before = at(0.0);
                for step in 1..4_000 {
                    let speed = f64::from(step) * 0.01;
                    let here = at(speed);
                    assert!(here >= before && here - before < 1.5, "{shape:?} {surface} {speed}");
                    assert!((at(-speed) - here).abs() < 1e-12 * here, "{shape:?} {surface} {speed}");
                    before = here;
                }
                assert!((at(1e-9) - at(0.0)).abs() < 1e-6, "{shape:?} {surface}");
            }
        }
    }

    #[test]
    fn a_warm_face_loses_more_upwards_and_a_cold_one_downwards() {
        let gas = Gas::dry_air();
        let natural = |shape, surface| film(&gas, shape, surface).natural();
        assert!(natural(Shape::FacingUp, 330.0) > 1.5 * natural(Shape::FacingDown, 330.0));
        assert!(natural(Shape::FacingDown, 270.0) > 1.5 * natural(Shape::FacingUp, 270.0));
    }

    #[test]
    fn a_given_viscosity_keeps_the_prandtl_number_of_the_gas() {
        let mut gas = Gas::dry_air();
        gas.fixed_viscosity = Some(2e-5);
        assert!((film(&gas, Shape::UprightPlate, 350.0).prandtl() - gas.prandtl).abs() < 1e-15);
    }

    #[test]
    fn thinner_air_carries_less() {
        let gas = Gas::dry_air();
        let thick = film(&gas, Shape::Cylinder, 350.0);
        let thin = Film { pressure: 7e4, ..thick };
        assert!(thin.natural() < thick.natural() && thin.forced(5.0) < thick.forced(5.0));
    }
}
