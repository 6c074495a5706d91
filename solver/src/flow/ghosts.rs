//! Ghost slots: what a duct sees beyond its ends.

use super::arena::{Arena, Duct, GHOSTS};
use super::greater;
use super::limiter::{SlopeLaw, VanAlbada};
use super::state::{DuctId, End, EndFlux, EndState, Flux, Primitive};
use super::work::Work;

/// Largest fall of density or pressure from the last cell to its ghost, over the value in the cell.
const LARGEST_FALL: f64 = 0.5;

/// Two ends that are one ordinary face.
#[derive(Debug, Clone, Copy)]
pub(super) struct Link {
    sides: [Side; 2],
    /// Whether x runs in opposite directions on the two sides.
    mirrored: bool,
}

/// What a link must know of one of its ends.
#[derive(Debug, Clone, Copy)]
struct Side {
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
    pub(super) fn new(a: &Duct, a_end: End, b: &Duct, b_end: End) -> Self {
        Self { sides: [Side::new(a, a_end, b, b_end), Side::new(b, b_end, a, a_end)], mirrored: a_end == b_end }
    }

    fn seen_across(&self, state: Primitive) -> Primitive {
        if self.mirrored { state.mirrored() } else { state }
    }
}

impl Side {
    fn new(own: &Duct, end: End, other: &Duct, other_end: End) -> Self {
        let ghost = |steps: usize| Ghost::new(own, end, other, other_end, steps);
        Self { end, face: own.end_face(end), cell: own.inside(end, 0), ghosts: [ghost(0), ghost(1)] }
    }
}

impl Ghost {
    fn new(own: &Duct, end: End, other: &Duct, other_end: End, steps: usize) -> Self {
        let slot = own.ghost(end, steps);
        // Distance of the centre from the face, in cells of the other duct.
        let distance = (steps as f64 + 0.5) * own.cell_length / other.cell_length;
        if distance < 0.5 {
            let own_distance = 0.5 * own.cell_length / other.cell_length;
            let weight = (distance + own_distance) / (0.5 + own_distance);
            let (near, far) = (own.inside(end, 0), other.inside(other_end, 0));
            return Self { slot, near, far, near_is_beyond: false, weight };
        }
        // Cells of equal length must find their partner exactly, whatever the rounding of the quotient.
        let position = distance - 0.5;
        let whole = if (position - position.round()).abs() < 1e-9 { position.round() } else { position.floor() };
        let near = whole as usize;
        Self {
            slot,
            near: other.inside(other_end, near),
            far: other.inside(other_end, near + 1),
            near_is_beyond: true,
            weight: greater(0.0, position - whole),
        }
    }

    fn between(&self, near: f64, far: f64) -> f64 {
        near + self.weight * (far - near)
    }
}

impl Arena {
    /// Fills the ghost slots: from the duct beyond at linked ends, by a limited continuation at all others.
    pub fn fill_ghosts(&self, work: &mut Work) {
        for duct in &self.ducts {
            for end in [End::First, End::Last] {
                if !duct.linked[end as usize] {
                    continue_beyond(duct, end, work);
                }
            }
        }
        for link in &self.links {
            for side in &link.sides {
                for ghost in &side.ghosts {
                    fill_linked(link, ghost, work);
                }
            }
        }
    }

    /// The gas at an end of a duct, after [`Arena::reconstruct`].
    #[must_use]
    pub fn end_state(&self, work: &Work, duct: DuctId, end: End) -> EndState {
        let place = &self.ducts[duct.0];
        let slot = place.inside(end, 0);
        let state = match end {
            End::First => work.before.at(slot),
            End::Last => work.after.at(slot),
        };
        EndState {
            density: state.density,
            velocity: state.velocity * end.outward(),
            pressure: state.pressure,
            area: self.end_area(duct, end),
        }
    }

