//! The commands, one file each.

pub(crate) mod check;
pub(crate) mod compare;
mod completions;
pub(crate) mod filter_life;
mod fit;
mod flow_bench;
mod kinds;
pub(crate) mod levers;
pub(crate) mod measured;
mod picture;
mod report;
mod run;
mod schema;
mod speed;
mod start;
pub(crate) mod study;
pub(crate) mod summary;
mod test_plan;
mod validate;

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
    Start(start::Start),
    Check(check::Check),
    Run(run::Run),
    Summary(summary::Summarise),
    Compare(compare::Compare),
    Levers(levers::Levers),
    #[command(name = "flow_bench")]
    FlowBench(flow_bench::FlowBench),
    Measured(measured::Measured),
    #[command(name = "filter_life")]
    FilterLife(filter_life::FilterLife),
    Fit(fit::Fit),
    #[command(name = "test_plan")]
    TestPlan(test_plan::TestPlanCommand),
    Study(study::Study),
    Validate(validate::Validate),
    Picture(picture::Picture),
    Report(report::Report),
    Speed(speed::Speed),
    Kinds(kinds::Kinds),
    Schema(schema::Schema),
    Completions(completions::Completions),
}

/// Form of an output.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum Format {
    /// Tables for people
    Text,
    /// One JSON document, SI units
    Json,
    /// CSV with one head row, SI units
    Csv,
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
            Self::Start(command) => command.execute(streams),
            Self::Check(command) => command.execute(streams),
            Self::Run(command) => command.execute(streams),
            Self::Summary(command) => command.execute(streams),
            Self::Compare(command) => command.execute(streams),
            Self::Levers(command) => command.execute(streams),
            Self::FlowBench(command) => command.execute(streams),
            Self::Measured(command) => command.execute(streams),
            Self::FilterLife(command) => command.execute(streams),
            Self::Fit(command) => command.execute(streams),
            Self::TestPlan(command) => command.execute(streams),
            Self::Study(command) => command.execute(streams),
            Self::Validate(command) => command.execute(streams),
            Self::Picture(command) => command.execute(streams),
            Self::Report(command) => command.execute(streams),
            Self::Speed(command) => command.execute(streams),
            Self::Kinds(command) => command.execute(streams),
            Self::Schema(command) => command.execute(streams),
            Self::Completions(command) => command.execute(streams),
        }
    }
}

/// What kept CSV from being written.
fn write_failed(error: csv::Error) -> Failure {
    match error.into_kind() {
        csv::ErrorKind::Io(error) => error.into(),
        other => Failure::file(format!("{other:?}")),
    }
}
