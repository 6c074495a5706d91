//! A case: the user's YAML text, read, completed and checked.
//!
//! Owns the form of the file. A case is loaded in the order: text to tree, files that it extends, sections in other files, copies by
//! `like`; what is left is one tree that needs no other file ([`Case::resolved_text`]). That tree is read by tables of keys; the
//! tables of the parts are the kinds'. What the parts make together (loose ends, legs, volumes) is the network's to judge.

mod adjust;
mod bench;
mod between;
mod blueprint;
mod curve_files;
mod engine;
mod extend;
mod extending;
mod files;
mod flow_line;
mod initial;
pub mod keys;
mod like;
mod loss_factors;
pub mod measured;
mod merge;
mod numbers;
mod outside;
mod parts;
mod point;
mod point_case;
mod ramp;
mod run_plan;
mod schema;
mod sections;
mod speed_lines;
mod vehicle;

pub use adjust::NewValue;
pub use bench::{BenchCase, BenchEntry, BenchSetup};
pub use blueprint::{Built, BuiltPhase};
pub(crate) use files::read_text;
pub use flow_line::{FlowLine, Stop};
pub use initial::InitialStretch;
pub use loss_factors::LossFactors;
pub use numbers::Number;
pub use outside::Outside;
pub use point::{Fan, Phase, Point, REST, Task};
pub use point_case::PointCase;
pub use ramp::Ramp;
pub(crate) use run_plan::{LONGEST_WAIT, RECORD_EVERY, SETTLED_BELOW};
pub use run_plan::{RunPlan, Start, Until};
pub use schema::schema;
pub(crate) use schema::schema_of;
pub(crate) use sections::cells as csv_cells;

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use files::Files;

use crate::error::{CaseError, Error, Location, OutputError, Problem};
use crate::fields::{DefaultUsed, Fields, Log, join};
use crate::part::{KINDS, Kind};
use crate::suggest;
use crate::yaml::{self, Content, Node, Place};

/// A case whose every value has been checked.
#[derive(Debug, Clone)]
pub struct Case {
    /// Name of its file.
    pub file: String,
    /// Title; empty when it has none.
    pub title: String,
    /// The undisturbed air, where a point says nothing else.
    pub outside: Outside,
    /// Operating points, at least one.
    pub points: Vec<Point>,
    /// Who follows whom.
    pub flow: Vec<FlowLine>,
    /// States at the start.
    pub initial: Vec<InitialStretch>,
    /// Factors on published laws of loss.
    pub loss_factors: LossFactors,
    /// How it is run.
    pub run: RunPlan,
    /// How logs of the car are to be read.
    pub measured: Option<measured::Measured>,
    /// What the case leaves out and what holds there.
    pub defaults: Vec<DefaultUsed>,
    tree: Node,
    kinds: &'static [Kind],
}

impl Case {
    /// Reads the case at `path` with the files that it names.
    ///
    /// # Errors
    /// [`Error::Output`] when the file cannot be read, [`Error::Case`] with everything that is wrong with it.
    pub fn from_path(path: &Path) -> Result<Self, Error> {
        Self::from_path_with(path, KINDS)
    }

    /// Reads a case from text, which may name no other file; `name` stands in messages.
    ///
    /// # Errors
    /// Everything that is wrong with it.
    pub fn from_text(name: &str, text: &str) -> Result<Self, CaseError> {
        Self::load(name, text, &Files::Nowhere, KINDS)
    }

    /// Reads the case `name` that another file names at `place`, under `path`: in the folder of that file or below.
    ///
    /// # Errors
    /// A file that may not be named or cannot be read, or everything that is wrong with it.
    pub(crate) fn named(name: &str, place: &Place, path: &str) -> Result<Self, CaseError> {
        let files = Files::beside(Path::new(&*place.file));
        let (file, text) = files.read(name, place, "yaml").map_err(|(found, expected)| {
            let (location, path) = (place.location(), path.to_owned());
            CaseError { problems: vec![Problem { location, path, found, expected, nearest: None }] }
        })?;
        Self::load(&file, &text, &Files::beside(Path::new(&*file)), KINDS)
    }

    fn from_path_with(path: &Path, kinds: &'static [Kind]) -> Result<Self, Error> {
        std::fs::metadata(path).map_err(|source| OutputError::File { path: path.to_owned(), source })?;
        let name = path.to_string_lossy();
        let text = read_text(path).map_err(|(found, expected)| {
            let location = Location { file: name.to_string(), ..Location::default() };
            CaseError { problems: vec![Problem { location, path: "case".to_owned(), found, expected, nearest: None }] }
        })?;
        Ok(Self::load(&name, &text, &Files::beside(path), kinds)?)
    }

