//! A line of a journal: eight digits of a checksum, a space, the run in JSON.

use crate::study::plan::Id;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, HashSet};
use std::sync::Arc;

/// Digits of the checksum.
const DIGITS: usize = 8;

/// A name that many runs share.
pub type Name = Arc<str>;

/// The names of a journal, each of them once: a study of a hundred thousand runs has some tens.
#[derive(Debug, Default)]
pub(super) struct Names(HashSet<Name>);

impl Names {
    fn of(&mut self, text: &str) -> Name {
        if let Some(known) = self.0.get(text) {
            return Arc::clone(known);
        }
        let name = Name::from(text);
        self.0.insert(Arc::clone(&name));
        name
    }
}

/// A run that ended.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// What it is.
    pub id: Id,
    /// Name of its layout.
    pub layout: Name,
    /// Name of its point.
    pub point: Name,
    /// Values of the inputs by name, each in the unit of the study; of a draw from the spreads those of the fields and laws that were drawn.
    pub inputs: Vec<(Name, f64)>,
    /// Number of the draw from the spreads.
    pub draw: Option<usize>,
    /// What became of it.
    pub ended: Ended,
}

/// What became of a run.
#[derive(Debug, Clone, PartialEq)]
pub enum Ended {
    /// It has figures.
    Done {
        /// Values by name, in SI, in the order of the figures.
        figures: Vec<(Name, f64)>,
        /// What was done otherwise than asked, and why; empty for most.
        note: String,
    },
    /// It has none, for this reason.
    Failed(String),
}

impl Ended {
    /// Whether it has figures.
    #[must_use]
    pub fn is_done(&self) -> bool {
        matches!(self, Self::Done { .. })
    }
}

/// An entry as JSON has it. A figure that is no number is `null`.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Text {
    id: String,
    layout: String,
    point: String,
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    inputs: BTreeMap<String, f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    draw: Option<usize>,
    #[serde(default, skip_serializing_if = "serde_json::Map::is_empty")]
    figures: serde_json::Map<String, serde_json::Value>,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    note: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    failed: Option<String>,
}

/// The line of an entry, with its end.
pub(super) fn write(entry: &Entry) -> String {
    let (figures, note, failed) = match &entry.ended {
        Ended::Done { figures, note } => {
            let figures = figures.iter().map(|(name, value)| (name.to_string(), serde_json::Value::from(*value)));
            (figures.collect(), note.clone(), None)
        }
        Ended::Failed(why) => (serde_json::Map::new(), String::new(), Some(why.clone())),
    };
    let text = Text {
        id: entry.id.to_string(),
        layout: entry.layout.to_string(),
        point: entry.point.to_string(),
        inputs: entry.inputs.iter().map(|(name, value)| (name.to_string(), *value)).collect(),
        draw: entry.draw,
        figures,
        note,
        failed,
    };
    // Texts and finite numbers, with text keys: there is nothing that could not be written.
    let json = serde_json::to_string(&text).unwrap_or_default();
    format!("{:08x} {json}\n", crc32fast::hash(json.as_bytes()))
}

/// The entry of a line without its end; `None` of what is no line.
pub(super) fn read(line: &[u8], names: &mut Names) -> Option<Entry> {
    let (sum, rest) = line.split_at_checked(DIGITS)?;
    let json = rest.strip_prefix(b" ")?;
    let sum = u32::from_str_radix(std::str::from_utf8(sum).ok()?, 16).ok()?;
    if crc32fast::hash(json) != sum {
        return None;
    }
    let text: Text = serde_json::from_slice(json).ok()?;
    let ended = match text.failed {
        Some(why) => Ended::Failed(why),
        None => {
            let figures = text.figures.iter().map(|(name, value)| (names.of(name), value.as_f64().unwrap_or(f64::NAN)));
            Ended::Done { figures: figures.collect(), note: text.note }
        }
    };
    Some(Entry {
        id: Id::parse(&text.id)?,
        layout: names.of(&text.layout),
        point: names.of(&text.point),
        inputs: text.inputs.iter().map(|(name, value)| (names.of(name), *value)).collect(),
        draw: text.draw,
        ended,
    })
}
