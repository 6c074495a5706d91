//! One map of a case file with its place in the file: how a part reads its keys.
//!
//! A table of [`Key`]s says what a map may hold. The whole map is checked against its table before anything is read, so that every
//! mistake is noted once and with its place; the readers then answer `None` where something was wrong or absent.

mod check;
mod key;
mod log;

pub(crate) use check::form_of;
pub use check::{LONGEST_NAME, check_name, join};
pub use key::{Key, Need, Range, Value};
pub use log::{DefaultUsed, Log};

use std::sync::Arc;

use check::Leaf;

use crate::error::{CaseError, Location, Problem};
use crate::yaml::{self, Content, Limits, Node, Place};

/// A map of the case file that is being read. Every mistake is noted in the shared [`Log`] and `None` returned, so that reading
/// goes on and all mistakes of a file are told together.
#[derive(Debug, Clone)]
pub struct Fields<'a> {
    name: &'a str,
    path: String,
    place: &'a Place,
    node: &'a Node,
    keys: &'static [Key],
    log: &'a Log,
}

impl<'a> Fields<'a> {
    /// Checks `node`, which is called `name` and stands under `path`, against its table of keys; keys in `also` belong to others.
    #[must_use]
    pub fn check(
        name: &'a str,
        path: &str,
        place: &'a Place,
        node: &'a Node,
        keys: &'static [Key],
        also: &[&str],
        log: &'a Log,
    ) -> Self {
        check::check_map(log, path, place, node, keys, also);
        Self { name, path: path.to_owned(), place, node, keys, log }
    }

    /// Name of the part (or of the section of the file) that is read.
    #[must_use]
    pub fn name(&self) -> &str {
        self.name
    }

    /// Path of the map in the file, such as `parts.box`.
    #[must_use]
    pub fn path(&self) -> &str {
        &self.path
    }

    /// Whether the key stands in the file.
    #[must_use]
    pub fn has(&self, key: &'static str) -> bool {
        self.node.get(key).is_some()
    }

    /// The quantity in SI; `None` when it is absent or wrong (a wrong one, or an absent required one, is noted).
    #[must_use]
    pub fn si(&self, key: &'static str) -> Option<f64> {
        match self.leaf(key)? {
            (Leaf::Numbers(values), Value::Quantity(..)) => values.first().copied(),
            _ => None,
        }
    }

    /// The quantity in SI, or `default` when the key is absent; the default is noted for `check`.
    #[must_use]
    pub fn si_or(&self, key: &'static str, default: f64) -> f64 {
        if !self.has(key) {
            let holds = self.key(key).map_or("", |key| match key.need {
                Need::Optional(holds) => holds,
                Need::Required => "",
            });
            self.log.note_default(DefaultUsed { path: self.path.clone(), key, holds, value: Some(default) });
        }
        self.si(key).unwrap_or(default)
    }

    /// The list of quantities in SI.
    #[must_use]
    pub fn list(&self, key: &'static str) -> Option<Vec<f64>> {
        match self.leaf(key)? {
            (Leaf::Numbers(values), Value::Quantities(..)) => Some(values),
            _ => None,
        }
    }

    /// The entries of a [`Value::Tuple`] in SI.
    #[must_use]
    pub fn tuple(&self, key: &'static str) -> Option<Vec<f64>> {
        match self.leaf(key)? {
            (Leaf::Numbers(values), Value::Tuple(_)) => Some(values),
            _ => None,
        }
    }

