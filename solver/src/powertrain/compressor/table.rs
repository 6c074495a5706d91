//! A map from a table of comma-separated values.
//!
//! The header names a column and its unit, `corrected_flow [g/s]`; lines that open with `#` are comments. Columns: `corrected_speed`
//! (turns), `corrected_flow`, `pressure_ratio`, `efficiency`, in any order.

use super::{MapFault, MapRow, Reference, SpeedLines};
use crate::error::Location;
use crate::quantity::{self, Dimension, quote};

/// The columns, and how they are written.
const COLUMNS: [(&str, Dimension, &str); 4] = [
    ("corrected_speed", Dimension::Frequency, "corrected_speed [rpm]"),
    ("corrected_flow", Dimension::MassFlow, "corrected_flow [g/s]"),
    ("pressure_ratio", Dimension::Ratio, "pressure_ratio"),
    ("efficiency", Dimension::Ratio, "efficiency"),
];
/// Most rows of a table.
const MOST_ROWS: usize = 10_000;

/// Why a table is no map.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{location}: {}found {found}, expected {expected}", column.map_or_else(String::new, |name| format!("column `{name}`: ")))]
pub struct TableFault {
    /// File, line, and first character of the cell; line 0 when it is the map as a whole.
    pub location: Location,
    /// The column, where it is one.
    pub column: Option<&'static str>,
    /// What the file says.
    pub found: String,
    /// What would be right.
    pub expected: String,
}

/// One line of the file.
struct Line<'a> {
    file: &'a str,
    number: usize,
    text: &'a str,
}

impl<'a> Line<'a> {
    /// Cells without their quotes. Line by line, so that a quote that never closes spoils one line only.
    fn cells(&self) -> Result<Vec<String>, TableFault> {
        let mut reader =
            csv::ReaderBuilder::new().has_headers(false).trim(csv::Trim::All).from_reader(self.text.as_bytes());
        let mut record = csv::StringRecord::new();
        let read = reader.read_record(&mut record);
        read.map_err(|error| self.fault(1, None, error.to_string(), "comma-separated values".to_owned()))?;
        Ok(record.iter().map(str::to_owned).collect())
    }

    /// Character, from 1, with which a cell starts.
    fn start(&self, cell: usize) -> usize {
        let mut quoted = false;
        let mut commas = self.text.char_indices().filter(|&(_, c)| {
            quoted ^= c == '"';
            c == ',' && !quoted
        });
        let before = cell.checked_sub(1).and_then(|comma| commas.nth(comma)).map_or(0, |(at, _)| at + 1);
        let blank = self.text[before..].chars().take_while(|c| c.is_whitespace()).count();
        self.text[..before].chars().count() + blank + 1
    }

    fn fault(&self, column: usize, name: Option<&'static str>, found: String, expected: String) -> TableFault {
        let location = Location { file: self.file.to_owned(), line: self.number, column };
        TableFault { location, column: name, found, expected }
    }
}

/// Where a column stands in the file, and its unit.
struct Column {
    at: usize,
    unit: String,
}

impl SpeedLines {
    /// The map in the comma-separated values `text`; `file` is its name in messages. Otherwise as [`SpeedLines::new`].
    ///
    /// # Errors
    /// When a column is missing, unknown or twice, a cell is no quantity of its column's unit, or [`SpeedLines::new`] refuses.
    pub fn from_table(
        file: &str,
        text: &str,
        reference: Reference,
        speed_limit: Option<f64>,
    ) -> Result<Self, TableFault> {
        let (rows, places) = read_rows(file, text)?;
        Self::new(&rows, reference, speed_limit).map_err(|MapFault { row, found, expected }| {
            let (line, column) = row.map_or((0, 0), |row| (places[row], 1));
            let location = Location { file: file.to_owned(), line, column };
            TableFault { location, column: None, found, expected }
        })
    }
}

