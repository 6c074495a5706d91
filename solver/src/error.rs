//! What can go wrong, as types: the user's file, the physics of a run, the disk.
//!
//! The library never prints, never exits and never panics on user input. A message is a lower-case fragment that can follow
//! "failed to"; it names what was found and what was expected.

use std::fmt;
use std::path::PathBuf;

/// Any failure of the library.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// The user's case or study cannot be used.
    #[error(transparent)]
    Case(#[from] CaseError),
    /// The physics stopped a run.
    #[error(transparent)]
    Run(#[from] RunError),
    /// A file could not be read or written.
    #[error(transparent)]
    Output(#[from] OutputError),
}

/// Everything that is wrong with one case, in the order of the file.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub struct CaseError {
    /// The mistakes, sorted by file and line; never empty.
    pub problems: Vec<Problem>,
}

impl fmt::Display for CaseError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, problem) in self.problems.iter().enumerate() {
            if index > 0 {
                writeln!(f)?;
            }
            write!(f, "{problem}")?;
        }
        Ok(())
    }
}

/// Where in the user's text something stands. Lines and columns count from 1; 0 means "the file as a whole".
#[derive(Debug, Clone, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Location {
    /// File as the user named it.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Column, from 1.
    pub column: usize,
}

impl fmt::Display for Location {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            0 => write!(f, "{}", self.file),
            line => write!(f, "{}:{line}:{}", self.file, self.column),
        }
    }
}

/// One mistake in a case file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Where it stands.
    pub location: Location,
    /// Path of the value, such as `parts.box.volume`.
    pub path: String,
    /// What the file says.
    pub found: String,
    /// What would be right.
    pub expected: String,
    /// Nearest known word, when the mistake looks like a slip of the pen.
    pub nearest: Option<String>,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}: found {}, expected {}", self.location, self.path, self.found, self.expected)?;
        match &self.nearest {
            Some(word) => write!(f, " (did you mean `{word}`?)"),
            None => Ok(()),
        }
    }
}

/// The physics stopped a run.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum RunError {
    /// A cell or a volume left the range in which the equations mean anything.
    #[error(
        "part `{part}`, cell {cell} at x = {position:.4} m: {quantity} is {value:e} at t = {time:.6e} s (step {step})"
    )]
    NonPhysical {
        /// Part in which it happened.
        part: String,
        /// Cell from the part's first end; 0 for a volume.
        cell: usize,
        /// Place in the part [m].
        position: f64,
        /// What left its range.
        quantity: &'static str,
        /// Its value, in SI.
        value: f64,
        /// Simulated time [s].
        time: f64,
        /// Step count.
        step: u64,
    },
    /// A joint found no flow that balances its pressures.
    #[error(
        "joint {joint}: no flow balances its pressures (mismatch {mismatch:e} Pa) at t = {time:.6e} s (step {step})"
    )]
    JointUnbalanced {
        /// Parts that meet in the joint.
        joint: String,
        /// Remaining pressure mismatch [Pa].
        mismatch: f64,
        /// Simulated time [s].
        time: f64,
        /// Step count.
        step: u64,
    },
    /// No steady state was found.
    #[error(
        "no steady state after {iterations} steps of Newton's method: `{part}`, {quantity}, is off by {left:e}{}",
        because.as_ref().map_or_else(String::new, |words| format!("; {words}"))
    )]
    NotSteady {
        /// Part with the largest rate or mismatch.
        part: String,
        /// What of it.
        quantity: &'static str,
        /// The rate over the size of the quantity [1/s], or the mismatch over the outside's pressure.
        left: f64,
        /// Newton steps.
        iterations: usize,
        /// Which draw asks for more than can flow, or what empties or fills air that nothing holds at a pressure, in words, where that is so.
        because: Option<String>,
    },
    /// No step of the slow march, however short, could be solved.
    #[error("no step can be solved at t = {time:.6e} s (step {step}): `{part}`, {quantity}, does not come to balance")]
    NotSolved {
        /// Part with the largest rate or mismatch.
        part: String,
        /// What of it.
        quantity: &'static str,
        /// Simulated time [s].
        time: f64,
        /// Step count.
        step: u64,
    },
    /// The equations of a network have no unique solution.
    #[error("the equations of the network cannot be solved at t = {time:.6e} s")]
    Unsolvable {
        /// Simulated time [s].
        time: f64,
    },
    /// Numbers on the way from one phase to the next make no network.
    #[error("the ramp makes no network at t = {time:.6e} s: {problem}")]
    NoNetwork {
        /// What does not fit.
        problem: String,
        /// Simulated time [s].
        time: f64,
    },
    /// The stable step shrank to nothing.
    #[error("the stable step fell to {step_size:e} s at t = {time:.6e} s (step {step}), limited by part `{part}`")]
    StepCollapsed {
        /// Part that limits the step.
        part: String,
        /// The step [s].
        step_size: f64,
        /// Simulated time [s].
        time: f64,
        /// Step count.
        step: u64,
    },
}

/// A file could not be read or written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum OutputError {
    /// The operating system refused.
    #[error("{}: {source}", path.display())]
    File {
        /// File or folder.
        path: PathBuf,
        /// Reason.
        source: std::io::Error,
    },
    /// HDF5 refused.
    #[error("{}: {source}", path.display())]
    Hdf5 {
        /// Result file.
        path: PathBuf,
        /// Reason.
        source: hdf5::Error,
    },
    /// The file is not what its name promises.
    #[error("{}: {found}, expected {expected}", path.display())]
    Content {
        /// File.
        path: PathBuf,
        /// What it holds.
        found: String,
        /// What was expected.
        expected: String,
    },
}
