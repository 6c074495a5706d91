//! Exact solution of the Riemann problem of an ideal gas, with vacuum.
//!
//! Toro (2009), Riemann Solvers and Numerical Methods for Fluid Dynamics, 3rd ed., sections 4.2 to 4.6. The star pressure is bisected
//! and not iterated by Newton, so that no starting guess can lead astray.

use crate::oracle::quadrature::gauss;
use crate::oracle::root::bisect;

/// State of a gas in one dimension, in any consistent set of units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct State {
    /// Density.
    pub density: f64,
    /// Velocity, positive to the right.
    pub velocity: f64,
    /// Pressure.
    pub pressure: f64,
}

/// A solved Riemann problem.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Riemann {
    gamma: f64,
    left: State,
    right: State,
    /// Pressure between the outer waves; zero when a vacuum opens.
    pub star_pressure: f64,
    /// Velocity between the outer waves, at which the contact moves.
    pub star_velocity: f64,
}

/// Speeds at which an outer wave begins, seen from the undisturbed gas, and ends. They are equal for a shock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wave {
    /// Edge on the side of the undisturbed gas.
    pub head: f64,
    /// Edge on the side of the contact.
    pub tail: f64,
}

/// Which side of the contact: the sign mirrors a right-running wave into a left-running one.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Side {
    Left,
    Right,
}

impl Wave {
    /// Whether it is a shock, which has no extent.
    #[must_use]
    pub fn is_shock(&self) -> bool {
        self.head.to_bits() == self.tail.to_bits()
    }
}

impl Side {
    fn sign(self) -> f64 {
        match self {
            Self::Left => -1.0,
            Self::Right => 1.0,
        }
    }
}

impl Riemann {
    /// Solves the problem between `left` and `right`, at rest with each other or not.
    #[must_use]
    pub fn new(gamma: f64, left: State, right: State) -> Self {
        let mut solved = Self { gamma, left, right, star_pressure: 0.0, star_velocity: 0.0 };
        let mismatch = |pressure: f64| {
            solved.velocity_change(left, pressure)
                + solved.velocity_change(right, pressure)
                + (right.velocity - left.velocity)
        };
        let mut high = left.pressure.max(right.pressure);
        while mismatch(high) < 0.0 {
            high *= 2.0;
        }
        // No root above zero pressure: the gas parts and a vacuum opens.
        let pressure = bisect(0.0, high, mismatch).unwrap_or(0.0);
        let change = solved.velocity_change(right, pressure) - solved.velocity_change(left, pressure);
        solved.star_velocity = 0.5 * (left.velocity + right.velocity + change);
        solved.star_pressure = pressure;
        solved
    }

    fn sound_speed(&self, state: State) -> f64 {
        (self.gamma * state.pressure / state.density).sqrt()
    }

    /// Change of velocity across the wave from `state` to `pressure`. Toro, equations 4.6 and 4.7.
    fn velocity_change(&self, state: State, pressure: f64) -> f64 {
        let gamma = self.gamma;
        if pressure > state.pressure {
            let a = 2.0 / ((gamma + 1.0) * state.density);
            let b = (gamma - 1.0) / (gamma + 1.0) * state.pressure;
            (pressure - state.pressure) * (a / (pressure + b)).sqrt()
        } else {
            let ratio = libm::pow(pressure / state.pressure, 0.5 * (gamma - 1.0) / gamma);
            2.0 * self.sound_speed(state) / (gamma - 1.0) * (ratio - 1.0)
        }
    }

    fn outer(&self, side: Side) -> State {
        match side {
            Side::Left => self.left,
            Side::Right => self.right,
        }
    }

    /// Density between the contact and the wave beyond which `state` lies. Toro, equations 4.50 and 4.53.
    fn star_density(&self, state: State) -> f64 {
        let gamma = self.gamma;
        let ratio = self.star_pressure / state.pressure;
        if ratio > 1.0 {
            let weak = (gamma - 1.0) / (gamma + 1.0);
            state.density * (ratio + weak) / (weak * ratio + 1.0)
        } else {
            state.density * libm::pow(ratio, 1.0 / gamma)
        }
    }

