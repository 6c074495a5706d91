//! The program `tractwright`: hands arguments and streams to its library.

use std::io::{self, IsTerminal};
use std::process::ExitCode;
use tractwright_cli::{Streams, run};

fn main() -> ExitCode {
    let bars = io::stderr().is_terminal();
    let streams = Streams { out: &mut io::stdout(), err: &mut io::stderr(), bars };
    ExitCode::from(run(std::env::args_os(), streams))
}