/// The rows of the comma-separated values `text`, and the line of each; `file` is its name in messages.
///
/// # Errors
/// When a column is missing, unknown or twice, or a cell is no quantity of its column's unit.
pub fn read_rows(file: &str, text: &str) -> Result<(Vec<MapRow>, Vec<usize>), TableFault> {
    let mut lines = text
        .trim_start_matches('\u{feff}')
        .lines()
        .enumerate()
        .map(|(index, text)| Line { file, number: index + 1, text })
        .filter(|line| !line.text.trim().is_empty() && !line.text.starts_with('#'));
    let Some(header) = lines.next() else {
        let nothing = Line { file, number: 0, text };
        return Err(nothing.fault(0, None, "no header".to_owned(), format!("the columns {}", every_column())));
    };
    let columns = columns(&header)?;
    let width = columns.len();
    let (mut rows, mut places) = (Vec::new(), Vec::new());
    for line in lines {
        if rows.len() == MOST_ROWS {
            return Err(line.fault(1, None, format!("more than {MOST_ROWS} rows"), "fewer".to_owned()));
        }
        rows.push(row(&line, &columns, width)?);
        places.push(line.number);
    }
    Ok((rows, places))
}

fn every_column() -> String {
    COLUMNS.map(|column| format!("`{}`", column.2)).join(", ")
}

fn columns(header: &Line) -> Result<[Column; 4], TableFault> {
    let mut found: [Option<Column>; 4] = [None, None, None, None];
    for (at, cell) in header.cells()?.iter().enumerate() {
        let place = header.start(at);
        let (name, unit) = match cell.strip_suffix(']').and_then(|cell| cell.split_once('[')) {
            Some((name, unit)) => (name.trim(), unit.trim()),
            None => (cell.as_str(), ""),
        };
        let Some(known) = COLUMNS.iter().position(|column| column.0 == name) else {
            let expected = format!("one of the columns {}", every_column());
            return Err(header.fault(place, None, format!("the column {}", quote(cell)), expected));
        };
        let (name, dimension, example) = COLUMNS[known];
        if found[known].is_some() {
            return Err(header.fault(place, Some(name), "it twice".to_owned(), "each column once".to_owned()));
        }
        // One of it tells whether the unit is one of the column's.
        if let Err(fault) = quantity::parse(format!("1 {unit}").trim(), dimension) {
            let expected = format!("{}, as in `{example}`", fault.expected);
            return Err(header.fault(place, Some(name), format!("the unit {}", quote(unit)), expected));
        }
        found[known] = Some(Column { at, unit: unit.to_owned() });
    }
    let mut missing = COLUMNS.iter().zip(&found).filter(|(_, found)| found.is_none());
    if let Some(((name, _, example), _)) = missing.next() {
        let expected = format!("a column `{example}`");
        return Err(header.fault(1, Some(name), "no such column".to_owned(), expected));
    }
    Ok(found.map(|column| column.unwrap_or(Column { at: 0, unit: String::new() })))
}

fn row(line: &Line, columns: &[Column; 4], width: usize) -> Result<MapRow, TableFault> {
    let cells = line.cells()?;
    if cells.len() != width {
        return Err(line.fault(1, None, format!("{} cells", cells.len()), format!("{width}, as in the header")));
    }
    let mut values = [0.0; 4];
    for ((value, column), (name, dimension, _)) in values.iter_mut().zip(columns).zip(COLUMNS) {
        let cell = &cells[column.at];
        let with_unit = format!("{cell} {}", column.unit);
        *value = quantity::parse(with_unit.trim(), dimension)
            .map_err(|_| line.fault(line.start(column.at), Some(name), quote(cell), "a number".to_owned()))?;
    }
    let [turns, corrected_flow, pressure_ratio, efficiency] = values;
    let corrected_speed = 2.0 * std::f64::consts::PI * turns;
    Ok(MapRow { corrected_speed, corrected_flow, pressure_ratio, efficiency })
}