    /// Density left of the contact.
    #[must_use]
    pub fn star_left_density(&self) -> f64 {
        self.star_density(self.left)
    }

    /// Density right of the contact.
    #[must_use]
    pub fn star_right_density(&self) -> f64 {
        self.star_density(self.right)
    }

    /// The left-running wave.
    #[must_use]
    pub fn left_wave(&self) -> Wave {
        self.wave(Side::Left)
    }

    /// The right-running wave.
    #[must_use]
    pub fn right_wave(&self) -> Wave {
        self.wave(Side::Right)
    }

    fn wave(&self, side: Side) -> Wave {
        let (gamma, state, sign) = (self.gamma, self.outer(side), side.sign());
        let sound_speed = self.sound_speed(state);
        let ratio = self.star_pressure / state.pressure;
        if ratio > 1.0 {
            let mach = (0.5 * ((gamma + 1.0) * ratio + gamma - 1.0) / gamma).sqrt();
            let speed = state.velocity + sign * sound_speed * mach;
            return Wave { head: speed, tail: speed };
        }
        let star_sound_speed = sound_speed * libm::pow(ratio, 0.5 * (gamma - 1.0) / gamma);
        // From the invariant of the fan, which still holds when the star state is a vacuum.
        let star_velocity = state.velocity - sign * 2.0 * (sound_speed - star_sound_speed) / (gamma - 1.0);
        Wave { head: state.velocity + sign * sound_speed, tail: star_velocity + sign * star_sound_speed }
    }

    /// State on the ray `x / t = speed`.
    #[must_use]
    pub fn at(&self, speed: f64) -> State {
        let side = if speed < self.star_velocity { Side::Left } else { Side::Right };
        let (state, wave, sign) = (self.outer(side), self.wave(side), side.sign());
        if sign * (speed - wave.head) >= 0.0 {
            state
        } else if sign * (speed - wave.tail) <= 0.0 {
            State { density: self.star_density(state), velocity: self.star_velocity, pressure: self.star_pressure }
        } else {
            self.in_fan(side, speed)
        }
    }

    /// State inside a rarefaction. Toro, equations 4.56 and 4.63.
    fn in_fan(&self, side: Side, speed: f64) -> State {
        let (gamma, state, sign) = (self.gamma, self.outer(side), side.sign());
        let sound_speed = self.sound_speed(state);
        let inner =
            (2.0 * sound_speed + (gamma - 1.0) * sign * (speed - state.velocity)) / ((gamma + 1.0) * sound_speed);
        State {
            density: state.density * libm::pow(inner, 2.0 / (gamma - 1.0)),
            velocity: speed - sign * sound_speed * inner,
            pressure: state.pressure * libm::pow(inner, 2.0 * gamma / (gamma - 1.0)),
        }
    }

