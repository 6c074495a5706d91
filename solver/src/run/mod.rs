//! Running a case at one operating point, from its network to its result file.
//!
//! The result grows as the run goes; a checkpoint beside it lets an interrupted run go on to an identical result.

mod reading;
mod rows;

pub use reading::{Reading, read_summary};

use crate::case::{Built, Case};
use crate::error::{CaseError, Error, OutputError, RunError};
use crate::march::{Acoustic, Control, Observer, Outcome, Saved};
use crate::record::{Attribute, Checkpoint, CheckpointPair, Identity, Writer};
use rows::Rows;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// Program and version, as results and checkpoints name it.
pub const PROGRAM: &str = concat!("tractwright ", env!("CARGO_PKG_VERSION"));

/// Someone who watches a run from outside: a progress bar, a stop button.
pub trait Watcher {
    /// The run has come to `time` [s] of at most `end` [s] in `steps` steps.
    fn progress(&mut self, time: f64, end: f64, steps: u64);

    /// Whether the run shall save its state and stop.
    fn stop(&self) -> bool {
        false
    }
}

/// How a run treats what it finds and leaves on disk.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Options {
    /// Go on from the checkpoint of an interrupted run, when there is one.
    pub resume: bool,
    /// Replace a finished result.
    pub force: bool,
    /// Wall-clock time between checkpoints.
    pub checkpoint_every: Duration,
}

impl Default for Options {
    fn default() -> Self {
        Self { resume: false, force: false, checkpoint_every: Duration::from_secs(20) }
    }
}

/// What became of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct Report {
    /// Result file; `<path>.part` while it is unfinished.
    pub path: PathBuf,
    /// How the march ended.
    pub outcome: Outcome,
    /// Simulated time [s].
    pub time: f64,
    /// Steps.
    pub steps: u64,
    /// Cells of all ducts.
    pub cells: usize,
    /// Wall-clock time of this process [s].
    pub seconds: f64,
    /// Simulated time from which the run went on [s]; zero for a run from the start.
    pub resumed_from: f64,
}

/// Name of the result of `case` at `point` in `folder`.
///
/// # Errors
/// A case whose file has no name that could name a result.
pub fn result_path(case: &Case, point: &str, folder: &Path) -> Result<PathBuf, CaseError> {
    let stem = Path::new(&case.file).file_stem().map(|stem| stem.to_string_lossy().into_owned());
    let stem = stem.filter(|stem| !stem.is_empty() && !stem.starts_with('.')).unwrap_or_else(|| "case".to_owned());
    Ok(folder.join(format!("{stem}.{point}.h5")))
}

/// Runs `case` at `point` into `path`.
///
/// # Errors
/// The case does not build, the physics stops the run (the result then ends with the last good state and says so), or the disk refuses.
pub fn run(
    case: &Case,
    point: &str,
    path: &Path,
    options: Options,
    watcher: &mut dyn Watcher,
) -> Result<Report, Error> {
    let started = Instant::now();
    if path.exists() && !options.force {
        let found = "a finished result".to_owned();
        return Err(content(path, found, "a name that is free; `--force` replaces it").into());
    }
    let built = case.build(point)?;
    let rows = Rows::of(case, point, &built);
    let identity = Identity { program: PROGRAM.to_owned(), case: case.resolved_text(), point: point.to_owned() };
    let mut checkpoints = CheckpointPair::new(path, identity);
    let mut march = Acoustic::new(&built.network, built.initial.clone(), built.settings);
    let saved = if options.resume { checkpoints.load()? } else { None };
    let writer = match &saved {
        Some(checkpoint) => {
            march.restore(&from_checkpoint(checkpoint)).map_err(|error| match error {
                Some(stopped) => Error::from(stopped),
                None => content(path, "a checkpoint of another network".to_owned(), "one of this case").into(),
            })?;
            Writer::reopen(path, rows.layout(), &checkpoint.recorded)?
        }
        None => Writer::create(path, rows.layout())?,
    };
    if saved.is_none() {
        checkpoints.discard()?;
    }
    let resumed_from = march.clock.time;
    let mut recorder = Recorder {
        rows: &rows,
        writer,
        checkpoints,
        watcher,
        end: march.schedule.end,
        next_checkpoint: Instant::now() + options.checkpoint_every,
        every: options.checkpoint_every,
    };
    let ended = march.run(&mut recorder);
    let outcome = recorder.close(&built, &mut march, &ended)?;
    ended?;
    Ok(Report {
        path: path.to_owned(),
        outcome,
        time: march.clock.time,
        steps: march.clock.step,
        cells: built.network.arena.ducts().map(|duct| built.network.arena.cells(duct)).sum(),
        seconds: started.elapsed().as_secs_f64(),
        resumed_from,
    })
}

