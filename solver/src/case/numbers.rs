//! The numeric fields of a case: every quantity that its tree holds, found by the tables of keys that read it.

use super::Case;
use super::keys::{CASE_KEYS, OUTSIDE_KEYS};
use crate::error::Location;
use crate::fields::{Key, Log, Range, Value, form_of, join};
use crate::part::Kind;
use crate::quantity::{self, Dimension, Spread, Unit};
use crate::yaml::{Content, Entry, Node};

/// A quantity of a case.
#[derive(Debug, Clone, PartialEq)]
pub struct Number {
    /// Path, such as `parts.left_tube.sections[1].diameter`; a number of a list has its place in brackets.
    pub path: String,
    /// Text as the user wrote it; of a number of a list in one text, that number with the unit of the list.
    pub text: String,
    /// Number in `unit`.
    pub number: f64,
    /// Unit as the user wrote it.
    pub unit: &'static Unit,
    /// Value in SI.
    pub value: f64,
    /// What it measures.
    pub dimension: Dimension,
    /// Values that the field allows, in SI.
    pub range: Range,
    /// How far the value may lie from the one that is written.
    pub spread: Option<Spread>,
    /// Where it is written; the same for the copies of a field by `like`.
    pub location: Location,
}

impl Case {
    /// The numeric fields: every quantity of the tree that is left when `extends`, `like` and sections in other files have been put in
    /// their places, in the order of the tree. Settings of the run, cells, counts and names are none.
    ///
    /// A field that a part has by `like` is a field of its own: it counts once for each part that has it, and each can be given another
    /// value. [`Number::location`] tells which of them are copies of one text.
    #[must_use]
    pub fn numbers(&self) -> Vec<Number> {
        let mut walk = Walk { kinds: self.kinds, parts: &[], found: Vec::new() };
        walk.parts = self.tree.get("parts").and_then(Node::map).unwrap_or_default();
        for key in CASE_KEYS.iter().filter(|key| !NOT_OF_THE_CAR.contains(&key.name)) {
            let Some(node) = self.tree.get(key.name) else { continue };
            match key.name {
                "parts" => walk.parts(key.name, node),
                _ => walk.value(key.name, node, &key.value),
            }
        }
        walk.found
    }

    /// The offsets of gauges whose readings count: they are none of [`Case::numbers`], which say what the car is.
    pub fn offsets(&self) -> impl Iterator<Item = &Number> {
        let channels = self.measured.iter().flat_map(|measured| &measured.channels);
        channels.filter(|channel| channel.counts()).filter_map(|channel| channel.offset.as_ref())
    }
}

/// Sections that say how the case is run and how logs are read, not what the car is.
const NOT_OF_THE_CAR: [&str; 2] = ["run", "measured"];

/// Key that says how a part is computed rather than what it is.
const CELL: &str = "cell";

/// Refuses spreads where a value says how a case is computed or what it starts from: nothing there is uncertain.
pub(super) fn refuse_spreads(tree: &Node, log: &Log) {
    for section in ["run", "initial"] {
        if let Some(node) = tree.get(section) {
            refuse_in(section, node, log);
        }
    }
    for part in tree.get("parts").and_then(Node::map).unwrap_or_default() {
        if let Some(node) = part.value.get(CELL) {
            refuse_in(&join(&join("parts", &part.key), CELL), node, log);
        }
    }
}

fn refuse_in(path: &str, node: &Node, log: &Log) {
    match &node.content {
        Content::Scalar { text, .. } if quantity::looks_like_number(text) && quantity::has_spread(text) => {
            let found = format!("a spread in {}", quantity::quote(text));
            log.wrong(&node.place, path, found, "a value alone: it says how the case is computed, not what it is");
        }
        Content::Scalar { .. } => {}
        Content::List(items) => {
            items.iter().enumerate().for_each(|(index, item)| refuse_in(&format!("{path}[{index}]"), item, log));
        }
        Content::Map(entries) => {
            entries.iter().for_each(|entry| refuse_in(&join(path, &entry.key), &entry.value, log));
        }
    }
}

