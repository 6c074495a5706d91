//! A result file that grows as the run goes.

use super::attribute::{self, Attribute};
use super::layout::{Layout, Precision};
use super::lock::Lock;
use super::{create, failure, part_path, publish};
use crate::error::OutputError;
use hdf5::{Dataset, File};
use ndarray::{ArrayView1, ArrayView2, s};
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// Values that are gathered in memory before they go to HDF5, at most [count of f64].
const MOST_BUFFERED_VALUES: usize = 1 << 18;
/// Rows that are gathered, at most.
const MOST_BUFFERED_ROWS: usize = 1024;
/// Longest time that a row waits for its way to the file.
const FLUSH_INTERVAL: Duration = Duration::from_secs(1);
/// A flush may cost this share of the time, at most: on a slow disk it comes less often.
const FLUSH_COST: u32 = 20;

/// Writes the rows of a run to `<path>.part`, which becomes `<path>` when the run is finished.
///
/// Rows are announced (and survive a kill) once a flush has written them: [`append`](Self::append) flushes about once a second,
/// [`flush`](Self::flush) at once. Memory does not grow with the simulated time.
#[derive(Debug)]
pub struct Writer {
    path: PathBuf,
    part: PathBuf,
    file: File,
    time: Dataset,
    rows_valid: Dataset,
    columns: Vec<Column>,
    row_length: usize,
    /// Rows in the file.
    rows: usize,
    buffered_times: Vec<f64>,
    /// Buffered rows one after another, [buffered_times.len() x row_length].
    buffered_values: Vec<f64>,
    next_flush: Instant,
    lock: Lock,
}

/// A data set and the place of its values in a row.
#[derive(Debug)]
struct Column {
    dataset: Dataset,
    place: Range<usize>,
    precision: Precision,
    has_axis: bool,
}

impl Writer {
    /// Starts the result `path` anew, with no row. What stands under `<path>.part` is removed; `path` itself is replaced only by
    /// [`finish`](Self::finish).
    ///
    /// # Errors
    /// [`OutputError::Content`] when another process writes this result or the layout cannot be stored (a name taken twice, an axis that
    /// does not exist), else the reason of the disk.
    pub fn create(path: &Path, layout: &Layout) -> Result<Self, OutputError> {
        layout.check().map_err(|(found, expected)| failure::content(path, found, expected))?;
        let lock = Lock::take(path)?;
        let part = part_path(path);
        match std::fs::remove_file(&part) {
            Err(source) if source.kind() != std::io::ErrorKind::NotFound => return Err(failure::file(&part)(source)),
            _ => {}
        }
        let file = create::create(&part, layout).map_err(|source| failure::hdf5(&part, source))?;
        Self::new(path, file, layout, lock)
    }

    /// Goes on with `<path>.part` after a kill: what follows the first `rows` rows is cut off.
    ///
    /// Every row that stays is read, so that damage is found now and not by the engineer.
    ///
    /// # Errors
    /// [`OutputError::Content`] when the file is damaged, has fewer rows or belongs to another case: the run must then start from its
    /// beginning. [`OutputError::File`] or [`OutputError::Hdf5`] when it cannot be opened.
    pub fn reopen(path: &Path, layout: &Layout, rows: usize) -> Result<Self, OutputError> {
        let lock = Lock::take(path)?;
        let part = part_path(path);
        super::reader::ResultFile::open(&part)?.verify(layout, rows)?;
        let file = File::open_rw(&part).map_err(|source| failure::hdf5(&part, source))?;
        let mut writer = Self::new(path, file, layout, lock)?;
        writer.cut(rows).map_err(|source| failure::hdf5(&part, source))?;
        Ok(writer)
    }

    fn new(path: &Path, file: File, layout: &Layout, lock: Lock) -> Result<Self, OutputError> {
        let part = part_path(path);
        let find = |name: &str| file.dataset(name).map_err(|source| failure::hdf5(&part, source));
        let columns = layout.places().map(|(group, series, place)| {
            let dataset = find(&format!("{}/{}", group.name, series.name))?;
            Ok(Column { dataset, place, precision: series.precision, has_axis: series.axis.is_some() })
        });
        Ok(Self {
            columns: columns.collect::<Result<_, OutputError>>()?,
            time: find("time")?,
            rows_valid: find("rows_valid")?,
            row_length: layout.row_length(),
            rows: 0,
            buffered_times: Vec::new(),
            buffered_values: Vec::new(),
            next_flush: Instant::now() + FLUSH_INTERVAL,
            path: path.to_owned(),
            part: part.clone(),
            file,
            lock,
        })
    }

    /// Number of rows so far, announced or not.
    #[must_use]
    pub fn rows(&self) -> usize {
        self.rows + self.buffered_times.len()
    }

    /// Adds the row of `time` [s]: the values of all series in the order of the layout.
    ///
    /// # Errors
    /// [`OutputError::Content`] when the number of values is not the layout's, [`OutputError::File`] when the disk is full,
    /// [`OutputError::Hdf5`] otherwise. After an error of the disk the rows that were announced are still in the file.
    pub fn append(&mut self, time: f64, values: &[f64]) -> Result<(), OutputError> {
        if values.len() != self.row_length {
            let found = format!("a row of {} values", values.len());
            return Err(failure::content(&self.part, found, self.row_length.to_string()));
        }
        self.buffered_times.push(time);
        self.buffered_values.extend_from_slice(values);
        let full = self.buffered_times.len() >= MOST_BUFFERED_ROWS
            || self.buffered_values.len() + self.row_length > MOST_BUFFERED_VALUES;
        if Instant::now() >= self.next_flush {
            self.flush()
        } else if full {
            self.write_rows().map_err(|source| failure::hdf5(&self.part, source))
        } else {
            Ok(())
        }
    }

