//! The parts of a case, read by the table of their kind.

use std::collections::BTreeMap;

use super::flow_line::OUTSIDE;
use super::like::MOST_COPIES;
use super::merge::merge;
use crate::error::Problem;
use crate::fields::{Fields, Key, Log, check_name, join};
use crate::part::{Kind, Part};
use crate::record::RESERVED_NAMES;
use crate::suggest;
use crate::yaml::{Entry, Node, Place};

/// Most parts of a case, and most operating points.
const MOST_PARTS: usize = 10_000;
const MOST_POINTS: usize = 1_000;

/// Checks the names and the number of parts; the entries, empty when `parts` is no map.
pub(super) fn check_names<'a>(tree: &'a Node, log: &Log) -> &'a [Entry] {
    let Some(entry) = tree.entry("parts") else { return &[] };
    let Some(parts) = entry.value.map() else {
        log.wrong(
            entry.value_place(),
            "parts",
            entry.value.describe(),
            "a map such as `box: {kind: plenum, volume: 11 L}`",
        );
        return &[];
    };
    if parts.len() > MOST_PARTS {
        log.wrong(&entry.place, "parts", format!("{} parts", parts.len()), format!("at most {MOST_PARTS}"));
        return &[];
    }
    for part in parts {
        check_name(log, "parts", part);
        let meaning = match part.key.as_str() {
            OUTSIDE => "the undisturbed air's",
            key if key == crate::ledger::GROUP || RESERVED_NAMES.contains(&key) => "used in every result file",
            _ => continue,
        };
        let found = format!("the name `{}`", part.key);
        log.wrong(&part.place, "parts", found, format!("another name: this one is {meaning}"));
    }
    parts
}

/// Reads one part; `None` when its mistakes have been noted.
pub(super) fn read_part(part: &Entry, kinds: &'static [Kind], log: &Log) -> Option<Part> {
    let path = join("parts", &part.key);
    if log.has_given_up(&path) {
        return None;
    }
    let kind = kind_of(part, &path, kinds, log)?;
    let before = log.count();
    let fields = Fields::check(&part.key, &path, part.value_place(), &part.value, kind.keys, &["kind"], log);
    let read = (kind.read)(&fields);
    if read.is_none() && log.count() == before && log.is_clean() {
        log.wrong(part.value_place(), &path, format!("a {} that cannot be read", kind.name), "one that can");
    }
    read
}

/// The table of keys of a part; empty when its kind is not known.
pub(super) fn keys_of(part: &Entry, kinds: &'static [Kind]) -> &'static [Key] {
    let word = part.value.get("kind").and_then(Node::text).unwrap_or_default();
    kinds.iter().find(|kind| kind.name == word).map_or(&[], |kind| kind.keys)
}

fn kind_of(part: &Entry, path: &str, kinds: &'static [Kind], log: &Log) -> Option<&'static Kind> {
    if part.value.map().is_none() {
        log.wrong(part.value_place(), path, part.value.describe(), "a map such as `{kind: plenum, volume: 11 L}`");
        return None;
    }
    let names = kinds.iter().map(|kind| kind.name);
    let expected = || format!("one of: {}", names.clone().collect::<Vec<_>>().join(", "));
    let Some(node) = part.value.get("kind") else {
        log.wrong(part.value_place(), &join(path, "kind"), "no `kind`", expected());
        return None;
    };
    let word = node.text().unwrap_or_default();
    let kind = kinds.iter().find(|kind| kind.name == word);
    if kind.is_none() {
        log.note(Problem {
            location: node.place.location(),
            path: join(path, "kind"),
            found: node.describe(),
            expected: expected(),
            nearest: suggest::nearest(word, names.clone()),
        });
    }
    kind
}

/// What the points of a case change, part by part.
pub(super) struct Changes<'a> {
    /// Point and its map of changed parts.
    by_point: Vec<(&'a str, BTreeMap<&'a str, &'a Entry>)>,
}

impl<'a> Changes<'a> {
    /// Reads `points.*.parts`; a change of a part that is not there is noted.
    pub(super) fn of(tree: &'a Node, parts: &[Entry], log: &Log) -> Self {
        let names: BTreeMap<&str, ()> = parts.iter().map(|part| (part.key.as_str(), ())).collect();
        let points = tree.get("points").and_then(Node::map).unwrap_or_default();
        if points.len() > MOST_POINTS {
            let place = tree.entry("points").map_or(&tree.place, |entry| &entry.place);
            log.wrong(place, "points", format!("{} points", points.len()), format!("at most {MOST_POINTS}"));
            return Self { by_point: Vec::new() };
        }
        let mut by_point = Vec::new();
        for point in points {
            let path = join(&join("points", &point.key), "parts");
            let mut changes = BTreeMap::new();
            if let Some(entry) = point.value.entry("parts") {
                let Some(changed) = entry.value.map() else {
                    log.wrong(
                        entry.value_place(),
                        &path,
                        entry.value.describe(),
                        "a map from part names to their changes",
                    );
                    continue;
                };
                for change in changed {
                    if names.contains_key(change.key.as_str()) {
                        changes.insert(change.key.as_str(), change);
                    } else {
                        unknown_part(log, &change.place, &path, &change.key, names.keys().copied());
                    }
                }
            }
            by_point.push((point.key.as_str(), changes));
        }
        Self { by_point }
    }

    /// The part as the point has it.
    pub(super) fn apply(&self, point: &str, part: &Entry, log: &Log) -> Entry {
        let changes = self.by_point.iter().find(|(name, _)| *name == point);
        match changes.and_then(|(_, changes)| changes.get(part.key.as_str())) {
            Some(change) => changed(part, change, log),
            None => part.clone(),
        }
    }

    /// Reads every part in every form that a point gives it, for the mistakes alone; forms that are equal are read once.
    pub(super) fn check(&self, parts: &[Entry], kinds: &'static [Kind], log: &Log) {
        let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
        for (_, changes) in &self.by_point {
            changes.keys().for_each(|&name| *counts.entry(name).or_default() += 1);
        }
        let mut weight = 0;
        for part in parts.iter().filter(|part| !log.has_given_up(&join("parts", &part.key))) {
            let changes = counts.get(part.key.as_str()).copied().unwrap_or(0);
            if changes == 0 || changes < self.by_point.len() {
                let _ = read_part(part, kinds, log);
            }
            // What a point leaves out has been noted for the case as a whole.
            let aside = Log::new();
            for change in self.by_point.iter().filter_map(|(_, changes)| changes.get(part.key.as_str())) {
                weight += part.value.weight();
                if weight > MOST_COPIES {
                    let expected = format!("changes of parts of at most {} MiB together", MOST_COPIES >> 20);
                    return log.wrong(&change.place, "points", "too many changes of parts", expected);
                }
                let _ = read_part(&changed(part, change, &aside), kinds, &aside);
            }
            if let Err(error) = aside.finish() {
                error.problems.into_iter().for_each(|problem| log.note(problem));
            }
        }
    }
}

fn changed(part: &Entry, change: &Entry, log: &Log) -> Entry {
    let value = merge(part.value.clone(), change.value.clone(), &join("parts", &part.key), log);
    Entry { key: part.key.clone(), place: change.place.clone(), value }
}

/// Notes a name that no part has.
pub(super) fn unknown_part<'a>(log: &Log, place: &Place, path: &str, name: &str, known: impl Iterator<Item = &'a str>) {
    log.note(Problem {
        location: place.location(),
        path: path.to_owned(),
        found: crate::quantity::quote(name),
        expected: "the name of a part".to_owned(),
        nearest: suggest::nearest(name, known),
    });
}
