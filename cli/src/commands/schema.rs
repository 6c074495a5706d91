//! `schema`: the form of a case for editors.

use crate::failure::Failure;
use crate::{Streams, exit};

/// Prints the JSON Schema of a case, for completion in editors
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:
  tractwright schema > case.schema.json")]
pub(crate) struct Schema;

impl Schema {
    pub(crate) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        writeln!(streams.out, "{:#}", tractwright::case::schema())?;
        Ok(exit::DONE)
    }
}
