//! From a run of a plan to its figures.

use super::journal::{Ended, Entry, Name};
use super::plan::{Draws, Id, Plan, Run, Sample};
use super::{Figures, KnownPoint};
use crate::case::{Case, Number, Task};
use crate::error::{Error, OutputError, RunError};
use crate::loss::Deviations;
use crate::march::{March, Outcome, Until};
use crate::run::{Options, Reading, Watcher, run};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

/// Folder of the results that are kept, inside the folder of a study.
const FIELDS: &str = "fields";
/// Folder of the results of failed runs, with their last state.
const FAILED: &str = "failed";

/// Does the runs of a plan, each a pure function of its inputs: whoever does it, and whatever was done before, gets the same numbers.
#[derive(Debug)]
pub struct Evaluator<'a> {
    plan: &'a Plan,
    folder: PathBuf,
    /// Of each layout at each point.
    places: Vec<Place>,
}

/// A layout at a point.
#[derive(Debug)]
struct Place {
    anchor: Id,
    /// What it comes to as it stands, from which its runs are sought; nothing when it has no steady state.
    base: OnceLock<Option<KnownPoint>>,
}

impl<'a> Evaluator<'a> {
    /// For the runs of `plan`, whose results with fields go to `folder`.
    #[must_use]
    pub fn new(plan: &'a Plan, folder: &Path) -> Self {
        let place = |number: usize| Place {
            anchor: plan.anchor(number / plan.points.len(), number % plan.points.len()),
            base: OnceLock::new(),
        };
        Self { plan, folder: folder.to_owned(), places: (0..plan.places()).map(place).collect() }
    }

    /// The identity of a run.
    #[must_use]
    pub fn id(&self, run: &Run) -> Id {
        self.plan.id(run, self.place(run).anchor)
    }

    /// Whether a run that is done has to be done again: its fields are wanted, and not there or damaged.
    #[must_use]
    pub fn lacks_fields(&self, id: Id) -> bool {
        self.plan.keeps_fields && Reading::open(&self.fields_path(id)).is_err()
    }

    /// Where the fields of a run are kept.
    #[must_use]
    pub fn fields_path(&self, id: Id) -> PathBuf {
        self.folder.join(FIELDS).join(format!("{id}.h5"))
    }

    /// Does a run; `None` when the watcher stopped it. What the physics or the inputs refuse is an end like any other.
    ///
    /// # Errors
    /// The disk refuses.
    pub fn evaluate(&self, run: &Run, watcher: &mut dyn Watcher) -> Result<Option<Entry>, OutputError> {
        let id = self.id(run);
        let figures = match self.figures(run, id, watcher) {
            Ok(Some((figures, note))) => Ok((figures, note)),
            Ok(None) => return Ok(None),
            Err(Error::Output(error)) => return Err(error),
            Err(why) => Err(why.to_string()),
        };
        let ended = match figures {
            Ok((figures, note)) => {
                let figures = figures.0.iter().map(|figure| (Name::from(figure.name()), figure.value)).collect();
                Ended::Done { figures, note }
            }
            Err(why) => Ended::Failed(why),
        };
        Ok(Some(self.entry(run, id, ended)))
    }

    /// What is written of a run that ended in some way.
    #[must_use]
    pub fn entry(&self, run: &Run, id: Id, ended: Ended) -> Entry {
        let (layout, point) = (self.plan.layout_of(run), self.plan.point_of(run));
        let named = self.plan.variables.iter().zip(&run.numbers);
        let mut inputs: Vec<(Name, f64)> =
            named.map(|(variable, number)| (Name::from(variable.name.as_str()), *number)).collect();
        if let Some(draws) = self.draws(run) {
            let drawn = |number: Number| Some((Name::from(number.path.as_str()), draws.value(&number)?));
            inputs.extend(layout.case.numbers().into_iter().filter_map(drawn));
            let moved = |(law, moved): (&str, f64)| (Name::from(format!("loss: {law}")), moved);
            let open = |law: &(&str, f64)| layout.case.loss_factors.of(law.0).is_none();
            inputs.extend(draws.deviations().named().filter(open).map(moved));
        }
        // As a journal has them.
        inputs.sort_by(|a, b| a.0.cmp(&b.0));
        Entry { id, layout: layout.name.as_str().into(), point: point.into(), inputs, draw: run.draw, ended }
    }

    fn draws(&self, run: &Run) -> Option<Draws> {
        match (run.draw, self.plan.sample) {
            (Some(draw), Sample::Spread { seed, .. }) => Some(Draws::new(seed, draw)),
            _ => None,
        }
    }

    fn place(&self, run: &Run) -> &Place {
        &self.places[run.layout * self.plan.points.len() + run.point]
    }

    fn figures(&self, run: &Run, id: Id, watcher: &mut dyn Watcher) -> Result<Option<(Figures, String)>, Error> {
        let case = self.plan.case_of(run)?;
        let point = self.plan.point_of(run);
        let deviations = self.draws(run).map(|draws| draws.deviations()).unwrap_or_default();
        let built = case.build_deviating(point, deviations.clone())?;
        let task = case.points.iter().find(|known| known.name == point).map_or(&Task::Hold, |known| &known.task);
        let is_steady = built.settings.march == March::Slow && built.settings.until == Until::Steady;
        // A pull or a roll-on has figures of its own, and no waves.
        let in_memory = case.phases(point).is_empty() && (is_steady || *task != Task::Hold);
        if in_memory && !self.plan.keeps_fields {
            let place = self.place(run);
            let layout = &self.plan.layout_of(run).case;
            let base = place.base.get_or_init(|| KnownPoint::of(layout, point).ok());
            match KnownPoint::near(base.as_ref(), &case, point, built) {
                Ok(found) => return Ok(Some((found.figures, String::new()))),
                // The march with waves finds its own way, as it does for `run`; the published laws stay where they are there.
                Err(Error::Run(RunError::NotSteady { .. })) if deviations == Deviations::default() => {}
                Err(why) => return Err(why),
            }
        }
        self.marched(&case, point, id, watcher)
    }

    /// The figures of a run that is marched into a result file, which is kept when fields are, or when the run fails.
    fn marched(
        &self,
        case: &Case,
        point: &str,
        id: Id,
        watcher: &mut dyn Watcher,
    ) -> Result<Option<(Figures, String)>, Error> {
        let path = self.fields_path(id);
        let in_folder = |folder: &Path| fs::create_dir_all(folder).map_err(failed(folder));
        in_folder(&self.folder.join(FIELDS))?;
        let options = Options { resume: true, force: true, ..Options::default() };
        match run(case, point, &path, options, watcher) {
            Ok(report) if report.outcome == Outcome::Interrupted => return Ok(None),
            Ok(_) => {}
            Err(Error::Run(why)) => {
                let folder = self.folder.join(FAILED);
                in_folder(&folder)?;
                let kept = folder.join(format!("{id}.h5"));
                if path.exists() {
                    fs::rename(&path, &kept).map_err(failed(&kept))?;
                }
                return Err(why.into());
            }
            Err(other) => return Err(other),
        }
        let reading = Reading::open(&path)?;
        let figures = Figures::of_reading(&reading)?;
        let note = reading.notes.join("; ");
        drop(reading);
        if !self.plan.keeps_fields {
            fs::remove_file(&path).map_err(failed(&path))?;
        }
        Ok(Some((figures, note)))
    }
}

fn failed(path: &Path) -> impl FnOnce(std::io::Error) -> OutputError {
    let path = path.to_owned();
    move |source| OutputError::File { path, source }
}
