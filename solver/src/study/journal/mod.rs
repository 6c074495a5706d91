//! The journal of a study: a line for each run that ended, written when it ends and never touched again.
//!
//! A line is a checksum and the run in JSON. One that is torn by a kill, or damaged, is no line: its run is done again. Every process that does
//! a share of a study has a journal of its own in the folder of the study; all of them are read.

mod line;
mod records;
mod store;

pub use line::{Ended, Entry, Name};
pub use records::{Form, Records};

use crate::error::OutputError;
use crate::record::{Lock, refuse_held};
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};
use store::{RealStore, Store};

/// Endings of the names of journals, and of their locks.
const ENDING: &str = ".journal";
const LOCK_ENDING: &str = ".journal.lock";
/// Time between two requests to bring the journal to the disk: what a loss of power may cost.
const SYNCHRONISE_EVERY: Duration = Duration::from_secs(1);

/// One share of a study: number `index` of `count`, counted from one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shard {
    /// Which.
    pub index: usize,
    /// Of how many.
    pub count: usize,
}

impl Shard {
    /// The whole.
    pub const WHOLE: Self = Self { index: 1, count: 1 };

    /// Name of its journal.
    fn journal(self) -> String {
        match self {
            Self::WHOLE => format!("runs{ENDING}"),
            Self { index, count } => format!("runs.{index}-of-{count}{ENDING}"),
        }
    }

    /// Whether the journal at `path` is of a share of the study cut in the same way: of one that is the same, or has no run with this one.
    fn is_cut_as(self, path: &str) -> bool {
        path.ends_with(&match self {
            Self::WHOLE => self.journal(),
            Self { count, .. } => format!("-of-{count}{ENDING}"),
        })
    }

    /// Whether the run of this number belongs to this share. Shares are interleaved, so that what costs more is spread over all.
    #[must_use]
    pub fn has(self, number: usize) -> bool {
        number % self.count == self.index - 1
    }
}

/// The files in `folder` whose names end so, in order; none where it is not there.
fn files(folder: &Path, ending: &str) -> Result<Vec<PathBuf>, OutputError> {
    let listed = match fs::read_dir(folder) {
        Err(source) if source.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        listed => listed.map_err(failed(folder))?,
    };
    let mut paths = Vec::new();
    for entry in listed {
        let path = entry.map_err(failed(folder))?.path();
        if path.to_string_lossy().ends_with(ending) {
            paths.push(path);
        }
    }
    paths.sort();
    Ok(paths)
}

fn failed(path: &Path) -> impl FnOnce(io::Error) -> OutputError {
    let path = path.to_owned();
    move |source| OutputError::File { path, source }
}

/// The journal that this process writes.
#[derive(Debug)]
pub struct Journal {
    path: PathBuf,
    store: Box<dyn Store>,
    /// Bytes of whole lines.
    length: u64,
    synchronised: Instant,
    broken: bool,
    /// Held as long as the journal: one process a share.
    _lock: Option<Lock>,
}

impl Journal {
    /// Opens the journal of `shard` in `folder` to go on behind its last whole line.
    ///
    /// # Errors
    /// Another process does this share, or the whole, or a share of the study cut otherwise, so that both would do the same runs; or the folder
    /// cannot be written.
    pub fn open(folder: &Path, shard: Shard) -> Result<Self, OutputError> {
        let path = folder.join(shard.journal());
        let lock = Lock::take(&path)?;
        for lock in files(folder, LOCK_ENDING)? {
            let other = lock.with_extension("");
            if !shard.is_cut_as(&other.to_string_lossy()) {
                refuse_held(&other)?;
            }
        }
        let failed = |source| OutputError::File { path: path.clone(), source };
        let store = RealStore::open(&path).map_err(failed)?;
        Self::on(path.clone(), Box::new(store), Some(lock))
    }

    fn on(path: PathBuf, mut store: Box<dyn Store>, lock: Option<Lock>) -> Result<Self, OutputError> {
        let length = store.cut_to_whole_lines().map_err(|source| OutputError::File { path: path.clone(), source })?;
        Ok(Self { path, store, length, synchronised: Instant::now(), broken: false, _lock: lock })
    }

    /// Adds a run that ended.
    ///
    /// # Errors
    /// The disk refuses; the journal then ends with the last whole line, and takes no other.
    pub fn add(&mut self, entry: &Entry) -> Result<(), OutputError> {
        let text = line::write(entry);
        let failed = |source| OutputError::File { path: self.path.clone(), source };
        if self.broken {
            return Err(failed(io::Error::other("the journal takes no more lines since one was refused")));
        }
        if let Err(source) = self.store.append(text.as_bytes()) {
            self.broken = true;
            // Half a line would do no harm; the first error is the one to tell.
            let _ = self.store.cut(self.length);
            return Err(failed(source));
        }
        self.length += text.len() as u64;
        if self.synchronised.elapsed() >= SYNCHRONISE_EVERY {
            self.synchronise()?;
        }
        Ok(())
    }

    /// Brings all lines to the disk.
    ///
    /// # Errors
    /// The disk refuses.
    pub fn synchronise(&mut self) -> Result<(), OutputError> {
        self.synchronised = Instant::now();
        self.store.synchronise().map_err(|source| {
            self.broken = true;
            OutputError::File { path: self.path.clone(), source }
        })
    }
}

#[cfg(test)]
mod tests;
