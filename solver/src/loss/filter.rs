//! Filter medium: a viscous and an inertial resistance on the unfolded area.

use super::{Basis, Direction, Loss, Stream, equivalent_diameter};
use crate::gas::Gas;

/// Reynolds number on the whole medium below which the inertial part turns linear. The viscous part rules long before; this only gives
/// a medium without one a slope at rest.
const LINEAR_BELOW_REYNOLDS: f64 = 1.0;

/// Resistance of a medium by the law of Darcy and Forchheimer: `dp = a mu v + b rho v^2`, v = approach velocity at the medium.
///
/// Ward (1964), J. Hydraulics Div. ASCE 90, 1; Nield and Bejan, Convection in Porous Media, section 1.5.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Resistance {
    /// a: thickness over permeability [1/m].
    pub viscous: f64,
    /// b: dimensionless.
    pub inertial: f64,
}

/// One point of a filter's measured curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BenchPoint {
    /// Mass flow [kg/s].
    pub mass_flow: f64,
    /// Pressure drop [Pa].
    pub drop: f64,
}

/// State of the air before the filter on the bench.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BenchState {
    /// Temperature [K].
    pub temperature: f64,
    /// Absolute pressure before the filter [Pa].
    pub pressure: f64,
}

/// A fitted resistance and how far it misses the curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    /// The resistance.
    pub resistance: Resistance,
    /// Largest deviation of a point, relative to its drop.
    pub largest_deviation: f64,
}

impl Resistance {
    /// A medium of `permeability` [m^2], `thickness` [m] and Forchheimer's `inertial_coefficient`.
    #[must_use]
    pub fn of_medium(permeability: f64, thickness: f64, inertial_coefficient: f64) -> Self {
        Self { viscous: thickness / permeability, inertial: thickness * inertial_coefficient / permeability.sqrt() }
    }

    /// The resistance, both parts not negative, that fits a measured curve of an element of medium area `area` [m^2] best.
    ///
    /// Least squares of the relative deviations. The isothermal law of the solver is linear in both parts, so that the state of
    /// the bench, its density falling through the filter included, is taken out exactly.
    #[must_use]
    pub fn fit(gas: &Gas, curve: &[BenchPoint], state: BenchState, area: f64) -> Fit {
        let viscosity = gas.viscosity(state.temperature);
        let rows: Vec<(f64, f64)> = curve
            .iter()
            .map(|point| {
                let flux = point.mass_flow / area;
                let drop = point.drop * (state.pressure - 0.5 * point.drop) / (gas.gas_constant * state.temperature);
                (viscosity * flux / drop, flux * flux / drop)
            })
            .collect();
        let sum = |term: fn(&(f64, f64)) -> f64| rows.iter().map(term).sum::<f64>();
        let (xx, xy, yy) = (sum(|row| row.0 * row.0), sum(|row| row.0 * row.1), sum(|row| row.1 * row.1));
        let (x, y) = (sum(|row| row.0), sum(|row| row.1));
        let determinant = xx * yy - xy * xy;
        let (viscous, inertial) = ((x * yy - y * xy) / determinant, (y * xx - x * xy) / determinant);
        let resistance = if viscous >= 0.0 && inertial >= 0.0 {
            Self { viscous, inertial }
        } else if viscous < 0.0 {
            Self { viscous: 0.0, inertial: y / yy }
        } else {
            Self { viscous: x / xx, inertial: 0.0 }
        };
        let deviation = |row: &(f64, f64)| (resistance.viscous * row.0 + resistance.inertial * row.1 - 1.0).abs();
        Fit { resistance, largest_deviation: rows.iter().map(deviation).fold(0.0, f64::max) }
    }

    /// The same medium with dust in it: the cake is viscous and grows as `growth^load`, `load` being the dust over the dust at which
    /// the viscous part has risen `growth` times. Form of Li et al. (2022), Sep. Purif. Technol. 284, 120209.
    #[must_use]
    pub fn with_dust(self, load: f64, growth: f64) -> Self {
        self.times_viscous(libm::pow(growth, load))
    }

    /// The same medium with so many times the viscous part.
    #[must_use]
    pub fn times_viscous(self, rise: f64) -> Self {
        Self { viscous: self.viscous * rise, ..self }
    }

