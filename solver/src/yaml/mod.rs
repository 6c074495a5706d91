//! A YAML text as a tree whose every key and value knows its place.
//!
//! Scalars stay text: a quantity is text with a unit, and `0.50` read as a number would not come back as the user wrote it. The
//! tree owns no meaning; [`crate::fields`] reads it by tables of keys.

mod read;
mod write;

pub use read::{Limits, read};
pub use write::write;

use std::sync::Arc;

use crate::error::Location;

/// Where a key or value stands. Lines and columns count from 1; line 0 means the file as a whole.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// File as the user named it.
    pub file: Arc<str>,
    /// Line, from 1.
    pub line: u32,
    /// Column in characters, from 1.
    pub column: u32,
}

impl Place {
    /// The file as a whole.
    #[must_use]
    pub fn whole(file: &Arc<str>) -> Self {
        Self { file: Arc::clone(file), line: 0, column: 0 }
    }

    /// The same as a [`Location`], for messages.
    #[must_use]
    pub fn location(&self) -> Location {
        Location { file: self.file.to_string(), line: self.line as usize, column: self.column as usize }
    }
}

/// A value and its place.
#[derive(Debug, Clone)]
pub struct Node {
    /// Where it begins.
    pub place: Place,
    /// What it is.
    pub content: Content,
}

/// What a node is.
#[derive(Debug, Clone)]
pub enum Content {
    /// Text as written, without quotes.
    Scalar {
        /// The text.
        text: String,
        /// Whether it stood without quotes: only then can it mean `null`, `true` or a number.
        plain: bool,
    },
    /// A list.
    List(Vec<Node>),
    /// A map, in the order of the file; every key stands once.
    Map(Vec<Entry>),
}

/// A key of a map with its value.
#[derive(Debug, Clone)]
pub struct Entry {
    /// The key.
    pub key: String,
    /// Where the key stands.
    pub place: Place,
    /// Its value.
    pub value: Node,
}

impl Entry {
    /// Where a message about the value points: at the value, but at the key when the value is a map, whose first line is another
    /// key's.
    #[must_use]
    pub fn value_place(&self) -> &Place {
        match self.value.content {
            Content::Map(_) => &self.place,
            _ => &self.value.place,
        }
    }
}

impl Node {
    /// A plain text at `place`.
    #[must_use]
    pub fn plain(text: impl Into<String>, place: Place) -> Self {
        Self { place, content: Content::Scalar { text: text.into(), plain: true } }
    }

    /// The text of a scalar; `None` for `null`.
    #[must_use]
    pub fn text(&self) -> Option<&str> {
        match &self.content {
            Content::Scalar { text, .. } if !self.is_null() => Some(text),
            _ => None,
        }
    }

    /// Whether it is an unquoted `null`, `~` or nothing.
    #[must_use]
    pub fn is_null(&self) -> bool {
        matches!(&self.content, Content::Scalar { text, plain: true } if matches!(text.as_str(), "" | "~" | "null" | "Null" | "NULL"))
    }

    /// The entries of a list.
    #[must_use]
    pub fn list(&self) -> Option<&[Self]> {
        match &self.content {
            Content::List(items) => Some(items),
            _ => None,
        }
    }

    /// The entries of a map.
    #[must_use]
    pub fn map(&self) -> Option<&[Entry]> {
        match &self.content {
            Content::Map(entries) => Some(entries),
            _ => None,
        }
    }

    /// The entry of a map under `key`.
    #[must_use]
    pub fn entry(&self, key: &str) -> Option<&Entry> {
        self.map()?.iter().find(|entry| entry.key == key)
    }

    /// The value of a map under `key`.
    #[must_use]
    pub fn get(&self, key: &str) -> Option<&Self> {
        Some(&self.entry(key)?.value)
    }

    /// What it is, for messages: the text in backquotes, `a list` or `a map`.
    #[must_use]
    pub fn describe(&self) -> String {
        match &self.content {
            Content::Scalar { .. } if self.is_null() => "nothing".to_owned(),
            Content::Scalar { text, .. } => crate::quantity::quote(text),
            Content::List(_) => "a list".to_owned(),
            Content::Map(_) => "a map".to_owned(),
        }
    }

    /// Memory that the node with all below it takes, in bytes, roughly; what limits on size count.
    #[must_use]
    pub fn weight(&self) -> usize {
        /// Of a node without its text.
        const BARE: usize = 64;
        BARE + match &self.content {
            Content::Scalar { text, .. } => text.len(),
            Content::List(items) => items.iter().map(Self::weight).sum(),
            Content::Map(entries) => entries.iter().map(|entry| entry.key.len() + entry.value.weight()).sum(),
        }
    }

    /// Levels of lists and maps: 0 for a scalar.
    #[must_use]
    pub fn height(&self) -> usize {
        match &self.content {
            Content::Scalar { .. } => 0,
            Content::List(items) => 1 + items.iter().map(Self::height).max().unwrap_or(0),
            Content::Map(entries) => 1 + entries.iter().map(|entry| entry.value.height()).max().unwrap_or(0),
        }
    }
}

#[cfg(test)]
mod tests;
