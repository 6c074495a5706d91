//! A result file that grows as the run goes.

use super::attribute::{self, Attribute};
use super::layout::{Layout, Precision};
use super::lock::Lock;
use super::reader::ResultFile;
use super::{create, failure, part_path, publish, seal, superblock};
use crate::error::OutputError;
use hdf5::{Dataset, File};
use ndarray::{ArrayView1, ArrayView2, s};
use std::ops::Range;
use std::path::{Path, PathBuf};

/// Writes the rows of a run to `<path>.part`, which becomes `<path>` when the run is finished.
///
/// Rows are written in blocks of one chunk each (256 rows, fewer of long ones), and a block that is written is never touched again: HDF5
/// moves a chunk that grows and gives its old place to others before its tables know, so that a kill at the wrong moment would lose rows
/// that were there. Rows that wait for their block are part of the [`Mark`] of a checkpoint. Memory does not grow with the simulated time.
#[derive(Debug)]
pub struct Writer {
    path: PathBuf,
    part: PathBuf,
    file: File,
    time: Dataset,
    rows_valid: Dataset,
    columns: Vec<Column>,
    row_length: usize,
    rows_at_once: usize,
    /// Rows in the file: whole blocks.
    rows: usize,
    waiting_times: Vec<f64>,
    /// Waiting rows one after another, [waiting_times.len() x row_length].
    waiting_values: Vec<f64>,
    /// Whether a write failed. HDF5 does not recover from that: trying again gives errors that have nothing to do with the cause.
    broken: bool,
    lock: Lock,
}

/// How far a result was at some time; a checkpoint keeps it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Mark {
    /// Number of rows.
    pub rows: u64,
    /// The last of them, which wait for their block: time and values of each, one after another.
    pub waiting: Vec<f64>,
}

