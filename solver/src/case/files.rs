//! The files that a case may name: relative paths in its own folder or below, and nothing else.

use std::fs::File;
use std::io::Read;
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;

use crate::quantity::quote;
use crate::yaml::{Limits, Place};

/// Where the files lie that a case names.
#[derive(Debug)]
pub(super) enum Files {
    /// The case came as text: it can name no file.
    Nowhere,
    /// In a folder.
    Below {
        /// The folder as the user named it.
        shown: PathBuf,
        /// The folder without links.
        real: PathBuf,
    },
}

/// What was found and what was expected.
type Refusal = (String, String);

impl Files {
    /// The folder of the case at `path`; nowhere when there is no such folder.
    pub(super) fn beside(path: &Path) -> Self {
        let shown = path.parent().map_or_else(PathBuf::new, Path::to_owned);
        let folder = if shown.as_os_str().is_empty() { Path::new(".") } else { &shown };
        match folder.canonicalize() {
            Ok(real) => Self::Below { shown, real },
            Err(_) => Self::Nowhere,
        }
    }

    /// Reads the file `name` that is named at `place`, relative to the file in which it is named; its name for messages and its text.
    pub(super) fn read(&self, name: &str, place: &Place, extension: &str) -> Result<(Arc<str>, String), Refusal> {
        let Self::Below { shown, real } = self else {
            return Err((quote(name), "no other file: this case was read as text".to_owned()));
        };
        let inside = |part: &Component<'_>| matches!(part, Component::Normal(_) | Component::CurDir);
        let relative: PathBuf = Path::new(name).components().filter(|part| *part != Component::CurDir).collect();
        if !Path::new(name).components().all(|part| inside(&part))
            || relative.extension().is_none_or(|found| found != extension)
        {
            let expected = format!("a `.{extension}` file in the case's folder or below, without `..`");
            return Err((quote(name), expected));
        }
        let folder = Path::new(&*place.file).parent().and_then(|folder| folder.strip_prefix(shown).ok());
        let below = folder.unwrap_or(Path::new("")).join(relative);
        let path = real.join(&below).canonicalize().map_err(|error| unreadable(name, &error))?;
        if !path.starts_with(real) {
            return Err((
                format!("{}, a link out of the case's folder", quote(name)),
                "a file in that folder".to_owned(),
            ));
        }
        let text = read_text(&path)?;
        Ok((shown.join(below).to_string_lossy().into(), text))
    }
}

/// The text of a file of at most the size of a case.
pub(crate) fn read_text(path: &Path) -> Result<String, Refusal> {
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let most = Limits::CASE.length;
    // Devices and pipes could keep the reader for ever.
    let about = path.metadata().map_err(|error| unreadable(&name, &error))?;
    if !about.is_file() {
        return Err((format!("{}, not a file", quote(&name)), "a file".to_owned()));
    }
    let mut bytes = Vec::new();
    let file = File::open(path).map_err(|error| unreadable(&name, &error))?;
    file.take(most as u64 + 1).read_to_end(&mut bytes).map_err(|error| unreadable(&name, &error))?;
    if bytes.len() > most {
        return Err((format!("{} bytes", about.len().max(bytes.len() as u64)), format!("at most {most} bytes")));
    }
    String::from_utf8(bytes).map_err(|error| {
        (format!("no UTF-8 at byte {}", error.utf8_error().valid_up_to()), "a text in UTF-8".to_owned())
    })
}

fn unreadable(name: &str, error: &std::io::Error) -> Refusal {
    (format!("{}: {error}", quote(name)), "a file that can be read".to_owned())
}
