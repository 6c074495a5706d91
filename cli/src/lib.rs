//! The command line of Tractwright: arguments, progress, tables, pictures, exit codes. The physics is the library's.
//!
//! [`run`] takes the arguments and the streams, so that a test can call it in process as often as it likes.
#![deny(missing_docs)]

mod chart;
mod commands;
pub mod exit;
mod failure;
mod interrupt;
mod layouts;
mod ledgers;
mod opened;
mod overlay;
mod page;
mod print;
mod runs;
mod studied;

use commands::Arguments;
use failure::Failure;
use std::ffi::OsString;
use std::fmt;
use std::io::Write;

/// Where a command writes.
pub struct Streams<'a> {
    /// Results.
    pub out: &'a mut dyn Write,
    /// All else.
    pub err: &'a mut (dyn Write + Send),
    /// Whether progress bars may be drawn on the standard error of the process.
    pub bars: bool,
}

impl fmt::Debug for Streams<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Streams").field("bars", &self.bars).finish_non_exhaustive()
    }
}

/// Runs the command that `arguments` give, the name of the program first, and answers with its [exit code](exit).
pub fn run<A>(arguments: impl IntoIterator<Item = A>, mut streams: Streams<'_>) -> u8
where
    A: Into<OsString> + Clone,
{
    let done = Arguments::read(arguments)
        .and_then(|arguments| arguments.command.execute(&mut streams))
        .and_then(|code| streams.out.flush().map(|()| code).map_err(Failure::from));
    match done {
        Ok(code) => code,
        Err(Failure::ClosedPipe) => exit::DONE,
        // What stands on the standard output is the answer to `--help`.
        Err(Failure::Answered(text)) => match streams.out.write_all(text.as_bytes()) {
            Ok(()) => exit::DONE,
            Err(error) => Failure::from(error).code(),
        },
        Err(failure) => {
            // Nobody is left to be told when this fails.
            let _ = write!(streams.err, "{failure}");
            failure.code()
        }
    }
}
