//! `run`: marches cases into result files.

use crate::failure::Failure;
use crate::print::number::{fixed, trimmed};
use crate::print::shell::quoted;
use crate::print::{Row, Table};
use crate::runs::{Ended, Job, Wish, prepare, together, unfinished};
use crate::{Streams, exit, interrupt};
use std::path::PathBuf;
use std::time::Duration;
use tractwright::error::Error;
use tractwright::march::Outcome;
use tractwright::run::Options;

/// Seconds between two checkpoints of a run.
const CHECKPOINT_EVERY: f64 = 20.0;

/// Marches cases at their points and writes one result each, <case>.<point>.h5
///
/// Ctrl-C saves the state of the runs and says how to go on; a second one stops at once.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  tractwright run twin_sealed.yaml
  tractwright run layouts/*.yaml --point road -o results
  tractwright run twin_sealed.yaml --resume")]
pub(crate) struct Run {
    /// Case files
    #[arg(required = true, value_name = "CASE")]
    cases: Vec<PathBuf>,
    /// Point to run at
    #[arg(long, value_name = "NAME|all", default_value = "all")]
    point: String,
    /// Folder of the results; made when it is not there
    #[arg(short, long, value_name = "FOLDER", default_value = ".")]
    output: PathBuf,
    /// Go on where interrupted runs stopped, and keep results that are finished
    #[arg(long)]
    resume: bool,
    /// Replace finished results
    #[arg(long)]
    force: bool,
    /// Runs at a time; as many as there are cores when it is not given
    #[arg(long, value_name = "N", default_value_t = 0, hide_default_value = true)]
    threads: usize,
    /// Time of the clock on the wall between two checkpoints
    #[arg(long, value_name = "SECONDS", default_value_t = CHECKPOINT_EVERY)]
    checkpoint_every: f64,
}

impl Run {
    pub(crate) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        interrupt::listen();
        let wish = Wish { point: &self.point, folder: &self.output, resume: self.resume, force: self.force };
        let jobs = prepare(&self.cases, wish)?;
        std::fs::create_dir_all(&self.output)
            .map_err(|error| Failure::file(format!("{}: {error}", self.output.display())))?;
        let checkpoint_every = Duration::try_from_secs_f64(self.checkpoint_every)
            .map_err(|_| Failure::wrong_use(format!("found {} s, expected a time", self.checkpoint_every)))?;
        let options = Options { resume: self.resume, force: self.force, checkpoint_every };
        let ended = together(&jobs, options, self.threads, streams.err, streams.bars)?;
        write!(streams.out, "{}", table(&jobs, &ended))?;
        let code = Ended::code_of(&ended);
        for (job, ended) in jobs.iter().zip(&ended) {
            if let Ended::Failed(error) = ended {
                writeln!(streams.err, "error: {}: {error}", job.name())?;
            }
        }
        if code == exit::INTERRUPTED {
            writeln!(streams.err, "to go on: {}", self.to_go_on())?;
        }
        Ok(code)
    }

    /// The command line that goes on with what was interrupted.
    fn to_go_on(&self) -> String {
        let mut words: Vec<String> = vec!["tractwright".to_owned(), "run".to_owned()];
        words.extend(self.cases.iter().map(|case| quoted(&case.to_string_lossy())));
        if self.point != "all" {
            words.extend(["--point".to_owned(), quoted(&self.point)]);
        }
        if self.output.as_os_str() != "." {
            words.extend(["-o".to_owned(), quoted(&self.output.to_string_lossy())]);
        }
        words.push("--resume".to_owned());
        if self.force {
            words.push("--force".to_owned());
        }
        if self.threads > 0 {
            words.extend(["--threads".to_owned(), self.threads.to_string()]);
        }
        if (self.checkpoint_every - CHECKPOINT_EVERY).abs() > 0.0 {
            words.extend(["--checkpoint-every".to_owned(), self.checkpoint_every.to_string()]);
        }
        words.join(" ")
    }
}

/// One line a run.
fn table(jobs: &[Job], ended: &[Ended]) -> String {
    let cells = ["time, s", "steps", "cells", "computing, s"].map(str::to_owned).to_vec();
    let head = Row::new("outcome", cells).noted("result");
    let rows = jobs.iter().zip(ended).map(|(job, ended)| row(job, ended)).collect();
    Table { head, rows }.render()
}

fn row(job: &Job, ended: &Ended) -> Row {
    let path = match ended {
        Ended::Ran(report) if report.outcome == Outcome::Interrupted => unfinished(&job.path).display().to_string(),
        Ended::Ran(_) | Ended::Kept | Ended::Failed(Error::Run(_)) => job.path.display().to_string(),
        Ended::Failed(_) | Ended::NotStarted => format!("none ({})", job.name()),
    };
    let cells = match ended {
        Ended::Ran(report) => {
            vec![trimmed(report.time, 4), report.steps.to_string(), report.cells.to_string(), fixed(report.seconds, 1)]
        }
        _ => vec![String::new(); 4],
    };
    Row::new(ended.word(), cells).noted(path)
}

#[cfg(test)]
mod tests {
    use super::Run;
    use clap::Parser;

    #[derive(Debug, Parser)]
    struct Line {
        #[command(flatten)]
        run: Run,
    }

    #[test]
    fn what_was_interrupted_goes_on_by_the_same_command_with_resume() {
        let given =
            "tractwright run a.yaml b.yaml --point road -o out --resume --force --threads 2 --checkpoint-every 5";
        // The flat struct of this test has no subcommand.
        let words = given.split(' ').filter(|word| !["run", "--resume"].contains(word));
        assert_eq!(Line::try_parse_from(words).unwrap().run.to_go_on(), given);
        let short = Line::try_parse_from(["tractwright", "a.yaml"]).unwrap().run.to_go_on();
        assert_eq!(short, "tractwright run a.yaml --resume");
    }
}
