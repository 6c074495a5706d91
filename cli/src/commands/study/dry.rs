//! What a study would take: a run of each layout at each point is timed, none is written.

use crate::failure::Failure;
use crate::print::number::trimmed;
use crate::{Streams, exit, interrupt};
use std::path::Path;
use std::time::{Duration, Instant};
use tractwright::run::Watcher;
use tractwright::study::Evaluator;
use tractwright::study::journal::{Ended, Records, Shard};
use tractwright::study::plan::{Plan, Run};

/// Bytes of a run in journal and table, for each of its inputs and figures, and beside them: measured on the demo's journals.
const EACH: f64 = 45.0;
const BESIDE: f64 = 250.0;
/// Longest trial of a run.
const TRIAL: Duration = Duration::from_secs(3);

/// Says how many runs, how long, how much disk.
pub(super) fn tell(
    plan: &Plan,
    evaluator: &Evaluator<'_>,
    folder: &Path,
    shard: Shard,
    threads: usize,
    streams: &mut Streams<'_>,
) -> Result<u8, Failure> {
    let records = Records::read(folder)?;
    let mut missing = vec![0_usize; plan.places()];
    let mut example: Vec<Option<Run>> = vec![None; plan.places()];
    let (mut count, mut there) = (0, 0);
    for number in (0..plan.count()).filter(|number| shard.has(*number)) {
        let run = plan.run(number);
        count += 1;
        if records.is_done(evaluator.id(&run)).is_some() {
            there += 1;
            continue;
        }
        let place = run.layout * plan.points.len() + run.point;
        missing[place] += 1;
        // The last is as good as any: the first is at the edge of all inputs too.
        example[place] = Some(run);
    }
    let (mut seconds, mut bytes) = (0.0, 0.0);
    for (run, missing) in example.iter().zip(&missing).filter_map(|(run, missing)| Some((run.as_ref()?, missing))) {
        let (each_seconds, each_bytes) = cost(plan, run)?;
        seconds += each_seconds * *missing as f64;
        bytes += each_bytes * *missing as f64;
    }
    let threads = if threads == 0 { std::thread::available_parallelism().map_or(1, usize::from) } else { threads };
    let out = &mut *streams.out;
    writeln!(
        out,
        "{count} runs: {} layouts, {} points, {} combinations of inputs",
        plan.layouts.len(),
        plan.points.len(),
        plan.combinations()
    )?;
    if let Some(search) = plan.search {
        writeln!(out, "and a search of at most {} runs for each layout and point", search.evaluations)?;
    }
    writeln!(out, "{there} are there already, {} are to be done", count - there)?;
    writeln!(
        out,
        "some {} on {threads} threads, from a run of each layout at each point timed now",
        duration(seconds / threads as f64)
    )?;
    writeln!(out, "some {} MB in {}", trimmed(1e-6 * bytes, 1), folder.display())?;
    Ok(exit::DONE)
}

/// Seconds and bytes of a run, from a trial of it.
fn cost(plan: &Plan, run: &Run) -> Result<(f64, f64), Failure> {
    let folder = tempfile::tempdir().map_err(|error| Failure::file(format!("no folder for a trial: {error}")))?;
    let evaluator = Evaluator::new(plan, folder.path());
    let (mut seconds, mut share, mut ended) = (0.0, 1.0, None);
    // The first time, a steady layout looks for its own state too.
    for _ in 0..2 {
        let mut trial = Trial { started: Instant::now(), share: 1.0 };
        ended = evaluator.evaluate(run, &mut trial)?;
        (seconds, share) = (trial.started.elapsed().as_secs_f64(), trial.share);
        if seconds > TRIAL.as_secs_f64() || ended.is_none() {
            break;
        }
    }
    let figures =
        ended.map_or(0, |entry| if let Ended::Done { figures, .. } = entry.ended { figures.len() } else { 0 });
    let of_line = BESIDE + EACH * (figures + plan.variables.len()) as f64;
    let of_fields = if plan.keeps_fields { size_below(folder.path()) / share } else { 0.0 };
    Ok((seconds / share, of_line + of_fields))
}

/// Bytes of the files in the folders of a folder.
fn size_below(folder: &Path) -> f64 {
    let entries = |folder: &Path| std::fs::read_dir(folder).into_iter().flatten().flatten();
    let files = entries(folder).flat_map(|inner| entries(&inner.path()).collect::<Vec<_>>());
    files.filter_map(|file| file.metadata().ok()).map(|about| about.len() as f64).sum()
}

/// Ends a long run after a while; its share then tells of the whole.
struct Trial {
    started: Instant,
    share: f64,
}

impl Watcher for Trial {
    fn progress(&mut self, time: f64, end: f64, _: u64) {
        self.share = (time / end).clamp(1e-9, 1.0);
    }

    fn stop(&self) -> bool {
        interrupt::requested() || self.started.elapsed() > TRIAL
    }
}

fn duration(seconds: f64) -> String {
    match seconds {
        seconds if seconds < 90.0 => format!("{} s", trimmed(seconds, 1)),
        seconds if seconds < 5400.0 => format!("{} min", trimmed(seconds / 60.0, 1)),
        seconds => format!("{} h", trimmed(seconds / 3600.0, 1)),
    }
}
