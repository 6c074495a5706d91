//! What the journals of a folder say of each run, packed: millions of runs have some tens of forms, and beside its form a run is a handful of numbers.

use super::line::{self, Names};
use super::{ENDING, Ended, Entry, Name, failed, files};
use crate::error::OutputError;
use crate::study::plan::Id;
use std::collections::{HashMap, HashSet};
use std::fs::File;
use std::io::{self, BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// What the journals of a folder say, each run once.
#[derive(Debug, Default)]
pub struct Records {
    runs: HashMap<Id, Packed>,
    forms: HashSet<Arc<Form>>,
    names: Names,
    /// Lines that were no lines, by journal.
    pub damaged: Vec<(PathBuf, usize)>,
}

/// What many runs have in common.
#[derive(Debug, PartialEq, Eq, Hash)]
pub struct Form {
    layout: Name,
    point: Name,
    done: bool,
    /// Names of the inputs, as in [`Entry::inputs`].
    pub inputs: Vec<Name>,
    /// Names of the figures; none of a run that failed.
    pub figures: Vec<Name>,
}

/// An [`Entry`] without what its form says.
#[derive(Debug)]
struct Packed {
    form: Arc<Form>,
    draw: Option<usize>,
    /// Of the inputs, then of the figures.
    values: Box<[f64]>,
    /// The note of a run that is done, or why it failed.
    text: Box<str>,
}

impl Records {
    /// Reads all journals in `folder`; nothing where it is not there.
    ///
    /// # Errors
    /// A file that cannot be read.
    pub fn read(folder: &Path) -> Result<Self, OutputError> {
        let mut records = Self::default();
        for path in files(folder, ENDING)? {
            let mut file = BufReader::new(File::open(&path).map_err(failed(&path))?);
            let damaged = records.take(&mut file).map_err(failed(&path))?;
            if damaged > 0 {
                records.damaged.push((path, damaged));
            }
        }
        Ok(records)
    }

    /// Takes the lines of a journal; how many were none.
    pub(super) fn take(&mut self, journal: &mut dyn BufRead) -> io::Result<usize> {
        let (mut damaged, mut text) = (0, Vec::new());
        while journal.read_until(b'\n', &mut text)? > 0 {
            match line::read(text.strip_suffix(b"\n").unwrap_or(&text), &mut self.names) {
                Some(entry) => self.insert(entry),
                None => damaged += 1,
            }
            text.clear();
        }
        Ok(damaged)
    }

    /// Takes a run that ended. What is done is done; of a run that failed again and again the last counts.
    pub fn insert(&mut self, entry: Entry) {
        if self.is_done(entry.id) == Some(true) {
            return;
        }
        let (id, draw) = (entry.id, entry.draw);
        let (inputs, mut values): (Vec<Name>, Vec<f64>) = entry.inputs.into_iter().unzip();
        let done = entry.ended.is_done();
        let (figures, text) = match entry.ended {
            Ended::Done { figures, note } => (figures, note),
            Ended::Failed(why) => (Vec::new(), why),
        };
        let (figures, of_figures): (Vec<Name>, Vec<f64>) = figures.into_iter().unzip();
        values.extend(of_figures);
        let form = self.shared(Form { layout: entry.layout, point: entry.point, done, inputs, figures });
        let packed = Packed { form, draw, values: values.into_boxed_slice(), text: text.into_boxed_str() };
        self.runs.insert(id, packed);
    }

    fn shared(&mut self, form: Form) -> Arc<Form> {
        if let Some(known) = self.forms.get(&form) {
            return Arc::clone(known);
        }
        let form = Arc::new(form);
        self.forms.insert(Arc::clone(&form));
        form
    }

    /// A run as it was written; `None` where it has not ended.
    #[must_use]
    pub fn get(&self, id: Id) -> Option<Entry> {
        let Packed { form, draw, values, text } = self.runs.get(&id)?;
        let (inputs, figures) = values.split_at_checked(form.inputs.len())?;
        let named = |names: &[Name], values: &[f64]| names.iter().cloned().zip(values.iter().copied()).collect();
        let text = text.to_string();
        let ended = if form.done {
            Ended::Done { figures: named(&form.figures, figures), note: text }
        } else {
            Ended::Failed(text)
        };
        let (layout, point) = (Arc::clone(&form.layout), Arc::clone(&form.point));
        Some(Entry { id, layout, point, inputs: named(&form.inputs, inputs), draw: *draw, ended })
    }

    /// Whether a run that ended has figures; `None` where it has not ended.
    #[must_use]
    pub fn is_done(&self, id: Id) -> Option<bool> {
        self.runs.get(&id).map(|packed| packed.form.done)
    }

    /// What a run has in common with others; `None` where it has not ended.
    #[must_use]
    pub fn form(&self, id: Id) -> Option<&Arc<Form>> {
        self.runs.get(&id).map(|packed| &packed.form)
    }

    /// Forgets the runs that failed, so that they are done again: once, however often they are asked for.
    pub fn forget_failed(&mut self) {
        self.runs.retain(|_, packed| packed.form.done);
    }

    /// The runs that ended, in no order.
    pub fn ids(&self) -> impl Iterator<Item = Id> + '_ {
        self.runs.keys().copied()
    }
}
