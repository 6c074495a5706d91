//! Values that nobody knows, found from readings: bounded least squares with priors, and how well the values are then known.

mod certainty;
mod least_squares;

pub use certainty::{Alike, Certainty, DEPENDENT, Spreads, UNFELT, Without};
pub use least_squares::{Ending, Failure, Found, Model, Prior, Slopes, Stop, Unknown, least_squares};

#[cfg(test)]
mod tests;
