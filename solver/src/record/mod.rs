//! What a run leaves on disk: result files, checkpoints, and the one way in which a finished file gets its name.
//!
//! Owns the HDF5 layout of a result ([`Layout`]), writing it as the run goes ([`Writer`]), reading it back ([`ResultFile`]), the saved
//! state of a march ([`Checkpoint`]) and the publishing of any other file ([`publish`](fn@publish)). Knows no physics: names, units and
//! numbers come from the caller.
//!
//! A finished name means a finished file: a result grows as `<name>.part` and is renamed when it is complete.

mod attribute;
mod checkpoint;
mod codec;
mod create;
mod failure;
mod h5ds;
mod layout;
mod lock;
mod publish;
mod reader;
mod seal;
mod superblock;
pub mod table;
mod writer;

pub use attribute::Attribute;
pub use checkpoint::{Checkpoint, CheckpointPair, Identity};
pub use layout::{Axis, Constant, Coordinates, Group, Layout, Precision, RESERVED_NAMES, Series};
pub use lock::{Lock, refuse_held};
pub use publish::{publish, publish_bytes, remove_stale};
pub use reader::{ResultFile, Variable};
pub use writer::{Mark, Writer};

use std::path::{Path, PathBuf};

/// Version of the layout of a result file. Raised when the layout changes.
pub const FORMAT_VERSION: i64 = 1;

/// Name under which a result grows: `<name>.part` beside its final name.
#[must_use]
pub fn part_path(path: &Path) -> PathBuf {
    beside(path, "part")
}

/// `<name>.<suffix>`, in the same folder.
fn beside(path: &Path, suffix: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(".");
    name.push(suffix);
    PathBuf::from(name)
}

#[cfg(test)]
mod tests;
