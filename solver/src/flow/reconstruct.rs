//! From cell averages to states at the faces.

use super::arena::Arena;
use super::dispatch::Pass;
use super::limiter::{self, SlopeLaw};
use super::row::Row;
use super::scheme::{Limiter, Predictor};
use super::state::Primitive;
use super::strips::{BEFORE, FaceStates, Scratch, Strip};
use super::work::Work;
use std::marker::PhantomData;

/// A predicted density or pressure below this share of the one before is not used.
const LOWEST_PREDICTED: f64 = 0.1;

impl Arena {
    /// States at both faces of every cell of a strip.
    pub(super) fn reconstruct(&self, work: &mut Work, strip: Strip, half_step: Option<f64>) {
        match self.scheme.limiter {
            Limiter::VanAlbada => self.reconstruct_with::<limiter::VanAlbada>(work, strip, half_step),
            Limiter::VanLeer => self.reconstruct_with::<limiter::VanLeer>(work, strip, half_step),
            Limiter::MonotonisedCentral => self.reconstruct_with::<limiter::MonotonisedCentral>(work, strip, half_step),
            Limiter::Minmod => self.reconstruct_with::<limiter::Minmod>(work, strip, half_step),
            Limiter::None => self.reconstruct_with::<limiter::Central>(work, strip, half_step),
        }
    }

    fn reconstruct_with<L: SlopeLaw>(&self, work: &mut Work, strip: Strip, half_step: Option<f64>) {
        let Work { cell, sound_speed, faces, drag, drag_per_velocity, wall_heat, predicted, .. } = work;
        let Scratch { middle_density, middle_velocity, .. } = &mut *work.scratch;
        let cells = Cells { cell, sound_speed };
        *predicted = false;
        match (self.scheme.march, half_step) {
            (Predictor::Hancock, Some(half_step)) => {
                *predicted = true;
                self.instruction_set.run(Predicted::<L> {
                    strip,
                    cells,
                    faces,
                    middle: Primitive {
                        density: middle_density,
                        velocity: middle_velocity,
                        pressure: &mut work.middle_pressure[strip.start..],
                    },
                    drag,
                    drag_per_velocity,
                    wall_heat,
                    over_length: &self.geometry.over_length,
                    widening: &self.geometry.widening,
                    half_step,
                    gamma: self.gas.gamma,
                    law: PhantomData,
                });
            }
            _ => self.instruction_set.run(Limited::<L> { strip, cells, faces, law: PhantomData }),
        }
    }
}

/// Rows of cell averages.
struct Cells<'a> {
    cell: &'a Primitive<Row>,
    sound_speed: &'a [f64],
}

/// One row in a strip: every slot between its neighbours.
#[derive(Clone, Copy)]
struct Stencil<'a> {
    before: &'a [f64],
    here: &'a [f64],
    after: &'a [f64],
}

impl<'a> Stencil<'a> {
    #[inline(always)]
    fn new(row: &'a [f64], strip: Strip) -> Self {
        let Strip { start, len } = strip;
        Self { before: &row[start - 1..][..len], here: &row[start..][..len], after: &row[start + 1..][..len] }
    }

    /// Differences to the slots before and after.
    #[inline(always)]
    fn differences(&self, i: usize) -> (f64, f64) {
        (self.here[i] - self.before[i], self.after[i] - self.here[i])
    }
}

/// The stencils of a strip.
#[derive(Clone, Copy)]
struct Stencils<'a> {
    density: Stencil<'a>,
    velocity: Stencil<'a>,
    pressure: Stencil<'a>,
    sound_speed: &'a [f64],
}

impl<'a> Stencils<'a> {
    #[inline(always)]
    fn new(cells: &Cells<'a>, strip: Strip) -> Self {
        Self {
            density: Stencil::new(&cells.cell.density, strip),
            velocity: Stencil::new(&cells.cell.velocity, strip),
            pressure: Stencil::new(&cells.cell.pressure, strip),
            sound_speed: &cells.sound_speed[strip.start..][..strip.len],
        }
    }

    #[inline(always)]
    fn at(&self, i: usize) -> Primitive {
        Primitive { density: self.density.here[i], velocity: self.velocity.here[i], pressure: self.pressure.here[i] }
    }

    /// Half the changes across the cell.
    #[inline(always)]
    fn half_changes<L: SlopeLaw>(&self, i: usize) -> Primitive {
        let (density_behind, density_ahead) = self.density.differences(i);
        let (velocity_behind, velocity_ahead) = self.velocity.differences(i);
        let (pressure_behind, pressure_ahead) = self.pressure.differences(i);
        let behind = Primitive { density: density_behind, velocity: velocity_behind, pressure: pressure_behind };
        let ahead = Primitive { density: density_ahead, velocity: velocity_ahead, pressure: pressure_ahead };
        let Primitive { density, velocity, pressure } = L::changes(behind, ahead, self.at(i), self.sound_speed[i]);
        Primitive { density: 0.5 * density, velocity: 0.5 * velocity, pressure: 0.5 * pressure }
    }
}