fn content(path: &Path, found: String, expected: &str) -> OutputError {
    OutputError::Content { path: path.to_owned(), found, expected: expected.to_owned() }
}

/// Writes rows and checkpoints while a run marches.
struct Recorder<'a> {
    rows: &'a Rows,
    writer: Writer,
    checkpoints: CheckpointPair,
    watcher: &'a mut dyn Watcher,
    end: f64,
    next_checkpoint: Instant,
    every: Duration,
}

impl Observer for Recorder<'_> {
    fn record(&mut self, march: &mut Acoustic<'_>) -> Result<(), Error> {
        Ok(self.writer.append(march.clock.time, &self.rows.row(march))?)
    }

    fn step_done(&mut self, march: &Acoustic<'_>) -> Result<Control, Error> {
        if self.watcher.stop() {
            self.checkpoint(march)?;
            return Ok(Control::Stop);
        }
        // Clocks and bars cost more than a step of a small network.
        if march.clock.step.is_multiple_of(64) {
            self.watcher.progress(march.clock.time, self.end, march.clock.step);
            if Instant::now() >= self.next_checkpoint {
                self.checkpoint(march)?;
                self.next_checkpoint = Instant::now() + self.every;
            }
        }
        Ok(Control::Continue)
    }
}

impl Recorder<'_> {
    fn checkpoint(&mut self, march: &Acoustic<'_>) -> Result<(), OutputError> {
        // The rows that a checkpoint counts on must survive whatever it survives.
        let recorded = self.writer.mark()?;
        let saved = march.save();
        self.checkpoints.save(&Checkpoint {
            time: march.clock.time,
            step: march.clock.step,
            recorded,
            blocks: saved.blocks,
            counters: saved.counts,
        })
    }

    /// Ends the result as the march has ended.
    fn close(
        mut self,
        built: &Built,
        march: &mut Acoustic<'_>,
        ended: &Result<Outcome, Error>,
    ) -> Result<Outcome, Error> {
        match ended {
            Ok(Outcome::Interrupted) => {
                self.writer.pause()?;
                Ok(Outcome::Interrupted)
            }
            Ok(outcome) => {
                self.watcher.progress(march.clock.time, self.end, march.clock.step);
                self.writer.finish(&end_attributes(built, march, describe(*outcome), None))?;
                self.checkpoints.discard()?;
                Ok(*outcome)
            }
            Err(Error::Run(stopped)) => {
                // The last good state is the last row of the result. What was worked out last belongs to the state that was refused, so
                // it is worked out anew; a run that is refused at its very start has no good state.
                if march.start().is_ok() {
                    self.writer.append(march.clock.time, &self.rows.row(march))?;
                }
                self.writer.finish(&end_attributes(built, march, "stopped", Some(stopped)))?;
                self.checkpoints.discard()?;
                Ok(Outcome::Finished)
            }
            Err(_) => Ok(Outcome::Interrupted),
        }
    }
}

fn describe(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Finished => "finished",
        Outcome::Settled => "settled",
        Outcome::NotSettled => "not settled",
        Outcome::Interrupted => "interrupted",
    }
}

fn end_attributes(
    built: &Built,
    march: &Acoustic<'_>,
    outcome: &str,
    stopped: Option<&RunError>,
) -> Vec<(String, Attribute)> {
    let mut attributes: Vec<(String, Attribute)> = vec![
        ("outcome".to_owned(), outcome.into()),
        ("end_time".to_owned(), march.clock.time.into()),
        ("averaged_from".to_owned(), built.averaged_from(march.clock.time).into()),
        ("steps".to_owned(), Attribute::Whole(march.clock.step.try_into().unwrap_or(i64::MAX))),
        ("retaken_steps".to_owned(), Attribute::Whole(march.counters.retakes.try_into().unwrap_or(i64::MAX))),
        ("choked_steps".to_owned(), Attribute::Whole(march.counters.choked.try_into().unwrap_or(i64::MAX))),
        ("shortest_step".to_owned(), march.counters.shortest.into()),
        ("longest_step".to_owned(), march.counters.longest.into()),
    ];
    if let Some(stopped) = stopped {
        attributes.push(("stopped_by".to_owned(), stopped.to_string().into()));
    }
    attributes
}

fn from_checkpoint(checkpoint: &Checkpoint) -> Saved {
    Saved { blocks: checkpoint.blocks.clone(), counts: checkpoint.counters.clone() }
}
