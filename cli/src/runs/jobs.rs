//! What is to be run: every case at every wanted point, checked before anything starts.

use super::estimate::Estimate;
use crate::failure::Failure;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use tractwright::case::Case;
use tractwright::record::{Attribute, ResultFile};
use tractwright::run::{PROGRAM, result_path};

/// Word that stands for all points of a case.
pub(crate) const ALL_POINTS: &str = "all";

/// A case at a point.
#[derive(Debug, Clone)]
pub(crate) struct Job {
    /// The case.
    pub(crate) case: Arc<Case>,
    /// Point.
    pub(crate) point: String,
    /// Result.
    pub(crate) path: PathBuf,
    /// Whether the result is there already, finished, and is kept.
    pub(crate) kept: bool,
    /// Relative size, for the order of the runs and the time left.
    pub(crate) cost: f64,
}

impl Job {
    /// `twin_sealed road`.
    pub(crate) fn name(&self) -> String {
        format!("{} {}", stem(&self.case.file), self.point)
    }
}

/// Name of a file without folder and ending.
pub(crate) fn stem(file: &str) -> String {
    Path::new(file).file_stem().map_or_else(|| "case".to_owned(), |stem| stem.to_string_lossy().into_owned())
}

/// What is wanted of the cases.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Wish<'a> {
    /// Point, or [`ALL_POINTS`].
    pub(crate) point: &'a str,
    /// Folder of the results.
    pub(crate) folder: &'a Path,
    /// Go on where an interrupted run stopped; keep what is finished.
    pub(crate) resume: bool,
    /// Replace finished results.
    pub(crate) force: bool,
}

/// The names of the points of `case` that `wanted` means.
pub(crate) fn points<'a>(case: &'a Case, wanted: &'a str) -> Vec<&'a str> {
    if wanted == ALL_POINTS { case.points.iter().map(|point| point.name.as_str()).collect() } else { vec![wanted] }
}

/// All jobs of the case files, in their order.
///
/// # Errors
/// Everything that is wrong with any of them.
pub(crate) fn prepare(files: &[PathBuf], wish: Wish<'_>) -> Result<Vec<Job>, Failure> {
    let mut jobs: Vec<Job> = Vec::new();
    let mut failures = Vec::new();
    for file in files {
        match of_case(file, wish) {
            Ok(more) => jobs.extend(more),
            Err(failure) => failures.push(failure),
        }
    }
    failures.extend(twice(&jobs));
    if failures.is_empty() { Ok(jobs) } else { Err(Failure::all(failures)) }
}

fn of_case(file: &Path, wish: Wish<'_>) -> Result<Vec<Job>, Failure> {
    let case = Arc::new(Case::from_path(file)?);
    let mut jobs = Vec::new();
    let mut failures = Vec::new();
    for point in points(&case, wish.point) {
        match of_point(&case, point, wish) {
            Ok(job) => jobs.push(job),
            Err(failure) => failures.push(failure),
        }
    }
    if failures.is_empty() { Ok(jobs) } else { Err(Failure::all(failures)) }
}

fn of_point(case: &Arc<Case>, point: &str, wish: Wish<'_>) -> Result<Job, Failure> {
    // What does not build is refused before anything runs; the network itself is built again when its turn comes.
    let estimate = Estimate::of(&case.build(point)?)?;
    let path = result_path(case, point, wish.folder)?;
    let kept = is_kept(case, point, &path, wish)?;
    Ok(Job {
        case: Arc::clone(case),
        point: point.to_owned(),
        path,
        kept,
        cost: estimate.cells as f64 * estimate.steps,
    })
}

/// Whether a finished result of just this run is there and kept.
fn is_kept(case: &Case, point: &str, path: &Path, wish: Wish<'_>) -> Result<bool, Failure> {
    if !path.exists() {
        return Ok(false);
    }
    if wish.resume && is_result_of(path, case, point)? {
        // A run that was to replace this result may have been interrupted: then it goes on.
        return Ok(!(wish.force && unfinished(path).exists()));
    }
    if wish.force {
        return Ok(false);
    }
    let what = if wish.resume { "the finished result of another case or version" } else { "a finished result" };
    Err(Failure::file(format!(
        "{}: found {what}, expected a name that is free (`--force` replaces it)",
        path.display()
    )))
}

fn is_result_of(path: &Path, case: &Case, point: &str) -> Result<bool, Failure> {
    let file = ResultFile::open(path)?;
    let says = |name: &str, value: &str| -> Result<bool, Failure> {
        Ok(file.attribute(name)? == Some(Attribute::Text(value.to_owned())))
    };
    Ok(file.case() == case.resolved_text() && says("point", point)? && says("source", PROGRAM)?)
}

/// Name of a result while its run goes on.
pub(crate) fn unfinished(path: &Path) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(".part");
    PathBuf::from(name)
}

/// Results that two jobs would both write.
fn twice(jobs: &[Job]) -> Vec<Failure> {
    let clash = |(number, job): (usize, &Job)| {
        let other = jobs[..number].iter().find(|other| other.path == job.path)?;
        Some(Failure::wrong_use(format!(
            "{} and {} would both write {}, expected files of different names",
            other.case.file,
            job.case.file,
            job.path.display()
        )))
    };
    jobs.iter().enumerate().filter_map(clash).collect()
}
