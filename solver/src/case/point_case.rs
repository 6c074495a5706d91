//! A case at one operating point: what a run is built from.

use super::merge::merge;
use super::parts::{self, Changes};
use super::{Case, FlowLine, InitialStretch, Outside, Point, RunPlan, keys};
use crate::fields::{DefaultUsed, Fields, Log, join};
use crate::part::Part;
use crate::yaml::{Entry, Node};

/// A case at one operating point.
#[derive(Debug)]
pub struct PointCase {
    /// Title of the case.
    pub title: String,
    /// The point.
    pub point: Point,
    /// The undisturbed air.
    pub outside: Outside,
    /// The parts, in the order of the file.
    pub parts: Vec<(String, Part)>,
    /// Who follows whom.
    pub flow: Vec<FlowLine>,
    /// States at the start.
    pub initial: Vec<InitialStretch>,
    /// How it is run.
    pub run: RunPlan,
    /// What the case leaves out at this point and what holds there.
    pub defaults: Vec<DefaultUsed>,
}

pub(super) fn read(case: &Case, point: &Point, log: &Log) -> Option<PointCase> {
    let entries = case.tree.get("parts").and_then(Node::map).unwrap_or_default();
    let changes = Changes::of(&case.tree, entries, log);
    let mut read = Vec::with_capacity(entries.len());
    for part in entries {
        let part = changes.apply(&point.name, part, log);
        if let Some(value) = parts::read_part(&part, case.kinds, log) {
            read.push((part.key, value));
        }
    }
    for default in case.defaults.iter().filter(|default| !default.path.starts_with("parts.")) {
        log.note_default(default.clone());
    }
    Some(PointCase {
        title: case.title.clone(),
        point: point.clone(),
        outside: outside_at(case, point, log)?,
        parts: read,
        flow: case.flow.clone(),
        initial: case.initial.clone(),
        run: case.run,
        defaults: Vec::new(),
    })
}

/// The outside with what the point changes of it.
pub(super) fn outside_at(case: &Case, point: &Point, log: &Log) -> Option<Outside> {
    let Some(change) = change_of_outside(case, point) else { return Some(case.outside) };
    let path = join(&join("points", &point.name), "outside");
    let merged = match case.tree.get("outside") {
        Some(base) => merge(base.clone(), change.value.clone(), &path, log),
        None => change.value.clone(),
    };
    Outside::read(&Fields::check("outside", &path, change.value_place(), &merged, keys::OUTSIDE_KEYS, &[], log))
}

fn change_of_outside<'a>(case: &'a Case, point: &Point) -> Option<&'a Entry> {
    case.tree.get("points")?.get(&point.name)?.entry("outside")
}
