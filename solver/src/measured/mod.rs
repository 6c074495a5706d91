//! What was measured on the car, beside what the model says at the same place and in the same state.
//!
//! A log is read into a [`Sheet`] of numbers, what the case says of its columns turns that into a [`Log`] in SI, rows that are one steady
//! state are averaged into a [`Station`]. Whatever is not a number with a known unit is told with its line and kept out.

mod channel;
mod column;
mod log;
mod plausible;
mod runs;
mod sheet;
mod stations;

pub use log::{ChannelData, Log, LogRow, Told};
pub use plausible::{Doubt, doubts};
pub use sheet::{Sheet, SheetColumn};
pub use stations::{Mean, Station, stations};