    /// A scalar per kilogram at an end of a duct, after [`Arena::reconstruct`].
    #[must_use]
    pub fn end_scalar(&self, work: &Work, duct: DuctId, end: End, scalar: usize) -> f64 {
        let slot = self.ducts[duct.0].inside(end, 0);
        match end {
            End::First => work.scalar_before[scalar][slot],
            End::Last => work.scalar_after[scalar][slot],
        }
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

    /// Gives both sides of every link the other's face state.
    pub(super) fn exchange_face_states(&self, work: &mut Work) {
        for link in &self.links {
            let [a, b] = link.sides;
            let (from_a, from_b) = (face_state(&a, work), face_state(&b, work));
            set_face_beyond(&a, link.seen_across(from_b), work);
            set_face_beyond(&b, link.seen_across(from_a), work);
            for scalar in 0..self.scalars {
                let (from_a, from_b) = (face_scalar(&a, scalar, work), face_scalar(&b, scalar, work));
                set_scalar_beyond(&a, scalar, from_b, work);
                set_scalar_beyond(&b, scalar, from_a, work);
            }
        }
    }

    /// Gives the second side of every link the flux of the first, so that nothing is lost between them by round-off.
    pub(super) fn share_link_fluxes(&self, work: &mut Work) {
        for link in &self.links {
            let [a, b] = link.sides;
            let flux = work.flux.at(a.face);
            work.flux.set(b.face, if link.mirrored { flux.mirrored() } else { flux });
            for row in &mut work.scalar_flux {
                row[b.face] = if link.mirrored { -row[a.face] } else { row[a.face] };
            }
        }
    }
}

/// Continues a duct beyond an end with the limited difference of its last cells. Smooth flow so keeps its slope up to the end face; a
/// shock near the end cannot be carried on to negative pressure.
fn continue_beyond(duct: &Duct, end: End, work: &mut Work) {
    let [last, second, third] = [0, 1, 2].map(|steps| duct.inside(end, steps));
    let (q0, q1, q2) = (work.cell.at(last), work.cell.at(second), work.cell.at(third));
    let speed_squared = work.pressure_over_density[last];
    let positive = |q0: f64, q1: f64, q2: f64| {
        let change = VanAlbada::positive_change(q1 - q2, q0 - q1, q0);
        q0 + greater(-LARGEST_FALL * q0, change)
    };
    let beyond = Primitive {
        density: positive(q0.density, q1.density, q2.density),
        velocity: q0.velocity + VanAlbada::change(q1.velocity - q2.velocity, q0.velocity - q1.velocity, speed_squared),
        pressure: positive(q0.pressure, q1.pressure, q2.pressure),
    };
    for steps in 0..GHOSTS {
        let ghost = duct.ghost(end, steps);
        work.cell.set(ghost, beyond);
        work.pressure_over_density[ghost] = beyond.pressure / beyond.density;
        // Shares are not continued: their slope must vanish at the end so that they stay shares.
        for row in &mut work.scalar {
            row[ghost] = row[last];
        }
    }
}

fn fill_linked(link: &Link, ghost: &Ghost, work: &mut Work) {
    let far = link.seen_across(work.cell.at(ghost.far));
    let near = work.cell.at(ghost.near);
    let near = if ghost.near_is_beyond { link.seen_across(near) } else { near };
    let state = Primitive {
        density: ghost.between(near.density, far.density),
        velocity: ghost.between(near.velocity, far.velocity),
        pressure: ghost.between(near.pressure, far.pressure),
    };
    work.cell.set(ghost.slot, state);
    work.pressure_over_density[ghost.slot] = state.pressure / state.density;
    for row in &mut work.scalar {
        row[ghost.slot] = ghost.between(row[ghost.near], row[ghost.far]);
    }
}

fn face_state(side: &Side, work: &Work) -> Primitive {
    match side.end {
        End::First => work.before.at(side.cell),
        End::Last => work.after.at(side.cell),
    }
}

fn set_face_beyond(side: &Side, state: Primitive, work: &mut Work) {
    let ghost = side.ghosts[0].slot;
    match side.end {
        End::First => work.after.set(ghost, state),
        End::Last => work.before.set(ghost, state),
    }
}

fn face_scalar(side: &Side, scalar: usize, work: &Work) -> f64 {
    match side.end {
        End::First => work.scalar_before[scalar][side.cell],
        End::Last => work.scalar_after[scalar][side.cell],
    }
}

fn set_scalar_beyond(side: &Side, scalar: usize, value: f64, work: &mut Work) {
    let ghost = side.ghosts[0].slot;
    match side.end {
        End::First => work.scalar_after[scalar][ghost] = value,
        End::Last => work.scalar_before[scalar][ghost] = value,
    }
}
