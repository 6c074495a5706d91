//! Two ends that are one ordinary face.

use super::arena::{Arena, Duct, GHOSTS};
use super::riemann::{self, HeatRatio, Side};
use super::scalars;
use super::state::{DuctId, End, Flux, Primitive};
use super::work::Work;

/// Cells whose lengths differ by less than this share are equally long.
const LENGTH_TOLERANCE: f64 = 1e-9;

/// Two ends that are one ordinary face.
#[derive(Debug, Clone, Copy)]
pub(super) struct Link {
    sides: [LinkedEnd; 2],
    /// Whether x runs in opposite directions on the two sides.
    mirrored: bool,
    /// Whether the cells of the two ducts are equally long.
    alike: bool,
}

/// What a link must know of one of its ends.
#[derive(Debug, Clone, Copy)]
struct LinkedEnd {
    duct: DuctId,
    end: End,
    face: usize,
    /// Slot of the end's own cell.
    cell: usize,
    ghosts: [Ghost; GHOSTS],
}

/// A ghost slot and the two cells between whose centres its own centre lies.
#[derive(Debug, Clone, Copy)]
struct Ghost {
    slot: usize,
    near: usize,
    far: usize,
    /// Whether the nearer cell belongs to the duct on the other side.
    near_is_beyond: bool,
    /// Place between the two centres, 0 (near) to 1 (far).
    weight: f64,
}

impl Link {
    pub(super) fn new(ends: [(DuctId, End); 2], ducts: &[Duct]) -> Self {
        let [a, b] = ends;
        let ratio = ducts[a.0.0].cell_length / ducts[b.0.0].cell_length;
        Self {
            sides: [LinkedEnd::new(a, b, ducts), LinkedEnd::new(b, a, ducts)],
            mirrored: a.1 == b.1,
            alike: (ratio - 1.0).abs() < LENGTH_TOLERANCE,
        }
    }

    fn seen_across(&self, state: Primitive) -> Primitive {
        if self.mirrored { state.mirrored() } else { state }
    }

    /// Fills the ghost slots on both sides from the duct beyond.
    pub(super) fn fill_ghosts(&self, work: &mut Work) {
        for ghost in self.sides.iter().flat_map(|side| &side.ghosts) {
            let far = self.seen_across(work.cell.at(ghost.far));
            let near = work.cell.at(ghost.near);
            let near = if ghost.near_is_beyond { self.seen_across(near) } else { near };
            let state = Primitive {
                density: ghost.between(near.density, far.density),
                velocity: ghost.between(near.velocity, far.velocity),
                pressure: ghost.between(near.pressure, far.pressure),
            };
            work.cell.set(ghost.slot, state);
            work.sound_speed[ghost.slot] = ghost.between(work.sound_speed[ghost.near], work.sound_speed[ghost.far]);
            for row in &mut work.scalar {
                row[ghost.slot] = ghost.between(row[ghost.near], row[ghost.far]);
            }
        }
    }

    /// Flow through the link, along the first side's duct. Between cells of equal length the ghost slots are the cells beyond, and
    /// the flow is there already, unless a predictor has been at work, which leaves ghosts alone. Otherwise the states that both
    /// ducts have found for their ends decide.
    fn flux(&self, arena: &Arena, work: &Work) -> Flux {
        let [a, b] = &self.sides;
        if self.alike && !work.predicted {
            return work.flux.at(a.face);
        }
        let [own, beyond] = [a, b].map(|side| Side {
            state: work.ends[side.duct.0][side.end as usize],
            sound_speed: work.sound_speed[side.cell],
        });
        let beyond = Side { state: self.seen_across(beyond.state), ..beyond };
        let (left, right) = if a.end == End::Last { (own, beyond) } else { (beyond, own) };
        let face = riemann::flux_between(left, right, HeatRatio::of(&arena.gas), arena.scheme.riemann);
        face.flux.times(arena.geometry.face_area[a.face])
    }
}

impl LinkedEnd {
    fn new(own: (DuctId, End), beyond: (DuctId, End), ducts: &[Duct]) -> Self {
        let (duct, end) = own;
        let place = &ducts[duct.0];
        Self {
            duct,
            end,
            face: place.end_face(end),
            cell: place.inside(end, 0),
            ghosts: [0, 1].map(|steps| Ghost::new(place, end, &ducts[beyond.0.0], beyond.1, steps)),
        }
    }
}

impl Ghost {
    fn new(own: &Duct, end: End, other: &Duct, other_end: End, steps: usize) -> Self {
        let slot = own.ghost(end, steps);
        // Distance of the centre from the face, in cells of the other duct.
        let distance = (steps as f64 + 0.5) * own.cell_length / other.cell_length;
        if distance < 0.5 * (1.0 - LENGTH_TOLERANCE) {
            let own_distance = 0.5 * own.cell_length / other.cell_length;
            let weight = (distance + own_distance) / (0.5 + own_distance);
            let (near, far) = (own.inside(end, 0), other.inside(other_end, 0));
            return Self { slot, near, far, near_is_beyond: false, weight };
        }
        // Cells of equal length must find their partner exactly, whatever the rounding of the quotient.
        let position = distance - 0.5;
        let whole = (position + LENGTH_TOLERANCE).floor();
        let weight = position - whole;
        let near = whole as usize;
        Self {
            slot,
            near: other.inside(other_end, near),
            far: other.inside(other_end, near + 1),
            near_is_beyond: true,
            weight: if weight < LENGTH_TOLERANCE { 0.0 } else { weight },
        }
    }

    fn between(&self, near: f64, far: f64) -> f64 {
        near + self.weight * (far - near)
    }
}

impl Arena {
    /// Gives both sides of every link the same flow, so that nothing is lost between them by round-off.
    pub(super) fn link_fluxes(&self, work: &mut Work) {
        for link in &self.links {
            let [a, b] = &link.sides;
            let flux = link.flux(self, work);
            work.flux.set(a.face, flux);
            work.flux.set(b.face, if link.mirrored { flux.mirrored() } else { flux });
            for scalar in 0..self.scalars {
                let out_of_a = flux.mass * a.end.outward();
                let from = if out_of_a < 0.0 { b } else { a };
                let carried = out_of_a * scalars::at_face(work, scalar, from.cell, from.end);
                work.scalar_flux[scalar][a.face] = carried * a.end.outward();
                work.scalar_flux[scalar][b.face] = -carried * b.end.outward();
            }
        }
    }
}
