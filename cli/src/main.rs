//! The program `tractwright`: hands arguments and streams to its library.

use std::io::{self, IsTerminal};
use std::process::ExitCode;
use tractwright_cli::{Streams, run};

/// A solver of linear systems takes blocks of memory and gives them back many times in a run. The system's own allocator hands each of them back to
/// the kernel, where the threads of a study wait for each other.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    let bars = io::stderr().is_terminal();
    let streams = Streams { out: &mut io::stdout(), err: &mut io::stderr(), bars };
    ExitCode::from(run(std::env::args_os(), streams))
}
