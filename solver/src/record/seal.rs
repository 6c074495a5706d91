//! A checksum over a whole result, as its last line.
//!
//! HDF5 guards the values of a data set, not the tables that lead to them: a flipped bit there can give other numbers or keep the
//! library searching for ever (seen with 1.10.8). So a file that nobody writes any more gets a line such as `crc32 1c291ca3` behind
//! what HDF5 knows of it, which other readers pass over, and is checked before HDF5 sees it.

use super::failure;
use crate::error::OutputError;
use std::fs::{File, OpenOptions};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::Path;

/// Length of the line: the word, eight digits, the end of the line.
const LENGTH: usize = WORD.len() + 8 + 1;
const WORD: &[u8] = b"crc32 ";
/// Bytes that are read at a time.
const BLOCK: usize = 1 << 20;

/// Adds the line to a file that HDF5 has closed.
pub(super) fn close(path: &Path) -> Result<(), OutputError> {
    append_line(path).map_err(failure::file(path))
}

/// Removes the line, before HDF5 changes the file again.
pub(super) fn open(path: &Path) -> Result<(), OutputError> {
    remove_line(path).map_err(failure::file(path))
}

/// Whether the file is sealed; one that is not may be unfinished, or another program changed it.
///
/// # Errors
/// [`OutputError::Content`] when it is sealed and not the same any more.
pub(super) fn check(path: &Path) -> Result<bool, OutputError> {
    let file = File::open(path).map_err(failure::file(path))?;
    match read_line(&file).map_err(failure::file(path))? {
        None => Ok(false),
        Some((expected, length)) => {
            let found = sum(&file, length).map_err(failure::file(path))?;
            if found == expected {
                return Ok(true);
            }
            let found = format!("damage: its checksum is {found:08x}");
            Err(failure::content(path, found, format!("{expected:08x}, as its last line says")))
        }
    }
}

fn append_line(path: &Path) -> io::Result<()> {
    let mut file = OpenOptions::new().read(true).write(true).open(path)?;
    let length = file.metadata()?.len();
    let sum = sum(&file, length)?;
    file.seek(SeekFrom::Start(length))?;
    file.write_all(format!("crc32 {sum:08x}\n").as_bytes())
}

fn remove_line(path: &Path) -> io::Result<()> {
    let file = OpenOptions::new().read(true).write(true).open(path)?;
    match read_line(&file)? {
        Some((_, length)) => file.set_len(length),
        None => Ok(()),
    }
}

/// The checksum in the last line and the length of the file before it; `None` when there is no such line.
fn read_line(mut file: &File) -> io::Result<Option<(u32, u64)>> {
    let Some(length) = file.metadata()?.len().checked_sub(LENGTH as u64) else { return Ok(None) };
    let mut line = [0; LENGTH];
    file.seek(SeekFrom::Start(length))?;
    file.read_exact(&mut line)?;
    let digits = line.strip_prefix(WORD).and_then(|rest| rest.strip_suffix(b"\n"));
    let sum =
        digits.and_then(|digits| std::str::from_utf8(digits).ok()).and_then(|text| u32::from_str_radix(text, 16).ok());
    Ok(sum.map(|sum| (sum, length)))
}

/// Checksum of the first `length` bytes.
fn sum(mut file: &File, length: u64) -> io::Result<u32> {
    file.seek(SeekFrom::Start(0))?;
    let mut rest = file.take(length);
    let mut hasher = crc32fast::Hasher::new();
    let mut block = vec![0; BLOCK];
    loop {
        match rest.read(&mut block)? {
            0 => return Ok(hasher.finalize()),
            count => hasher.update(&block[..count]),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Check value of CRC-32/ISO-HDLC: the sum of these nine digits is cbf43926 (catalogue of parametrised CRC algorithms, from memory).
    const CHECK: &[u8] = b"123456789";

    #[test]
    fn the_last_line_is_the_usual_crc() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("file");
        std::fs::write(&path, CHECK).unwrap();
        assert!(!check(&path).unwrap());
        close(&path).unwrap();
        assert_eq!(std::fs::read(&path).unwrap(), b"123456789crc32 cbf43926\n");
        assert!(check(&path).unwrap());
        open(&path).unwrap();
        assert_eq!(std::fs::read(&path).unwrap(), CHECK);
        open(&path).unwrap();
        assert_eq!(std::fs::read(&path).unwrap(), CHECK);
    }

    #[test]
    fn a_changed_file_is_told_from_one_without_a_seal() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("file");
        std::fs::write(&path, "123456788crc32 cbf43926\n").unwrap();
        let text = check(&path).unwrap_err().to_string();
        assert!(text.contains("cbf43926"), "{text}");
        for unsealed in ["", "short", "123456789crc32 cbf4392x\n", "123456789crc32 cbf43926 "] {
            std::fs::write(&path, unsealed).unwrap();
            assert!(!check(&path).unwrap(), "{unsealed}");
        }
    }
}
