//! Approximate Riemann solvers: from the states on both sides of a face to the flux through it, without a branch.

use super::state::{Flux, Primitive};
use super::{RiemannSolver, greater, lesser};
use crate::gas::Gas;

/// What a Riemann solver needs of the gas.
#[derive(Debug, Clone, Copy)]
pub struct HeatRatio {
    /// 1 / (gamma - 1): internal energy per volume over pressure.
    pub energy_over_pressure: f64,
}

impl HeatRatio {
    /// The constants of `gas`.
    #[must_use]
    pub fn of(gas: &Gas) -> Self {
        Self { energy_over_pressure: 1.0 / (gas.gamma - 1.0) }
    }
}

/// A flux per area and the highest signal speed [m/s] that it reckons with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FaceFlux {
    /// Flux per area of face.
    pub flux: Flux,
    /// Highest |signal speed| [m/s].
    pub signal_speed: f64,
}

/// The gas on one side of a face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Side {
    /// State at the face.
    pub state: Primitive,
    /// Speed of sound [m/s] for the estimate of the wave speeds; that of the cell will do.
    pub sound_speed: f64,
}

impl Side {
    /// A side with the speed of sound of its own state.
    #[must_use]
    pub fn of(state: Primitive, gas: &Gas) -> Self {
        Self { state, sound_speed: (gas.gamma * state.pressure / state.density).sqrt() }
    }
}

/// An approximate Riemann solver.
pub trait FaceLaw {
    /// Flux per area through a face between `left` and `right`.
    fn flux(left: Side, right: Side, ratio: HeatRatio) -> FaceFlux;
}

/// Flux per area through one face between `left` and `right`.
#[must_use]
pub fn flux(left: Primitive, right: Primitive, gas: &Gas, solver: RiemannSolver) -> FaceFlux {
    flux_between(Side::of(left, gas), Side::of(right, gas), HeatRatio::of(gas), solver)
}

/// Flux per area through one face between two sides.
pub(super) fn flux_between(left: Side, right: Side, ratio: HeatRatio, solver: RiemannSolver) -> FaceFlux {
    match solver {
        RiemannSolver::Hllc => Hllc::flux(left, right, ratio),
        RiemannSolver::Hll => Hll::flux(left, right, ratio),
        RiemannSolver::Rusanov => Rusanov::flux(left, right, ratio),
    }
}

/// Flux of a state: Toro (2009), Riemann Solvers and Numerical Methods for Fluid Dynamics, 3rd ed., section 3.1.
#[inline(always)]
fn physical(density: f64, velocity: f64, pressure: f64, energy: f64) -> Flux {
    let mass = density * velocity;
    Flux { mass, momentum: mass * velocity + pressure, energy: velocity * (energy + pressure) }
}

/// Total energy per volume [J/m^3].
#[inline(always)]
fn total_energy(state: Primitive, ratio: HeatRatio) -> f64 {
    state.pressure * ratio.energy_over_pressure + 0.5 * state.density * state.velocity * state.velocity
}

/// Speeds [m/s] of the slowest and the fastest wave: Davis's estimate, Toro (2009), eq. 10.48.
#[inline(always)]
fn outer_waves(left: Side, right: Side) -> (f64, f64) {
    (
        lesser(left.state.velocity - left.sound_speed, right.state.velocity - right.sound_speed),
        greater(left.state.velocity + left.sound_speed, right.state.velocity + right.sound_speed),
    )
}

/// Toro, Spruce and Speares: Toro (2009), section 10.4.
#[derive(Debug, Clone, Copy)]
pub struct Hllc;