    /// A word out of the key's list.
    #[must_use]
    pub fn word(&self, key: &'static str) -> Option<&'static str> {
        match self.leaf(key)? {
            (Leaf::Word(word), _) => Some(word),
            _ => None,
        }
    }

    /// Free text.
    #[must_use]
    pub fn text(&self, key: &'static str) -> Option<String> {
        match self.leaf(key)? {
            (Leaf::Text(text), _) => Some(text),
            _ => None,
        }
    }

    /// Names, in the order of the file; empty when absent.
    #[must_use]
    pub fn names(&self, key: &'static str) -> Vec<String> {
        match self.leaf(key) {
            Some((Leaf::Names(names), _)) => names,
            _ => Vec::new(),
        }
    }

    /// Yes or no; `None` when absent.
    #[must_use]
    pub fn flag(&self, key: &'static str) -> Option<bool> {
        match self.leaf(key)? {
            (Leaf::Flag(flag), _) => Some(flag),
            _ => None,
        }
    }

    /// A whole number.
    #[must_use]
    pub fn count(&self, key: &'static str) -> Option<usize> {
        match self.leaf(key)? {
            (Leaf::Count(count), _) => Some(count),
            _ => None,
        }
    }

    /// A nested map.
    #[must_use]
    pub fn map(&self, key: &'static str) -> Option<Fields<'a>> {
        let entry = self.node.entry(key)?;
        match self.form(key)? {
            Value::Map(keys) => Some(self.inner(join(&self.path, key), entry.value_place(), &entry.value, keys)),
            _ => None,
        }
    }

    /// A list of nested maps; empty when absent.
    #[must_use]
    pub fn maps(&self, key: &'static str) -> Vec<Fields<'a>> {
        let (Some(Value::Maps(keys)), Some(items)) = (self.form(key), self.node.get(key).and_then(Node::list)) else {
            return Vec::new();
        };
        let path = join(&self.path, key);
        let inner = |(index, item): (usize, &'a Node)| self.inner(format!("{path}[{index}]"), &item.place, item, keys);
        items.iter().enumerate().filter(|(_, item)| item.map().is_some()).map(inner).collect()
    }

    /// A map from names to nested maps, in the order of the file; empty when absent.
    #[must_use]
    pub fn named_maps(&self, key: &'static str) -> Vec<Fields<'a>> {
        let (Some(Value::NamedMaps(keys)), Some(entries)) = (self.form(key), self.node.get(key).and_then(Node::map))
        else {
            return Vec::new();
        };
        let path = join(&self.path, key);
        let maps = entries.iter().filter(|entry| entry.value.map().is_some());
        let inner = |path: String, place, node| self.inner(path, place, node, keys);
        maps.map(|entry| Fields { name: &entry.key, ..inner(join(&path, &entry.key), &entry.place, &entry.value) })
            .collect()
    }

    /// A map from names to quantities in SI, in the order of the file.
    #[must_use]
    pub fn named(&self, key: &'static str) -> Option<Vec<(String, f64)>> {
        let Value::Named(dimension, range) = self.form(key)? else { return None };
        let value = Value::Quantity(*dimension, *range);
        let entries = self.node.get(key)?.map()?;
        let read = |entry: &crate::yaml::Entry| match check::read_leaf(&entry.value, &value) {
            Ok(Leaf::Numbers(values)) => values.first().map(|&si| (entry.key.clone(), si)),
            _ => None,
        };
        entries.iter().map(read).collect()
    }

    /// The value as it stands in the file, for keys that hold [`Value::Anything`].
    #[must_use]
    pub fn node(&self, key: &'static str) -> Option<&'a Node> {
        self.node.get(key)
    }

    /// The text as the user wrote it, for reports: a scalar, or a list of scalars in brackets.
    #[must_use]
    pub fn as_written(&self, key: &'static str) -> Option<String> {
        let node = self.node.get(key)?;
        match &node.content {
            Content::Scalar { text, .. } => Some(text.clone()),
            Content::List(items) => {
                let texts: Option<Vec<&str>> = items.iter().map(Node::text).collect();
                Some(format!("[{}]", texts?.join(", ")))
            }
            Content::Map(_) => None,
        }
    }

    /// Where the value stands; the map's own place when the key is absent.
    #[must_use]
    pub fn location(&self, key: &'static str) -> Location {
        self.node.entry(key).map_or(self.place, |entry| entry.value_place()).location()
    }

    /// Notes a mistake at `key`; an empty key stands for the map itself.
    pub fn problem(&self, key: &'static str, found: impl Into<String>, expected: impl Into<String>) {
        let place = self.node.entry(key).map_or(self.place, |entry| entry.value_place());
        let path = if key.is_empty() { self.path.clone() } else { join(&self.path, key) };
        self.log.wrong(place, &path, found, expected);
    }

    fn inner(&self, path: String, place: &'a Place, node: &'a Node, keys: &'static [Key]) -> Self {
        Self { name: self.name, path, place, node, keys, log: self.log }
    }

    fn key(&self, name: &str) -> Option<&'static Key> {
        let key = self.keys.iter().find(|key| key.name == name);
        debug_assert!(key.is_some(), "`{name}` is asked for but not in the table of keys of {}", self.path);
        key
    }

    /// The form that the value has, out of those its key may hold.
    pub(crate) fn form(&self, key: &'static str) -> Option<&'static Value> {
        check::form_of(&self.key(key)?.value, self.node.get(key)?)
    }

    fn leaf(&self, key: &'static str) -> Option<(Leaf, &'static Value)> {
        let form = self.form(key)?;
        let leaf = check::read_leaf(self.node.get(key)?, form).ok()?;
        Some((leaf, form))
    }
}

/// Reads one map from a text of its own, for tests and help: the map's table is `keys`, a key `kind` is left alone.
///
/// # Errors
/// Everything that is wrong with the text.
pub fn read_text<T>(
    name: &str,
    text: &str,
    keys: &'static [Key],
    read: impl FnOnce(&Fields<'_>) -> Option<T>,
) -> Result<(T, Vec<DefaultUsed>), CaseError> {
    let file: Arc<str> = Arc::from(name);
    let place = Place::whole(&file);
    let log = Log::new();
    let mut problems = Vec::new();
    let node = yaml::read(&file, text, Limits::CASE, &mut problems);
    problems.into_iter().for_each(|problem| log.note(problem));
    let value = node.and_then(|node| {
        let fields = Fields::check(name, name, &place, &node, keys, &["kind"], &log);
        read(&fields)
    });
    let whole = Problem {
        location: place.location(),
        path: name.to_owned(),
        found: "a map that is refused without a reason".to_owned(),
        expected: "a reason".to_owned(),
        nearest: None,
    };
    let defaults = log.finish()?;
    value.map(|value| (value, defaults)).ok_or(CaseError { problems: vec![whole] })
}

#[cfg(test)]
mod tests;
