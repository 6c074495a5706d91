//! What reading a case finds out beside the case itself: mistakes and the defaults that were used.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

use crate::error::{CaseError, Problem};
use crate::yaml::Place;

/// A key that the case leaves out, with what holds in its place.
#[derive(Debug, Clone, PartialEq)]
pub struct DefaultUsed {
    /// Path of the part or section, such as `parts.box`.
    pub path: String,
    /// The key that is absent.
    pub key: &'static str,
    /// What holds, in the words of the key's table.
    pub holds: &'static str,
    /// The value that was used, in SI, when it is one.
    pub value: Option<f64>,
}

/// Mistakes and defaults, collected while a case is read.
#[derive(Debug, Default)]
pub struct Log {
    problems: RefCell<Vec<Problem>>,
    defaults: RefCell<Vec<DefaultUsed>>,
    /// Where in `defaults` a path and key stand.
    default_index: RefCell<BTreeMap<(String, &'static str), usize>>,
    /// Paths of what is incomplete because of a mistake that has been noted.
    given_up: RefCell<BTreeSet<String>>,
}

/// Mistakes told at once; a file with more has another trouble than its details.
const MOST_PROBLEMS: usize = 200;

/// Longest text of a message [characters].
const LONGEST_TEXT: usize = 400;

/// Cuts a text that nobody would read to its end.
fn shorten(text: &mut String) {
    if let Some((cut, _)) = text.char_indices().nth(LONGEST_TEXT) {
        text.truncate(cut);
        text.push_str("...");
    }
}

impl Log {
    /// Nothing found yet.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Notes a mistake, once; past two hundred only the count would grow, and nothing is noted.
    pub fn note(&self, mut problem: Problem) {
        [&mut problem.path, &mut problem.found, &mut problem.expected].into_iter().for_each(shorten);
        let mut problems = self.problems.borrow_mut();
        let same = |known: &Problem| known.location == problem.location && known.found == problem.found;
        if problems.len() < MOST_PROBLEMS && !problems.iter().any(same) {
            problems.push(problem);
        }
    }

    /// Notes a mistake at `place`.
    pub fn wrong(&self, place: &Place, path: &str, found: impl Into<String>, expected: impl Into<String>) {
        let (found, expected) = (found.into(), expected.into());
        self.note(Problem { location: place.location(), path: path.to_owned(), found, expected, nearest: None });
    }

    /// Notes a default, once; a later note of the same key only adds its value.
    pub fn note_default(&self, default: DefaultUsed) {
        let mut defaults = self.defaults.borrow_mut();
        let mut index = self.default_index.borrow_mut();
        let place = *index.entry((default.path.clone(), default.key)).or_insert(defaults.len());
        match defaults.get_mut(place) {
            Some(known) => known.value = default.value.or(known.value),
            None => defaults.push(default),
        }
    }

    /// Marks the map at `path` as incomplete by a mistake that has been noted: to look for others in it would mislead.
    pub fn give_up(&self, path: &str) {
        self.given_up.borrow_mut().insert(path.to_owned());
    }

    /// Whether the map at `path` is incomplete by a mistake that has been noted.
    #[must_use]
    pub fn has_given_up(&self, path: &str) -> bool {
        self.given_up.borrow().contains(path)
    }

    /// Whether nothing is wrong so far.
    #[must_use]
    pub fn is_clean(&self) -> bool {
        self.problems.borrow().is_empty()
    }

    /// Number of mistakes so far.
    #[must_use]
    pub fn count(&self) -> usize {
        self.problems.borrow().len()
    }

    /// The defaults that were used.
    ///
    /// # Errors
    /// The mistakes, sorted by file, line and column, if there are any.
    pub fn finish(self) -> Result<Vec<DefaultUsed>, CaseError> {
        let mut problems = self.problems.into_inner();
        if problems.is_empty() {
            return Ok(self.defaults.into_inner());
        }
        problems.sort_by(|a, b| a.location.cmp(&b.location));
        Err(CaseError { problems })
    }
}
