//! `schema`: the form of a case or a study for editors.

use crate::failure::Failure;
use crate::{Streams, exit};

/// Prints the JSON Schema of a case or a study, for completion in editors
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:
  tractwright schema > case.schema.json
  tractwright schema study > study.schema.json")]
pub(crate) struct Schema {
    /// Of what
    #[arg(value_enum, default_value_t = Of::Case)]
    of: Of,
}

#[derive(Debug, Clone, Copy, clap::ValueEnum)]
enum Of {
    Case,
    Study,
}

impl Schema {
    pub(crate) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        let text = match self.of {
            Of::Case => tractwright::case::schema(),
            Of::Study => tractwright::study::plan::schema(),
        };
        writeln!(streams.out, "{text}")?;
        Ok(exit::DONE)
    }
}
