//! Heat beside the air: materials, films on outer surfaces, radiation in an enclosure.

mod enclosure;
pub mod film;
pub mod material;

pub use enclosure::{Enclosure, EnclosureFault};
pub use material::{Layer, Material};
