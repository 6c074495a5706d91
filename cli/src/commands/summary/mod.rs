//! `summary`: what a result says, per branch.

mod machine;
mod plot;
mod power;
mod series;
pub(crate) mod soak;
pub(crate) mod text;

use super::Format;
use crate::failure::Failure;
use crate::opened::Opened;
use crate::{Streams, exit};
use std::path::PathBuf;

/// Tells per branch: flow, recovery, depression, temperature, both ledgers, balances
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  tractwright summary twin_sealed.road.h5
  tractwright summary twin_sealed.dyno_pull.h5 --plot
  tractwright summary results/*.h5 --format csv
  tractwright summary twin_sealed.road.h5 --at snout:120mm --quantity pressure")]
pub(crate) struct Summarise {
    /// Result files, finished or not
    #[arg(required = true, value_name = "RESULT")]
    results: Vec<PathBuf>,
    /// Form of the output
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Draw the curve that the result is looked at for into the terminal: of a day the inlet temperature, of a pull the power, of a roll-on the speed, of a
    /// steady state the total pressure on the way, else the pressure at the first draw
    #[arg(long, conflicts_with = "at")]
    plot: bool,
    /// Print a time series instead, as CSV: at a place in a duct such as snout:120mm, in a volume such as box, or at a draw (static pressure in its own area,
    /// total temperature)
    #[arg(long, value_name = "PART:x")]
    at: Option<String>,
    /// Quantity of the time series; all that there are when it is not given
    #[arg(long, requires = "at", value_enum)]
    quantity: Option<series::Quantity>,
}

impl Summarise {
    pub(crate) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        if let Some(place) = &self.at {
            let [result] = &self.results[..] else {
                return Err(Failure::wrong_use(format!(
                    "found {} results, expected one with `--at`",
                    self.results.len()
                )));
            };
            series::write(result, place, self.quantity, streams.out)?;
            return Ok(exit::DONE);
        }
        let read = self.results.iter().map(|path| Opened::read(path)).collect::<Result<Vec<_>, _>>()?;
        match self.format {
            Format::Text => {
                for (number, opened) in read.iter().enumerate() {
                    if number > 0 {
                        writeln!(streams.out)?;
                    }
                    write!(streams.out, "{}", text::of(opened)?)?;
                    if self.plot {
                        write!(streams.out, "{}", plot::of(opened)?)?;
                    }
                }
            }
            Format::Json => machine::json(&read, streams.out)?,
            Format::Csv => machine::csv(&read, streams.out)?,
        }
        Ok(exit::DONE)
    }
}
