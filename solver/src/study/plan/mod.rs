//! A study file: which cases are run, at which points, with which inputs, and what they are to be good for.
//!
//! A plan is a list of runs, each of them a pure function of its number, so that any process can do any share of it.

mod draws;
mod goal;
mod identity;
pub mod keys;
mod read;
mod runs;
mod variable;

pub use draws::Draws;
pub use goal::{Goal, Limit, What};
pub use identity::Id;
pub use runs::Run;
pub use variable::{Values, Variable};

use crate::case::{Case, schema_of};
use crate::error::Error;
use std::collections::BTreeSet;
use std::path::Path;

/// A study whose every value has been checked against its cases.
#[derive(Debug, Clone)]
pub struct Plan {
    /// Name of its file.
    pub file: String,
    /// Its text, as the user wrote it.
    pub text: String,
    /// Title; empty when it has none.
    pub title: String,
    /// Layouts, at least one.
    pub layouts: Vec<Layout>,
    /// Names of the points, at least one.
    pub points: Vec<String>,
    /// Inputs that vary.
    pub variables: Vec<Variable>,
    /// Which values they take.
    pub sample: Sample,
    /// What a run must meet.
    pub limits: Vec<Limit>,
    /// What is to become better.
    pub goals: Vec<Goal>,
    /// How the best is searched for, when it is.
    pub search: Option<Search>,
    /// Whether the fields of each run are kept as a result of its own.
    pub keeps_fields: bool,
}

/// A layout of a study.
#[derive(Debug, Clone)]
pub struct Layout {
    /// Name.
    pub name: String,
    /// Its case, with what the study sets in it and the way in which the study runs it.
    pub case: Case,
    /// Paths of its numeric fields.
    fields: BTreeSet<String>,
}

/// Which values the inputs take.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sample {
    /// Every combination.
    Grid,
    /// Points of a Sobol sequence, scrambled as by Owen; Burley 2020, Journal of Computer Graphics Techniques 9 (4).
    Sobol {
        /// Number of samples.
        count: usize,
        /// Seed of the scrambling.
        seed: u32,
    },
    /// Draws from the spreads of inputs and published losses.
    Spread {
        /// Number of samples.
        count: usize,
        /// Seed of the draws.
        seed: u64,
    },
}

/// A search for the best.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Search {
    /// Most runs for each layout and point.
    pub evaluations: usize,
    /// Evenly spread runs before it.
    pub starts: usize,
    /// Seed of these.
    pub seed: u32,
}

/// JSON Schema (draft 7) of a study, as text.
#[must_use]
pub fn schema() -> String {
    schema_of("Tractwright study", keys::STUDY_KEYS)
}

impl Plan {
    /// Reads the study at `path` with the cases that it names.
    ///
    /// # Errors
    /// Everything that is wrong with it or with its cases.
    pub fn from_path(path: &Path) -> Result<Self, Error> {
        read::from_path(path)
    }
}

#[cfg(test)]
mod tests;
