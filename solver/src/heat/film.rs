//! Film coefficients on outer surfaces.

use crate::gas::{Gas, STANDARD_GRAVITY};

/// Rayleigh number below which natural convection goes over into conduction.
const STILL_RAYLEIGH: f64 = 1.0;

/// Nusselt number of natural convection on an upright plate. Churchill and Chu 1975, Int. J. Heat Mass Transfer 18, 1323, for all Rayleigh
/// numbers; below [`STILL_RAYLEIGH`] smoothed, so that its slope stays finite.
#[must_use]
pub fn upright_plate(rayleigh: f64, prandtl: f64) -> f64 {
    let smooth = (rayleigh * rayleigh + STILL_RAYLEIGH * STILL_RAYLEIGH).sqrt();
    let over = libm::pow(1.0 + libm::pow(0.492 / prandtl, 9.0 / 16.0), 8.0 / 27.0);
    let root = 0.825 + 0.387 * libm::pow(smooth, 1.0 / 6.0) / over;
    root * root
}

/// Mean Nusselt number of a flat plate along which air flows: laminar (Pohlhausen 1921) and turbulent (Incropera et al., 7th ed. 2011, eq.
/// 7.38 from the leading edge on), the greater of both smoothly.
#[must_use]
pub fn flat_plate(reynolds: f64, prandtl: f64) -> f64 {
    let laminar = 0.664 * reynolds.max(0.0).sqrt();
    let turbulent = (0.037 * libm::pow(reynolds.max(0.0), 0.8) - 871.0).max(0.0);
    libm::cbrt(prandtl) * libm::cbrt(laminar.powi(3) + turbulent.powi(3))
}

/// Film coefficient [W/(m^2 K)] between a surface of temperature `surface` [K] and air of `air` [K] and `pressure` [Pa] that moves along its
/// `length` [m] at `speed` [m/s]: natural and forced convection together, by the cube root of the sum of cubes (Churchill 1977, AIChE Journal
/// 23, 10).
#[must_use]
pub fn outer(gas: &Gas, pressure: f64, surface: f64, air: f64, length: f64, speed: f64) -> f64 {
    let middle = 0.5 * (surface + air);
    let density = pressure / (gas.gas_constant * middle);
    let viscosity = gas.viscosity(middle) / density;
    let conductivity = gas.viscosity(middle) * gas.heat_capacity / gas.prandtl;
    let rayleigh =
        STANDARD_GRAVITY * (surface - air).abs() / middle * length.powi(3) * gas.prandtl / (viscosity * viscosity);
    let natural = upright_plate(rayleigh, gas.prandtl);
    let forced = flat_plate(speed * length / viscosity, gas.prandtl);
    libm::cbrt(natural.powi(3) + forced.powi(3)) * conductivity / length
}
