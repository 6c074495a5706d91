//! A log as a table of texts: separator, header, units, rows with their lines.

use crate::case::csv_cells;
use crate::error::OutputError;
use crate::quantity::decimal::{has_comma, is_digits, number};
use crate::quantity::quote;
use std::path::Path;

/// Largest log [bytes].
const MOST_BYTES: u64 = 200_000_000;
/// Lines before the header, of a logger's own remarks, that are looked at.
const LONGEST_PREFACE: usize = 60;
/// Separators, those that cannot stand in a number first.
const SEPARATORS: [u8; 3] = [b';', b'\t', b','];
/// What loggers write where they have no value.
const MISSING: [&str; 7] = ["", "-", "--", "---", "NaN", "n/a", "null"];

/// A log as it is written.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Name of the file.
    pub file: String,
    /// What stands between two cells.
    pub separator: char,
    /// Line of the header, from 1.
    pub header_line: usize,
    /// The columns, in the order of the file.
    pub columns: Vec<SheetColumn>,
    /// The rows: line, cells.
    pub rows: Vec<(usize, Vec<String>)>,
    /// Rows that have another number of cells than the header, or cannot be read: line, what was found.
    pub broken: Vec<(usize, String)>,
    /// Whether it was no UTF-8 and was read as Latin-1.
    pub latin: bool,
}

/// A column of a log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetColumn {
    /// Its header as it is written.
    pub header: String,
    /// Its header without a unit.
    pub name: String,
    /// Its unit, from the header or from a row of units below it.
    pub unit: Option<String>,
}

impl Sheet {
    /// Reads the log at `path`, whose header has one of the `wanted` names.
    ///
    /// # Errors
    /// The file cannot be read, is too large, or has no such header.
    pub fn from_path(path: &Path, wanted: &[&str]) -> Result<Self, OutputError> {
        let io = |source| OutputError::File { path: path.to_owned(), source };
        let about = std::fs::metadata(path).map_err(io)?;
        let content = |found: String, expected: &str| OutputError::Content {
            path: path.to_owned(),
            found,
            expected: expected.to_owned(),
        };
        if !about.is_file() {
            return Err(content("no file".to_owned(), "a CSV file"));
        }
        if about.len() > MOST_BYTES {
            return Err(content(format!("{} bytes", about.len()), "at most 200 MB"));
        }
        let bytes = std::fs::read(path).map_err(io)?;
        Self::from_bytes(&path.to_string_lossy(), &bytes, wanted).map_err(|(found, expected)| content(found, &expected))
    }

    /// Reads a log from `bytes`; `file` stands in messages.
    ///
    /// # Errors
    /// What was found instead of a header with one of the `wanted` names, and what was expected.
    pub fn from_bytes(file: &str, bytes: &[u8], wanted: &[&str]) -> Result<Self, (String, String)> {
        // A byte of Latin-1 is the character of that number.
        let (text, latin) = match std::str::from_utf8(bytes) {
            Ok(text) => (text.to_owned(), false),
            Err(_) => (bytes.iter().map(|byte| char::from(*byte)).collect(), true),
        };
        let lines: Vec<(usize, &str)> = text
            .trim_start_matches('\u{feff}')
            .split('\n')
            .enumerate()
            .map(|(index, line)| (index + 1, line.trim_end_matches('\r')))
            .filter(|(_, line)| !line.trim().is_empty() && !line.starts_with('#'))
            .collect();
        let (at, separator) = header(&lines, wanted)?;
        let (header_line, header) = lines[at];
        let mut columns: Vec<SheetColumn> =
            cells(header, separator)?.iter().map(|cell| SheetColumn::of(cell)).collect();
        let mut first = at + 1;
        if let Some((_, line)) = lines.get(first)
            && let Ok(units) = cells(line, separator)
            && is_row_of_units(&units, columns.len())
        {
            for (column, unit) in columns.iter_mut().zip(units) {
                let unit = unit.trim_matches(['[', ']', '(', ')']).trim();
                if let Some(known) = column.unit.as_deref().filter(|known| !is_missing(unit) && *known != unit) {
                    let found = format!(
                        "{} in the header of {} and {} below it",
                        quote(known),
                        quote(&column.name),
                        quote(unit)
                    );
                    return Err((found, "one unit".to_owned()));
                }
                if column.unit.is_none() && !is_missing(unit) {
                    column.unit = Some(unit.to_owned());
                }
            }
            first += 1;
        }
        let (mut rows, mut broken) = (Vec::new(), Vec::new());
        for (line, text) in lines.into_iter().skip(first) {
            match cells(text, separator) {
                Ok(cells) if cells.len() == columns.len() => rows.push((line, cells)),
                // A trailing separator is a habit of some loggers.
                Ok(mut cells) if cells.len() == columns.len() + 1 && cells.last().is_some_and(String::is_empty) => {
                    cells.pop();
                    rows.push((line, cells));
                }
                Ok(cells) => {
                    broken.push((line, format!("{} cells, expected {} as in the header", cells.len(), columns.len())))
                }
                Err((found, _)) => broken.push((line, found)),
            }
        }
        let separator = char::from(separator);
        Ok(Self { file: file.to_owned(), separator, header_line, columns, rows, broken, latin })
    }

