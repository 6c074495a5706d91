//! Scalars that the flow carries: shares of origin, heat by cause.
//!
//! One limiter factor for all scalars of a cell: where the scalars of every cell sum to one, those of every face do so too, and none
//! leaves the range of its neighbours.

use super::arena::Arena;
use super::dispatch::Pass;
use super::work::Work;
use super::{greater, lesser};

/// Differences of shares whose square is below this are not limited.
const SMOOTH_BELOW_SQUARED: f64 = 1e-24;

impl Arena {
    /// Scalars at both faces of every cell.
    pub(super) fn reconstruct_scalars(&self, work: &mut Work) {
        let Work { scalar, scalar_limit, scalar_before, scalar_after, .. } = work;
        scalar_limit.fill(1.0);
        for row in scalar.iter() {
            self.instruction_set.run(Limit { row, limit: scalar_limit });
        }
        for ((row, before), after) in scalar.iter().zip(scalar_before).zip(scalar_after) {
            self.instruction_set.run(FaceScalars { row, limit: scalar_limit, before, after });
        }
    }

    /// Flows of the scalars: the mass flow takes them from the side that it comes from.
    pub(super) fn scalar_fluxes(&self, work: &mut Work) {
        let Work { flux, scalar_before, scalar_after, scalar_flux, .. } = work;
        for ((before, after), flow) in scalar_before.iter().zip(scalar_after).zip(scalar_flux) {
            self.instruction_set.run(Upwind { mass: &flux.mass, before, after, flow });
        }
    }
}

struct Limit<'a> {
    row: &'a [f64],
    limit: &'a mut [f64],
}

impl Pass for Limit<'_> {
    type Output = ();

    /// Van Albada's law as a factor on the central difference; of several scalars the smallest factor holds.
    #[inline(always)]
    fn run(self) {
        let n = self.limit.len();
        let (row, limit) = (&self.row[..n], &mut self.limit[..n]);
        for i in 1..n.saturating_sub(1) {
            let (behind, ahead) = (row[i] - row[i - 1], row[i + 1] - row[i]);
            let together = greater(0.0, 2.0 * behind * ahead) + SMOOTH_BELOW_SQUARED;
            limit[i] = lesser(limit[i], together / (behind * behind + ahead * ahead + SMOOTH_BELOW_SQUARED));
        }
    }
}

struct FaceScalars<'a> {
    row: &'a [f64],
    limit: &'a [f64],
    before: &'a mut [f64],
    after: &'a mut [f64],
}

impl Pass for FaceScalars<'_> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        let n = self.limit.len();
        let (row, limit) = (&self.row[..n], &self.limit[..n]);
        let (before, after) = (&mut self.before[..n], &mut self.after[..n]);
        for i in 1..n.saturating_sub(1) {
            let half_change = 0.25 * (row[i + 1] - row[i - 1]) * limit[i];
            before[i] = row[i] - half_change;
            after[i] = row[i] + half_change;
        }
    }
}

struct Upwind<'a> {
    mass: &'a [f64],
    before: &'a [f64],
    after: &'a [f64],
    flow: &'a mut [f64],
}

impl Pass for Upwind<'_> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        let n = self.flow.len().saturating_sub(1);
        let (mass, flow) = (&self.mass[1..=n], &mut self.flow[1..=n]);
        let (left, right) = (&self.after[..n], &self.before[1..=n]);
        for i in 0..n {
            flow[i] = mass[i] * if mass[i] < 0.0 { right[i] } else { left[i] };
        }
    }
}