/// The states at the faces of a strip, cut to its length.
struct Edges<'a> {
    before: Primitive<&'a mut [f64]>,
    after: Primitive<&'a mut [f64]>,
}

impl<'a> Edges<'a> {
    #[inline(always)]
    fn new(faces: &'a mut FaceStates, len: usize) -> Self {
        let FaceStates { before, after } = faces;
        Self {
            before: Primitive {
                density: &mut before.density[..len],
                velocity: &mut before.velocity[..len],
                pressure: &mut before.pressure[..len],
            },
            after: Primitive {
                density: &mut after.density[BEFORE..][..len],
                velocity: &mut after.velocity[BEFORE..][..len],
                pressure: &mut after.pressure[BEFORE..][..len],
            },
        }
    }

    #[inline(always)]
    fn set(&mut self, i: usize, middle: Primitive, half_change: Primitive) {
        self.before.density[i] = middle.density - half_change.density;
        self.after.density[i] = middle.density + half_change.density;
        self.before.velocity[i] = middle.velocity - half_change.velocity;
        self.after.velocity[i] = middle.velocity + half_change.velocity;
        self.before.pressure[i] = middle.pressure - half_change.pressure;
        self.after.pressure[i] = middle.pressure + half_change.pressure;
    }
}

/// Linear reconstruction. Van Leer (1979), J. Comput. Phys. 32, 101; on primitive variables, Toro (2009), section 14.4.
struct Limited<'a, L> {
    strip: Strip,
    cells: Cells<'a>,
    faces: &'a mut FaceStates,
    law: PhantomData<L>,
}

impl<L: SlopeLaw> Pass for Limited<'_, L> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        let cells = Stencils::new(&self.cells, self.strip);
        let mut edges = Edges::new(self.faces, self.strip.len);
        for i in 0..self.strip.len {
            edges.set(i, cells.at(i), cells.half_changes::<L>(i));
        }
    }
}

/// Linear reconstruction, then half a step of the primitive equations with the cell's own slopes and sources. Hancock's predictor
/// as in van Leer (1984), SIAM J. Sci. Stat. Comput. 5, 1; Toro (2009), section 14.4.
struct Predicted<'a, L> {
    strip: Strip,
    cells: Cells<'a>,
    faces: &'a mut FaceStates,
    /// Where the states at the middle of the step go, from the strip's first cell on.
    middle: Primitive<&'a mut [f64]>,
    drag: &'a [f64],
    drag_per_velocity: &'a [f64],
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
        let Strip { start, len } = self.strip;
        let cells = Stencils::new(&self.cells, self.strip);
        let mut edges = Edges::new(self.faces, len);
        let Primitive { density, velocity, pressure } = self.middle;
        let (density, velocity, pressure) = (&mut density[..len], &mut velocity[..len], &mut pressure[..len]);
        let (drag, wall_heat) = (&self.drag[start..][..len], &self.wall_heat[start..][..len]);
        let drag_per_velocity = &self.drag_per_velocity[start..][..len];
        let (over_length, widening) = (&self.over_length[start..][..len], &self.widening[start..][..len]);
        let (gamma, half_step) = (self.gamma, self.half_step);
        for i in 0..len {
            let Primitive { density: rho, velocity: u, pressure: p } = cells.at(i);
            let half_change = cells.half_changes::<L>(i);
            let slope = 2.0 * over_length[i];
            // Divergence of the velocity field, (1/A) d(u A)/dx.
            let spreading = half_change.velocity * slope + u * widening[i];
            // Drag is followed along its tangent, so that stiff drag brings the gas to rest and does not turn it round.
            let over_inertia = 1.0 / (rho + 2.0 * half_step * drag_per_velocity[i]);
            let density_rate = -u * half_change.density * slope - rho * spreading;
            let force = half_change.pressure * slope + drag[i];
            let velocity_rate = -(rho * u * half_change.velocity * slope + force) * over_inertia;
            let heating = (gamma - 1.0) * (wall_heat[i] + drag[i] * u * (rho * over_inertia));
            let pressure_rate = heating - u * half_change.pressure * slope - gamma * p * spreading;
            let predicted = Primitive {
                density: kept_positive(rho, rho + half_step * density_rate, half_change.density),
                velocity: u + half_step * velocity_rate,
                pressure: kept_positive(p, p + half_step * pressure_rate, half_change.pressure),
            };
            edges.set(i, predicted, half_change);
            density[i] = predicted.density;
            velocity[i] = predicted.velocity;
            pressure[i] = predicted.pressure;
        }
    }
}

/// The predicted mean, or the one before where the prediction would all but empty a face.
#[inline(always)]
fn kept_positive(now: f64, predicted: f64, half_change: f64) -> f64 {
    if predicted - half_change.abs() > LOWEST_PREDICTED * (now - half_change.abs()) { predicted } else { now }
}