    fn load(name: &str, text: &str, files: &Files, kinds: &'static [Kind]) -> Result<Self, CaseError> {
        let log = Log::new();
        let file: Arc<str> = Arc::from(name);
        let case = extend::load(&file, text, files, &log).and_then(|mut tree| {
            if let Content::Map(entries) = &mut tree.content {
                for entry in entries.iter_mut().filter(|entry| entry.key == "parts") {
                    if let Content::Map(parts) = &mut entry.value.content {
                        like::expand(parts, &log);
                    }
                }
            }
            Self::read(&file, tree, kinds, &log)
        });
        let defaults = log.finish()?;
        let unread = || CaseError { problems: vec![unread(&file)] };
        case.map(|case| Self { defaults, ..case }).ok_or_else(unread)
    }

    fn read(file: &Arc<str>, tree: Node, kinds: &'static [Kind], log: &Log) -> Option<Self> {
        let whole = Place { file: Arc::clone(file), line: 1, column: 1 };
        let fields = Fields::check("case", "", &whole, &tree, keys::CASE_KEYS, &[], log);
        let parts = parts::check_names(&tree, log);
        let names: BTreeMap<&str, &Node> = parts.iter().map(|part| (part.key.as_str(), &part.value)).collect();
        parts::Changes::of(&tree, parts, log).check(parts, kinds, log);
        let outside = match fields.map("outside") {
            Some(section) => Outside::read(&section),
            None => Some(Outside::standard()),
        };
        let points = read_points(&fields, &whole, &names, log);
        let flow = tree.get("flow").map(|node| flow_line::read(node, &names, log)).unwrap_or_default();
        let initial = fields.maps("initial");
        let initial: Vec<_> = initial.iter().filter_map(|stretch| read_stretch(stretch, &names, log)).collect();
        let loss_factors = fields.map("loss_factors").map(|section| LossFactors::read(&section)).unwrap_or_default();
        let run = match fields.map("run") {
            Some(section) => RunPlan::read(&section),
            None => Some(RunPlan::default()),
        };
        let measured = match fields.map("measured") {
            Some(section) => Some(measured::read(&section, &points)?),
            None => None,
        };
        let title = fields.text("title").unwrap_or_default();
        numbers::refuse_spreads(&tree, log);
        let (file, outside, run, defaults) = (file.to_string(), outside?, run?, Vec::new());
        let tree = Node::clone(&tree);
        let case =
            Self { file, title, outside, points, flow, initial, loss_factors, run, measured, defaults, tree, kinds };
        case.check_points(log);
        case.check_measured(log);
        Some(case)
    }

    /// The case at one of its points, with its parts.
    ///
    /// # Errors
    /// When there is no such point.
    pub fn at_point(&self, name: &str) -> Result<PointCase, CaseError> {
        let Some(point) = self.points.iter().find(|point| point.name == name) else {
            return Err(self.unknown_point(name));
        };
        let log = Log::new();
        let case = point_case::read(self, point, &log);
        let defaults = log.finish()?;
        case.map(|case| PointCase { defaults, ..case }).ok_or_else(|| self.unknown_point(name))
    }

    /// YAML that reads back to this case and needs no other file.
    #[must_use]
    pub fn resolved_text(&self) -> String {
        yaml::write(&self.tree)
    }

    /// What decides on the numbers of this case at a point: its text without title and `measured`, of its points that one and those it passes through.
    #[must_use]
    pub fn text_at(&self, point: &str) -> String {
        let phases = self.phases(point);
        let counts = |name: &str| name == point || phases.iter().any(|phase| phase.point == name);
        let mut tree = self.tree.clone();
        if let Content::Map(entries) = &mut tree.content {
            entries.retain(|entry| !["title", "measured"].contains(&entry.key.as_str()));
            for entry in entries.iter_mut().filter(|entry| entry.key == "points") {
                if let Content::Map(points) = &mut entry.value.content {
                    points.retain(|point| counts(&point.key));
                }
            }
        }
        yaml::write(&tree)
    }

    /// Where `path` stands, such as `parts.box`, `parts.box.volume` or `flow[0][2]`; what it stands in when there is no such value.
    #[must_use]
    pub fn location(&self, path: &str) -> Location {
        let mut place = &Place::whole(&Arc::from(self.file.as_str()));
        let mut node = &self.tree;
        for step in path.split(['.', '[']) {
            if let Some(entry) = node.entry(step) {
                (place, node) = (entry.value_place(), &entry.value);
            } else if let Some(item) =
                step.strip_suffix(']').and_then(|index| node.list()?.get(index.parse::<usize>().ok()?))
            {
                (place, node) = (&item.place, item);
            } else {
                break;
            }
        }
        place.location()
    }

    /// The text of a value as the user wrote it, such as `parts.box.volume`.
    #[must_use]
    pub fn as_written(&self, path: &str) -> Option<&str> {
        path.split('.').try_fold(&self.tree, |node, key| node.get(key))?.text()
    }

    /// Whether an engine stands behind its draws.
    #[must_use]
    pub fn has_engine(&self) -> bool {
        self.tree.get("engine").is_some()
    }

    fn check_points(&self, log: &Log) {
        for point in &self.points {
            let _ = point_case::outside_at(self, point, log);
        }
    }

