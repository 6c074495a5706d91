//! Running a case at one operating point, from its network to its result file.
//!
//! The result grows as the run goes; a checkpoint beside it lets an interrupted run go on to an identical result.

mod power;
mod reading;
mod rows;
mod soak;

pub use power::{
    Direction, EngineFigures, RESPONDED, TurboFigures, directions, engine_at, response_time, roll_on_time,
};
pub use reading::{Reading, read_summary};
pub use soak::{BACK_WITHIN, DrawPhase, PhaseFigures, WallFigures};

use crate::case::{Built, BuiltPhase, Case, LONGEST_WAIT, RECORD_EVERY, SETTLED_BELOW};
use crate::error::{CaseError, Error, OutputError, RunError};
use crate::march::slow::{Slow, roots, steady};
use crate::march::{Acoustic, Control, March, Marching, Moment, Observer, Outcome, Saved, Settings, Until};
use crate::record::{Attribute, Checkpoint, CheckpointPair, Identity, Writer};
use rows::Rows;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// Stands between two notes in the attribute of a result that holds them.
const BETWEEN_NOTES: &str = "\n";
/// Opens the note of a run that was marched with waves although a slow march was asked for.
const MARCHED_WITH_WAVES: &str = "marched with waves";
/// Attribute of a result of which stretches were marched with waves although a slow march was asked for.
const PASSED: &str = "passed_with_waves";

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
    /// What was done otherwise than asked, and why.
    pub notes: Vec<String>,
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
    let identity = Identity { program: PROGRAM.to_owned(), case: case.resolved_text(), point: point.to_owned() };
    let phases = case.build_phases(point)?;
    let roots = match built.settings.march {
        March::Acoustic => Vec::new(),
        March::Slow => roots(phases.iter().map(|phase| &phase.network)),
    };
    let mut files = ResultFiles {
        rows: Rows::of(case, point, &built, &roots),
        path,
        checkpoints: CheckpointPair::new(path, identity),
        every: options.checkpoint_every,
    };
    let saved = if options.resume { files.checkpoints.load()? } else { None };
    let saved = saved.as_ref();
    match built.settings.march {
        March::Acoustic => acoustic(&built, built.settings, files, saved, None, watcher, started),
        March::Slow => slow(&built, &phases, roots, files, saved, watcher, started),
    }
}

/// Marches with waves; `fell_back` says why, where that was not what was asked for.
fn acoustic(
    built: &Built,
    settings: Settings,
    mut files: ResultFiles<'_>,
    saved: Option<&Checkpoint>,
    fell_back: Option<RunError>,
    watcher: &mut dyn Watcher,
    started: Instant,
) -> Result<Report, Error> {
    let mut notes = Vec::new();
    let (y, z) = if saved.is_some() || !settings.from_steady {
        (built.initial.clone(), vec![0.0; built.network.layout.unknowns])
    } else {
        start(built, fell_back, &mut notes)
    };
    let mut march = Acoustic::new(&built.network, y, settings).with_flows(z);
    let writer = files.open(saved, &notes, |saved| march.restore(saved))?;
    let resumed_from = march.clock.time;
    let mut recorder = Recorder::new(&mut files, writer, watcher, march.schedule.end);
    let ended = march.run(&mut recorder);
    let counted = |march: &Acoustic<'_>| {
        vec![
            ("retaken_steps".to_owned(), whole(march.counters.retakes)),
            ("choked_steps".to_owned(), whole(march.counters.choked)),
            ("shortest_step".to_owned(), march.counters.shortest.into()),
            ("longest_step".to_owned(), march.counters.longest.into()),
        ]
    };
    let outcome = recorder.close(built, &mut march, Acoustic::start, counted, &ended)?;
    ended?;
    Ok(report(built, &march, files.path, outcome, notes, resumed_from, started))
}

/// The state from which an acoustic march starts: steady where there is such a state, as the case has it where not.
fn start(built: &Built, unsteady: Option<RunError>, notes: &mut Vec<String>) -> (Vec<f64>, Vec<f64>) {
    let at_rest = || (built.initial.clone(), vec![0.0; built.network.layout.unknowns]);
    let found = match unsteady {
        Some(why) => Err(why),
        None => steady(&built.network, 0.0, built.initial.clone(), at_rest().1),
    };
    match found {
        Ok(found) => (found.y, found.z),
        Err(why) => {
            notes.push(format!("{MARCHED_WITH_WAVES} from the state at rest: {why}"));
            at_rest()
        }
    }
}