    /// How many times the viscous part of this medium, of `area` [m^2], makes the drop of a `point` of a bench in its `state`, the inertial part
    /// being as it is.
    #[must_use]
    pub fn rise_of(&self, gas: &Gas, point: BenchPoint, state: BenchState, area: f64) -> f64 {
        let flux = point.mass_flow / area;
        let drop = point.drop * (state.pressure - 0.5 * point.drop) / (gas.gas_constant * state.temperature);
        (drop - self.inertial * flux * flux) / (self.viscous * gas.viscosity(state.temperature) * flux)
    }
}

/// A filter.
#[derive(Debug, Clone)]
pub struct Filter {
    resistance: Resistance,
    area: f64,
    thickness: f64,
    basis: Basis,
}

impl Filter {
    /// A filter of medium `area` [m^2], pleats unfolded, and `thickness` [m] of the element along the flow.
    #[must_use]
    pub fn new(resistance: Resistance, area: f64, thickness: f64, basis: Basis) -> Self {
        Self { resistance, area, thickness, basis }
    }

    /// Its resistance.
    #[must_use]
    pub fn resistance(&self) -> Resistance {
        self.resistance
    }
}

impl Loss for Filter {
    fn total_pressure_before(&self, gas: &Gas, stream: &Stream, _: Direction, after: f64) -> f64 {
        // Isothermal flow: p dp = -R T (a mu G + b G^2) dx, G = m / A. Velocity heads at the medium are far below a pascal.
        let flux = stream.mass_flow / self.area;
        let viscosity = gas.viscosity(stream.total_temperature);
        let slow = LINEAR_BELOW_REYNOLDS * viscosity / equivalent_diameter(self.area);
        let resistance = self.resistance.viscous * viscosity * flux
            + self.resistance.inertial * flux * (flux * flux + slow * slow).sqrt();
        let rise = 2.0 * gas.gas_constant * stream.total_temperature * resistance;
        after + rise / ((after * after + rise).sqrt() + after).max(f64::MIN_POSITIVE)
    }

    fn area(&self) -> f64 {
        self.area
    }

    fn thickness(&self) -> f64 {
        self.thickness
    }

    fn spans_area_change(&self) -> bool {
        true
    }

    fn basis(&self) -> Basis {
        self.basis.clone()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drop(gas: &Gas, filter: &Filter, mass_flow: f64, temperature: f64, before: f64) -> f64 {
        // The law is asked backwards; the pressure after is found by halving.
        let (mut low, mut high) = (1e3, before);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            let stream = Stream { mass_flow, total_temperature: temperature };
            let needed = filter.total_pressure_before(gas, &stream, Direction::Forward, middle);
            if needed > before { high = middle } else { low = middle }
        }
        before - high
    }

    fn filter(resistance: Resistance, area: f64) -> Filter {
        Filter::new(resistance, area, 0.03, Basis::Assumed(String::new()))
    }

    #[test]
    fn element_law_meets_the_darcy_forchheimer_table() {
        // (K [m^2], C_F, L [m], v [m/s], dp viscous [Pa], dp inertial [Pa]) at 298.15 K and 100 kPa with R = 287.05; sums of Ward's law.
        let gas = Gas::new(1.4, 287.05);
        for (permeability, inertial, thickness, speed, viscous_drop, inertial_drop) in [
            (8e-12, 0.55, 0.0006, 0.1, 137.792_568, 1.363_253_37),
            (2e-9, 0.55, 0.003, 1.0, 27.558_513_5, 43.109_856_9),
            (1.2e-8, 0.3, 0.012, 2.0, 36.744_684_7, 153.595_858),
            (1e-11, 0.5, 0.005, 1.0, 9_186.171_18, 923.735_52_f64),
        ] {
            let resistance = Resistance::of_medium(permeability, thickness, inertial);
            let density = 1e5 / (287.05 * 298.15);
            assert!((resistance.viscous * gas.viscosity(298.15) * speed / viscous_drop - 1.0).abs() < 1e-8);
            assert!((resistance.inertial * density * speed * speed / inertial_drop - 1.0).abs() < 1e-8);
        }
    }

