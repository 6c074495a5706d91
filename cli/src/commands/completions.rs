//! `completions`: what shells complete.

use super::Arguments;
use crate::failure::Failure;
use crate::{Streams, exit};
use clap::CommandFactory;
use clap_complete::Shell;

/// Prints the completion script of a shell
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:
  tractwright completions bash > ~/.local/share/bash-completion/completions/tractwright")]
pub(crate) struct Completions {
    /// Shell
    #[arg(value_enum)]
    shell: Shell,
}

impl Completions {
    pub(crate) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        // The generator takes no failure of its writer, so the script is made first.
        let mut script = Vec::new();
        clap_complete::generate(self.shell, &mut Arguments::command(), "tractwright", &mut script);
        streams.out.write_all(&script)?;
        Ok(exit::DONE)
    }
}
