//! Doing the runs of a study side by side, each of them written down when it ends.

use super::make;
use super::progress::Progress;
use crate::failure::Failure;
use crate::{Streams, interrupt};
use rayon::iter::{ParallelBridge, ParallelIterator};
use std::any::Any;
use std::collections::HashSet;
use std::io::Write;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};
use tractwright::error::OutputError;
use tractwright::study::Evaluator;
use tractwright::study::journal::{Ended, Journal, Records, Shard};
use tractwright::study::plan::{Id, Plan, Run};

/// What is done, and where it is written.
pub(super) struct Night<'a> {
    evaluator: &'a Evaluator<'a>,
    journal: Mutex<Journal>,
    records: Records,
    retry_failed: bool,
}

/// What came of some runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Tally {
    /// Runs, those done before among them.
    pub(super) count: usize,
    /// With figures.
    pub(super) done: usize,
    /// Without.
    pub(super) failed: usize,
}

impl<'a> Night<'a> {
    /// Reads what was done before, and opens the journal of the share.
    ///
    /// # Errors
    /// The folder cannot be written, or another process does this share.
    pub(super) fn open(
        evaluator: &'a Evaluator<'a>,
        folder: &Path,
        shard: Shard,
        retry_failed: bool,
        err: &mut dyn Write,
    ) -> Result<Self, Failure> {
        make(folder)?;
        let journal = Mutex::new(Journal::open(folder, shard)?);
        let records = Records::read(folder)?;
        for (path, lines) in &records.damaged {
            writeln!(err, "note: {}: {lines} damaged lines, whose runs are done again", path.display())?;
        }
        Ok(Self { evaluator, journal, records, retry_failed })
    }

    /// Does those of `runs` that are not done, on `threads` (all cores for 0). A run that fails does not stop the others; an interruption stops all.
    ///
    /// # Errors
    /// The disk refuses, or the threads cannot be had.
    pub(super) fn all(
        &mut self,
        plan: &Plan,
        runs: Vec<Run>,
        threads: usize,
        streams: &mut Streams<'_>,
    ) -> Result<Tally, Failure> {
        let mut wanted = HashSet::new();
        let missing: Vec<(Run, Id)> = runs
            .into_iter()
            .map(|run| (self.evaluator.id(&run), run))
            .filter(|(id, _)| wanted.insert(*id) && self.is_missing(*id))
            .map(|(id, run)| (run, id))
            .collect();
        let progress = Progress::new(missing.len(), wanted.len() - missing.len(), streams.err, streams.bars);
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .map_err(|error| Failure::file(format!("no threads: {error}")))?;
        let stopped: Mutex<Option<OutputError>> = Mutex::new(None);
        let stop = AtomicBool::new(false);
        let one = |(run, id): &(Run, Id)| {
            if stop.load(Ordering::Relaxed) || interrupt::requested() {
                return;
            }
            if let Err(error) = self.one(plan, run, *id, &progress) {
                stop.store(true, Ordering::Relaxed);
                if let Ok(mut first) = stopped.lock() {
                    first.get_or_insert(error);
                }
            }
        };
        pool.install(|| missing.iter().par_bridge().for_each(one));
        progress.clear();
        if let Some(error) = stopped.into_inner().unwrap_or(None) {
            return Err(error.into());
        }
        let (done, failed) = progress.counted();
        let before = wanted.iter().filter_map(|id| self.records.entries.get(id));
        let kept = before.filter(|entry| !missing.iter().any(|(_, id)| *id == entry.id));
        let (kept_done, kept_failed): (Vec<_>, Vec<_>) = kept.partition(|entry| entry.ended.is_done());
        Ok(Tally { count: wanted.len(), done: done + kept_done.len(), failed: failed + kept_failed.len() })
    }

    fn is_missing(&self, id: Id) -> bool {
        match self.records.entries.get(&id) {
            None => true,
            Some(entry) if entry.ended.is_done() => self.evaluator.lacks_fields(entry),
            Some(_) => self.retry_failed,
        }
    }

    fn one(&self, plan: &Plan, run: &Run, id: Id, progress: &Progress<'_>) -> Result<(), OutputError> {
        let name = super::heading(plan, run);
        let mut watched = progress.watch(&name);
        // A fault of ours in one run must not cost the others.
        let ended = catch_unwind(AssertUnwindSafe(|| self.evaluator.evaluate(run, &mut watched)));
        drop(watched);
        let entry = match ended {
            Ok(entry) => entry?,
            Err(panic) => Some(self.evaluator.entry(
                run,
                id,
                Ended::Failed(format!("a fault of this program: {}", told(&*panic))),
            )),
        };
        let Some(entry) = entry else { return Ok(()) };
        if let Ok(mut journal) = self.journal.lock() {
            journal.add(&entry)?;
        }
        progress.ended(&name, &entry.ended);
        Ok(())
    }

    /// Brings everything to the disk.
    ///
    /// # Errors
    /// The disk refuses.
    pub(super) fn close(self) -> Result<(), Failure> {
        if let Ok(mut journal) = self.journal.into_inner() {
            journal.synchronise()?;
        }
        Ok(())
    }
}

fn told(panic: &(dyn Any + Send)) -> String {
    let text = panic.downcast_ref::<String>().cloned();
    text.or_else(|| panic.downcast_ref::<&str>().map(|text| (*text).to_owned())).unwrap_or_else(|| "a panic".to_owned())
}
