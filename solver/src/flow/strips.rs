//! Reconstruction and fluxes, strip by strip.
//!
//! The states at the faces of a strip of cells fit the innermost cache, and nobody but the joints wants them later: they are never
//! written to rows. What the joints want, the states at the ends of the ducts, is put aside on the way.

use super::arena::{Arena, Duct};
use super::greater;
use super::state::{DuctId, End, Primitive};
use super::work::Work;
use std::ops::Range;

/// Cells in a strip.
pub(super) const STRIP: usize = 256;
/// Place of a strip's first cell in the states at its last faces: a line of the cache, of which the last number belongs to the slot before
/// the strip.
pub(super) const BEFORE: usize = 8;

/// A range of slots, and the faces before each of them.
#[derive(Debug, Clone, Copy)]
pub(super) struct Strip {
    pub(super) start: usize,
    pub(super) len: usize,
}

/// States at the faces of the cells of a strip: one piece of memory, so that a loop need not ask which of its parts overlap. Loops write
/// to whole lines of the cache.
#[derive(Debug, Clone)]
#[repr(align(64))]
pub(super) struct FaceStates {
    /// At the faces towards the first end.
    pub(super) before: Primitive<[f64; STRIP]>,
    /// At the faces towards the last end, from index [`BEFORE`] on.
    pub(super) after: Primitive<[f64; BEFORE + STRIP]>,
}

/// Numbers of a strip that a loop leaves for the next one. Kept, for clearing them anew in each strip would cost a part of the loops.
#[derive(Debug, Clone)]
#[repr(align(64))]
pub(super) struct Scratch {
    /// Density [kg/m^3], velocity [m/s] and speed of sound [m/s] in the cells at the middle of the step.
    pub(super) middle_density: [f64; STRIP],
    pub(super) middle_velocity: [f64; STRIP],
    pub(super) middle_sound_speed: [f64; STRIP],
    /// Numerators and denominators of the limiter factors of the scalars.
    pub(super) quotients: [[f64; STRIP]; 2],
}

impl Default for Scratch {
    fn default() -> Self {
        let zeros = [0.0; STRIP];
        Self { middle_density: zeros, middle_velocity: zeros, middle_sound_speed: zeros, quotients: [zeros; 2] }
    }
}

impl FaceStates {
    /// All in one state.
    pub(super) fn new(state: Primitive) -> Self {
        let Primitive { density, velocity, pressure } = state;
        Self {
            before: Primitive { density: [density; STRIP], velocity: [velocity; STRIP], pressure: [pressure; STRIP] },
            after: Primitive {
                density: [density; BEFORE + STRIP],
                velocity: [velocity; BEFORE + STRIP],
                pressure: [pressure; BEFORE + STRIP],
            },
        }
    }
}

impl Arena {
    /// Flows through all faces: drag and wall heat in the cells, limited states on both sides of every face, and the Riemann problems
    /// between them. With [`super::Predictor::Hancock`] and a `half_step` [s] the states are carried on by that time first, and drag
    /// and wall heat are those of the middle of the step.
    ///
    /// Answers with the highest signal speed over cell length [1/s]: the Courant number is the time step times this.
    pub fn face_fluxes(&self, work: &mut Work, half_step: Option<f64>) -> f64 {
        self.wall_sources(work);
        let sources_follow = half_step.is_some_and(|half_step| self.sources_follow(work, half_step));
        let (mut highest, mut drag_rate): (f64, f64) = (0.0, 0.0);
        let mut ends = self.ends();
        let mut end = ends.next();
        let Range { mut start, end: stop } = self.inner;
        while start < stop {
            let strip = Strip { start, len: STRIP.min(stop - start) };
            self.reconstruct(work, strip, half_step);
            while let Some((slot, duct, which)) = end
                && slot < strip.start + strip.len
            {
                work.ends[duct.0][which as usize] = face_state(work, slot - strip.start, which);
                end = ends.next();
            }
            highest = greater(highest, self.fluxes(work, strip));
            self.scalar_fluxes(work, strip);
            if sources_follow {
                drag_rate = greater(drag_rate, self.middle_wall_sources(work, strip));
            }
            work.faces.after.set(BEFORE - 1, work.faces.after.at(BEFORE - 1 + strip.len));
            start += strip.len;
        }
        if sources_follow {
            work.highest_drag_rate = drag_rate;
        }
        self.link_fluxes(work);
        highest
    }

    /// The cells at the ends of the ducts in the order of their slots.
    fn ends(&self) -> impl Iterator<Item = (usize, DuctId, End)> {
        self.ducts.iter().enumerate().flat_map(|(index, duct): (usize, &Duct)| {
            [End::First, End::Last].map(|end| (duct.inside(end, 0), DuctId(index), end))
        })
    }
}

fn face_state(work: &Work, index: usize, end: End) -> Primitive {
    match end {
        End::First => work.faces.before.at(index),
        End::Last => work.faces.after.at(BEFORE + index),
    }
}
