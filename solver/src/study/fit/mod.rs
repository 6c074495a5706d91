//! Values that nobody knows, found from readings: bounded least squares with priors, and how well the values are then known.

mod certainty;
mod fields;
mod groups;
mod least_squares;
mod priors;
mod search;
mod stations;

pub use certainty::{Alike, Certainty, DEPENDENT, Spreads, UNFELT, Without};
pub use fields::Fitted;
pub use groups::{Group, groups, missed_one_by_one};
pub use least_squares::{Ending, Failure, Found, Model, Prior, Slopes, Stop, Unknown, least_squares};
pub use priors::with_priors;
pub use stations::{Alone, Answer, FitReading, Hands, Solved, StationError, Stations};

#[cfg(test)]
mod tests;