    /// Number of the column with this header, with or without its unit.
    #[must_use]
    pub fn column(&self, header: &str) -> Option<usize> {
        let exact = self.columns.iter().position(|column| column.header == header);
        exact.or_else(|| self.columns.iter().position(|column| column.name == header))
    }

    /// Whether the column that [`Sheet::column`] finds under this header is one of two.
    #[must_use]
    pub fn is_twice(&self, header: &str) -> bool {
        let exact = self.columns.iter().filter(|column| column.header == header).count();
        exact > 1 || exact == 0 && self.columns.iter().filter(|column| column.name == header).count() > 1
    }

    /// A cell with a comma or a point where all that have one may be thousands: a digit or three before it, three behind it, no leading zero.
    /// Between commas a point is taken for what it is.
    #[must_use]
    pub fn ambiguous(&self) -> Option<&str> {
        let parted = |cell: &&String| {
            let (whole, part) = cell.trim_start_matches(['-', '+']).split_once([',', '.'])?;
            (is_digits(whole) && is_digits(part))
                .then(|| !whole.starts_with('0') && whole.len() <= 3 && part.len() == 3)
        };
        let cells = || self.rows.iter().flat_map(|(_, cells)| cells).filter(|_| self.separator != ',');
        let clear = cells().any(|cell| parted(&cell) == Some(false));
        cells().find(|cell| parted(cell) == Some(true)).filter(|_| !clear).map(String::as_str)
    }

    /// Whether numbers of this log have a decimal comma: more of them than have a point, and the separator is another. The rest is then told row by row.
    #[must_use]
    pub fn has_decimal_comma(&self) -> bool {
        has_comma(self.separator, self.rows.iter().flat_map(|(_, cells)| cells.iter().map(String::as_str)))
    }
}

impl SheetColumn {
    /// `p [kPa]`, `p (kPa)`, `p / kPa` or `p, kPa`.
    fn of(header: &str) -> Self {
        let header = header.trim();
        let (name, unit) = [('[', ']'), ('(', ')')]
            .iter()
            .find_map(|(open, close)| header.strip_suffix(*close)?.rsplit_once(*open))
            .or_else(|| header.rsplit_once(" / "))
            .or_else(|| header.rsplit_once(", "))
            .map_or((header, None), |(name, unit)| (name.trim(), Some(unit.trim().to_owned())));
        Self { header: header.to_owned(), name: name.to_owned(), unit }
    }
}

/// Whether a cell says that there is no value.
pub(super) fn is_missing(cell: &str) -> bool {
    MISSING.iter().any(|missing| cell.eq_ignore_ascii_case(missing))
}

/// Where the header stands, and its separator: the line among the first ones, and the way to cut it, that has most of the wanted names.
fn header(lines: &[(usize, &str)], wanted: &[&str]) -> Result<(usize, u8), (String, String)> {
    let mut best: Option<(usize, usize, u8)> = None;
    for (index, (_, line)) in lines.iter().enumerate().take(LONGEST_PREFACE) {
        for separator in SEPARATORS {
            let Ok(cells) = cells(line, separator) else { continue };
            let columns: Vec<SheetColumn> = cells.iter().map(|cell| SheetColumn::of(cell)).collect();
            let names = |name: &&&str| columns.iter().any(|column| column.name == **name || column.header == **name);
            let count = wanted.iter().filter(names).count();
            if count > best.map_or(0, |best| best.0) {
                best = Some((count, index, separator));
            }
        }
    }
    best.map(|(_, index, separator)| (index, separator)).ok_or_else(|| {
        let found = lines
            .first()
            .map_or_else(|| "no line".to_owned(), |(line, text)| format!("{} in line {line}", quote(text)));
        (found, format!("a header with the columns that `measured` names: {}", wanted.join(", ")))
    })
}

/// Whether cells below a header are units: as many, none a number, not all empty.
fn is_row_of_units(cells: &[String], columns: usize) -> bool {
    let number = |cell: &String| number(cell, false).is_ok() || number(cell, true).is_ok();
    cells.len() == columns
        && !cells.iter().any(number)
        && cells.iter().any(|cell| !is_missing(cell))
        && cells.iter().all(|cell| cell.len() < 16)
}

fn cells(line: &str, separator: u8) -> Result<Vec<String>, (String, String)> {
    csv_cells(line, separator).map_err(|error| (error.to_string(), "a CSV row".to_owned()))
}

#[cfg(test)]
mod tests;