/// Marches slowly, through the phases of the point. Where there is no steady state to be found, an acoustic march looks for one in its own
/// way.
fn slow(
    built: &Built,
    phases: &[BuiltPhase],
    roots: Vec<String>,
    mut files: ResultFiles<'_>,
    saved: Option<&Checkpoint>,
    watcher: &mut dyn Watcher,
    started: Instant,
) -> Result<Report, Error> {
    let at = saved.map_or(0, |saved| phases.iter().position(|phase| saved.time < phase.to).unwrap_or(phases.len() - 1));
    let fresh = || {
        let z = vec![0.0; built.network.layout.unknowns];
        let march = Slow::new(&phases[at].network, 0.0, built.initial.clone(), z, built.settings)?;
        Ok::<_, RunError>(march.moved_by(phases[at].moving()).following(roots.clone()))
    };
    let mut march = fresh()?;
    let mut notes = Vec::new();
    if saved.is_none() && (built.settings.from_steady || built.settings.until == Until::Steady) {
        match march.settle_before_start().and_then(|()| march.set_off()) {
            Ok(()) => notes.extend(march.overdrawn().iter().map(ToString::to_string)),
            Err(why @ RunError::NotSteady { .. }) if built.settings.until == Until::Steady => {
                let until = Until::Settled { at_most: LONGEST_WAIT, tolerance: SETTLED_BELOW };
                let settings = Settings { march: March::Acoustic, until, record_every: RECORD_EVERY, ..built.settings };
                return acoustic(built, settings, files, None, Some(why), watcher, started);
            }
            Err(why) => {
                notes.push(format!("started from the state at rest: {why}"));
                march = fresh()?;
                march.set_off()?;
            }
        }
    }
    let begun = if at == 0 { f64::NEG_INFINITY } else { phases[at].from };
    let writer = files.open(saved, &notes, |saved| march.restore(saved, begun))?;
    let resumed_from = march.clock.time;
    let mut recorder = Recorder::new(&mut files, writer, watcher, march.schedule.end);
    let mut ended = if built.settings.until == Until::Steady {
        march.run(&mut recorder)
    } else {
        march.record_start(&mut recorder).map(|()| Outcome::Finished)
    };
    for (number, phase) in phases.iter().enumerate().skip(at) {
        if built.settings.until == Until::Steady || !matches!(ended, Ok(Outcome::Finished)) {
            break;
        }
        if number > at {
            match march.go_on_in(&phase.network, phase.moving()) {
                Ok(next) => march = next,
                Err(stopped) => {
                    ended = Err(stopped.into());
                    break;
                }
            }
        }
        ended = march.run_to(phase.to, &mut recorder);
    }
    let counted = |march: &Slow<'_>| {
        let mut attributes = vec![("refused_steps".to_owned(), whole(march.refused))];
        let passed = march.passed_with_waves();
        attributes.extend(passed.map(|note| (PASSED.to_owned(), note.into())));
        attributes
    };
    let outcome = recorder.close(built, &mut march, Slow::start, counted, &ended)?;
    ended?;
    notes.extend(march.passed_with_waves());
    Ok(report(built, &march, files.path, outcome, notes, resumed_from, started))
}

fn report(
    built: &Built,
    march: &impl Marching,
    path: &Path,
    outcome: Outcome,
    notes: Vec<String>,
    resumed_from: f64,
    started: Instant,
) -> Report {
    let moment = march.moment();
    Report {
        path: path.to_owned(),
        outcome,
        time: moment.time,
        steps: moment.step,
        cells: built.network.arena.ducts().map(|duct| built.network.arena.cells(duct)).sum(),
        seconds: started.elapsed().as_secs_f64(),
        resumed_from,
        notes,
    }
}

fn whole(count: u64) -> Attribute {
    Attribute::Whole(count.try_into().unwrap_or(i64::MAX))
}

/// The files that a run fills.
struct ResultFiles<'a> {
    rows: Rows,
    path: &'a Path,
    checkpoints: CheckpointPair,
    every: Duration,
}

impl ResultFiles<'_> {
    /// Opens the result: a new one with `notes`, or that of a checkpoint, from which `restore` brings the march back.
    fn open(
        &mut self,
        saved: Option<&Checkpoint>,
        notes: &[String],
        restore: impl FnOnce(&Saved) -> Result<(), Option<RunError>>,
    ) -> Result<Writer, Error> {
        let Some(checkpoint) = saved else {
            let mut layout = self.rows.layout().clone();
            if !notes.is_empty() {
                layout.attributes.push(("note".to_owned(), notes.join(BETWEEN_NOTES).into()));
            }
            let writer = Writer::create(self.path, &layout)?;
            self.checkpoints.discard()?;
            return Ok(writer);
        };
        let saved = Saved { blocks: checkpoint.blocks.clone(), counts: checkpoint.counters.clone() };
        restore(&saved).map_err(|error| match error {
            Some(stopped) => Error::from(stopped),
            None => content(self.path, "a checkpoint of another network".to_owned(), "one of this case").into(),
        })?;
        Ok(Writer::reopen(self.path, self.rows.layout(), &checkpoint.recorded)?)
    }
}

