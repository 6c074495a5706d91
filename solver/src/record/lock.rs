//! One writer a result: an advisory lock on a small file beside it.

use super::{beside, failure};
use crate::error::OutputError;
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};

/// Tells apart the locks that one process takes, one after another.
static TAKEN: AtomicU64 = AtomicU64::new(0);

/// The right to write one result. Given back when dropped, and by the system when the process dies.
#[derive(Debug)]
pub struct Lock {
    path: PathBuf,
    /// Held open: closing it gives the lock back.
    _file: File,
}

impl Lock {
    /// Takes the lock of the result `path` (the file `<path>.lock`).
    ///
    /// # Errors
    /// [`OutputError::Content`] naming the process that writes this result already, [`OutputError::File`] when the folder is missing or
    /// cannot be written.
    pub fn take(path: &Path) -> Result<Self, OutputError> {
        let path = beside(path, "lock");
        loop {
            if let Some(file) = take_file(&path)? {
                return Ok(Self { path, _file: file });
            }
        }
    }
}

impl Drop for Lock {
    fn drop(&mut self) {
        // Removed while still held. A name that stays, because the folder became read-only, stands in nobody's way.
        let _ = std::fs::remove_file(&self.path);
    }
}

/// Refuses where any process holds the lock of the result `path`. Nothing keeps it from being taken afterwards: who takes a lock of their own first
/// and asks then about another, as its holder does the other way round, is never there together with them.
///
/// # Errors
/// [`OutputError::Content`] naming the process that holds it, [`OutputError::File`] when the folder cannot be read.
pub fn refuse_held(path: &Path) -> Result<(), OutputError> {
    let path = beside(path, "lock");
    let file = match File::open(&path) {
        Err(source) if source.kind() == ErrorKind::NotFound => return Ok(()),
        opened => opened.map_err(failure::file(&path))?,
    };
    match file.try_lock_shared() {
        Ok(()) => Ok(()),
        Err(TryLockError::WouldBlock) => Err(held(&path)),
        Err(TryLockError::Error(source)) => Err(failure::file(&path)(source)),
    }
}

/// Locks and signs the file; `None` when the last holder removed its name between our opening it and our locking it, since such a lock
/// guards nothing.
fn take_file(path: &Path) -> Result<Option<File>, OutputError> {
    let options = OpenOptions::new().write(true).create(true).truncate(false).to_owned();
    let mut file = options.open(path).map_err(failure::file(path))?;
    match file.try_lock() {
        Ok(()) => {}
        Err(TryLockError::WouldBlock) => return Err(held(path)),
        Err(TryLockError::Error(source)) => return Err(failure::file(path)(source)),
    }
    let signature = format!("{} {}\n", std::process::id(), TAKEN.fetch_add(1, Ordering::Relaxed));
    file.set_len(0).and_then(|()| file.write_all(signature.as_bytes())).map_err(failure::file(path))?;
    let still_named = std::fs::read_to_string(path).is_ok_and(|text| text == signature);
    Ok(still_named.then_some(file))
}

fn held(path: &Path) -> OutputError {
    let text = std::fs::read_to_string(path).unwrap_or_default();
    let holder = text.split_whitespace().next().unwrap_or("unknown");
    failure::content(path, format!("held by process {holder}"), "one process writing a result at a time")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_second_writer_is_refused_and_told_who_holds_it() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("run.h5");
        let first = Lock::take(&path).unwrap();
        let text = Lock::take(&path).unwrap_err().to_string();
        assert!(text.contains(&std::process::id().to_string()), "{text}");
        assert_eq!(refuse_held(&path).unwrap_err().to_string(), text);
        drop(first);
        refuse_held(&path).unwrap();
        drop(Lock::take(&path).unwrap());
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0, "the lock file stays behind");
    }

    #[test]
    fn a_lock_file_of_a_dead_process_is_taken_over() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("run.h5");
        std::fs::write(beside(&path, "lock"), "4194304 0\nlonger than ours").unwrap();
        refuse_held(&path).unwrap();
        assert!(Lock::take(&path).is_ok());
    }

    #[test]
    fn never_two_holders_in_a_storm() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("run.h5");
        let (holders, most) = (AtomicU64::new(0), AtomicU64::new(0));
        std::thread::scope(|scope| {
            for _ in 0..4 {
                scope.spawn(|| {
                    for _ in 0..300 {
                        if let Ok(lock) = Lock::take(&path) {
                            most.fetch_max(holders.fetch_add(1, Ordering::SeqCst) + 1, Ordering::SeqCst);
                            std::thread::yield_now();
                            holders.fetch_sub(1, Ordering::SeqCst);
                            drop(lock);
                        }
                    }
                });
            }
        });
        assert_eq!(most.into_inner(), 1);
    }

    #[test]
    fn a_missing_folder_is_named() {
        let folder = tempfile::tempdir().unwrap();
        let error = Lock::take(&folder.path().join("absent/run.h5")).unwrap_err();
        assert!(matches!(error, OutputError::File { .. }) && error.to_string().contains("absent"));
    }
}
