//! Smooth waves on the unit length that closes on itself, of a gas with a ratio of heat capacities of 1.4. Dimensionless.

use super::riemann::State;
use std::f64::consts::TAU;

/// Ratio of heat capacities.
pub const GAMMA: f64 = 1.4;
/// Amplitude of the simple wave's velocity over the speed of sound at rest.
const AMPLITUDE: f64 = 0.1;
/// Newton steps from the place itself: far more than a wave before breaking needs.
const NEWTON_STEPS: usize = 40;

/// Hot and cold gas carried along at pressure and velocity one: rho = 1 + 0.2 sin 2 pi (x - t).
#[must_use]
pub fn entropy_wave(x: f64, t: f64) -> State {
    State { density: 1.0 + 0.2 * (TAU * (x - t)).sin(), velocity: 1.0, pressure: 1.0 }
}

/// A sound wave that runs to the right and steepens, before it breaks at t = 1.3263: u = 0.1 sin 2 pi xi carried at u + a.
///
/// Landau and Lifshitz, Fluid Mechanics, 2nd ed. (1987), section 101: along x = xi + (u + a) t the velocity stands still, and
/// a = 1 + (gamma - 1) u / 2, with a at rest and density at rest one.
#[must_use]
pub fn simple_wave(x: f64, t: f64) -> State {
    let speed = |xi: f64| 1.0 + 0.5 * (GAMMA + 1.0) * AMPLITUDE * (TAU * xi).sin();
    let slope = |xi: f64| 0.5 * (GAMMA + 1.0) * AMPLITUDE * TAU * (TAU * xi).cos();
    let newton = |xi: f64| xi - (xi + speed(xi) * t - x) / (1.0 + slope(xi) * t);
    let xi = (0..NEWTON_STEPS).fold(x - t, |xi, _| newton(xi));
    let velocity = AMPLITUDE * (TAU * xi).sin();
    let sound_speed = 1.0 + 0.5 * (GAMMA - 1.0) * velocity;
    State { density: sound_speed.powi(5), velocity, pressure: sound_speed.powi(7) / GAMMA }
}

/// The same seen in a mirror: it runs to the left.
#[must_use]
pub fn mirrored_simple_wave(x: f64, t: f64) -> State {
    let state = simple_wave(1.0 - x, t);
    State { velocity: -state.velocity, ..state }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data::{self, SIMPLE_WAVE};

    #[test]
    fn the_simple_wave_meets_its_table() {
        let rows = data::rows(SIMPLE_WAVE).unwrap();
        assert!(rows.len() > 30);
        for row in rows {
            let state = simple_wave(row.number("x").unwrap(), row.number("t").unwrap());
            for (found, column) in [(state.density, "rho"), (state.velocity, "u"), (state.pressure, "p")] {
                assert!((found - row.number(column).unwrap()).abs() < 1e-11, "{row:?}");
            }
        }
    }
}
