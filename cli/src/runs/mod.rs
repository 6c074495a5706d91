//! Many cases at many points, side by side.

mod estimate;
mod jobs;
mod many;
mod progress;
mod together;

pub(crate) use estimate::Estimate;
pub(crate) use jobs::{Job, Wish, prepare, unfinished};
pub(crate) use many::many;
pub(crate) use together::{Ended, together};
