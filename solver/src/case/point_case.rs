//! A case at one operating point: what a run is built from.

use super::merge::merge;
use super::parts::{self, Changes};
use super::{Case, FlowLine, InitialStretch, Outside, Point, RunPlan, Task, engine, keys, vehicle};
use crate::error::Problem;
use crate::fields::{DefaultUsed, Fields, Log, join};
use crate::part::Part;
use crate::powertrain::Powertrain;
use crate::yaml::{Entry, Node};

/// Share of the speed for shifting up at which a driver takes the next gear to begin with. Common practice, no source.
const SHIFTED_SOON: f64 = 0.9;

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
    /// The engine behind the draws.
    pub powertrain: Option<Powertrain>,
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
    let outside = outside_at(case, point, log)?;
    assemble(case, point, read, outside, log)
}

/// The case with these parts in this air.
pub(super) fn assemble(
    case: &Case,
    point: &Point,
    parts: Vec<(String, Part)>,
    outside: Outside,
    log: &Log,
) -> Option<PointCase> {
    let powertrain = powertrain_at(case, point, &outside, log)?;
    Some(PointCase {
        title: case.title.clone(),
        point: point.clone(),
        outside,
        powertrain,
        parts,
        flow: case.flow.clone(),
        initial: case.initial.clone(),
        run: case.run,
        defaults: Vec::new(),
    })
}

/// The engine at the point; `None` when something is wrong, `Some(None)` where the case has none.
#[expect(clippy::option_option, reason = "a mistake is not an absent section")]
pub(super) fn powertrain_at(case: &Case, point: &Point, outside: &Outside, log: &Log) -> Option<Option<Powertrain>> {
    let section = |name: &'static str, table| {
        let entry = case.tree.entry(name)?;
        Some(Fields::check(name, name, entry.value_place(), &entry.value, table, &[], log))
    };
    let vehicle = match section("vehicle", vehicle::VEHICLE_KEYS) {
        Some(fields) => Some(vehicle::read(&fields)?),
        None => None,
    };
    let Some(fields) = section("engine", engine::ENGINE_KEYS) else { return Some(None) };
    let read = engine::read(&fields, outside.gas)?;
    let place = || case.location(&join("points", &point.name));
    let wrong = |key: &str, found: String, expected: &str| {
        let path = join(&join("points", &point.name), key);
        log.note(Problem { location: place(), path, found, expected: expected.to_owned(), nearest: None });
    };
    if let Some(boost) = &point.boost
        && !read.1.iter().any(|known| known.0 == *boost)
    {
        let names: Vec<&str> = read.1.iter().map(|known| known.0.as_str()).collect();
        wrong("boost", crate::quantity::quote(boost), &format!("one of: {}", names.join(", ")));
        return None;
    }
    let mut point = point.clone();
    match (&mut point.task, &vehicle) {
        (Task::RollOn { from, gear, .. }, Some(vehicle)) => {
            if *gear == 0 {
                let fits = |gear: &usize| vehicle.engine_speed(*from, gear - 1) < SHIFTED_SOON * vehicle.shift_speed;
                *gear = (1..=vehicle.gears.len()).find(fits).unwrap_or(vehicle.gears.len());
            } else if *gear > vehicle.gears.len() {
                wrong("roll_on.gear", format!("gear {gear}"), "a gear of the vehicle");
                return None;
            }
        }
        (Task::RollOn { .. }, None) => {
            wrong("roll_on", "a roll-on without a `vehicle`".to_owned(), "a section `vehicle`");
            return None;
        }
        (Task::Hold | Task::Pull { .. } | Task::Step { .. }, _)
            if point.engine_speed <= 0.0 && point.phases.is_empty() =>
        {
            wrong("engine_speed", "an engine without a speed at this point".to_owned(), "`engine_speed: 6500 rpm`");
            return None;
        }
        _ => {}
    }
    Some(Some(engine::at_point(&read, vehicle, outside, &point)))
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
