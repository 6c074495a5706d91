//! Fluxes through the faces.

use super::arena::Arena;
use super::dispatch::Pass;
use super::greater;
use super::riemann::{self, FaceLaw, HeatRatio};
use super::scheme::RiemannSolver;
use super::state::{Flux, Primitive};
use super::work::Work;
use std::marker::PhantomData;

/// Numbers that a loop keeps side by side while it looks for the highest.
const LANES: usize = 8;

impl Arena {
    /// Flows through all faces from the states beside them. Answers with the highest signal speed over cell length [1/s]: the
    /// Courant number is the time step times this.
    pub fn face_fluxes(&self, work: &mut Work) -> f64 {
        match self.scheme.riemann {
            RiemannSolver::Hllc => self.face_fluxes_with::<riemann::Hllc>(work),
            RiemannSolver::Hll => self.face_fluxes_with::<riemann::Hll>(work),
            RiemannSolver::Rusanov => self.face_fluxes_with::<riemann::Rusanov>(work),
        }
        self.scalar_fluxes(work);
        self.share_link_fluxes(work);
        self.instruction_set.run(Highest { row: &work.signal_rate })
    }

    fn face_fluxes_with<R: FaceLaw>(&self, work: &mut Work) {
        let Work { before, after, flux, signal_rate, .. } = work;
        self.instruction_set.run(FaceFluxes::<R> {
            before,
            after,
            flux,
            signal_rate,
            face_area: &self.geometry.face_area,
            over_face_length: &self.geometry.over_face_length,
            ratio: HeatRatio::of(&self.gas),
            law: PhantomData,
        });
    }
}

struct FaceFluxes<'a, R> {
    before: &'a Primitive<Vec<f64>>,
    after: &'a Primitive<Vec<f64>>,
    flux: &'a mut Flux<Vec<f64>>,
    signal_rate: &'a mut [f64],
    face_area: &'a [f64],
    over_face_length: &'a [f64],
    ratio: HeatRatio,
    law: PhantomData<R>,
}

impl<R: FaceLaw> Pass for FaceFluxes<'_, R> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        // Face i + 1 of the rows, between slots i and i + 1.
        let n = self.signal_rate.len().saturating_sub(1);
        let ratio = self.ratio;
        let (density_left, density_right) = (&self.after.density[..n], &self.before.density[1..=n]);
        let (velocity_left, velocity_right) = (&self.after.velocity[..n], &self.before.velocity[1..=n]);
        let (pressure_left, pressure_right) = (&self.after.pressure[..n], &self.before.pressure[1..=n]);
        let (area, over_length) = (&self.face_area[1..=n], &self.over_face_length[1..=n]);
        let (mass, momentum) = (&mut self.flux.mass[1..=n], &mut self.flux.momentum[1..=n]);
        let (energy, signal_rate) = (&mut self.flux.energy[1..=n], &mut self.signal_rate[1..=n]);
        for i in 0..n {
            let left = Primitive { density: density_left[i], velocity: velocity_left[i], pressure: pressure_left[i] };
            let right =
                Primitive { density: density_right[i], velocity: velocity_right[i], pressure: pressure_right[i] };
            let face = R::flux(left, right, ratio);
            mass[i] = face.flux.mass * area[i];
            momentum[i] = face.flux.momentum * area[i];
            energy[i] = face.flux.energy * area[i];
            signal_rate[i] = face.signal_speed * over_length[i];
        }
    }
}

/// The highest number of a row, at least zero.
pub(super) struct Highest<'a> {
    pub(super) row: &'a [f64],
}

impl Pass for Highest<'_> {
    type Output = f64;

    #[inline(always)]
    fn run(self) -> f64 {
        let (lanes, rest) = self.row.as_chunks::<LANES>();
        let mut highest = [0.0; LANES];
        for chunk in lanes {
            for lane in 0..LANES {
                highest[lane] = greater(highest[lane], chunk[lane]);
            }
        }
        highest.iter().chain(rest).fold(0.0, |a, b| greater(a, *b))
    }
}
