//! Running jobs in parallel. Each run is alone with its numbers: they do not depend on how many run at a time.

use super::jobs::Job;
use super::progress::Progress;
use crate::exit;
use crate::failure::Failure;
use crate::interrupt;
use crate::print::number::trimmed;
use rayon::iter::{ParallelBridge, ParallelIterator};
use std::io::Write;
use tractwright::error::Error;
use tractwright::march::Outcome;
use tractwright::run::{Options, Report, run};

/// What became of a job.
#[derive(Debug)]
pub(crate) enum Ended {
    /// It ran.
    Ran(Report),
    /// Its result was there already.
    Kept,
    /// The physics or the disk stopped it.
    Failed(Error),
    /// An interruption came before its turn.
    NotStarted,
}

impl Ended {
    /// One word.
    pub(crate) fn word(&self) -> &'static str {
        match self {
            Self::Ran(report) => match report.outcome {
                Outcome::Finished => "finished",
                Outcome::Settled => "settled",
                Outcome::Steady => "steady",
                Outcome::NotSettled => "not settled",
                Outcome::Interrupted => "interrupted",
            },
            Self::Kept => "kept",
            Self::Failed(Error::Run(_)) => "stopped",
            Self::Failed(_) => "failed",
            Self::NotStarted => "not started",
        }
    }

    fn code(&self) -> u8 {
        match self {
            Self::Ran(Report { outcome: Outcome::Interrupted, .. }) | Self::NotStarted => exit::INTERRUPTED,
            Self::Ran(_) | Self::Kept => exit::DONE,
            Self::Failed(Error::Run(_)) => exit::STOPPED,
            Self::Failed(Error::Case(_)) => exit::INVALID_CASE,
            Self::Failed(_) => exit::FILES,
        }
    }

    /// One exit code for all: the gravest.
    pub(crate) fn code_of(all: &[Self]) -> u8 {
        all.iter().map(Self::code).max().unwrap_or(exit::DONE)
    }

    fn told(&self) -> String {
        match self {
            Self::Ran(report) => {
                let place = match report.outcome {
                    Outcome::Steady => String::new(),
                    _ => format!(" at {} s", trimmed(report.time, 4)),
                };
                let seconds = trimmed(report.seconds, 3);
                let notes: String = report.notes.iter().map(|note| format!("; {note}")).collect();
                format!("{}{place}, {} steps, {seconds} s of computing{notes}", self.word(), report.steps)
            }
            Self::Failed(error) => format!("{}: {error}", self.word()),
            other => other.word().to_owned(),
        }
    }
}

/// Runs `jobs` on `threads` (all cores for 0) and answers in their order. One that fails does not stop the others; an interruption that
/// the caller [listens](interrupt::listen) for stops all.
///
/// # Errors
/// The threads cannot be had.
pub(crate) fn together(
    jobs: &[Job],
    options: Options,
    threads: usize,
    err: &mut (dyn Write + Send),
    bars: bool,
) -> Result<Vec<Ended>, Failure> {
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(threads)
        .build()
        .map_err(|error| Failure::file(format!("no threads: {error}")))?;
    let mut order: Vec<(usize, &Job)> = jobs.iter().enumerate().filter(|(_, job)| !job.kept).collect();
    // The longest first, so that no core is left with it at the end.
    order.sort_by(|(_, a), (_, b)| b.cost.total_cmp(&a.cost));
    let wanted: Vec<&Job> = order.iter().map(|(_, job)| *job).collect();
    let progress = Progress::new(&wanted, err, bars);
    let one = |(number, job): (usize, &Job)| {
        let ended = alone(job, options, &progress);
        progress.ended(&job.name(), &ended.told());
        (number, ended)
    };
    let ran: Vec<(usize, Ended)> = pool.install(|| order.into_iter().par_bridge().map(one).collect());
    progress.clear();
    let mut all: Vec<Ended> = jobs.iter().map(|_| Ended::Kept).collect();
    for (number, ended) in ran {
        all[number] = ended;
    }
    Ok(all)
}

fn alone(job: &Job, options: Options, progress: &Progress<'_>) -> Ended {
    if interrupt::requested() {
        return Ended::NotStarted;
    }
    let mut watched = progress.watch(job);
    let ended = match run(&job.case, &job.point, &job.path, options, &mut watched) {
        Ok(report) => Ended::Ran(report),
        Err(error) => Ended::Failed(error),
    };
    watched.finish();
    ended
}
