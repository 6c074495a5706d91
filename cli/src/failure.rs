//! Why a command could not do what it was asked, and the exit code that says so.

use crate::exit;
use std::fmt;
use std::io;
use tractwright::error::{CaseError, Error, OutputError, RunError};

/// Why a command ends early.
#[derive(Debug)]
pub(crate) enum Failure {
    /// Whoever read the standard output went away, as `head` does; no mistake.
    ClosedPipe,
    /// Not a failure: a text that was asked for, such as the help.
    Answered(String),
    /// What clap says of the command line.
    Usage(String),
    /// One or more messages under one exit code.
    Told {
        /// Exit code.
        code: u8,
        /// Fragments, one a line.
        messages: Vec<String>,
    },
}

impl Failure {
    /// The command line was used wrongly.
    pub(crate) fn wrong_use(message: impl Into<String>) -> Self {
        Self::Told { code: exit::WRONG_USE, messages: vec![message.into()] }
    }

    /// A file that cannot be used.
    pub(crate) fn file(message: impl Into<String>) -> Self {
        Self::Told { code: exit::FILES, messages: vec![message.into()] }
    }

    /// All of `failures` as one; an invalid case outranks a file.
    pub(crate) fn all(failures: Vec<Self>) -> Self {
        let code = failures.iter().map(Self::code).min().unwrap_or(exit::DONE);
        let told = |failure| match failure {
            Self::Told { messages, .. } => messages,
            other => vec![other.to_string()],
        };
        let mut messages: Vec<String> = Vec::new();
        for message in failures.into_iter().flat_map(told) {
            // What is wrong with a case is wrong at each of its points.
            if !messages.contains(&message) {
                messages.push(message);
            }
        }
        Self::Told { code, messages }
    }

    /// The exit code.
    pub(crate) fn code(&self) -> u8 {
        match self {
            Self::ClosedPipe | Self::Answered(_) => exit::DONE,
            Self::Usage(_) => exit::WRONG_USE,
            Self::Told { code, .. } => *code,
        }
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::ClosedPipe => Ok(()),
            Self::Answered(text) | Self::Usage(text) => f.write_str(text),
            Self::Told { messages, .. } => messages.iter().try_for_each(|message| writeln!(f, "error: {message}")),
        }
    }
}

impl From<io::Error> for Failure {
    fn from(error: io::Error) -> Self {
        match error.kind() {
            io::ErrorKind::BrokenPipe => Self::ClosedPipe,
            _ => Self::file(error.to_string()),
        }
    }
}

impl From<CaseError> for Failure {
    fn from(error: CaseError) -> Self {
        Self::Told { code: exit::INVALID_CASE, messages: error.problems.iter().map(ToString::to_string).collect() }
    }
}

impl From<OutputError> for Failure {
    fn from(error: OutputError) -> Self {
        Self::file(error.to_string())
    }
}

impl From<RunError> for Failure {
    fn from(error: RunError) -> Self {
        Self::Told { code: exit::STOPPED, messages: vec![error.to_string()] }
    }
}

impl From<Error> for Failure {
    fn from(error: Error) -> Self {
        match error {
            Error::Case(error) => error.into(),
            Error::Run(error) => error.into(),
            Error::Output(error) => error.into(),
            other => Self::file(other.to_string()),
        }
    }
}