fn content(path: &Path, found: String, expected: &str) -> OutputError {
    OutputError::Content { path: path.to_owned(), found, expected: expected.to_owned() }
}

/// Writes rows and checkpoints while a run marches.
struct Recorder<'a, 'b> {
    files: &'a mut ResultFiles<'b>,
    writer: Writer,
    watcher: &'a mut dyn Watcher,
    end: f64,
    next_checkpoint: Instant,
}

impl<M: Marching> Observer<M> for Recorder<'_, '_> {
    fn record(&mut self, march: &M) -> Result<(), Error> {
        let moment = march.moment();
        Ok(self.writer.append(moment.time, &self.files.rows.row(march))?)
    }

    fn step_done(&mut self, march: &M) -> Result<Control, Error> {
        if self.watcher.stop() {
            self.checkpoint(march)?;
            return Ok(Control::Stop);
        }
        let moment = march.moment();
        // Clocks and bars cost more than a step of a small network.
        if moment.step.is_multiple_of(64) {
            self.watcher.progress(moment.time, self.end, moment.step);
            if Instant::now() >= self.next_checkpoint {
                self.checkpoint(march)?;
                self.next_checkpoint = Instant::now() + self.files.every;
            }
        }
        Ok(Control::Continue)
    }
}

impl<'a, 'b> Recorder<'a, 'b> {
    fn new(files: &'a mut ResultFiles<'b>, writer: Writer, watcher: &'a mut dyn Watcher, end: f64) -> Self {
        let next_checkpoint = Instant::now() + files.every;
        Self { files, writer, watcher, end, next_checkpoint }
    }

    fn checkpoint(&mut self, march: &impl Marching) -> Result<(), OutputError> {
        // The rows that a checkpoint counts on must survive whatever it survives.
        let recorded = self.writer.mark()?;
        let (moment, saved) = (march.moment(), march.save());
        self.files.checkpoints.save(&Checkpoint {
            time: moment.time,
            step: moment.step,
            recorded,
            blocks: saved.blocks,
            counters: saved.counts,
        })
    }

    /// Ends the result as the march has ended. `restart` brings a march that was stopped back to its last good state.
    fn close<M: Marching>(
        mut self,
        built: &Built,
        march: &mut M,
        restart: impl FnOnce(&mut M) -> Result<(), RunError>,
        counted: impl FnOnce(&M) -> Vec<(String, Attribute)>,
        ended: &Result<Outcome, Error>,
    ) -> Result<Outcome, Error> {
        match ended {
            Ok(Outcome::Interrupted) => {
                self.writer.pause()?;
                Ok(Outcome::Interrupted)
            }
            Ok(outcome) => {
                let moment = march.moment();
                self.watcher.progress(moment.time, self.end, moment.step);
                let mut attributes = end_attributes(built, &moment, describe(*outcome), None);
                attributes.extend(counted(march));
                self.writer.finish(&attributes)?;
                self.files.checkpoints.discard()?;
                Ok(*outcome)
            }
            Err(Error::Run(stopped)) => {
                // The last good state is the last row of the result. What was worked out last belongs to the state that was refused, so
                // it is worked out anew; a run that is refused at its very start has no good state.
                if restart(march).is_ok() {
                    self.writer.append(march.moment().time, &self.files.rows.row(march))?;
                }
                let mut attributes = end_attributes(built, &march.moment(), "stopped", Some(stopped));
                attributes.extend(counted(march));
                self.writer.finish(&attributes)?;
                self.files.checkpoints.discard()?;
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
        Outcome::Steady => "steady",
        Outcome::NotSettled => "not settled",
        Outcome::Interrupted => "interrupted",
    }
}

fn end_attributes(
    built: &Built,
    moment: &Moment<'_>,
    outcome: &str,
    stopped: Option<&RunError>,
) -> Vec<(String, Attribute)> {
    let mut attributes: Vec<(String, Attribute)> = vec![
        ("outcome".to_owned(), outcome.into()),
        ("end_time".to_owned(), moment.time.into()),
        ("averaged_from".to_owned(), built.averaged_from(moment.time).into()),
        ("steps".to_owned(), whole(moment.step)),
    ];
    if let Some(stopped) = stopped {
        attributes.push(("stopped_by".to_owned(), stopped.to_string().into()));
    }
    attributes
}