impl Mark {
    /// Number of rows in whole blocks and the rows that wait; `None` when this cannot be a mark of `layout`.
    fn split(&self, layout: &Layout) -> Option<(usize, std::slice::ChunksExact<'_, f64>)> {
        let waiting = self.waiting.chunks_exact(layout.row_length() + 1);
        let rows = usize::try_from(self.rows).ok()?.checked_sub(waiting.len())?;
        (waiting.remainder().is_empty() && rows % layout.rows_at_once() == 0).then_some((rows, waiting))
    }
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
        let file = create::create(&part, layout).map_err(|source| failure::hdf5(&part, source));
        let writer = file.and_then(|file| Self::new(path, file, layout, lock));
        if writer.is_err() {
            // Not even the first row fits, so what stands there is of no use. The first error is the one to tell.
            let _ = std::fs::remove_file(&part);
        }
        writer
    }

    /// Goes on with `<path>.part` after a kill or a pause, as it was at `mark`: what came later is cut off.
    ///
    /// Every row that stays is read, so that damage is found now and not by the engineer.
    ///
    /// # Errors
    /// [`OutputError::Content`] when the file is damaged, has fewer rows or belongs to another case or layout: the run must then start
    /// from its beginning. [`OutputError::File`] or [`OutputError::Hdf5`] when it cannot be opened.
    pub fn reopen(path: &Path, layout: &Layout, mark: &Mark) -> Result<Self, OutputError> {
        let lock = Lock::take(path)?;
        let part = part_path(path);
        let no_mark = || failure::content(&part, format!("a mark of {} rows", mark.rows), "a mark of this layout");
        let (rows, waiting) = mark.split(layout).ok_or_else(no_mark)?;
        if !seal::check(&part)? {
            superblock::repair(&part)?;
        }
        ResultFile::open(&part)?.verify(layout, rows)?;
        seal::open(&part)?;
        let file = create::reopen(&part).map_err(|source| failure::hdf5(&part, source))?;
        let mut writer = Self::new(path, file, layout, lock)?;
        writer.cut(rows).map_err(|source| failure::hdf5(&part, source))?;
        waiting.for_each(|row| writer.wait(row[0], &row[1..]));
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
            rows_at_once: layout.rows_at_once(),
            rows: 0,
            waiting_times: Vec::new(),
            waiting_values: Vec::new(),
            broken: false,
            path: path.to_owned(),
            part: part.clone(),
            file,
            lock,
        })
    }

    /// Number of rows so far.
    #[must_use]
    pub fn rows(&self) -> usize {
        self.rows + self.waiting_times.len()
    }

    /// Adds the row of `time` [s]: the values of all series in the order of the layout. When that completes a block, the block is written
    /// and survives a kill from here on.
    ///
    /// # Errors
    /// [`OutputError::Content`] when the number of values is not the layout's, [`OutputError::File`] when the disk is full,
    /// [`OutputError::Hdf5`] otherwise. After an error of the disk every earlier block is still in the file, and the writer can only be dropped.
    pub fn append(&mut self, time: f64, values: &[f64]) -> Result<(), OutputError> {
        if values.len() != self.row_length {
            let found = format!("a row of {} values", values.len());
            return Err(failure::content(&self.part, found, self.row_length.to_string()));
        }
        self.wait(time, values);
        if self.waiting_times.len() < self.rows_at_once { Ok(()) } else { self.write_waiting() }
    }

    /// How far the result is, for a checkpoint. The blocks that it counts on are brought to the disk, so that they survive a loss of power
    /// too.
    ///
    /// # Errors
    /// [`OutputError::File`] when the disk refuses.
    pub fn mark(&self) -> Result<Mark, OutputError> {
        publish::synchronise(&self.part).map_err(failure::file(&self.part))?;
        let mut waiting = Vec::with_capacity(self.waiting_times.len() + self.waiting_values.len());
        for (row, &time) in self.waiting_times.iter().enumerate() {
            waiting.push(time);
            waiting.extend_from_slice(&self.waiting_values[row * self.row_length..][..self.row_length]);
        }
        Ok(Mark { rows: self.rows() as u64, waiting })
    }

    /// Stops for now: every row so far can be read under `<path>.part`, and [`reopen`](Self::reopen) goes on from any [`Mark`].
    ///
    /// # Errors
    /// As [`append`](Self::append).
    pub fn pause(mut self) -> Result<(), OutputError> {
        self.write_waiting()?;
        let part = self.part.clone();
        let _held_until_synchronised = self.close()?;
        publish::synchronise(&part).map_err(failure::file(&part))
    }

    /// Writes the last rows and the attributes of the end (balances and the like; `finished` becomes 1), and gives the file its final name.
    ///
    /// # Errors
    /// As [`append`](Self::append); the file then keeps its temporary name.
    pub fn finish(mut self, end: &[(String, Attribute)]) -> Result<(), OutputError> {
        self.write_waiting()?;
        end.iter()
            .try_for_each(|(name, value)| attribute::write(&self.file, name, value))
            .and_then(|()| attribute::write(&self.file, "finished", &Attribute::Whole(1)))
            .map_err(|source| failure::hdf5(&self.part, source))?;
        let (part, path) = (self.part.clone(), self.path.clone());
        let _held_until_renamed = self.close()?;
        publish::promote(&part, &path).map_err(failure::file(&path))
    }

    /// Closes and seals the file, and tells of failures that dropping it would hide.
    fn close(self) -> Result<Lock, OutputError> {
        let Self { file, part, time, rows_valid, columns, lock, .. } = self;
        drop((time, rows_valid, columns));
        file.flush().and_then(|()| file.close()).map_err(|source| failure::hdf5(&part, source))?;
        seal::close(&part)?;
        Ok(lock)
    }

    fn wait(&mut self, time: f64, values: &[f64]) {
        self.waiting_times.push(time);
        self.waiting_values.extend_from_slice(values);
    }

    /// Writes and announces the rows that wait.
    fn write_waiting(&mut self) -> Result<(), OutputError> {
        if self.broken {
            return Err(failure::content(&self.part, "a file whose last write failed", "no more rows for it"));
        }
        self.try_write_waiting().map_err(|source| {
            self.broken = true;
            failure::hdf5(&self.part, source)
        })
    }

    fn try_write_waiting(&mut self) -> hdf5::Result<()> {
        let end = self.rows();
        if end == self.rows {
            return Ok(());
        }
        for column in &self.columns {
            column.write(self.rows..end, &self.waiting_values, self.row_length)?;
        }
        self.time.resize(end)?;
        self.time.write_slice(&self.waiting_times, s![self.rows..end])?;
        // Announced behind a flush: a kill in between hides rows, it never announces rows that are not there.
        self.file.flush()?;
        self.rows_valid.write_scalar(&(end as u64))?;
        self.file.flush()?;
        self.rows = end;
        self.waiting_times.clear();
        self.waiting_values.clear();
        Ok(())
    }

    fn cut(&mut self, rows: usize) -> hdf5::Result<()> {
        // Announced first: a kill in between must not leave rows announced that are cut off already.
        self.rows_valid.write_scalar(&(rows as u64))?;
        self.file.flush()?;
        self.time.resize(rows)?;
        self.columns.iter().try_for_each(|column| column.resize(rows))?;
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
