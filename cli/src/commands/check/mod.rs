//! `check`: everything about a case that can be said before it runs.

mod drawing;
pub(crate) mod tables;

use crate::failure::Failure;
use crate::print::table::wrap;
use crate::print::{WIDTH, point};
use crate::runs::Estimate;
use crate::{Streams, exit};
use std::path::{Path, PathBuf};
use tractwright::case::{Built, Case, PointCase};

/// Reads and builds cases, draws their tracts, lists every default and every loss with its source, and stops
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  tractwright check twin_sealed.yaml
  tractwright check layouts/*.yaml")]
pub(crate) struct Check {
    /// Case files
    #[arg(required = true, value_name = "CASE")]
    cases: Vec<PathBuf>,
}

/// A case at one of its points.
pub(crate) struct AtPoint {
    case: PointCase,
    built: Built,
    estimate: Estimate,
}

impl Check {
    pub(crate) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        let mut failures = Vec::new();
        for (number, file) in self.cases.iter().enumerate() {
            match describe(file) {
                Ok(text) => write!(streams.out, "{}{text}", if number > 0 { "\n" } else { "" })?,
                Err(failure) => failures.push(failure),
            }
        }
        if failures.is_empty() { Ok(exit::DONE) } else { Err(Failure::all(failures)) }
    }
}

fn describe(file: &Path) -> Result<String, Failure> {
    let case = Case::from_path(file)?;
    let mut points = Vec::new();
    let mut failures = Vec::new();
    for point in &case.points {
        match at_point(&case, &point.name) {
            Ok(point) => points.push(point),
            Err(failure) => failures.push(failure),
        }
    }
    if !failures.is_empty() {
        return Err(Failure::all(failures));
    }
    let mut text = heading(&case, file);
    for section in [tract, losses, defaults] {
        text.push_str(&told_once(&case, &points, section));
    }
    text.push_str(&tables::runs(&points));
    Ok(text)
}

/// The case at a point, built.
///
/// # Errors
/// It cannot be built.
pub(crate) fn at_point(case: &Case, name: &str) -> Result<AtPoint, Failure> {
    let built = case.build(name)?;
    let estimate = Estimate::of(&built)?;
    Ok(AtPoint { case: case.at_point(name)?, built, estimate })
}

fn heading(case: &Case, file: &Path) -> String {
    let title = if case.title.is_empty() { String::new() } else { format!(": {}", case.title) };
    let mut lines = wrap(&format!("{}{title}", file.display()), WIDTH);
    lines.extend(wrap(&format!("outside {}", point::air(&case.outside)), WIDTH));
    lines.push(String::new());
    lines.join("\n")
}

fn tract(case: &Case, at: &AtPoint) -> String {
    format!("\ntract\n{}", drawing::draw(case, at))
}

fn losses(_case: &Case, at: &AtPoint) -> String {
    format!("\n{}", tables::losses(at).render())
}

fn defaults(_case: &Case, at: &AtPoint) -> String {
    tables::defaults(at).map_or_else(|| "\nno defaults used\n".to_owned(), |table| format!("\n{}", table.render()))
}

/// A section for all points: once where they agree, and again for the points where it differs.
fn told_once(case: &Case, points: &[AtPoint], section: fn(&Case, &AtPoint) -> String) -> String {
    let mut told: Vec<(String, Vec<&str>)> = Vec::new();
    for at in points {
        let text = section(case, at);
        match told.iter_mut().find(|(known, _)| *known == text) {
            Some((_, names)) => names.push(&at.case.point.name),
            None => told.push((text, vec![&at.case.point.name])),
        }
    }
    if let [(text, _)] = &mut told[..] {
        return std::mem::take(text);
    }
    told.into_iter().map(|(text, names)| format!("\nat {}:{text}", names.join(", "))).collect()
}
