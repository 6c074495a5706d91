//! Heat beside the stream: materials, films on outer surfaces, radiation in enclosures, conduction through layered walls.
//!
//! Pure laws of temperatures, lengths and areas. Knows nothing of networks or of time.

pub(crate) mod ease;
pub mod enclosure;
pub mod film;
pub mod layers;
pub mod material;
pub mod nusselt;
pub mod view;
pub mod view_factors;

pub use enclosure::{Enclosure, STEFAN_BOLTZMANN, Surface};
pub use layers::{Layer, Layers, LayersFault};
pub use material::{Limit, Material};
pub use view_factors::{EnclosureFault, View, ViewFactors};
