//! Doing the runs of a study side by side, each of them written down when it ends.

use super::make;
use super::progress::Progress;
use crate::failure::Failure;
use crate::{Streams, interrupt};
use rayon::ThreadPool;
use rayon::iter::{ParallelBridge, ParallelIterator};
use std::any::Any;
use std::collections::HashSet;
use std::io::Write;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};
use tractwright::error::OutputError;
use tractwright::study::journal::{Ended, Journal, Records, Shard};
use tractwright::study::plan::{Id, Plan, Run, What};
use tractwright::study::{Evaluator, Of, name_of};

/// What is done, and where it is written.
pub(super) struct Night<'a> {
    evaluator: &'a Evaluator<'a>,
    journal: Mutex<Journal>,
    /// Runs that ended, now or before.
    known: Mutex<Records>,
    /// Runs that a search is at: who wants the same one waits for it.
    begun: Mutex<HashSet<Id>>,
    ended: Condvar,
    /// What the disk refused; nothing is begun after that.
    refused: Mutex<Option<OutputError>>,
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
        let mut records = Records::read(folder)?;
        for (path, lines) in &records.damaged {
            writeln!(
                err,
                "note: {}: damaged lines: {lines}; their runs are done again unless they were",
                path.display()
            )?;
        }
        if retry_failed {
            records.forget_failed();
        }
        let (known, begun, refused) = (Mutex::new(records), Mutex::default(), Mutex::new(None));
        Ok(Self { evaluator, journal, known, begun, ended: Condvar::new(), refused })
    }

    /// Does those of the runs of these `numbers`, each of them `run` of its number, that are not done; on `threads` (all cores for 0). A run that fails
    /// does not stop the others; an interruption stops all.
    ///
    /// # Errors
    /// The disk refuses, or the threads cannot be had.
    pub(super) fn all(
        &self,
        plan: &Plan,
        numbers: impl Iterator<Item = usize>,
        run: &(dyn Fn(usize) -> Run + Sync),
        threads: usize,
        streams: &mut Streams<'_>,
    ) -> Result<Tally, Failure> {
        let mut wanted = HashSet::new();
        // Numbers, since runs would take more memory than all that is known of them.
        let missing: Vec<usize> = numbers
            .filter(|number| {
                let id = self.evaluator.id(&run(*number));
                wanted.insert(id) && self.is_missing(id)
            })
            .collect();
        let before = wanted.len() - missing.len();
        if before > 0 {
            writeln!(streams.err, "{before} runs are there already")?;
        }
        let progress = Progress::new(missing.len(), streams.err, streams.bars);
        let pool = pool(threads)?;
        let one = |number: &usize| {
            let run = run(*number);
            self.one(plan, &run, self.evaluator.id(&run), &progress);
        };
        pool.install(|| missing.iter().par_bridge().for_each(one));
        progress.clear();
        self.refused()?;
        let known = locked(&self.known);
        let ended: Vec<bool> = wanted.iter().filter_map(|id| known.is_done(*id)).collect();
        let done = ended.iter().filter(|done| **done).count();
        Ok(Tally { count: wanted.len(), done, failed: ended.len() - done })
    }

    /// The value of what an aim or a condition looks at, in a run that is done now if it is not done yet; `None` where it failed, or nothing is begun
    /// any more.
    pub(super) fn value(&self, plan: &Plan, run: &Run, what: &What, progress: &Progress<'_>) -> Option<f64> {
        let id = self.evaluator.id(run);
        self.alone_at(id, || {
            if self.is_missing(id) {
                self.one(plan, run, id, progress);
            }
        });
        let Ended::Done { figures, .. } = locked(&self.known).get(id)?.ended else { return None };
        let figure = |quantity, of: &Of| {
            let name = name_of(quantity, of);
            figures.iter().find(|(known, _)| **known == *name).map(|(_, value)| *value)
        };
        what.value(&run.numbers, &figure)
    }

    /// What the disk refused, if anything.
    ///
    /// # Errors
    /// That.
    pub(super) fn refused(&self) -> Result<(), Failure> {
        locked(&self.refused).take().map_or(Ok(()), |error| Err(error.into()))
    }

    fn is_missing(&self, id: Id) -> bool {
        let ended = locked(&self.known).is_done(id);
        match ended {
            None => true,
            Some(is_done) => is_done && self.evaluator.lacks_fields(id),
        }
    }

    /// Does `work` on a run while nobody else does any on the same: two searches often look at one place at once. It does not panic.
    fn alone_at(&self, id: Id, work: impl FnOnce()) {
        let mut begun = locked(&self.begun);
        while !begun.insert(id) {
            begun = self.ended.wait(begun).unwrap_or_else(PoisonError::into_inner);
        }
        drop(begun);
        work();
        locked(&self.begun).remove(&id);
        self.ended.notify_all();
    }

    /// Does a run and writes it down, unless nothing is to be begun any more.
    fn one(&self, plan: &Plan, run: &Run, id: Id, progress: &Progress<'_>) {
        if interrupt::requested() || locked(&self.refused).is_some() {
            return;
        }
        let name = super::heading(plan, run);
        let mut watched = progress.watch(&name);
        // A fault of ours in one run must not cost the others.
        let ended = catch_unwind(AssertUnwindSafe(|| self.evaluator.evaluate(run, &mut watched)));
        drop(watched);
        let entry = ended.unwrap_or_else(|panic| {
            let why = format!("a fault of this program: {}", told(&*panic));
            Ok(Some(self.evaluator.entry(run, id, Ended::Failed(why))))
        });
        let written = entry.and_then(|entry| {
            if let Some(entry) = &entry {
                locked(&self.journal).add(entry)?;
            }
            Ok(entry)
        });
        match written {
            Ok(Some(entry)) => {
                progress.ended(&name, &entry.ended);
                locked(&self.known).insert(entry);
            }
            // An interruption.
            Ok(None) => {}
            Err(error) => {
                locked(&self.refused).get_or_insert(error);
            }
        }
    }

    /// Brings everything to the disk.
    ///
    /// # Errors
    /// The disk refuses.
    pub(super) fn close(self) -> Result<(), Failure> {
        Ok(locked(&self.journal).synchronise()?)
    }
}

/// Threads of their own number (all cores for 0).
pub(super) fn pool(threads: usize) -> Result<ThreadPool, Failure> {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
    pool.map_err(|error| Failure::file(format!("no threads: {error}")))
}

/// What a thread that panicked left is as whole as what any other leaves: each change is one call.
fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

fn told(panic: &(dyn Any + Send)) -> String {
    let text = panic.downcast_ref::<String>().cloned();
    text.or_else(|| panic.downcast_ref::<&str>().map(|text| (*text).to_owned())).unwrap_or_else(|| "a panic".to_owned())
}
