//! `compare`: layouts side by side, point by point.

mod machine;
pub(crate) mod spread;
mod text;

use super::Format;
use crate::failure::Failure;
use crate::layouts::{AtPoint, by_point};
use crate::opened::Opened;
use crate::runs::{Ended, Wish, prepare, together};
use crate::{Streams, exit, interrupt};
use spread::SpreadOptions;
use std::path::{Path, PathBuf};
use tractwright::run::Options;

/// Sets layouts side by side at each point: flow, recovery, depression, temperature, losses; ranks them and says why
///
/// A case is run first. With `--spread` steady states are found, and pulls and roll-ons driven, for many draws of the inputs that carry a
/// spread and of the published spread of handbook losses, and what is told is how sure the differences are.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  tractwright compare results/twin_sealed.road.h5 results/single_box.road.h5
  tractwright compare layouts/*.yaml --point road -o results
  tractwright compare twin_sealed.yaml divided_box.yaml --point road --spread 200")]
pub(crate) struct Compare {
    /// Results (.h5), or cases to run first
    #[arg(required = true, value_name = "RESULT-or-CASE")]
    inputs: Vec<PathBuf>,
    /// Point to compare at
    #[arg(long, value_name = "NAME|all", default_value = "all")]
    point: String,
    /// Form of the output
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Folder that keeps the results of cases; what is finished there is used. Nothing is kept when it is not given
    #[arg(short, long, value_name = "FOLDER")]
    output: Option<PathBuf>,
    /// Replace finished results of other cases in that folder
    #[arg(long, requires = "output")]
    force: bool,
    /// Runs at a time; as many as there are cores when it is not given
    #[arg(long, value_name = "N", default_value_t = 0, hide_default_value = true)]
    threads: usize,
    #[command(flatten)]
    spread: SpreadOptions,
}

impl Compare {
    pub(crate) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        if let Some(count) = self.spread.spread {
            return self.execute_spread(count, streams);
        }
        interrupt::listen();
        let temporary = tempfile::tempdir()?;
        let folder = self.output.as_deref().unwrap_or(temporary.path());
        let (results, code) = self.results(folder, streams)?;
        if code == exit::INTERRUPTED {
            let kept =
                if self.output.is_some() { "; the same command goes on" } else { "; with `-o FOLDER` it could go on" };
            writeln!(streams.err, "interrupted before there was anything to compare{kept}")?;
            return Ok(code);
        }
        let opened = results.iter().map(|path| Opened::read(path)).collect::<Result<Vec<_>, _>>()?;
        let points = self.by_point(&opened)?;
        match self.format {
            Format::Text => write!(streams.out, "{}", text::of(&points))?,
            Format::Json => machine::json(&points, streams.out)?,
            Format::Csv => machine::csv(&points, streams.out)?,
        }
        Ok(code)
    }

    /// The results to compare, in the order of the inputs, after running the cases among them; and the exit code of these runs.
    fn results(&self, folder: &Path, streams: &mut Streams<'_>) -> Result<(Vec<PathBuf>, u8), Failure> {
        let cases: Vec<PathBuf> = self.inputs.iter().filter(|input| !is_result(input)).cloned().collect();
        let wish = Wish { point: &self.point, folder, resume: true, force: self.force };
        let jobs = prepare(&cases, wish)?;
        if !jobs.is_empty() {
            std::fs::create_dir_all(folder).map_err(|error| Failure::file(format!("{}: {error}", folder.display())))?;
        }
        let options = Options { resume: true, force: self.force, ..Options::default() };
        let ended = together(&jobs, options, self.threads, streams.err, streams.bars)?;
        let mut ran = jobs.iter().zip(&ended).peekable();
        let mut results = Vec::new();
        for input in &self.inputs {
            if is_result(input) {
                results.push(input.clone());
            }
            while let Some((job, ended)) = ran.next_if(|(job, _)| Path::new(&job.case.file) == input) {
                match ended {
                    Ended::Failed(error) => writeln!(streams.err, "error: {}, left out: {error}", job.name())?,
                    _ => results.push(job.path.clone()),
                }
            }
        }
        Ok((results, Ended::code_of(&ended)))
    }

    fn by_point(&self, opened: &[Opened]) -> Result<Vec<AtPoint>, Failure> {
        let here = |opened: &&Opened| self.point == "all" || opened.point.name == self.point;
        let points = by_point(opened.iter().filter(here))?;
        if points.is_empty() {
            return Err(Failure::wrong_use(format!(
                "found no result at point `{}`, expected one at least",
                self.point
            )));
        }
        Ok(points)
    }
}

/// Whether `path` names a result, finished or not; a case otherwise.
fn is_result(path: &Path) -> bool {
    path.extension().is_some_and(|ending| ending == "h5" || ending == "part")
}