    #[test]
    fn compressible_drop_meets_the_integrated_table() {
        // The same media, drop with density change and acceleration from integrating the differential equation. The law here leaves
        // the acceleration out: 2e-5 of the drop at filter speeds, 1e-4 at the strongest row.
        let gas = Gas::new(1.4, 287.05);
        for (permeability, inertial, thickness, speed, expected) in [
            (8e-12, 0.55, 0.0006, 0.1, 139.252_794),
            (8e-12, 0.55, 0.0006, 0.3, 426.557_188),
            (2e-9, 0.55, 0.003, 1.0, 70.694_185_1),
            (1e-11, 0.5, 0.005, 1.0, 10_680.392_6_f64),
        ] {
            let mass_flow = 1e5 / (287.05 * 298.15) * speed;
            let filter = filter(Resistance::of_medium(permeability, thickness, inertial), 1.0);
            let found = drop(&gas, &filter, mass_flow, 298.15, 1e5);
            assert!((found / expected - 1.0).abs() < 2e-4, "{speed}: {found}");
        }
    }

    #[test]
    fn fit_finds_the_resistance_behind_a_curve() {
        let gas = Gas::dry_air();
        let truth = Resistance { viscous: 4e7, inertial: 300.0 };
        let state = BenchState { temperature: 293.15, pressure: 101_325.0 };
        let curve: Vec<BenchPoint> = [0.06, 0.12, 0.18, 0.24]
            .iter()
            .map(|&mass_flow| BenchPoint {
                mass_flow,
                drop: drop(&gas, &filter(truth, 0.21), mass_flow, state.temperature, state.pressure),
            })
            .collect();
        let fit = Resistance::fit(&gas, &curve, state, 0.21);
        assert!((fit.resistance.viscous / truth.viscous - 1.0).abs() < 1e-5, "{fit:?}");
        assert!((fit.resistance.inertial / truth.inertial - 1.0).abs() < 1e-5, "{fit:?}");
        assert!(fit.largest_deviation < 1e-6);
    }

    #[test]
    fn fit_never_takes_a_negative_part() {
        let gas = Gas::dry_air();
        let state = BenchState { temperature: 293.15, pressure: 101_325.0 };
        let steep = [(0.1, 50.0), (0.2, 250.0), (0.3, 700.0)].map(|(mass_flow, drop)| BenchPoint { mass_flow, drop });
        let flat = [(0.1, 100.0), (0.2, 150.0), (0.3, 180.0)].map(|(mass_flow, drop)| BenchPoint { mass_flow, drop });
        let steep = Resistance::fit(&gas, &steep, state, 0.2).resistance;
        let flat = Resistance::fit(&gas, &flat, state, 0.2).resistance;
        assert!(steep.viscous == 0.0 && steep.inertial > 0.0);
        assert!(flat.inertial == 0.0 && flat.viscous > 0.0);
    }

    #[test]
    fn bench_to_running_state_moves_both_parts_as_derived() {
        // At the same mass flow the inertial part goes with 1/rho and the viscous part with mu/rho. Table of corrections to 25 degC,
        // 100 kPa from 20 degC, 101.325 kPa: 1.0305321 and 1.0440734; derived from dp = a mu Q + b rho Q^2, no standard's text.
        let gas = Gas::dry_air();
        for (resistance, factor) in [
            (Resistance { viscous: 0.0, inertial: 300.0 }, 1.030_532_1),
            (Resistance { viscous: 4e7, inertial: 0.0 }, 1.044_073_4_f64),
        ] {
            let filter = filter(resistance, 1.0);
            // Some pascals: the density change through the filter is below the digits asked for.
            let drop = |temperature, pressure| drop(&gas, &filter, 1e-2, temperature, pressure);
            let ratio = drop(298.15, 100_000.0) / drop(293.15, 101_325.0);
            assert!((ratio / factor - 1.0).abs() < 1e-5, "{ratio}");
        }
    }

    #[test]
    fn dust_adds_to_the_viscous_part_only() {
        let clean = Resistance { viscous: 1e7, inertial: 100.0 };
        let loaded = clean.with_dust(0.5, 4.0);
        assert!((loaded.viscous / 2e7 - 1.0).abs() < 1e-12);
        assert!((loaded.inertial - 100.0).abs() < 1e-12);
    }

    #[test]
    fn has_a_slope_at_rest_and_stays_finite_against_vacuum() {
        let gas = Gas::dry_air();
        let filter = filter(Resistance { viscous: 0.0, inertial: 300.0 }, 0.2);
        let needed = |mass_flow: f64, after: f64| {
            let stream = Stream { mass_flow, total_temperature: 300.0 };
            filter.total_pressure_before(&gas, &stream, Direction::Forward, after)
        };
        assert!(needed(1e-6, 1e5) > 1e5);
        assert!(needed(0.0, 0.0).abs() < 1e-12);
        assert!(needed(0.3, 0.0).is_finite());
    }
}
