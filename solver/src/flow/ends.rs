//! What joints see of the ends of the ducts, and what they give back.

use super::arena::Arena;
use super::scalars;
use super::state::{DuctId, End, EndFlux, EndState, Flux};
use super::work::Work;

impl Arena {
    /// The gas at an end of a duct, after [`Arena::face_fluxes`].
    #[must_use]
    pub fn end_state(&self, work: &Work, duct: DuctId, end: End) -> EndState {
        let state = work.ends[duct.0][end as usize];
        EndState {
            density: state.density,
            velocity: state.velocity * end.outward(),
            pressure: state.pressure,
            area: self.end_area(duct, end),
        }
    }

    /// A scalar per kilogram at an end of a duct, after [`Arena::face_fluxes`].
    #[must_use]
    pub fn end_scalar(&self, work: &Work, duct: DuctId, end: End, scalar: usize) -> f64 {
        scalars::at_face(work, scalar, self.ducts[duct.0].inside(end, 0), end)
    }

    /// Sets the flow through an end of a duct, after [`Arena::face_fluxes`]. Gas that enters carries the scalars `entering` per
    /// kilogram, [scalars]; gas that leaves carries those of the duct's end.
    pub fn set_end_flux(&self, work: &mut Work, duct: DuctId, end: End, flux: &EndFlux, entering: &[f64]) {
        let face = self.ducts[duct.0].end_face(end);
        let along = flux.mass * end.outward();
        work.flux.set(face, Flux { mass: along, momentum: flux.momentum, energy: flux.energy * end.outward() });
        for scalar in 0..self.scalars {
            let carried = match entering.get(scalar) {
                Some(share) if flux.mass < 0.0 => *share,
                _ => self.end_scalar(work, duct, end, scalar),
            };
            work.scalar_flux[scalar][face] = along * carried;
        }
    }
}