impl FaceLaw for Hllc {
    /// The flux is that of the state found on the face: the state between the waves, or that of one side when all waves run the
    /// other way. Written so, gas at rest passes exactly no mass, and exactly its pressure.
    ///
    /// With S the outer wave, s the contact, w = S - u and k = s w / (S - s), the state between has the fluxes rho k of mass,
    /// rho k s + p* of momentum, and k (E + p + rho S (s - u)) of energy: what the jump across the wave makes of those of its side.
    #[inline(always)]
    fn flux(left: Side, right: Side, ratio: HeatRatio) -> FaceFlux {
        let (slowest, fastest) = outer_waves(left, right);
        let (left, right) = (left.state, right.state);
        // Speeds of the outer waves and mass flows through them, seen from the undisturbed sides: left < 0, right > 0.
        let (ahead_left, ahead_right) = (slowest - left.velocity, fastest - right.velocity);
        let (mass_left, mass_right) = (left.density * ahead_left, right.density * ahead_right);
        let force = right.pressure - left.pressure + mass_left * left.velocity - mass_right * right.velocity;
        let mass = mass_left - mass_right;
        // The contact runs at force / mass, and mass < 0: the side is known before any division.
        let from_left = force < 0.0;
        let pick = |l: f64, r: f64| if from_left { l } else { r };
        let (density, velocity) = (pick(left.density, right.density), pick(left.velocity, right.velocity));
        let pressure = pick(left.pressure, right.pressure);
        let (wave, ahead) = (pick(slowest, fastest), pick(ahead_left, ahead_right));
        let mass_side = pick(mass_left, mass_right);
        // Where all waves run the other way, a contact that runs with the gas leaves its state as it is.
        let supersonic = pick(slowest, -fastest) > 0.0;
        let force = if supersonic { velocity * mass } else { force };
        // One division serves for 1 / mass and for 1 / (wave - contact).
        let gap = wave * mass - force;
        let over_both = 1.0 / (mass * gap);
        let contact = force * gap * over_both;
        let swept = contact * (mass * mass * over_both);
        let jump = contact - velocity;
        let enthalpy = pressure * (ratio.energy_over_pressure + 1.0) + 0.5 * density * velocity * velocity;
        let through = mass_side * swept;
        let flux = Flux {
            mass: through,
            momentum: through * contact + (pressure + mass_side * jump),
            energy: ahead * swept * (enthalpy + density * wave * jump),
        };
        FaceFlux { flux, signal_speed: greater(fastest, -slowest) }
    }
}

/// Harten, Lax and van Leer: Toro (2009), section 10.3.
#[derive(Debug, Clone, Copy)]
pub struct Hll;

impl FaceLaw for Hll {
    #[inline(always)]
    fn flux(left: Side, right: Side, ratio: HeatRatio) -> FaceFlux {
        let (slowest, fastest) = outer_waves(left, right);
        let (left, right) = (left.state, right.state);
        let (back, on) = (lesser(slowest, 0.0), greater(fastest, 0.0));
        let over = 1.0 / (on - back);
        let (energy_left, energy_right) = (total_energy(left, ratio), total_energy(right, ratio));
        let from_left = physical(left.density, left.velocity, left.pressure, energy_left);
        let from_right = physical(right.density, right.velocity, right.pressure, energy_right);
        let mean = |l: f64, r: f64, jump: f64| (on * l - back * r + on * back * jump) * over;
        let momentum_jump = right.density * right.velocity - left.density * left.velocity;
        let flux = Flux {
            mass: mean(from_left.mass, from_right.mass, right.density - left.density),
            momentum: mean(from_left.momentum, from_right.momentum, momentum_jump),
            energy: mean(from_left.energy, from_right.energy, energy_right - energy_left),
        };
        FaceFlux { flux, signal_speed: greater(fastest, -slowest) }
    }
}

/// Rusanov's flux: Toro (2009), section 10.5.1.
#[derive(Debug, Clone, Copy)]
pub struct Rusanov;

impl FaceLaw for Rusanov {
    #[inline(always)]
    fn flux(left: Side, right: Side, ratio: HeatRatio) -> FaceFlux {
        let (slowest, fastest) = outer_waves(left, right);
        let (left, right) = (left.state, right.state);
        let speed = greater(fastest, -slowest);
        let (energy_left, energy_right) = (total_energy(left, ratio), total_energy(right, ratio));
        let from_left = physical(left.density, left.velocity, left.pressure, energy_left);
        let from_right = physical(right.density, right.velocity, right.pressure, energy_right);
        let mean = |l: f64, r: f64, jump: f64| 0.5 * (l + r) - 0.5 * speed * jump;
        let momentum_jump = right.density * right.velocity - left.density * left.velocity;
        let flux = Flux {
            mass: mean(from_left.mass, from_right.mass, right.density - left.density),
            momentum: mean(from_left.momentum, from_right.momentum, momentum_jump),
            energy: mean(from_left.energy, from_right.energy, energy_right - energy_left),
        };
        FaceFlux { flux, signal_speed: speed }
    }
}
