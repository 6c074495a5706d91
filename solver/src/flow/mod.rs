//! The finite-volume kernel: the cells of all ducts, and the phases of one evaluation of their rates of change.
//!
//! All ducts lie one after another in one [`Arena`], two ghost slots at both ends of each. Every quantity is a *row*, one
//! contiguous array over all slots, and every phase is a long loop over rows. The arena owns the first `rows * slots` values of the
//! flat state `y`: density, momentum and total energy per unit volume, then the scalars times density, all as cell averages.
//!
//! One evaluation calls, in this order, [`Arena::primitives`], [`Arena::fill_ghosts`], [`Arena::face_fluxes`], then
//! [`Arena::end_state`] and [`Arena::set_end_flux`] for every end that has a joint, and [`Arena::derivative`];
//! [`Arena::advance`] makes a step of it. What the phases leave for each other lies in a [`Work`].
//!
//! **Signs.** Inside a duct x, velocity and fluxes run from its first end to its last. At an end, velocity, mass and energy flow
//! are positive *out of the duct*. Drag is the force that the gas feels against its velocity, heat is positive into the gas.

mod arena;
mod derivative;
mod dispatch;
mod ends;
mod entropy;
mod faces;
mod geometry;
mod ghosts;
pub mod limiter;
mod links;
mod mesh;
mod primitives;
mod reconstruct;
pub mod riemann;
mod row;
mod scalars;
mod scheme;
mod sources;
mod state;
mod strips;
pub mod wall_law;
mod wall_table;
mod walls;
mod work;

#[cfg(test)]
mod tests;

pub use arena::{AreaMismatch, Arena};
pub use dispatch::InstructionSet;
pub use entropy::{Dissipation, Fitted};
pub use mesh::DuctMesh;
pub use primitives::Fault;
pub use scheme::{Limiter, Predictor, RiemannSolver, Scheme};
pub use state::{DuctId, End, EndFlux, EndState, Flux, Primitive};
pub use wall_table::WallTable;
pub use work::Work;

/// The smaller of two; written as a select, which costs one instruction where the NaN rules of `f64::min` cost several.
#[inline(always)]
fn lesser(a: f64, b: f64) -> f64 {
    if a < b { a } else { b }
}

/// The greater of two, see [`lesser`].
#[inline(always)]
fn greater(a: f64, b: f64) -> f64 {
    if a > b { a } else { b }
}

/// Place of a number in the order of all numbers not below zero; negative for one below. A loop finds the highest of many ranks lane by
/// lane, while the order of floats would have it ask one after another.
#[inline(always)]
fn rank(value: f64) -> i64 {
    value.to_bits().cast_signed()
}

/// The number of a rank not below zero.
#[inline(always)]
fn of_rank(rank: i64) -> f64 {
    f64::from_bits(rank.cast_unsigned())
}
