//! The end of a file as HDF5 has noted it, put right after a kill.
//!
//! HDF5 writes the first block of a file, which says where the file ends, before or after the tables that it belongs to. A kill in between
//! leaves a note that is too low (new data would then be laid over old) or too high (the file would not open). Everything that was written
//! lies below the larger of the two, so that is where the file ends.

use super::failure;
use crate::error::OutputError;
use std::fs::{File, OpenOptions};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::Path;

/// HDF5 File Format Specification, version 0 of the superblock: signature, version, sizes of offsets and lengths.
const SIGNATURE: &[u8] = b"\x89HDF\r\n\x1a\n";
const VERSION: usize = 8;
const SIZE_OF_OFFSETS: usize = 13;
/// Where the end-of-file address stands.
const END: usize = 40;
const LENGTH: usize = END + size_of::<u64>();
/// How far a file may be behind its note [bytes]: a few chunks. A note beyond that is damage.
const MOST_BEHIND: u64 = 64 << 20;

/// Makes the noted and the true end of the file the larger of the two. Leaves other files alone.
pub(super) fn repair(path: &Path) -> Result<(), OutputError> {
    let file = OpenOptions::new().read(true).write(true).open(path);
    file.and_then(|file| repair_file(&file)).map_err(failure::file(path))
}

fn repair_file(mut file: &File) -> io::Result<()> {
    let mut block = Vec::new();
    file.take(LENGTH as u64).read_to_end(&mut block)?;
    let Some(noted) = noted_end(&block) else { return Ok(()) };
    let length = file.metadata()?.len();
    match noted.checked_sub(length) {
        Some(behind) if behind <= MOST_BEHIND => file.set_len(noted),
        Some(_) => Ok(()),
        None => {
            file.seek(SeekFrom::Start(END as u64))?;
            file.write_all(&length.to_le_bytes())
        }
    }
}

fn noted_end(block: &[u8]) -> Option<u64> {
    let end = block.get(END..LENGTH)?.try_into().ok()?;
    let known = block.starts_with(SIGNATURE) && block[VERSION] == 0 && block[SIZE_OF_OFFSETS] == 8;
    known.then_some(u64::from_le_bytes(end))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_noted_end_is_where_the_format_says() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("file.h5");
        let file = hdf5::FileBuilder::new().with_fapl(|access| access.libver_earliest()).create(&path).unwrap();
        file.new_dataset_builder().with_data(&[1.0, 2.0]).create("x").unwrap();
        file.close().unwrap();
        let whole = std::fs::read(&path).unwrap();
        assert_eq!(noted_end(&whole), Some(whole.len() as u64));

        // Data behind the end that HDF5 has noted.
        std::fs::write(&path, [whole.as_slice(), &[7; 100]].concat()).unwrap();
        repair(&path).unwrap();
        assert_eq!(noted_end(&std::fs::read(&path).unwrap()), Some(whole.len() as u64 + 100));
        assert_eq!(hdf5::File::open(&path).unwrap().size(), whole.len() as u64 + 100);

        // An end that was noted before the file got there.
        let mut ahead = whole.clone();
        ahead[END..LENGTH].copy_from_slice(&(whole.len() as u64 + 50).to_le_bytes());
        std::fs::write(&path, &ahead).unwrap();
        assert!(hdf5::File::open(&path).is_err());
        repair(&path).unwrap();
        assert_eq!(hdf5::File::open(&path).unwrap().dataset("x").unwrap().read_raw::<f64>().unwrap(), [1.0, 2.0]);
    }

    #[test]
    fn a_note_that_cannot_be_true_makes_no_giant() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("file.h5");
        hdf5::FileBuilder::new().with_fapl(|access| access.libver_earliest()).create(&path).unwrap().close().unwrap();
        let mut bytes = std::fs::read(&path).unwrap();
        bytes[END + 6] = 1;
        std::fs::write(&path, &bytes).unwrap();
        repair(&path).unwrap();
        assert_eq!(std::fs::read(&path).unwrap(), bytes);
    }

    #[test]
    fn other_files_are_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("file");
        for content in [&b"short"[..], &[0; 100], b"\x89HDF\r\n\x1a\n\x02 another version, with a checksum of its own"]
        {
            std::fs::write(&path, content).unwrap();
            repair(&path).unwrap();
            assert_eq!(std::fs::read(&path).unwrap(), content);
        }
    }
}
