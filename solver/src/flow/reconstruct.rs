//! From cell averages to states at the faces.

use super::arena::Arena;
use super::dispatch::Pass;
use super::limiter::{self, SlopeLaw};
use super::scheme::{Limiter, Predictor};
use super::state::Primitive;
use super::work::Work;
use std::marker::PhantomData;

/// A predicted density or pressure below this share of the one before is not used.
const LOWEST_PREDICTED: f64 = 0.1;

impl Arena {
    /// Drag and wall heat in the cells, then the limited states on both faces of every cell. With [`Predictor::Hancock`] and a
    /// `half_step` [s] the states are carried on by that time.
    pub fn reconstruct(&self, work: &mut Work, half_step: Option<f64>) {
        self.wall_sources(work);
        match self.scheme.limiter {
            Limiter::VanAlbada => self.reconstruct_with::<limiter::VanAlbada>(work, half_step),
            Limiter::VanLeer => self.reconstruct_with::<limiter::VanLeer>(work, half_step),
            Limiter::MonotonisedCentral => self.reconstruct_with::<limiter::MonotonisedCentral>(work, half_step),
            Limiter::Minmod => self.reconstruct_with::<limiter::Minmod>(work, half_step),
            Limiter::None => self.reconstruct_with::<limiter::Central>(work, half_step),
        }
        self.reconstruct_scalars(work);
        self.exchange_face_states(work);
    }

    fn reconstruct_with<L: SlopeLaw>(&self, work: &mut Work, half_step: Option<f64>) {
        let Work { cell, pressure_over_density, before, after, wall_pressure, drag, wall_heat, .. } = work;
        match (self.scheme.march, half_step) {
            (Predictor::Hancock, Some(half_step)) => self.instruction_set.run(Predicted::<L> {
                cell,
                pressure_over_density,
                before,
                after,
                wall_pressure,
                drag,
                wall_heat,
                over_length: &self.geometry.over_length,
                widening: &self.geometry.widening,
                half_step,
                gamma: self.gas.gamma,
                law: PhantomData,
            }),
            _ => self.instruction_set.run(Limited::<L> {
                cell,
                pressure_over_density,
                before,
                after,
                wall_pressure,
                law: PhantomData,
            }),
        }
    }
}

/// Differences of one row to the slots before and after.
#[inline(always)]
fn differences(row: &[f64], i: usize) -> (f64, f64) {
    (row[i] - row[i - 1], row[i + 1] - row[i])
}

/// Changes across the cell in slot `i`.
#[inline(always)]
fn changes<L: SlopeLaw>(density: &[f64], velocity: &[f64], pressure: &[f64], quotient: &[f64], i: usize) -> Primitive {
    let (behind, ahead) = differences(density, i);
    let density_change = L::positive_change(behind, ahead, density[i]);
    let (behind, ahead) = differences(pressure, i);
    let pressure_change = L::positive_change(behind, ahead, pressure[i]);
    let (behind, ahead) = differences(velocity, i);
    // The speed of sound is the scale of velocities; its square is p / rho but for a factor near one.
    let velocity_change = L::change(behind, ahead, quotient[i]);
    Primitive { density: density_change, velocity: velocity_change, pressure: pressure_change }
}

/// Linear reconstruction. Van Leer (1979), J. Comput. Phys. 32, 101; on primitive variables, Toro (2009), section 14.4.
struct Limited<'a, L> {
    cell: &'a Primitive<Vec<f64>>,
    pressure_over_density: &'a [f64],
    before: &'a mut Primitive<Vec<f64>>,
    after: &'a mut Primitive<Vec<f64>>,
    wall_pressure: &'a mut [f64],
    law: PhantomData<L>,
}

impl<L: SlopeLaw> Pass for Limited<'_, L> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        let n = self.pressure_over_density.len();
        let quotient = &self.pressure_over_density[..n];
        let (density, velocity) = (&self.cell.density[..n], &self.cell.velocity[..n]);
        let pressure = &self.cell.pressure[..n];
        let wall_pressure = &mut self.wall_pressure[..n];
        let (density_before, density_after) = (&mut self.before.density[..n], &mut self.after.density[..n]);
        let (velocity_before, velocity_after) = (&mut self.before.velocity[..n], &mut self.after.velocity[..n]);
        let (pressure_before, pressure_after) = (&mut self.before.pressure[..n], &mut self.after.pressure[..n]);
        for i in 1..n.saturating_sub(1) {
            let change = changes::<L>(density, velocity, pressure, quotient, i);
            density_before[i] = density[i] - 0.5 * change.density;
            density_after[i] = density[i] + 0.5 * change.density;
            velocity_before[i] = velocity[i] - 0.5 * change.velocity;
            velocity_after[i] = velocity[i] + 0.5 * change.velocity;
            pressure_before[i] = pressure[i] - 0.5 * change.pressure;
            pressure_after[i] = pressure[i] + 0.5 * change.pressure;
            wall_pressure[i] = pressure[i];
        }
    }
}

