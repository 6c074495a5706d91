//! A manufactured solution of flow through a duct of varying area, with wall friction and wall heat.
//!
//! Roache (2002), J. Fluids Eng. 124, 4; Salari and Knupp (2000), SAND2000-1444. On the unit length that closes on itself, dimensionless,
//! with gamma = 1.4 and a gas constant of one: A = 1 + 0.3 sin 2 pi x, and with y = 2 pi (x - t) rho = 1 + 0.2 sin y,
//! u = 0.5 + 0.1 cos y, p = 1 + 0.1 sin (y + 0.5). The source is what these fields leave over in
//! d(A q)/dt + d(A f)/dx = (0, p dA/dx - tau P, q P): wall shear tau and wall heat q on the perimeter P of a round duct.

use super::riemann::State;
use std::f64::consts::{PI, TAU};

/// Ratio of heat capacities.
pub const GAMMA: f64 = 1.4;

/// What the wall does: laws in which friction factor and Nusselt number follow the Reynolds number, and a viscosity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wall {
    /// Viscosity.
    pub viscosity: f64,
    /// Prandtl number.
    pub prandtl: f64,
    /// Darcy friction factor at high Reynolds number; 64 / Re is added to it.
    pub friction_factor: f64,
    /// Nusselt number at rest.
    pub resting_nusselt: f64,
    /// Rise of the Nusselt number with the Reynolds number.
    pub nusselt_rise: f64,
    /// Temperature of the wall.
    pub temperature: f64,
}

impl Wall {
    /// A wall whose drag and heat are as large as the other terms.
    pub const STRONG: Self = Self {
        viscosity: 1e-3,
        prandtl: 0.71,
        friction_factor: 4.0,
        resting_nusselt: 4.0,
        nusselt_rise: 0.5,
        temperature: 1.2,
    };

    /// Friction factor times Reynolds number.
    #[must_use]
    pub fn friction(&self, reynolds: f64) -> f64 {
        64.0 + self.friction_factor * reynolds
    }

    /// Nusselt number.
    #[must_use]
    pub fn nusselt(&self, reynolds: f64) -> f64 {
        self.resting_nusselt + self.nusselt_rise * reynolds
    }

    /// Force against the flow and heat into the gas, both per length, of a round duct of `area`.
    fn on(&self, area: f64, state: State) -> (f64, f64) {
        let State { density, velocity, pressure } = state;
        let diameter = (4.0 * area / PI).sqrt();
        let perimeter = PI * diameter;
        let reynolds = density * velocity.abs() * diameter / self.viscosity;
        let shear = self.friction(reynolds) / reynolds / 8.0 * density * velocity * velocity.abs();
        let heat_capacity = GAMMA / (GAMMA - 1.0);
        let film = self.nusselt(reynolds) * self.viscosity * heat_capacity / (self.prandtl * diameter);
        // The recovery factor of a turbulent boundary layer is the cube root of the Prandtl number. Shapiro (1954), volume 2, section 26.
        let recovered = pressure / density + self.prandtl.cbrt() * velocity * velocity / (2.0 * heat_capacity);
        (shear * perimeter, film * perimeter * (self.temperature - recovered))
    }
}

/// Area of the duct.
#[must_use]
pub fn area(x: f64) -> f64 {
    1.0 + 0.3 * (TAU * x).sin()
}

/// Integral of the area from 0 to `x`.
#[must_use]
pub fn volume(x: f64) -> f64 {
    x + 0.3 * (1.0 - (TAU * x).cos()) / TAU
}

/// The solution.
#[must_use]
pub fn state(x: f64, t: f64) -> State {
    let turn = TAU * (x - t);
    State {
        density: 1.0 + 0.2 * turn.sin(),
        velocity: 0.5 + 0.1 * turn.cos(),
        pressure: 1.0 + 0.1 * (turn + 0.5).sin(),
    }
}

/// Mass, momentum and energy per length.
#[must_use]
pub fn content(x: f64, t: f64) -> [f64; 3] {
    conserved(state(x, t)).map(|value| value * area(x))
}

