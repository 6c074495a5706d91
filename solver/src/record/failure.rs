//! HDF5's errors in the words of this crate: a full disk and a lock are told apart from damage.

use crate::error::OutputError;
use std::io;
use std::path::{Path, PathBuf};

/// "No space left on device", "file too large" and "disk quota exceeded" on Linux.
const FULL_DISK: [i32; 3] = [28, 27, 122];
/// "Resource temporarily unavailable", "resource deadlock avoided" (which some network file systems give) and its BSD number.
const LOCKED: [i32; 3] = [11, 35, 37];

/// An error of HDF5 on `path`.
pub(super) fn hdf5(path: &Path, source: hdf5::Error) -> OutputError {
    let text = source.to_string();
    match system_error(&text) {
        Some(code) if FULL_DISK.contains(&code) => file(path)(io::Error::from_raw_os_error(code)),
        Some(code) if LOCKED.contains(&code) && text.contains("lock") => content(
            path,
            format!("a lock on the file (errno {code})"),
            "a file that no other process writes; where the file system cannot lock, set HDF5_USE_FILE_LOCKING=FALSE",
        ),
        _ => OutputError::Hdf5 { path: path.to_owned(), source },
    }
}

/// The system's error number that HDF5 quotes in its message.
fn system_error(text: &str) -> Option<i32> {
    let (_, rest) = text.split_once("errno = ")?;
    let digits = rest.find(|letter: char| !letter.is_ascii_digit()).unwrap_or(rest.len());
    rest[..digits].parse().ok()
}

/// Wraps an error of the operating system on `path`.
pub(super) fn file(path: &Path) -> impl FnOnce(io::Error) -> OutputError {
    let path = PathBuf::from(path);
    move |source| OutputError::File { path, source }
}

/// A file that is not what its name promises.
pub(super) fn content(path: &Path, found: impl Into<String>, expected: impl Into<String>) -> OutputError {
    OutputError::Content { path: path.to_owned(), found: found.into(), expected: expected.into() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_full_disk_is_an_error_of_the_file() {
        let source =
            hdf5::Error::Internal("H5Dwrite(): can't write: errno = 28, error message = 'No space left'".into());
        let error = hdf5(Path::new("run.h5"), source);
        assert!(matches!(&error, OutputError::File { source, .. } if source.kind() == io::ErrorKind::StorageFull));
        assert!(error.to_string().starts_with("run.h5: "), "{error}");
    }

    #[test]
    fn a_lock_tells_how_to_do_without() {
        for code in LOCKED {
            let source = hdf5::Error::Internal(format!("unable to lock file, errno = {code}, error message = 'x'"));
            let text = hdf5(Path::new("run.h5"), source).to_string();
            assert!(text.contains("HDF5_USE_FILE_LOCKING=FALSE") && text.contains(&code.to_string()), "{text}");
        }
    }

    #[test]
    fn other_numbers_stay_what_they_are() {
        let source = hdf5::Error::Internal("unable to open file, errno = 2".into());
        assert!(matches!(hdf5(Path::new("run.h5"), source), OutputError::Hdf5 { .. }));
    }
}