/// Linear reconstruction, then half a step of the primitive equations with the cell's own slopes and sources. Hancock's predictor as in
/// van Leer (1984), SIAM J. Sci. Stat. Comput. 5, 1; Toro (2009), section 14.4.
struct Predicted<'a, L> {
    cell: &'a Primitive<Vec<f64>>,
    pressure_over_density: &'a [f64],
    before: &'a mut Primitive<Vec<f64>>,
    after: &'a mut Primitive<Vec<f64>>,
    wall_pressure: &'a mut [f64],
    drag: &'a [f64],
    wall_heat: &'a [f64],
    over_length: &'a [f64],
    widening: &'a [f64],
    half_step: f64,
    gamma: f64,
    law: PhantomData<L>,
}

impl<L: SlopeLaw> Pass for Predicted<'_, L> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        let n = self.pressure_over_density.len();
        let quotient = &self.pressure_over_density[..n];
        let (density, velocity) = (&self.cell.density[..n], &self.cell.velocity[..n]);
        let pressure = &self.cell.pressure[..n];
        let (drag, wall_heat) = (&self.drag[..n], &self.wall_heat[..n]);
        let (over_length, widening) = (&self.over_length[..n], &self.widening[..n]);
        let wall_pressure = &mut self.wall_pressure[..n];
        let (density_before, density_after) = (&mut self.before.density[..n], &mut self.after.density[..n]);
        let (velocity_before, velocity_after) = (&mut self.before.velocity[..n], &mut self.after.velocity[..n]);
        let (pressure_before, pressure_after) = (&mut self.before.pressure[..n], &mut self.after.pressure[..n]);
        for i in 1..n.saturating_sub(1) {
            let change = changes::<L>(density, velocity, pressure, quotient, i);
            let (rho, u, p) = (density[i], velocity[i], pressure[i]);
            let slope = over_length[i];
            // Divergence of the velocity field, (1/A) d(u A)/dx.
            let spreading = change.velocity * slope + u * widening[i];
            let over_density = quotient[i] / p;
            let density_rate = -u * change.density * slope - rho * spreading;
            let velocity_rate = -u * change.velocity * slope - (change.pressure * slope + drag[i]) * over_density;
            let heating = (self.gamma - 1.0) * (wall_heat[i] + drag[i] * u);
            let pressure_rate = heating - u * change.pressure * slope - self.gamma * p * spreading;
            let density_middle = kept_positive(rho, rho + self.half_step * density_rate);
            let velocity_middle = u + self.half_step * velocity_rate;
            let pressure_middle = kept_positive(p, p + self.half_step * pressure_rate);
            let rising = kept_slope(density_middle, rho, change.density);
            density_before[i] = density_middle - rising;
            density_after[i] = density_middle + rising;
            velocity_before[i] = velocity_middle - 0.5 * change.velocity;
            velocity_after[i] = velocity_middle + 0.5 * change.velocity;
            let rising = kept_slope(pressure_middle, p, change.pressure);
            pressure_before[i] = pressure_middle - rising;
            pressure_after[i] = pressure_middle + rising;
            wall_pressure[i] = pressure_middle;
        }
    }
}

/// The predicted value, or the one before where the prediction all but empties the cell.
#[inline(always)]
fn kept_positive(now: f64, predicted: f64) -> f64 {
    if predicted > LOWEST_PREDICTED * now { predicted } else { now }
}

/// Half the change across the cell, in proportion less where the predicted mean is less than the one before: a face state that was
/// positive so stays positive.
#[inline(always)]
fn kept_slope(predicted: f64, now: f64, change: f64) -> f64 {
    if predicted < now { 0.5 * change * (predicted / now) } else { 0.5 * change }
}
