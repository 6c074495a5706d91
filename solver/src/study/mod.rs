//! What cases come to at their points, and many neighbouring cases: what each field of a case does, and how far the figures spread with
//! the inputs.
//!
//! Nothing here knows of threads: each sample and each field is a pure function of its number, so that whoever runs them side by
//! side gets the same numbers.

mod aim;
mod dice;
mod driven;
mod evaluate;
mod figures;
pub mod filter_life;
pub mod fit;
pub mod flow_bench;
pub mod journal;
pub mod indices;
mod known;
mod overlay;
pub mod levers;
pub mod plan;
mod pulls;
pub mod rank;
pub mod search;
pub mod spread;
pub mod table;
pub mod test_plan;
mod workshop;

pub use aim::{Aim, Measure};
pub use dice::Dice;
pub use evaluate::Evaluator;
pub use figures::{Figure, Figures, Of, Quantity, name_of};
pub use known::{KnownPoint, figures_of};
pub use overlay::{Course, Read, at_station, course_at, mean_sets, read_in, rises};
pub use pulls::sets_needed;
pub use workshop::Step;
