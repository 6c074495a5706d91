//! `report`: results as one HTML page.

use super::compare::spread::SpreadOptions;
use crate::failure::Failure;
use crate::opened::Opened;
use crate::page::results::{self, More};
use crate::page::study;
use crate::studied::Studied;
use crate::{Streams, exit, interrupt};
use std::path::PathBuf;
use tractwright::record::publish_bytes;

/// Writes results, or a study, as one HTML page to look at, to print and to hand on: verdict, losses, heat, power, limits, assumptions
///
/// The page needs no other file and no network. Results of several layouts at the same points are set side by side; a study shows what is best, what can
/// be had of two aims, and every run.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  tractwright report results/*.h5 -o layouts.html
  tractwright report results/twin_sealed.road.h5
  tractwright report power/*.road_raised.h5 --spread 100 --levers -o raised.html
  tractwright report results/*.h5 --measured road.csv -o layouts.html
  tractwright report tubes.study.yaml -o tubes.html")]
pub(crate) struct Report {
    /// Result files, or one study file whose runs are done
    #[arg(required = true, value_name = "RESULT-or-STUDY")]
    results: Vec<PathBuf>,

    /// Page to write; beside the first result as <RESULT>.html when it is not given
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,

    /// Folder of the runs of a study; the one that `study` makes when it is not given
    #[arg(long, value_name = "FOLDER")]
    folder: Option<PathBuf>,

    #[command(flatten)]
    spread: SpreadOptions,

    /// Finds what each number of a case is worth at the points that are held, and draws it
    #[arg(long)]
    levers: bool,

    /// Log of the car to lay over the result, as `measured` of its case says; may be given more than once
    #[arg(long, value_name = "LOG")]
    measured: Vec<PathBuf>,

    /// Replace a page that is there
    #[arg(long)]
    force: bool,
}

impl Report {
    pub(crate) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        interrupt::listen();
        let path = self.output.clone().unwrap_or_else(|| self.results[0].with_extension("html"));
        if path.extension().is_none_or(|ending| !ending.eq_ignore_ascii_case("html")) {
            return Err(Failure::wrong_use(format!("found {}, expected a name that ends in .html", path.display())));
        }
        if path.exists() && !self.force {
            return Err(Failure::file(format!("{}: found a page, expected a free name or `--force`", path.display())));
        }
        let Some(page) = self.page(streams)? else {
            writeln!(streams.err, "interrupted, no page was written")?;
            return Ok(exit::INTERRUPTED);
        };
        publish_bytes(&path, page.as_bytes())?;
        writeln!(streams.out, "{}", path.display())?;
        Ok(exit::DONE)
    }

    /// The page; nothing when it is interrupted.
    fn page(&self, streams: &mut Streams<'_>) -> Result<Option<String>, Failure> {
        if let [only] = &self.results[..]
            && Studied::is_at(only)
        {
            return study::html(&Studied::open(only, self.folder.as_deref())?).map(Some);
        }
        let opened = self
            .results
            .iter()
            .map(|result| Opened::read_with(result, &self.measured))
            .collect::<Result<Vec<_>, _>>()?;
        let mut more = More::default();
        if let Some(count) = self.spread.spread
            && !more.sample(&opened, self.spread.sampling(count, 0), streams)?
        {
            return Ok(None);
        }
        if self.levers && !more.find_levers(&opened, streams)? {
            return Ok(None);
        }
        more.lay_over(&opened, &self.measured)?;
        results::html(&opened, &more).map(Some)
    }
}
