//! Pressure drop of a filter: Darcy and Forchheimer, and the way from one air state to another.
//!
//! Forchheimer (1901); Ward (1964); Nield and Bejan, Convection in Porous Media, 4th ed., section 1.5.

use crate::oracle::perfect_gas::PerfectGas;
use crate::oracle::root::bisect;

/// A porous slab that air crosses at right angles.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slab {
    /// Permeability [m^2].
    pub permeability: f64,
    /// Form coefficient.
    pub form_coefficient: f64,
    /// Thickness [m].
    pub thickness: f64,
}

/// Air before a filter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AirState {
    /// Density [kg/m^3].
    pub density: f64,
    /// Viscosity [Pa s].
    pub viscosity: f64,
}

impl AirState {
    /// Dry air at `pressure` [Pa] and `temperature` [K], with the viscosity of the US Standard Atmosphere 1976, equation 51.
    #[must_use]
    pub fn dry(gas_constant: f64, pressure: f64, temperature: f64) -> Self {
        Self { density: pressure / (gas_constant * temperature), viscosity: sutherland(temperature) }
    }
}

/// Viscosity of dry air [Pa s] at `temperature` [K]. US Standard Atmosphere 1976, equation 51.
#[must_use]
pub fn sutherland(temperature: f64) -> f64 {
    1.458e-6 * libm::pow(temperature, 1.5) / (temperature + 110.4)
}

impl Slab {
    /// Viscous part of the drop [Pa] at approach `velocity` [m/s], density held.
    #[must_use]
    pub fn viscous_drop(&self, air: AirState, velocity: f64) -> f64 {
        self.thickness * air.viscosity / self.permeability * velocity
    }

    /// Inertial part of the drop [Pa] at approach `velocity` [m/s], density held.
    #[must_use]
    pub fn inertial_drop(&self, air: AirState, velocity: f64) -> f64 {
        self.thickness * air.density * self.form_coefficient / self.permeability.sqrt() * velocity * velocity.abs()
    }
}

impl Slab {
    /// Drop [Pa] of an ideal gas that flows isothermally at `temperature` [K] from `pressure` [Pa] with `flux` [kg/(s m^2)]:
    /// `(p1^2 - p2^2) / (2 R T) = L (mu G / K + C G^2 / sqrt K) + G^2 ln(p1 / p2)`. `None` when the slab cannot pass the flux.
    #[must_use]
    pub fn isothermal_drop(&self, gas: PerfectGas, pressure: f64, temperature: f64, flux: f64) -> Option<f64> {
        let drag = self.thickness
            * (sutherland(temperature) / self.permeability * flux
                + self.form_coefficient / self.permeability.sqrt() * flux * flux);
        let excess = |behind: f64| {
            0.5 * (pressure * pressure - behind * behind) / (gas.gas_constant * temperature)
                - drag
                - flux * flux * libm::log(pressure / behind)
        };
        // Below this pressure the gas would be faster than isothermal sound.
        let slowest = flux * (gas.gas_constant * temperature).sqrt();
        bisect(slowest, pressure, excess).map(|behind| pressure - behind)
    }
}

/// A drop `a mu Q + b rho Q |Q|` of a whole filter element.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Element {
    /// a: viscous coefficient [1/m^3].
    pub viscous: f64,
    /// b: inertial coefficient [1/m^4].
    pub inertial: f64,
}

impl Element {
    /// The element that has two measured drops [Pa] at two volume flows [m^3/s] of the same air.
    #[must_use]
    pub fn through(air: AirState, first: (f64, f64), second: (f64, f64)) -> Self {
        let ((flow, drop), (other_flow, other_drop)) = (first, second);
        let inertial = (drop / flow - other_drop / other_flow) / (air.density * (flow - other_flow));
        Self { viscous: (drop / flow - air.density * inertial * flow) / air.viscosity, inertial }
    }

    /// Drop [Pa] at `mass_flow` [kg/s] of the given air.
    #[must_use]
    pub fn drop(&self, air: AirState, mass_flow: f64) -> f64 {
        let volume_flow = mass_flow / air.density;
        self.viscous * air.viscosity * volume_flow + self.inertial * air.density * volume_flow * volume_flow.abs()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data;
    use approx::assert_relative_eq;

    #[test]
    fn slabs_agree_with_the_table() {
        for row in data::rows(data::POROUS_SLABS).unwrap() {
            let value = |column: &str| row.number(column).unwrap();
            let slab = Slab { permeability: value("K_m2"), form_coefficient: value("C_F"), thickness: value("L_m") };
            let air = AirState::dry(287.05, value("p1_Pa"), value("T_K"));
            let viscous = slab.viscous_drop(air, value("v_m_s"));
            let inertial = slab.inertial_drop(air, value("v_m_s"));
            assert_relative_eq!(viscous, value("dp_viscous_Pa"), max_relative = 1e-8);
            assert_relative_eq!(inertial, value("dp_inertial_Pa"), max_relative = 1e-8);
            assert_relative_eq!(viscous + inertial, value("dp_incompressible_Pa"), max_relative = 1e-8);
            let flux = air.density * value("v_m_s");
            let drop = slab.isothermal_drop(PerfectGas::AIR, value("p1_Pa"), value("T_K"), flux).unwrap();
            assert_relative_eq!(drop, value("dp_compressible_Pa"), max_relative = 1e-8);
        }
    }

    #[test]
    fn another_air_state_changes_the_parts_as_the_table_says() {
        let standard = AirState::dry(287.05, 100_000.0, 298.15);
        for row in data::rows(data::STANDARD_STATE).unwrap() {
            let value = |column: &str| row.number(column).unwrap();
            let air = AirState::dry(287.05, value("p_Pa"), value("T_K"));
            let factor = |element: Element| element.drop(standard, 0.1) / element.drop(air, 0.1);
            let viscous = factor(Element { viscous: 1e9, inertial: 0.0 });
            let inertial = factor(Element { viscous: 0.0, inertial: 1e4 });
            assert_relative_eq!(viscous, value("factor_viscous"), max_relative = 1e-7);
            assert_relative_eq!(inertial, value("factor_inertial"), max_relative = 1e-7);
        }
    }

    #[test]
    fn an_element_passes_through_its_two_points() {
        let air = AirState { density: 1.2, viscosity: 1.8e-5 };
        let element = Element::through(air, (0.05, 90.0), (0.2, 510.0));
        assert_relative_eq!(element.drop(air, 0.05 * 1.2), 90.0, max_relative = 1e-12);
        assert_relative_eq!(element.drop(air, 0.2 * 1.2), 510.0, max_relative = 1e-12);
    }
}