struct Walk<'a> {
    kinds: &'static [Kind],
    parts: &'a [Entry],
    found: Vec<Number>,
}

impl Walk<'_> {
    /// Parts, or what a point changes of them.
    fn parts(&mut self, path: &str, node: &Node) {
        for part in node.map().unwrap_or_default() {
            let own = |entry: &Entry| entry.value.get("kind").and_then(Node::text).map(str::to_owned);
            let model = self.parts.iter().find(|model| model.key == part.key);
            let Some(word) = own(part).or_else(|| own(model?)) else { continue };
            if let Some(kind) = self.kinds.iter().find(|kind| kind.name == word) {
                self.map(&join(path, &part.key), &part.value, kind.keys);
            }
        }
    }

    fn map(&mut self, path: &str, node: &Node, keys: &[Key]) {
        for entry in node.map().unwrap_or_default() {
            let path = join(path, &entry.key);
            match keys.iter().find(|key| key.name == entry.key && key.name != CELL) {
                // What a point changes is read by the tables of what it changes.
                Some(Key { name: "parts", value: Value::Anything(_), .. }) => self.parts(&path, &entry.value),
                Some(Key { name: "outside", value: Value::Anything(_), .. }) => {
                    self.map(&path, &entry.value, OUTSIDE_KEYS);
                }
                Some(key) => self.value(&path, &entry.value, &key.value),
                None => {}
            }
        }
    }

    fn value(&mut self, path: &str, node: &Node, value: &Value) {
        let items = node.list().unwrap_or_default().iter().enumerate();
        let item = |index: usize| format!("{path}[{index}]");
        match form_of(value, node) {
            Some(Value::Quantity(dimension, range)) => self.quantity(path, node, *dimension, *range),
            Some(Value::Quantities(dimension, range)) if node.list().is_none() => {
                self.listed(path, node, *dimension, *range);
            }
            Some(Value::Quantities(dimension, range)) => {
                items.for_each(|(index, node)| self.quantity(&item(index), node, *dimension, *range));
            }
            Some(Value::Tuple(dimensions)) => {
                for ((index, node), dimension) in items.zip(*dimensions) {
                    self.quantity(&item(index), node, *dimension, Range::Any);
                }
            }
            Some(Value::Map(keys)) => self.map(path, node, keys),
            Some(Value::Maps(keys)) => items.for_each(|(index, node)| self.map(&item(index), node, keys)),
            Some(Value::NamedMaps(keys)) => {
                for entry in node.map().unwrap_or_default() {
                    self.map(&join(path, &entry.key), &entry.value, keys);
                }
            }
            Some(Value::Named(dimension, range)) => {
                for entry in node.map().unwrap_or_default() {
                    self.quantity(&join(path, &entry.key), &entry.value, *dimension, *range);
                }
            }
            _ => {}
        }
    }

    fn quantity(&mut self, path: &str, node: &Node, dimension: Dimension, range: Range) {
        let Some(text) = node.text() else { return };
        let Ok(written) = quantity::written(text, dimension) else { return };
        let [number] = written.numbers[..] else { return };
        self.found.push(Number {
            path: path.to_owned(),
            text: text.to_owned(),
            number,
            unit: written.unit,
            value: written.unit.to_si(number),
            dimension,
            range,
            spread: written.spread,
            location: node.place.location(),
        });
    }

    /// Numbers of one unit in one text.
    fn listed(&mut self, path: &str, node: &Node, dimension: Dimension, range: Range) {
        let Content::Scalar { text, .. } = &node.content else { return };
        let Ok(written) = quantity::written(text, dimension) else { return };
        let unit = written.unit;
        for (index, number) in written.numbers.into_iter().enumerate() {
            self.found.push(Number {
                path: format!("{path}[{index}]"),
                text: format!("{number} {}", unit.symbol).trim_end().to_owned(),
                number,
                unit,
                value: unit.to_si(number),
                dimension,
                range,
                spread: None,
                location: node.place.location(),
            });
        }
    }
}
