//! The commands, one file each.

mod check;
mod run;
mod summary;

use crate::failure::Failure;
use crate::{Streams, exit};
use clap::Parser;
use std::ffi::OsString;

/// Unsteady one-dimensional gas dynamics of an engine's inlet tract
#[derive(Debug, Parser)]
#[command(name = "tractwright", version, max_term_width = 100, after_help = exit::HELP)]
pub(crate) struct Arguments {
    #[command(subcommand)]
    pub(crate) command: Command,
}

#[derive(Debug, clap::Subcommand)]
pub(crate) enum Command {
    Check(check::Check),
    Run(run::Run),
    Summary(summary::Summarise),
}

impl Arguments {
    pub(crate) fn read<A: Into<OsString> + Clone>(arguments: impl IntoIterator<Item = A>) -> Result<Self, Failure> {
        Self::try_parse_from(arguments).map_err(|error| {
            let text = error.render().to_string();
            if error.use_stderr() { Failure::Usage(text) } else { Failure::Answered(text) }
        })
    }
}

impl Command {
    /// Does it, and answers with the exit code.
    pub(crate) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        match self {
            Self::Check(command) => command.execute(streams),
            Self::Run(command) => command.execute(streams),
            Self::Summary(command) => command.execute(streams),
        }
    }
}
