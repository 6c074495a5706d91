//! A result that has been read, with what tables say of its run.

use crate::failure::Failure;
use crate::overlay::{BesideTap, Laid};
use std::path::{Path, PathBuf};
use tractwright::case::{Outside, Point};
use tractwright::ledger::Summary;
use tractwright::record::Attribute;
use tractwright::run::{PhaseFigures, Reading};

/// A result and its summary.
#[derive(Debug)]
pub(crate) struct Opened {
    /// Its file.
    pub(crate) path: PathBuf,
    /// The result.
    pub(crate) reading: Reading,
    /// The summary.
    pub(crate) summary: Summary,
    /// Operating point.
    pub(crate) point: Point,
    /// The undisturbed air at the point.
    pub(crate) outside: Outside,
    /// Logs that are laid over it.
    pub(crate) beside: Vec<(PathBuf, Laid)>,
}

impl Opened {
    /// Reads the result at `path`.
    ///
    /// # Errors
    /// It cannot be read.
    pub(crate) fn read(path: &Path) -> Result<Self, Failure> {
        let reading = Reading::open(path)?;
        let summary = reading.summary()?;
        let case = reading.case.at_point(&reading.point)?;
        let (path, beside) = (path.to_owned(), Vec::new());
        Ok(Self { path, point: case.point, outside: case.outside, reading, summary, beside })
    }

    /// Reads the result at `path` and lays `logs` of the car over it.
    ///
    /// # Errors
    /// One of them cannot be read.
    pub(crate) fn read_with(path: &Path, logs: &[PathBuf]) -> Result<Self, Failure> {
        let mut opened = Self::read(path)?;
        for log in logs {
            let beside = Laid::of(&opened, log)?;
            opened.beside.push((log.clone(), beside));
        }
        Ok(opened)
    }

    /// The readings of all logs that were taken in its state.
    pub(crate) fn taps(&self) -> impl Iterator<Item = &BesideTap> {
        self.beside.iter().filter_map(|(_, beside)| beside.state()).flat_map(|beside| &beside.taps)
    }

    /// A number that the file states of its run.
    ///
    /// # Errors
    /// The file cannot be read.
    pub(crate) fn number(&self, name: &str) -> Result<Option<f64>, Failure> {
        Ok(match self.reading.file.attribute(name)? {
            Some(Attribute::Number(value)) => Some(value),
            Some(Attribute::Whole(value)) => Some(value as f64),
            _ => None,
        })
    }

    /// Figures of the phases; none of a point that is one state of the car.
    ///
    /// # Errors
    /// The file cannot be read.
    pub(crate) fn phases(&self) -> Result<Vec<PhaseFigures>, Failure> {
        if self.reading.case.phases(&self.reading.point).is_empty() {
            return Ok(Vec::new());
        }
        Ok(self.reading.phase_figures()?)
    }

    /// Cells of all ducts.
    pub(crate) fn cells(&self) -> usize {
        let arena = &self.reading.built.network.arena;
        arena.ducts().map(|duct| arena.cells(duct)).sum()
    }

    /// Last recorded time [s].
    ///
    /// # Errors
    /// The file cannot be read.
    pub(crate) fn end(&self) -> Result<f64, Failure> {
        Ok(self.reading.file.time()?.last().copied().unwrap_or(0.0))
    }
}
