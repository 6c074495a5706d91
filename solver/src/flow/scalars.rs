//! Scalars that the flow carries: shares of origin, heat by cause.
//!
//! One limiter factor for all scalars of a cell: where the scalars of every cell sum to one, those of every face do so too, and none
//! leaves the range of its neighbours.

use super::arena::Arena;
use super::dispatch::Pass;
use super::greater;
use super::row::Row;
use super::state::End;
use super::strips::{STRIP, Strip};
use super::work::Work;

/// Differences of shares whose square is below this are not limited.
const SMOOTH_BELOW_SQUARED: f64 = 1e-24;

impl Arena {
    /// Flows of the scalars through the faces of a strip: the mass flow takes them from the side that it comes from.
    pub(super) fn scalar_fluxes(&self, work: &mut Work, strip: Strip) {
        let Work { scalar, scalar_limit: limit, scalar_flux, flux, scratch, .. } = work;
        if !scalar.is_empty() {
            self.instruction_set.run(Limit { strip, rows: scalar, limit, quotients: &mut scratch.quotients });
        }
        for (row, flow) in scalar.iter().zip(scalar_flux) {
            self.instruction_set.run(Carry { strip, row, limit, mass: &flux.mass, flow });
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
    strip: Strip,
    rows: &'a [Row],
    limit: &'a mut [f64],
    quotients: &'a mut [[f64; STRIP]; 2],
}

impl Pass for Limit<'_> {
    type Output = ();

    /// Van Albada's law as a factor on the central difference; of several scalars the smallest factor holds, which is found before
    /// dividing.
    #[inline(always)]
    fn run(self) {
        let Strip { start, len } = self.strip;
        let [numerator, denominator] = self.quotients.each_mut().map(|row| &mut row[..len]);
        for (rank, row) in self.rows.iter().enumerate() {
            let (before, here, after) = (&row[start - 1..][..len], &row[start..][..len], &row[start + 1..][..len]);
            let quotient = |i: usize| {
                let (behind, ahead) = (here[i] - before[i], after[i] - here[i]);
                let together = greater(0.0, 2.0 * behind * ahead) + SMOOTH_BELOW_SQUARED;
                (together, behind * behind + ahead * ahead + SMOOTH_BELOW_SQUARED)
            };
            if rank == 0 {
                for i in 0..len {
                    (numerator[i], denominator[i]) = quotient(i);
                }
                continue;
            }
            for i in 0..len {
                let (together, squares) = quotient(i);
                let smaller = together * denominator[i] < numerator[i] * squares;
                numerator[i] = if smaller { together } else { numerator[i] };
                denominator[i] = if smaller { squares } else { denominator[i] };
            }
        }
        let limit = &mut self.limit[start..][..len];
        for i in 0..len {
            limit[i] = numerator[i] / denominator[i];
        }
    }
}

struct Carry<'a> {
    strip: Strip,
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
        let Strip { start, len } = self.strip;
        let [far_left, left, right, far_right] = [0, 1, 2, 3].map(|steps| &self.row[start - 2 + steps..][..len]);
        let (limit_left, limit_right) = (&self.limit[start - 1..][..len], &self.limit[start..][..len]);
        let (mass, flow) = (&self.mass[start..][..len], &mut self.flow[start..][..len]);
        for i in 0..len {
            let from_left = left[i] + half_change(far_left[i], right[i], limit_left[i]);
            let from_right = right[i] - half_change(left[i], far_right[i], limit_right[i]);
            flow[i] = mass[i] * if mass[i] < 0.0 { from_right } else { from_left };
        }
    }
}
