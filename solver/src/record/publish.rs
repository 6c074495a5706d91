//! A finished name means a finished file: written under a temporary name, brought to the disk, then renamed.

use super::failure;
use crate::error::OutputError;
use std::fs::{File, OpenOptions};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

/// Writes a file whole or not at all; an older file of that name stays untouched until the new one is on the disk.
///
/// # Errors
/// [`OutputError::File`] when the disk is full, the folder is missing or may not be written, or `fill` fails. Nothing is left behind then.
pub fn publish(path: &Path, fill: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> Result<(), OutputError> {
    publish_on(&mut RealDisk, path, fill).map_err(failure::file(path))
}

/// Publishes bytes, see [`publish`].
///
/// # Errors
/// As [`publish`].
pub fn publish_bytes(path: &Path, bytes: &[u8]) -> Result<(), OutputError> {
    publish(path, |file| file.write_all(bytes))
}

/// Removes temporary files of `path` that dead processes left. Only for who holds the [`Lock`](super::Lock) of it.
///
/// # Errors
/// [`OutputError::File`] when the folder cannot be read or a file cannot be removed.
pub fn remove_stale(path: &Path) -> Result<(), OutputError> {
    let Some(prefix) = path.file_name().map(|name| format!(".{}.", name.to_string_lossy())) else { return Ok(()) };
    let folder = folder_of(path);
    for entry in std::fs::read_dir(folder).map_err(failure::file(folder))? {
        let entry = entry.map_err(failure::file(folder))?;
        let name = entry.file_name().to_string_lossy().into_owned();
        if name.strip_prefix(&prefix).is_some_and(is_temporary) {
            std::fs::remove_file(entry.path()).map_err(failure::file(&entry.path()))?;
        }
    }
    Ok(())
}

/// A new, empty file under a temporary name of `path`, for a library that writes by name.
pub(super) fn temporary(path: &Path) -> io::Result<PathBuf> {
    Ok(create_temporary(&mut RealDisk, path)?.1)
}

/// Renames a file that is complete, and brings file and name to the disk.
pub(super) fn promote(from: &Path, to: &Path) -> io::Result<()> {
    File::open(from)?.sync_all()?;
    RealDisk.rename(from, to)?;
    RealDisk.synchronise_folder(folder_of(to))
}

/// Brings a file and its name to the disk, which HDF5 never asks the system to do.
pub(super) fn synchronise(path: &Path) -> io::Result<()> {
    File::open(path)?.sync_all()?;
    RealDisk.synchronise_folder(folder_of(path))
}

/// The folder that holds `path`.
pub(super) fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

/// What publishing asks of the operating system; tests make each call fail in turn.
trait Disk {
    type File: Write;
    fn create_new(&mut self, path: &Path) -> io::Result<Self::File>;
    fn synchronise(&mut self, file: &Self::File) -> io::Result<()>;
    fn rename(&mut self, from: &Path, to: &Path) -> io::Result<()>;
    fn synchronise_folder(&mut self, folder: &Path) -> io::Result<()>;
    fn remove(&mut self, path: &Path) -> io::Result<()>;
}

struct RealDisk;

impl Disk for RealDisk {
    type File = File;

    fn create_new(&mut self, path: &Path) -> io::Result<File> {
        // `create_new` does not follow a link that somebody planted under our temporary name.
        OpenOptions::new().write(true).create_new(true).open(path)
    }

    fn synchronise(&mut self, file: &File) -> io::Result<()> {
        file.sync_all()
    }

    fn rename(&mut self, from: &Path, to: &Path) -> io::Result<()> {
        std::fs::rename(from, to)
    }

    fn synchronise_folder(&mut self, folder: &Path) -> io::Result<()> {
        File::open(folder)?.sync_all()
    }

    fn remove(&mut self, path: &Path) -> io::Result<()> {
        std::fs::remove_file(path)
    }
}

fn publish_on<D: Disk>(
    disk: &mut D,
    path: &Path,
    fill: impl FnOnce(&mut dyn Write) -> io::Result<()>,
) -> io::Result<()> {
    let (file, temporary) = create_temporary(disk, path)?;
    let result = fill_file(disk, file, fill).and_then(|()| disk.rename(&temporary, path));
    if result.is_err() {
        // The first error is the one to tell.
        let _ = disk.remove(&temporary);
    }
    result.and_then(|()| disk.synchronise_folder(folder_of(path)))
}

fn fill_file<D: Disk>(
    disk: &mut D,
    file: D::File,
    fill: impl FnOnce(&mut dyn Write) -> io::Result<()>,
) -> io::Result<()> {
    let mut writer = BufWriter::new(file);
    fill(&mut writer)?;
    let file = writer.into_inner().map_err(io::IntoInnerError::into_error)?;
    disk.synchronise(&file)
}

/// A new file `.<name>.<process>-<number>.tmp` in the folder of `path`.
fn create_temporary<D: Disk>(disk: &mut D, path: &Path) -> io::Result<(D::File, PathBuf)> {
    let name = path.file_name().ok_or_else(|| io::Error::new(io::ErrorKind::InvalidInput, "no file name"))?;
    let mut number = 0_u32;
    loop {
        let temporary = format!(".{}.{}-{number}.tmp", name.to_string_lossy(), std::process::id());
        let temporary = folder_of(path).join(temporary);
        match disk.create_new(&temporary) {
            Ok(file) => return Ok((file, temporary)),
            // Another thread of ours, or a dead process that had our number.
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => number += 1,
            Err(error) => return Err(error),
        }
    }
}

/// Whether this is the end of a temporary name: `<process>-<number>.tmp`.
fn is_temporary(end: &str) -> bool {
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|letter| letter.is_ascii_digit());
    let numbers = end.strip_suffix(".tmp").and_then(|numbers| numbers.split_once('-'));
    numbers.is_some_and(|(process, number)| digits(process) && digits(number))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A disk whose n-th call fails; a write that fails leaves half of its bytes behind.
    struct FailingDisk {
        calls_left: std::rc::Rc<std::cell::Cell<u32>>,
    }

    struct FailingFile {
        file: File,
        calls_left: std::rc::Rc<std::cell::Cell<u32>>,
    }

    fn spend(calls_left: &std::cell::Cell<u32>) -> io::Result<()> {
        if calls_left.get() == 0 {
            return Err(io::Error::from(io::ErrorKind::StorageFull));
        }
        calls_left.set(calls_left.get() - 1);
        Ok(())
    }

    impl Write for FailingFile {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            if let Err(error) = spend(&self.calls_left) {
                self.file.write_all(&bytes[..bytes.len() / 2])?;
                return Err(error);
            }
            self.file.write(bytes)
        }

        fn flush(&mut self) -> io::Result<()> {
            self.file.flush()
        }
    }

    impl Disk for FailingDisk {
        type File = FailingFile;

        fn create_new(&mut self, path: &Path) -> io::Result<FailingFile> {
            spend(&self.calls_left)?;
            Ok(FailingFile { file: RealDisk.create_new(path)?, calls_left: self.calls_left.clone() })
        }

        fn synchronise(&mut self, file: &FailingFile) -> io::Result<()> {
            spend(&self.calls_left)?;
            RealDisk.synchronise(&file.file)
        }

        fn rename(&mut self, from: &Path, to: &Path) -> io::Result<()> {
            spend(&self.calls_left)?;
            RealDisk.rename(from, to)
        }

        fn synchronise_folder(&mut self, folder: &Path) -> io::Result<()> {
            spend(&self.calls_left)?;
            RealDisk.synchronise_folder(folder)
        }

        fn remove(&mut self, path: &Path) -> io::Result<()> {
            RealDisk.remove(path)
        }
    }

    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<_> =
            std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    #[test]
    fn the_file_is_old_or_new_whichever_call_fails() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("table.csv");
        let (old, new) = (vec![1_u8; 30_000], vec![2_u8; 50_000]);
        let mut faults = 0;
        loop {
            std::fs::write(&path, &old).unwrap();
            let mut disk = FailingDisk { calls_left: std::rc::Rc::new(std::cell::Cell::new(faults)) };
            let result =
                publish_on(&mut disk, &path, |file| new.chunks(7_000).try_for_each(|part| file.write_all(part)));
            let now = std::fs::read(&path).unwrap();
            assert!(now == old || now == new, "torn after fault {faults}");
            assert_eq!(names(folder.path()), ["table.csv"], "left behind after fault {faults}");
            if result.is_ok() {
                assert_eq!(now, new);
                break;
            }
            faults += 1;
        }
        assert!(faults > 8, "only {faults} calls were made to fail");
    }

    #[test]
    fn what_fill_says_is_passed_on_and_nothing_is_left() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("report.html");
        let error = publish(&path, |file| {
            file.write_all(b"half")?;
            Err(io::Error::other("no picture"))
        });
        let text = error.unwrap_err().to_string();
        assert!(text.contains("report.html") && text.contains("no picture"), "{text}");
        assert!(names(folder.path()).is_empty());
    }

    #[test]
    fn only_temporary_files_of_this_name_are_stale() {
        let folder = tempfile::tempdir().unwrap();
        let stays = [".a.h5.12-0.tmp.csv", ".a.h5.x-0.tmp", ".a.h5.tmp", ".b.h5.12-0.tmp", "a.h5"];
        for name in stays.iter().chain(&[".a.h5.12-0.tmp", ".a.h5.4194303-12.tmp"]) {
            std::fs::write(folder.path().join(name), "").unwrap();
        }
        remove_stale(&folder.path().join("a.h5")).unwrap();
        let mut stays = stays.map(str::to_owned).to_vec();
        stays.sort();
        assert_eq!(names(folder.path()), stays);
    }

    #[test]
    fn a_temporary_name_in_the_way_is_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        let (path, elsewhere) = (folder.path().join("a.csv"), folder.path().join("precious"));
        std::fs::write(&elsewhere, "precious").unwrap();
        let planted = folder.path().join(format!(".a.csv.{}-0.tmp", std::process::id()));
        #[cfg(unix)]
        std::os::unix::fs::symlink(&elsewhere, &planted).unwrap();
        publish_bytes(&path, b"table").unwrap();
        assert_eq!(std::fs::read(&path).unwrap(), b"table");
        assert_eq!(std::fs::read(&elsewhere).unwrap(), b"precious");
    }
}
