//! A case with other values in some of its fields, read anew with all checks.

use super::{Case, Number};
use crate::error::{CaseError, Problem};
use crate::fields::Log;
use crate::quantity::Shape;
use crate::suggest;
use crate::yaml::{Content, Entry, Node};
use std::sync::Arc;

/// What a field is to hold.
#[derive(Debug, Clone, PartialEq)]
pub enum NewValue {
    /// A value in SI; it is written in the unit of the old one, and a spread stays as it was.
    Si(f64),
    /// A text with its unit, as a user would write it.
    Text(String),
}

impl From<f64> for NewValue {
    fn from(value: f64) -> Self {
        Self::Si(value)
    }
}

impl From<&str> for NewValue {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

impl Case {
    /// This case with other values in the numeric fields at these paths, out of [`Case::numbers`] and [`Case::offsets`]. All is read and checked anew, but for what
    /// the parts make together, which [`Case::build`] judges.
    ///
    /// # Errors
    /// A path that is no numeric field of this case, or everything that is wrong with the new values.
    pub fn with(&self, changes: &[(&str, NewValue)]) -> Result<Self, CaseError> {
        let mut numbers = self.numbers();
        numbers.extend(self.offsets().cloned());
        let mut tree = self.tree.clone();
        for (path, value) in changes {
            let number = numbers.iter().find(|number| number.path == *path);
            let number = number.ok_or_else(|| self.no_field(path, &numbers))?;
            let text = match value {
                NewValue::Text(text) => text.clone(),
                NewValue::Si(value) => number.text_of(*value),
            };
            replace(&mut tree, path, text, &numbers);
        }
        self.read_anew(tree)
    }

    /// This case with fields that it leaves out: each path with its text, as a user would write it. Maps on the way that are not there are made; items of
    /// lists are there. All is read and checked anew.
    ///
    /// # Errors
    /// A path that leads through what is no map and no item of a list, or everything that is wrong with the new fields.
    pub fn with_inserted(&self, fields: &[(String, String)]) -> Result<Self, CaseError> {
        let mut tree = self.tree.clone();
        for (path, text) in fields {
            insert(&mut tree, path, text).ok_or_else(|| self.no_field(path, &self.numbers()))?;
        }
        self.read_anew(tree)
    }

    /// This case, run in another way: keys of `run` stand before its own; where they say how long, its own way and end are forgotten.
    ///
    /// # Errors
    /// Everything that is wrong with the new way.
    pub(crate) fn run_as(&self, run: &Node) -> Result<Self, CaseError> {
        /// What a case says of its way and its end.
        const WAY: [&str; 7] = ["march", "start", "until", "settled_below", "at_most", "average_over", "record_every"];
        let mut tree = self.tree.clone();
        let own = tree.get("run").and_then(Node::map).unwrap_or_default();
        let kept = own.iter().filter(|entry| run.entry(&entry.key).is_none() && !WAY.contains(&entry.key.as_str()));
        let entries = run.map().unwrap_or_default().iter().chain(kept).cloned().collect();
        let run = Node { place: run.place.clone(), content: Content::Map(entries) };
        if let Content::Map(entries) = &mut tree.content {
            entries.retain(|entry| entry.key != "run");
            entries.push(Entry { key: "run".to_owned(), place: run.place.clone(), value: run });
        }
        self.read_anew(tree)
    }

    pub(super) fn read_anew(&self, tree: Node) -> Result<Self, CaseError> {
        let (file, log) = (Arc::from(self.file.as_str()), Log::new());
        let case = Self::read(&file, tree, self.kinds, &log);
        let defaults = log.finish()?;
        let unread = || CaseError { problems: vec![super::unread(&file)] };
        case.map(|case| Self { defaults, ..case }).ok_or_else(unread)
    }

    fn no_field(&self, path: &str, numbers: &[Number]) -> CaseError {
        let problem = Problem {
            location: self.location(path),
            path: path.to_owned(),
            found: "no numeric field of this name".to_owned(),
            expected: "a path such as `parts.box.volume`".to_owned(),
            nearest: suggest::nearest(path, numbers.iter().map(|number| number.path.as_str())),
        };
        CaseError { problems: vec![problem] }
    }
}

impl Number {
    /// Text of an SI `value` in the unit of this field, with its spread.
    #[must_use]
    pub fn text_of(&self, value: f64) -> String {
        let number = self.unit.from_si(value);
        let Some(spread) = self.spread else { return format!("{number} {}", self.unit.symbol).trim_end().to_owned() };
        let shape = if spread.shape == Shape::Uniform { " uniform" } else { "" };
        format!("{number} +- {} {}{shape}", self.unit.difference_from_si(spread.width), self.unit.symbol)
    }
}

/// Puts `text` at `path`; nothing where that leads through what is no map and no item of a list.
fn insert(tree: &mut Node, path: &str, text: &str) -> Option<()> {
    let mut node = tree;
    for step in path.split(['.', '[']) {
        if node.is_null() {
            node.content = Content::Map(Vec::new());
        }
        let place = node.place.clone();
        node = match &mut node.content {
            Content::Map(entries) => {
                let at = entries.iter().position(|entry| entry.key == step).unwrap_or_else(|| {
                    entries.push(Entry { key: step.to_owned(), place: place.clone(), value: Node::plain("", place) });
                    entries.len() - 1
                });
                &mut entries[at].value
            }
            Content::List(items) => items.get_mut(step.strip_suffix(']')?.parse::<usize>().ok()?)?,
            Content::Scalar { .. } => return None,
        };
    }
    node.content = Content::Scalar { text: text.to_owned(), plain: true };
    Some(())
}

/// Puts `text` in the place of the quantity at `path`, which is there.
fn replace(tree: &mut Node, path: &str, text: String, numbers: &[Number]) {
    let mut node = tree;
    for step in path.split(['.', '[']) {
        let index = step.strip_suffix(']').and_then(|index| index.parse::<usize>().ok());
        if let (Content::Scalar { .. }, Some(index)) = (&node.content, index) {
            // A number of a list in one text: the list becomes one of texts, so that each number keeps its own.
            let list = path.trim_end_matches(|c| c != '[');
            let siblings = numbers.iter().filter(|number| number.path.starts_with(list));
            let texts = siblings.enumerate().map(|(place, number)| if place == index { &text } else { &number.text });
            let items = texts.map(|text| Node::plain(text, node.place.clone())).collect();
            node.content = Content::List(items);
            return;
        }
        let next = match (&mut node.content, index) {
            (Content::Map(entries), _) => {
                entries.iter_mut().find(|entry| entry.key == step).map(|entry| &mut entry.value)
            }
            (Content::List(items), Some(index)) => items.get_mut(index),
            _ => None,
        };
        let Some(next) = next else { return };
        node = next;
    }
    node.content = Content::Scalar { text, plain: true };
}
