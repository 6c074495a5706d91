//! `report`: results as one HTML page.

use crate::failure::Failure;
use crate::opened::Opened;
use crate::page::results;
use crate::{Streams, exit};
use std::path::PathBuf;
use tractwright::record::publish_bytes;

/// Writes results as one HTML page to look at, to print and to hand on: verdict, losses, heat, power, limits, assumptions
///
/// The page needs no other file and no network. Results of several layouts at the same points are set side by side.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  tractwright report results/*.h5 -o layouts.html
  tractwright report results/twin_sealed.road.h5")]
pub(crate) struct Report {
    /// Result files
    #[arg(required = true, value_name = "RESULT")]
    results: Vec<PathBuf>,

    /// Page to write; beside the first result as <RESULT>.html when it is not given
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,

    /// Replace a page that is there
    #[arg(long)]
    force: bool,
}

impl Report {
    pub(crate) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        let path = self.output.clone().unwrap_or_else(|| self.results[0].with_extension("html"));
        if path.extension().is_none_or(|ending| !ending.eq_ignore_ascii_case("html")) {
            return Err(Failure::wrong_use(format!("found {}, expected a name that ends in .html", path.display())));
        }
        if path.exists() && !self.force {
            return Err(Failure::file(format!("{}: found a page, expected a free name or `--force`", path.display())));
        }
        let opened = self.results.iter().map(|result| Opened::read(result)).collect::<Result<Vec<_>, _>>()?;
        publish_bytes(&path, results::html(&opened)?.as_bytes())?;
        writeln!(streams.out, "{}", path.display())?;
        Ok(exit::DONE)
    }
}