    /// Means of density, velocity and pressure over the rays from `low` to `high`: what a cell should hold.
    #[must_use]
    pub fn mean(&self, low: f64, high: f64) -> State {
        let (left, right) = (self.left_wave(), self.right_wave());
        let mut edges = [low, left.head, left.tail, self.star_velocity, right.tail, right.head, high];
        edges.iter_mut().for_each(|edge| *edge = edge.clamp(low, high));
        let mut sum = [0.0; 3];
        for pair in edges.windows(2).filter(|pair| pair[1] > pair[0]) {
            let part = gauss(pair[0], pair[1], |speed| {
                let state = self.at(speed);
                [state.density, state.velocity, state.pressure]
            });
            sum = std::array::from_fn(|component| sum[component] + part[component]);
        }
        let [density, velocity, pressure] = sum.map(|integral| integral / (high - low));
        State { density, velocity, pressure }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data;
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    fn state(row: &data::Row, side: &str) -> State {
        let value = |name: &str| row.number(&format!("{name}{side}")).unwrap();
        State { density: value("rho"), velocity: value("u"), pressure: value("p") }
    }

    fn solved(row: &data::Row) -> Riemann {
        Riemann::new(row.number("gamma").unwrap(), state(row, "L"), state(row, "R"))
    }

    #[test]
    fn star_states_and_wave_speeds_agree_with_the_table() {
        for row in data::rows(data::STAR_STATES).unwrap() {
            let value = |column: &str| row.number(column).unwrap();
            let exact = solved(&row);
            // Near vacuum the star pressure is a small difference of large numbers.
            let case = row.text("case").unwrap();
            let tolerance = if ["toro2_123", "near_vacuum_strong", "leblanc"].contains(&case) { 1e-8 } else { 1e-10 };
            assert_relative_eq!(exact.star_pressure, value("p_star"), max_relative = tolerance);
            assert_relative_eq!(
                exact.star_velocity,
                value("u_star"),
                max_relative = tolerance,
                epsilon = 1e-12 * exact.sound_speed(exact.left)
            );
            assert_relative_eq!(exact.star_left_density(), value("rho_starL"), max_relative = tolerance);
            assert_relative_eq!(exact.star_right_density(), value("rho_starR"), max_relative = tolerance);
            let (left, right) = (exact.left_wave(), exact.right_wave());
            for (speed, column) in [
                (left.head, "left_head_speed"),
                (left.tail, "left_tail_speed"),
                (right.tail, "right_tail_speed"),
                (right.head, "right_head_speed"),
            ] {
                assert_relative_eq!(speed, value(column), max_relative = 1e-7, epsilon = 1e-9);
            }
        }
    }

    #[test]
    fn sampled_profiles_agree_with_the_table() {
        for problem in data::rows(data::STAR_STATES).unwrap() {
            let exact = solved(&problem);
            let start = problem.number("x0").unwrap();
            for point in data::case(data::RIEMANN_PROFILES, problem.text("case").unwrap()).unwrap() {
                let value = |column: &str| point.number(column).unwrap();
                let found = exact.at((value("x") - start) / value("t"));
                assert_relative_eq!(found.density, value("rho"), max_relative = 1e-8);
                assert_relative_eq!(found.pressure, value("p"), max_relative = 1e-8);
                let scale = exact.sound_speed(exact.left);
                assert_abs_diff_eq!(found.velocity, value("u"), epsilon = 1e-8 * scale.max(value("u").abs()));
            }
        }
    }

    #[test]
    fn a_vacuum_opens_between_parting_streams() {
        let side = |velocity| State { density: 1.0, velocity, pressure: 0.4 };
        let exact = Riemann::new(1.4, side(-4.0), side(4.0));
        for point in data::case(data::RIEMANN_PROFILES, "vacuum_generation").unwrap() {
            let value = |column: &str| point.number(column).unwrap();
            let found = exact.at((value("x") - 0.5) / value("t"));
            assert_relative_eq!(found.density, value("rho"), max_relative = 1e-8, epsilon = 1e-14);
            assert_relative_eq!(found.pressure, value("p"), max_relative = 1e-8, epsilon = 1e-14);
        }
    }

    #[test]
    fn means_conserve_mass() {
        let sod = Riemann::new(
            1.4,
            State { density: 1.0, velocity: 0.0, pressure: 1.0 },
            State { density: 0.125, velocity: 0.0, pressure: 0.1 },
        );
        assert_relative_eq!(sod.mean(-3.0, 3.0).density, 0.5625, max_relative = 1e-12);
        let parts: f64 = (0..60).map(|i| sod.mean(-3.0 + 0.1 * f64::from(i), -2.9 + 0.1 * f64::from(i)).density).sum();
        assert_relative_eq!(parts / 60.0, 0.5625, max_relative = 1e-12);
    }
}