/// Source of mass, momentum and energy per length that the solution needs in a duct with such a `wall`.
#[must_use]
pub fn source(x: f64, t: f64, wall: Option<&Wall>) -> [f64; 3] {
    let turn = TAU * (x - t);
    let here = state(x, t);
    let State { density: rho, velocity: u, pressure: p } = here;
    let [_, _, energy] = conserved(here);
    let (area, widening) = (area(x), 0.3 * TAU * (TAU * x).cos());
    // Derivatives by x; those by t are the same with the other sign.
    let (rho_x, u_x, p_x) = (0.2 * TAU * turn.cos(), -0.1 * TAU * turn.sin(), 0.1 * TAU * (turn + 0.5).cos());
    let momentum_x = rho_x * u + rho * u_x;
    let energy_x = p_x / (GAMMA - 1.0) + 0.5 * rho_x * u * u + rho * u * u_x;
    let thrust_x = momentum_x * u + rho * u * u_x + p_x;
    let enthalpy_flow_x = u_x * (energy + p) + u * (energy_x + p_x);
    let (drag, heat) = wall.map_or((0.0, 0.0), |wall| wall.on(area, here));
    [
        area * (momentum_x - rho_x) + widening * rho * u,
        area * (thrust_x - momentum_x) + widening * rho * u * u + drag,
        area * (enthalpy_flow_x - energy_x) + widening * u * (energy + p) - heat,
    ]
}

/// Density, momentum and energy per volume of a state.
#[must_use]
pub fn conserved(state: State) -> [f64; 3] {
    let State { density, velocity, pressure } = state;
    [density, density * velocity, pressure / (GAMMA - 1.0) + 0.5 * density * velocity * velocity]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data::{self, MANUFACTURED};

    #[test]
    fn fields_and_sources_without_a_wall_meet_their_table() {
        let rows = data::rows(MANUFACTURED).unwrap();
        assert!(rows.len() > 15);
        for row in rows {
            let (x, t) = (row.number("x").unwrap(), row.number("t").unwrap());
            let found = content(x, t).into_iter().chain(source(x, t, None));
            for (value, column) in found.zip(["Q_mass", "Q_mom", "Q_energy", "S_mass", "S_mom", "S_energy"]) {
                assert!((value - row.number(column).unwrap()).abs() < 1e-9, "{column} {row:?}");
            }
        }
    }

    /// The balance of a slice over a moment, with drag and heat of the wall from their textbook laws.
    #[test]
    fn sources_with_a_wall_close_the_balance() {
        let wall = Wall::STRONG;
        let flow = |x: f64, t: f64| {
            let at = state(x, t);
            let [_, momentum, energy] = conserved(at);
            let per_area = [momentum, momentum * at.velocity + at.pressure, at.velocity * (energy + at.pressure)];
            per_area.map(|value| value * area(x))
        };
        let step = 1e-5;
        let central = |of: &dyn Fn(f64) -> [f64; 3], at: f64| {
            let (before, after) = (of(at - step), of(at + step));
            [0, 1, 2].map(|k| (after[k] - before[k]) / (2.0 * step))
        };
        for (x, t) in [(0.05, 0.0), (0.31, 0.2), (0.62, 0.45), (0.93, 0.7)] {
            let in_time = central(&|t| content(x, t), t);
            let in_space = central(&|x| flow(x, t), x);
            let State { density, velocity, pressure } = state(x, t);
            let wall_push = pressure * central(&|x| [area(x); 3], x)[0];
            let diameter = 2.0 * (area(x) / PI).sqrt();
            let reynolds = density * velocity * diameter / 1e-3;
            let factor = 64.0 / reynolds + 4.0;
            let drag = factor / diameter * 0.5 * density * velocity * velocity * area(x);
            let conductivity = 1e-3 * 3.5 / 0.71;
            let recovered = pressure / density + 0.71_f64.powf(1.0 / 3.0) * velocity * velocity / 7.0;
            let heat = PI * (4.0 + 0.5 * reynolds) * conductivity * (1.2 - recovered);
            let left_over = [
                in_time[0] + in_space[0],
                in_time[1] + in_space[1] - wall_push + drag,
                in_time[2] + in_space[2] - heat,
            ];
            for (found, expected) in source(x, t, Some(&wall)).into_iter().zip(left_over) {
                assert!((found - expected).abs() < 1e-7, "{x} {t}: {found} {expected}");
            }
            assert!(drag > 0.1 && heat.abs() > 0.1, "both must be felt: {drag} {heat}");
        }
    }
}
