//! `measured`: a log of the car, and the model beside it.

mod machine;
mod text;

pub(crate) use machine::document;
pub(crate) use text::{basis, beside, doubtful, doubts};

use super::Format;
use super::picture::{free, publish};
use crate::chart::overlay;
use crate::failure::Failure;
use crate::overlay::Overlay;
use crate::{Streams, exit};
use std::path::PathBuf;
use tractwright::case::Case;

/// Reads logs of the car as the case says, tells what is wrong or doubtful in them, and sets the model beside each state
///
/// What the columns mean stands in `measured` of the case. A bad row is named with its line and kept out. The model is solved at the numbers
/// that each state gives: flow, road speed, outside air, crank speed. Where it was measured in a pull or a roll-on the model goes through that once, at
/// the means of what the log sets, and is read where it comes by the speed of each state.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  tractwright measured coupe.yaml road.csv
  tractwright measured coupe.yaml road.csv --each --picture road.svg
  tractwright measured coupe.yaml before.csv after.csv --format csv")]
pub(crate) struct Measured {
    /// Case file with a section `measured`
    #[arg(value_name = "CASE")]
    case: PathBuf,
    /// Logs, CSV
    #[arg(value_name = "LOG", required = true)]
    logs: Vec<PathBuf>,
    /// Print each state, not only what all of them come to
    #[arg(long)]
    each: bool,
    /// Picture of readings and model to write, .svg or .png; of one log
    #[arg(long, value_name = "FILE")]
    picture: Option<PathBuf>,
    /// Replace a picture that is there
    #[arg(long, requires = "picture")]
    force: bool,
    /// Form of the output
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

impl Measured {
    pub(crate) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        if let Some(path) = &self.picture {
            if self.logs.len() > 1 {
                let found = format!("found {} logs with `--picture`, expected one", self.logs.len());
                return Err(Failure::wrong_use(found));
            }
            free(path, self.force)?;
        }
        let case = Case::from_path(&self.case)?;
        let overlays = self.logs.iter().map(|log| Overlay::of(&case, log)).collect::<Result<Vec<_>, _>>()?;
        match self.format {
            Format::Text => {
                for (number, overlay) in overlays.iter().enumerate() {
                    if number > 0 {
                        writeln!(streams.out)?;
                    }
                    write!(streams.out, "{}", text::of(overlay, self.each))?;
                }
            }
            Format::Json => machine::json(&overlays, streams.out)?,
            Format::Csv => machine::csv(&overlays, streams.out)?,
        }
        if let (Some(path), Some(overlay)) = (&self.picture, overlays.first()) {
            publish(path, &overlay::drawing(overlay))?;
            writeln!(streams.err, "{}", path.display())?;
        }
        Ok(exit::DONE)
    }
}
