//! The slow march: implicit, for states that are steady or change over seconds and minutes.
//!
//! It solves the same [`crate::network::Network::residual`] as the acoustic march, joint flows included, as one sparse system. Waves are
//! damped, not resolved.

mod carry;
mod colour;
mod driver;
mod linear;
mod march;
mod pattern;
mod present;
mod roots;
mod save;
mod shares;
mod stages;
mod steady;
mod step;
mod system;
mod transport;
mod unknowns;
mod warmth;
mod waves;

pub use march::Slow;
pub use roots::roots;
pub use steady::{Steady, steady};