    /// Announces every row so far: they survive a kill of the process from here on.
    ///
    /// # Errors
    /// As [`append`](Self::append).
    pub fn flush(&mut self) -> Result<(), OutputError> {
        let start = Instant::now();
        self.announce_rows().map_err(|source| failure::hdf5(&self.part, source))?;
        let end = Instant::now();
        self.next_flush = end + FLUSH_INTERVAL.max((end - start) * FLUSH_COST);
        Ok(())
    }

    /// Announces every row so far and brings them to the disk, so that they survive a loss of power too: before a checkpoint that counts
    /// on them.
    ///
    /// # Errors
    /// As [`append`](Self::append).
    pub fn synchronise(&mut self) -> Result<(), OutputError> {
        self.flush()?;
        // HDF5 never asks the system to do this.
        let file = std::fs::File::open(&self.part).map_err(failure::file(&self.part))?;
        file.sync_all().map_err(failure::file(&self.part))
    }

    /// Stops for now: every row is on the disk, under `<path>.part`, to be gone on with by [`reopen`](Self::reopen).
    ///
    /// # Errors
    /// As [`append`](Self::append).
    pub fn pause(mut self) -> Result<(), OutputError> {
        self.synchronise()?;
        self.close().map(drop)
    }

    /// Writes the last rows and the attributes of the end (balances and the like; `finished` becomes 1), and gives the file its final name.
    ///
    /// # Errors
    /// As [`append`](Self::append); the file then keeps its temporary name.
    pub fn finish(mut self, end: &[(String, Attribute)]) -> Result<(), OutputError> {
        self.announce_rows()
            .and_then(|()| end.iter().try_for_each(|(name, value)| attribute::write(&self.file, name, value)))
            .and_then(|()| attribute::write(&self.file, "finished", &Attribute::Whole(1)))
            .map_err(|source| failure::hdf5(&self.part, source))?;
        let (part, path) = (self.part.clone(), self.path.clone());
        let _held_until_renamed = self.close()?;
        publish::promote(&part, &path).map_err(failure::file(&path))
    }

    /// Closes the file and tells of failures that dropping it would hide.
    fn close(self) -> Result<Lock, OutputError> {
        let Self { file, part, time, rows_valid, columns, lock, .. } = self;
        drop((time, rows_valid, columns));
        file.flush().and_then(|()| file.close()).map_err(|source| failure::hdf5(&part, source))?;
        Ok(lock)
    }

    fn announce_rows(&mut self) -> hdf5::Result<()> {
        self.write_rows()?;
        // In this order: a kill in between hides rows, it never announces rows that are not there.
        self.file.flush()?;
        self.rows_valid.write_scalar(&(self.rows as u64))?;
        self.file.flush()
    }

    /// Hands the buffered rows to HDF5. Repeating it after a failure writes the same rows to the same places.
    fn write_rows(&mut self) -> hdf5::Result<()> {
        let end = self.rows();
        if end == self.rows {
            return Ok(());
        }
        for column in &self.columns {
            column.write(self.rows..end, &self.buffered_values, self.row_length)?;
        }
        self.time.resize(end)?;
        self.time.write_slice(&self.buffered_times, s![self.rows..end])?;
        self.rows = end;
        self.buffered_times.clear();
        self.buffered_values.clear();
        Ok(())
    }

    fn cut(&mut self, rows: usize) -> hdf5::Result<()> {
        // Announced first: a kill in the middle must not leave rows announced that are cut off already.
        self.rows_valid.write_scalar(&(rows as u64))?;
        self.file.flush()?;
        self.time.resize(rows)?;
        for column in &self.columns {
            column.resize(rows)?;
        }
        self.rows = rows;
        self.file.flush()
    }
}

impl Column {
    fn resize(&self, rows: usize) -> hdf5::Result<()> {
        if self.has_axis { self.dataset.resize((rows, self.place.len())) } else { self.dataset.resize(rows) }
    }

    /// Writes this column of `values`, [rows.len() x row_length], to the rows of the data set.
    fn write(&self, rows: Range<usize>, values: &[f64], row_length: usize) -> hdf5::Result<()> {
        self.resize(rows.end)?;
        let values = values.chunks_exact(row_length).flat_map(|row| &row[self.place.clone()]);
        match self.precision {
            #[expect(clippy::cast_possible_truncation, reason = "32 bits are what the layout asks for")]
            Precision::F32 => self.write_values(rows, &values.map(|&value| value as f32).collect::<Vec<_>>()),
            Precision::F64 => self.write_values(rows, &values.copied().collect::<Vec<_>>()),
        }
    }

    fn write_values<T: hdf5::H5Type>(&self, rows: Range<usize>, values: &[T]) -> hdf5::Result<()> {
        if self.has_axis {
            let block = ArrayView2::from_shape((rows.len(), self.place.len()), values)?;
            self.dataset.write_slice(block, s![rows, ..])
        } else {
            self.dataset.write_slice(ArrayView1::from(values), s![rows])
        }
    }
}
