//! Fluxes through the faces of a strip.

use super::arena::Arena;
use super::dispatch::Pass;
use super::riemann::{self, FaceLaw, HeatRatio, Side};
use super::row::Row;
use super::scheme::RiemannSolver;
use super::state::{Flux, Primitive};
use super::strips::{BEFORE, FaceStates, Strip};
use super::work::Work;
use super::{of_rank, rank};
use std::marker::PhantomData;

impl Arena {
    /// Flows through the faces of a strip; answers with the highest signal speed over cell length [1/s].
    pub(super) fn fluxes(&self, work: &mut Work, strip: Strip) -> f64 {
        match self.scheme.riemann {
            RiemannSolver::Hllc => self.fluxes_with::<riemann::Hllc>(work, strip),
            RiemannSolver::Hll => self.fluxes_with::<riemann::Hll>(work, strip),
            RiemannSolver::Rusanov => self.fluxes_with::<riemann::Rusanov>(work, strip),
        }
    }

    fn fluxes_with<R: FaceLaw>(&self, work: &mut Work, strip: Strip) -> f64 {
        let Work { faces, sound_speed, flux, .. } = work;
        self.instruction_set.run(Fluxes::<R> {
            strip,
            faces,
            sound_speed,
            flux,
            face_area: &self.geometry.face_area,
            over_face_length: &self.geometry.over_face_length,
            ratio: HeatRatio::of(&self.gas),
            law: PhantomData,
        })
    }
}

struct Fluxes<'a, R> {
    strip: Strip,
    faces: &'a FaceStates,
    sound_speed: &'a [f64],
    flux: &'a mut Flux<Row>,
    face_area: &'a [f64],
    over_face_length: &'a [f64],
    ratio: HeatRatio,
    law: PhantomData<R>,
}

/// States on one side of the faces of a strip.
struct Sides<'a> {
    state: Primitive<&'a [f64]>,
    sound_speed: &'a [f64],
}

impl<'a> Sides<'a> {
    #[inline(always)]
    fn new<const N: usize>(state: &'a Primitive<[f64; N]>, first: usize, sound_speed: &'a [f64], len: usize) -> Self {
        let state = Primitive {
            density: &state.density[first..][..len],
            velocity: &state.velocity[first..][..len],
            pressure: &state.pressure[first..][..len],
        };
        Self { state, sound_speed: &sound_speed[..len] }
    }

    #[inline(always)]
    fn at(&self, i: usize) -> Side {
        let Primitive { density, velocity, pressure } = self.state;
        let state = Primitive { density: density[i], velocity: velocity[i], pressure: pressure[i] };
        Side { state, sound_speed: self.sound_speed[i] }
    }
}

impl<R: FaceLaw> Pass for Fluxes<'_, R> {
    type Output = f64;

    #[inline(always)]
    fn run(self) -> f64 {
        let Strip { start, len } = self.strip;
        let left = Sides::new(&self.faces.after, BEFORE - 1, &self.sound_speed[start - 1..], len);
        let right = Sides::new(&self.faces.before, 0, &self.sound_speed[start..], len);
        let (area, over_length) = (&self.face_area[start..][..len], &self.over_face_length[start..][..len]);
        let (mass, momentum) = (&mut self.flux.mass[start..][..len], &mut self.flux.momentum[start..][..len]);
        let energy = &mut self.flux.energy[start..][..len];
        let mut highest = 0;
        for i in 0..len {
            let face = R::flux(left.at(i), right.at(i), self.ratio);
            mass[i] = face.flux.mass * area[i];
            momentum[i] = face.flux.momentum * area[i];
            energy[i] = face.flux.energy * area[i];
            highest = highest.max(rank(face.signal_speed * over_length[i]));
        }
        of_rank(highest)
    }
}
