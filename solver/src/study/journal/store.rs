//! What a journal asks of the operating system; tests make each call fail in turn.

use std::fmt::Debug;
use std::fs::{File, OpenOptions};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::Path;

/// Where lines go.
pub(super) trait Store: Debug + Send {
    /// Cuts off what stands behind the last end of a line; the length that is left [bytes].
    fn cut_to_whole_lines(&mut self) -> io::Result<u64>;
    /// Adds bytes at the end.
    fn append(&mut self, bytes: &[u8]) -> io::Result<()>;
    /// Cuts off what stands behind `length` [bytes].
    fn cut(&mut self, length: u64) -> io::Result<()>;
    /// Brings all of it to the disk.
    fn synchronise(&mut self) -> io::Result<()>;
}

/// A file.
#[derive(Debug)]
pub(super) struct RealStore(File);

impl RealStore {
    pub(super) fn open(path: &Path) -> io::Result<Self> {
        Ok(Self(OpenOptions::new().read(true).append(true).create(true).open(path)?))
    }
}

impl Store for RealStore {
    fn cut_to_whole_lines(&mut self) -> io::Result<u64> {
        /// Bytes that are read at a time.
        const BLOCK: u64 = 1 << 16;
        let mut end = self.0.seek(SeekFrom::End(0))?;
        let mut block = Vec::new();
        while end > 0 {
            let from = end.saturating_sub(BLOCK);
            self.0.seek(SeekFrom::Start(from))?;
            block.clear();
            (&self.0).take(end - from).read_to_end(&mut block)?;
            if let Some(place) = block.iter().rposition(|byte| *byte == b'\n') {
                end = from + place as u64 + 1;
                break;
            }
            end = from;
        }
        self.0.set_len(end)?;
        Ok(end)
    }

    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.0.write_all(bytes)
    }

    fn cut(&mut self, length: u64) -> io::Result<()> {
        self.0.set_len(length)
    }

    fn synchronise(&mut self) -> io::Result<()> {
        self.0.sync_data()
    }
}
