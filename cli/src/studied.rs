//! A study with the folder that holds its runs.

use crate::commands::study::folder_of;
use crate::failure::Failure;
use std::path::{Path, PathBuf};
use tractwright::study::Evaluator;
use tractwright::study::journal::Records;
use tractwright::study::plan::Plan;
use tractwright::study::table::Rows;

/// A study that has been read.
#[derive(Debug)]
pub(crate) struct Studied {
    /// Its file.
    pub(crate) file: PathBuf,
    /// What it asks for.
    pub(crate) plan: Plan,
    /// Folder of its runs.
    pub(crate) folder: PathBuf,
}

impl Studied {
    /// Whether `path` names a study, not a result.
    pub(crate) fn is_at(path: &Path) -> bool {
        path.extension().is_some_and(|ending| ending == "yaml" || ending == "yml")
    }

    /// Reads the study at `path`; its runs lie in the folder that `study` gives it, or in `folder`.
    ///
    /// # Errors
    /// It cannot be read, or there is no such folder.
    pub(crate) fn open(path: &Path, folder: Option<&Path>) -> Result<Self, Failure> {
        let plan = Plan::from_path(path)?;
        let folder = folder.map_or_else(|| folder_of(path), Path::to_owned);
        if !folder.is_dir() {
            let found = format!("{}: found no folder, expected that of the runs", folder.display());
            return Err(Failure::file(format!("{found}; `tractwright study {}` makes them", path.display())));
        }
        Ok(Self { file: path.to_owned(), plan, folder })
    }

    /// Its runs.
    ///
    /// # Errors
    /// The journal cannot be read.
    pub(crate) fn rows(&self) -> Result<Rows<'_>, Failure> {
        let records = Records::read(&self.folder)?;
        Ok(Rows::of(&self.plan, &Evaluator::new(&self.plan, &self.folder), records))
    }

    /// Place of the point of this name, the first one when none is given.
    ///
    /// # Errors
    /// There is no such point.
    pub(crate) fn point(&self, name: Option<&str>) -> Result<usize, Failure> {
        let place = name.map_or(Some(0), |name| self.plan.points.iter().position(|point| point == name));
        place.ok_or_else(|| {
            let found = format!("--point: found `{}`", name.unwrap_or_default());
            Failure::wrong_use(format!("{found}, expected one of: {}", self.plan.points.join(", ")))
        })
    }
}