    /// Refuses columns that set what is no number of the case, or one that has no say at the point where it was measured.
    fn check_measured(&self, log: &Log) {
        let Some(measured) = &self.measured else { return };
        let numbers = self.numbers();
        let known = || numbers.iter().map(|number| number.path.as_str());
        let here = format!("points.{}.", measured.point);
        for channel in &measured.channels {
            for path in &channel.sets {
                let own = format!("{here}{path}");
                let elsewhere = path.starts_with("points.") && !path.starts_with(&here);
                if elsewhere || known().any(|known| known == own) {
                    log.note(Problem {
                        location: channel.location.clone(),
                        path: join(&join("measured.columns", &channel.name), "sets"),
                        found: format!("{}, which has no say at {}", crate::quantity::quote(path), measured.point),
                        expected: if elsewhere {
                            format!("a number of the point, `{here}...`")
                        } else {
                            crate::quantity::quote(&own)
                        },
                        nearest: None,
                    });
                }
            }
        }
        for channel in &measured.channels {
            for path in channel.sets.iter().filter(|path| !known().any(|known| known == path.as_str())) {
                log.note(Problem {
                    location: channel.location.clone(),
                    path: join(&join("measured.columns", &channel.name), "sets"),
                    found: crate::quantity::quote(path),
                    expected:
                        "a number that the case gives, such as `points.road.speed` or `parts.left_turbo.corrected_flow`"
                            .to_owned(),
                    nearest: suggest::nearest(path, known()),
                });
            }
        }
    }

    fn unknown_point(&self, name: &str) -> CaseError {
        let names = self.points.iter().map(|point| point.name.as_str());
        let problem = Problem {
            location: self.location("points"),
            path: "points".to_owned(),
            found: crate::quantity::quote(name),
            expected: format!("one of: {}", names.clone().collect::<Vec<_>>().join(", ")),
            nearest: suggest::nearest(name, names),
        };
        CaseError { problems: vec![problem] }
    }
}

/// Reads the points; the car at rest when there are none.
fn read_points(fields: &Fields<'_>, whole: &Place, names: &BTreeMap<&str, &Node>, log: &Log) -> Vec<Point> {
    let points = fields.named_maps("points");
    if points.is_empty() {
        return vec![Point::rest(whole.location())];
    }
    let points: Vec<Point> = points.iter().filter_map(Point::read).collect();
    check_phases(&points, log);
    for point in &points {
        for (name, _) in point.fan.iter().flat_map(|fan| &fan.reaches) {
            if !names.contains_key(name.as_str()) {
                let path = join(&join("points", &point.name), "fan.reaches");
                let place = fan_place(fields, &point.name).unwrap_or(whole);
                parts::unknown_part(log, place, &path, name, names.keys().copied());
            }
        }
    }
    points
}

/// Refuses phases that are no points, or points that have phases themselves.
fn check_phases(points: &[Point], log: &Log) {
    for (point, phase) in points.iter().flat_map(|point| point.phases.iter().map(move |phase| (point, phase))) {
        let plain = points.iter().filter(|point| point.phases.is_empty()).map(|point| point.name.as_str());
        if !plain.clone().any(|name| name == phase.point) {
            log.note(Problem {
                location: phase.location.clone(),
                path: join(&join("points", &point.name), "phases.point"),
                found: crate::quantity::quote(&phase.point),
                expected: "the name of a point without phases".to_owned(),
                nearest: suggest::nearest(&phase.point, plain),
            });
        }
    }
    for point in points {
        for (before, phase) in point.phases.iter().zip(point.phases.iter().skip(1)).filter(|pair| pair.1.ramp > 0.0) {
            let drives = |name: &String| points.iter().any(|point| point.name == *name && point.task != Task::Hold);
            if let Some(driven) = [&before.point, &phase.point].into_iter().find(|name| drives(name)) {
                log.note(Problem {
                    location: phase.location.clone(),
                    path: join(&join("points", &point.name), "phases.ramp"),
                    found: format!(
                        "a ramp beside {}, at which the car or the engine is driven",
                        crate::quantity::quote(driven)
                    ),
                    expected: "two points that stay as they are".to_owned(),
                    nearest: None,
                });
            }
        }
    }
}

fn fan_place<'a>(fields: &Fields<'a>, point: &str) -> Option<&'a Place> {
    Some(&fields.node("points")?.get(point)?.get("fan")?.get("reaches")?.place)
}

fn read_stretch(fields: &Fields<'_>, names: &BTreeMap<&str, &Node>, log: &Log) -> Option<InitialStretch> {
    let stretch = InitialStretch::read(fields)?;
    if names.contains_key(stretch.part.as_str()) {
        return Some(stretch);
    }
    let place = &fields.node("part")?.place;
    parts::unknown_part(log, place, &join(fields.path(), "part"), &stretch.part, names.keys().copied());
    None
}

fn unread(file: &Arc<str>) -> Problem {
    Problem {
        location: Place::whole(file).location(),
        path: "case".to_owned(),
        found: "a case that is refused without a reason".to_owned(),
        expected: "a reason".to_owned(),
        nearest: None,
    }
}

#[cfg(test)]
mod tests;
