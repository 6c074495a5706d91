//! `validate`: the solver against what is known from elsewhere.

mod machine;
mod text;
mod watch;

use super::Format;
use crate::failure::Failure;
use crate::page::checks;
use crate::{Streams, exit};
use std::io::Write;
use std::path::{Path, PathBuf};
use tractwright::record::publish_bytes;
use tractwright_validation::check::{Outcome, select};
use tractwright_validation::page;

/// Runs every check against something outside the project; exits 4 when one does not hold
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  tractwright validate
  tractwright validate --only gas --why
  tractwright validate --report checks.html
  tractwright validate --only sod --tighten 2")]
pub(crate) struct Validate {
    /// One check, or one group of checks
    #[arg(long, value_name = "NAME")]
    only: Option<String>,
    /// Form of the output
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Tell the reason of every limit in text too
    #[arg(long)]
    why: bool,
    /// Divide every limit by this, to see how much room the checks have
    #[arg(long, value_name = "FACTOR", value_parser = factor)]
    tighten: Option<f64>,
    /// Report to write: one HTML page with a picture of every check
    #[arg(long, value_name = "FILE.html")]
    report: Option<PathBuf>,
    /// Page to write: the table of all checks as Markdown
    #[arg(long, value_name = "FILE.md", conflicts_with_all = ["only", "tighten"])]
    page: Option<PathBuf>,
    /// Replace a report or page that is there
    #[arg(long)]
    force: bool,
}

/// A number by which limits can be divided.
fn factor(text: &str) -> Result<f64, String> {
    let number = text.parse().ok().filter(|factor: &f64| factor.is_finite() && *factor > 0.0);
    number.ok_or_else(|| format!("found `{text}`, expected a number above zero"))
}

impl Validate {
    pub(crate) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        // The checks take minutes: what cannot be written is told before them.
        for path in [&self.report, &self.page].into_iter().flatten() {
            free(path, self.force)?;
        }
        let checks = select(self.only.as_deref()).map_err(|error| Failure::wrong_use(error.to_string()))?;
        let mut outcomes = watch::run(checks, streams);
        self.tighten(&mut outcomes);
        self.write_files(&outcomes, streams.err)?;
        match self.format {
            Format::Text => write!(streams.out, "{}", text::of(&outcomes, self.why, self.tighten))?,
            Format::Json => writeln!(streams.out, "{:#}", machine::json(&outcomes))?,
            Format::Csv => machine::csv(&outcomes, streams.out)?,
        }
        Ok(if outcomes.iter().all(Outcome::holds) { exit::DONE } else { exit::DID_NOT_HOLD })
    }

    fn tighten(&self, outcomes: &mut [Outcome]) {
        let Some(factor) = self.tighten else { return };
        let found = outcomes.iter_mut().filter_map(|outcome| outcome.findings.as_mut().ok());
        found.flat_map(|found| &mut found.rows).for_each(|row| row.limit.value /= factor);
    }

    fn write_files(&self, outcomes: &[Outcome], err: &mut dyn Write) -> Result<(), Failure> {
        if let Some(path) = &self.report {
            publish_bytes(path, checks::html(outcomes, self.tighten).as_bytes())?;
        }
        if let Some(path) = &self.page {
            publish_bytes(path, page::markdown(outcomes).as_bytes())?;
        }
        for path in [&self.report, &self.page].into_iter().flatten() {
            writeln!(err, "wrote {}", path.display())?;
        }
        Ok(())
    }
}

/// Whether a file may be written at `path`.
fn free(path: &Path, force: bool) -> Result<(), Failure> {
    if path.exists() && !force {
        return Err(Failure::file(format!("{}: found a file, expected a free name or `--force`", path.display())));
    }
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
    match folder.filter(|folder| !folder.is_dir()) {
        Some(folder) => Err(Failure::file(format!("{}: found no folder {}", path.display(), folder.display()))),
        None => Ok(()),
    }
}
