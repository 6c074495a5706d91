//! Many steady states of neighbouring cases: what each field of a case does, and how far the figures spread with the inputs.
//!
//! Nothing here knows of threads: each sample and each field is a pure function of its number, so that whoever runs them side by
//! side gets the same numbers.

mod aim;
mod dice;
mod figures;
pub mod levers;
mod pulls;
pub mod spread;
mod steady;
mod workshop;

pub use aim::{Aim, Measure};
pub use dice::Dice;
pub use figures::{Figure, Figures, Of, Quantity};
pub use pulls::sets_needed;
pub use steady::{SteadyPoint, steady_figures};
pub use workshop::Step;
