//! Sections of a duct from a CSV file, as a computer-aided design program measures them.
//!
//! The header names a column and its unit, `area [cm2]`. `centre_line_length`, `area` and `perimeter` become the duct's sections,
//! `radius_of_curvature` its bends: each station stands for half the way to its neighbours, and neighbouring stations that turn the
//! same way make one bend. Its angle is the sum of length over radius, its radius the length over that angle. A radius that is
//! empty or zero means straight. A duct without `length` takes the last centre-line length.

use std::sync::Arc;

use super::files::Files;
use crate::fields::{Log, join};
use crate::quantity::{self, Dimension, quote};
use crate::yaml::{Content, Entry, Node, Place};

/// Most rows of a file.
const MOST_ROWS: usize = 10_000;

/// Key that may name a file.
pub(super) const KEY: &str = "sections";

/// Names of columns and the keys of a section that they become.
const LENGTH: (&str, &str) = ("centre_line_length", "at");
const RADIUS: &str = "radius_of_curvature";

/// Replaces `sections: NAME.csv` in every part of `parts` by what stands in the file.
pub(super) fn resolve(parts: &mut Node, path: &str, files: &Files, log: &Log) {
    let Content::Map(parts) = &mut parts.content else { return };
    for part in parts {
        let path = join(path, &part.key);
        let Content::Map(keys) = &mut part.value.content else { continue };
        let Some(at) = keys.iter().position(|entry| entry.key == KEY) else { continue };
        let Some(name) = keys[at].value.text().map(str::to_owned) else { continue };
        let Some((sections, bends)) = load(&name, &keys[at].value.place, &join(&path, KEY), files, log) else {
            log.give_up(&path);
            continue;
        };
        let length = sections.list().and_then(|rows| rows.last()?.get("at").cloned());
        keys[at].value = sections;
        if let Some(length) = length.filter(|_| !keys.iter().any(|entry| entry.key == "length" || entry.key == "like"))
        {
            let place = keys[at].place.clone();
            keys.push(Entry { key: "length".to_owned(), place, value: length });
        }
        let Some(bends) = bends else { continue };
        if let Some(own) = keys.iter().find(|entry| entry.key == "bends") {
            let expected = format!("bends either here or in the column `{RADIUS}` of {name}");
            log.wrong(&own.place, &join(&path, "bends"), "bends twice", expected);
        } else {
            let place = keys[at].place.clone();
            keys.push(Entry { key: "bends".to_owned(), place, value: bends });
        }
    }
}

/// Sections and, if the file has a column of radii, bends.
fn load(name: &str, place: &Place, path: &str, files: &Files, log: &Log) -> Option<(Node, Option<Node>)> {
    let (file, text) = match files.read(name, place, "csv") {
        Ok(read) => read,
        Err((found, expected)) => {
            log.wrong(place, path, found, expected);
            return None;
        }
    };
    match Table::read(&file, &text) {
        Ok(table) => {
            let bends = table.bends();
            bends
                .map(|bends| (table.sections(), bends))
                .map_err(|fault| log.wrong(&fault.0, path, fault.1, fault.2))
                .ok()
        }
        Err((place, found, expected)) => {
            log.wrong(&place, path, found, expected);
            None
        }
    }
}

/// Place, what was found, what was expected.
type Fault = (Place, String, String);

struct Column {
    name: String,
    unit: String,
}

struct Row {
    place: Place,
    cells: Vec<String>,
}

struct Table {
    whole: Place,
    columns: Vec<Column>,
    rows: Vec<Row>,
}

impl Table {
    fn read(file: &Arc<str>, text: &str) -> Result<Self, Fault> {
        let mut lines: Vec<Row> = Vec::new();
        for (index, line) in text.trim_start_matches('\u{feff}').lines().enumerate() {
            if line.trim().is_empty() || line.starts_with('#') {
                continue;
            }
            let place = Place { file: Arc::clone(file), line: u32::try_from(index + 1).unwrap_or(u32::MAX), column: 1 };
            if lines.len() > MOST_ROWS {
                return Err((place, format!("more than {MOST_ROWS} rows"), "fewer".to_owned()));
            }
            let cells =
                cells(line, b',').map_err(|error| (place.clone(), error.to_string(), "a CSV row".to_owned()))?;
            let header = lines.first().map_or(cells.len(), |header| header.cells.len());
            if cells.len() != header {
                return Err((place, format!("{} cells", cells.len()), format!("{header}, as in the header")));
            }
            lines.push(Row { place, cells });
        }
        let whole = Place::whole(file);
        if lines.len() < 2 {
            return Err((whole, "no rows".to_owned(), "a header and at least one row".to_owned()));
        }
        let header = lines.remove(0);
        let columns = header.cells.iter().map(|cell| column(cell, &header.place)).collect::<Result<Vec<_>, _>>()?;
        for (index, one) in columns.iter().enumerate() {
            if columns.iter().take(index).any(|other| other.name == one.name) {
                return Err((header.place, format!("the column `{}` twice", one.name), "each column once".to_owned()));
            }
        }
        for needed in [LENGTH.0, "area"] {
            if !columns.iter().any(|column| column.name == needed) {
                let expected = format!("a header such as `{} [mm], area [cm2], perimeter [mm]`", LENGTH.0);
                return Err((header.place, format!("no column `{needed}`"), expected));
            }
        }
        Ok(Self { whole, columns, rows: lines })
    }

    /// A list of maps, one a row.
    fn sections(&self) -> Node {
        let row = |row: &Row| {
            let cells = self.columns.iter().zip(&row.cells).filter(|(column, _)| column.name != RADIUS);
            let entry = |(column, cell): (&Column, &String)| {
                let key = if column.name == LENGTH.0 { LENGTH.1 } else { &column.name };
                let text = format!("{cell} {}", column.unit);
                entry(key, text.trim().to_owned(), &row.place)
            };
            map(cells.map(entry).collect(), &row.place)
        };
        Node { place: self.whole.clone(), content: Content::List(self.rows.iter().map(row).collect()) }
    }

