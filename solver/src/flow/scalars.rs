//! Scalars that the flow carries: shares of origin, heat by cause.
//!
//! One limiter factor for all scalars of a cell: where the scalars of every cell sum to one, those of every face do so too, and none
//! leaves the range of its neighbours.

use super::arena::Arena;
use super::dispatch::Pass;
use super::state::End;
use super::work::Work;
use super::{greater, lesser};
use std::ops::Range;

/// Differences of shares whose square is below this are not limited.
const SMOOTH_BELOW_SQUARED: f64 = 1e-24;

impl Arena {
    /// Flows of the scalars through the faces: the mass flow takes them from the side that it comes from.
    pub(super) fn scalar_fluxes(&self, work: &mut Work) {
        let Work { scalar, scalar_limit, scalar_flux, flux, .. } = work;
        let inner = || self.inner.clone();
        scalar_limit.fill(1.0);
        for row in scalar.iter() {
            self.instruction_set.run(Limit { inner: inner(), row, limit: scalar_limit });
        }
        for (row, flow) in scalar.iter().zip(scalar_flux) {
            self.instruction_set.run(Carry { inner: inner(), row, limit: scalar_limit, mass: &flux.mass, flow });
        }
    }
}

/// A scalar at one face of the cell in `slot`.
pub(super) fn at_face(work: &Work, scalar: usize, slot: usize, end: End) -> f64 {
    let row = &work.scalar[scalar];
    row[slot] + end.outward() * half_change(row[slot - 1], row[slot + 1], work.scalar_limit[slot])
}

/// Half the limited change of a scalar across a cell, from its neighbours.
#[inline(always)]
fn half_change(before: f64, after: f64, limit: f64) -> f64 {
    0.25 * (after - before) * limit
}

struct Limit<'a> {
    inner: Range<usize>,
    row: &'a [f64],
    limit: &'a mut [f64],
}

impl Pass for Limit<'_> {
    type Output = ();

    /// Van Albada's law as a factor on the central difference; of several scalars the smallest factor holds.
    #[inline(always)]
    fn run(self) {
        let Range { start, end } = self.inner;
        let n = end - start;
        let (before, here, after) = (&self.row[start - 1..][..n], &self.row[start..][..n], &self.row[start + 1..][..n]);
        let limit = &mut self.limit[start..][..n];
        for i in 0..n {
            let (behind, ahead) = (here[i] - before[i], after[i] - here[i]);
            let together = greater(0.0, 2.0 * behind * ahead) + SMOOTH_BELOW_SQUARED;
            limit[i] = lesser(limit[i], together / (behind * behind + ahead * ahead + SMOOTH_BELOW_SQUARED));
        }
    }
}

struct Carry<'a> {
    inner: Range<usize>,
    row: &'a [f64],
    limit: &'a [f64],
    mass: &'a [f64],
    flow: &'a mut [f64],
}

impl Pass for Carry<'_> {
    type Output = ();

    /// Face i of the rows lies between the slots i - 1 and i.
    #[inline(always)]
    fn run(self) {
        let Range { start, end } = self.inner;
        let n = end - start;
        let [far_left, left, right, far_right] = [0, 1, 2, 3].map(|steps| &self.row[start - 2 + steps..][..n]);
        let (limit_left, limit_right) = (&self.limit[start - 1..][..n], &self.limit[start..][..n]);
        let (mass, flow) = (&self.mass[start..][..n], &mut self.flow[start..][..n]);
        for i in 0..n {
            let from_left = left[i] + half_change(far_left[i], right[i], limit_left[i]);
            let from_right = right[i] - half_change(left[i], far_right[i], limit_right[i]);
            flow[i] = mass[i] * if mass[i] < 0.0 { from_right } else { from_left };
        }
    }
}