    /// A list of bends from the column of radii.
    fn bends(&self) -> Result<Option<Node>, Fault> {
        let Some(radius) = self.columns.iter().position(|column| column.name == RADIUS) else { return Ok(None) };
        let Some(length) = self.columns.iter().position(|column| column.name == LENGTH.0) else { return Ok(None) };
        let mut stations = Vec::new();
        for row in &self.rows {
            let at = self.si(row, length)?;
            let curvature = match row.cells.get(radius).map_or("", String::as_str) {
                "" => 0.0,
                _ => match self.si(row, radius)? {
                    0.0 => 0.0,
                    radius => 1.0 / radius,
                },
            };
            stations.push((at, curvature));
        }
        let bend = |bend: &Bend| {
            let text = |value: f64, unit: &str| format!("{value} {unit}");
            let entries =
                [("at", bend.at, "m"), ("angle", bend.angle, "rad"), ("radius", bend.length / bend.angle, "m")];
            map(entries.map(|(key, value, unit)| entry(key, text(value, unit), &self.whole)).into(), &self.whole)
        };
        let bends: Vec<Node> = bends_of(&stations).iter().map(bend).collect();
        Ok((!bends.is_empty()).then(|| Node { place: self.whole.clone(), content: Content::List(bends) }))
    }

    fn si(&self, row: &Row, column: usize) -> Result<f64, Fault> {
        let text = format!("{} {}", row.cells.get(column).map_or("", String::as_str), self.columns[column].unit);
        let named = |found: String| format!("{found} in the column `{}`", self.columns[column].name);
        quantity::parse(&text, Dimension::Length)
            .map_err(|fault| (row.place.clone(), named(fault.found), fault.expected))
    }
}

/// A stretch that turns one way.
#[derive(Debug, PartialEq)]
struct Bend {
    /// Start [m].
    at: f64,
    /// Length [m].
    length: f64,
    /// Angle [rad], positive.
    angle: f64,
}

/// Bends along stations of (length [m], signed curvature [1/m]).
fn bends_of(stations: &[(f64, f64)]) -> Vec<Bend> {
    let mut bends: Vec<Bend> = Vec::new();
    let mut turning = 0.0;
    for (index, &(at, curvature)) in stations.iter().enumerate() {
        let before = index.checked_sub(1).map_or(at, |before| 0.5 * (stations[before].0 + at));
        let after = stations.get(index + 1).map_or(at, |after| 0.5 * (after.0 + at));
        let (length, angle) = (after - before, (after - before) * curvature.abs());
        let same_way = curvature * turning > 0.0;
        turning = curvature;
        match bends.last_mut() {
            _ if angle <= 0.0 => {}
            Some(bend) if same_way => {
                bend.length += length;
                bend.angle += angle;
            }
            _ => bends.push(Bend { at: before, length, angle }),
        }
    }
    bends
}

/// The cells of one line. Line by line, so that a quote that never closes spoils one line only and every row knows its own.
pub(crate) fn cells(line: &str, separator: u8) -> Result<Vec<String>, csv::Error> {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .delimiter(separator)
        .trim(csv::Trim::All)
        .from_reader(line.as_bytes());
    let mut record = csv::StringRecord::new();
    reader.read_record(&mut record)?;
    Ok(record.iter().map(str::to_owned).collect())
}

/// `name [unit]`.
fn column(cell: &str, place: &Place) -> Result<Column, Fault> {
    let expected = "a column such as `area [cm2]`".to_owned();
    let parts = cell.strip_suffix(']').and_then(|cell| cell.split_once('['));
    match parts {
        Some((name, unit)) if !name.trim().is_empty() => {
            Ok(Column { name: name.trim().to_owned(), unit: unit.trim().to_owned() })
        }
        _ => Err((place.clone(), format!("the column {}", quote(cell)), expected)),
    }
}

fn entry(key: &str, text: String, place: &Place) -> Entry {
    Entry { key: key.to_owned(), place: place.clone(), value: Node::plain(text, place.clone()) }
}

fn map(entries: Vec<Entry>, place: &Place) -> Node {
    Node { place: place.clone(), content: Content::Map(entries) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_arc_turns_by_its_length_over_its_radius() {
        let stations: Vec<(f64, f64)> = (0..=40).map(|i| (0.01 * f64::from(i), 1.0 / 0.2)).collect();
        let bends = bends_of(&stations);
        assert_eq!(bends.len(), 1);
        assert!((bends[0].angle - 0.4 / 0.2).abs() < 1e-12 && (bends[0].length - 0.4).abs() < 1e-12, "{bends:?}");
    }

    #[test]
    fn stations_share_out_the_whole_length_and_turns_split_bends() {
        let stations = [(0.0, 2.0), (0.1, 2.0), (0.2, -4.0), (0.4, -4.0), (0.5, 0.0), (0.6, 1.0)];
        let bends = bends_of(&stations);
        assert_eq!(bends.len(), 3);
        let angles: Vec<f64> = bends.iter().map(|bend| bend.angle).collect();
        for (angle, exact) in angles.iter().zip([0.15 * 2.0, 0.3 * 4.0, 0.05]) {
            assert!((angle - exact).abs() < 1e-12, "{angles:?}");
        }
        assert!((bends[1].at - 0.15).abs() < 1e-12 && (bends[1].length / bends[1].angle - 0.25).abs() < 1e-12);
        assert!(bends_of(&[(0.0, 0.0), (1.0, 0.0)]).is_empty());
    }
}
