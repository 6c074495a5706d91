//! Curves of filters from CSV files, as a bench writes them: `file: sheet.csv` becomes the lists that it holds.

use super::csv_cells;
use super::files::Files;
use crate::fields::{Log, join};
use crate::quantity::decimal::{has_comma, number};
use crate::quantity::quote;
use crate::yaml::{Content, Entry, Node, Place};

/// Where curves stand in a part, and the columns that each asks for: of each group one.
const CURVES: [(&[&str], &[&[&str]]); 2] =
    [(&["curve"], &[&["flow", "volume_flow"], &["drop"]]), (&["dust", "loading"], &[&["mass"], &["drop"]])];
/// Key that names a file.
const KEY: &str = "file";
/// Most rows of a curve.
const MOST_ROWS: usize = 1_000;

/// Puts the columns of the files that curves name in their places, in every part of `parts`.
pub(super) fn resolve(parts: &mut Node, path: &str, files: &Files, log: &Log) {
    let Content::Map(parts) = &mut parts.content else { return };
    for part in parts {
        let of_part = join(path, &part.key);
        for (way, asked) in CURVES {
            let Some((map, path)) = descend(&mut part.value, way, &of_part) else { continue };
            let Content::Map(keys) = &mut map.content else { continue };
            let Some(at) = keys.iter().position(|entry| entry.key == KEY) else { continue };
            let named = keys.remove(at);
            let path = join(&path, KEY);
            let Some(name) = named.value.text() else {
                log.wrong(&named.place, &path, named.value.describe(), "the name of a CSV file");
                log.give_up(&of_part);
                continue;
            };
            match read(name, &named.value.place, asked, files) {
                Ok(lists) => {
                    for (key, text, place) in lists {
                        if let Some(own) = keys.iter().find(|entry| entry.key == key) {
                            log.wrong(&own.place, &path, format!("`{key}` twice"), format!("either here or in {name}"));
                        }
                        keys.push(Entry { key, place: place.clone(), value: Node::plain(text, place) });
                    }
                }
                Err((place, found, expected)) => {
                    log.wrong(&place, &path, found, expected);
                    log.give_up(&of_part);
                }
            }
        }
    }
}

/// The map at the end of `way` below a part, and its path.
fn descend<'a>(part: &'a mut Node, way: &[&str], path: &str) -> Option<(&'a mut Node, String)> {
    let (mut node, mut path) = (part, path.to_owned());
    for step in way {
        let Content::Map(entries) = &mut node.content else { return None };
        node = &mut entries.iter_mut().find(|entry| entry.key == *step)?.value;
        path = join(&path, step);
    }
    Some((node, path))
}

/// Place, what was found, what was expected.
type Fault = (Place, String, String);

/// A column that is asked for.
struct Column {
    key: String,
    unit: String,
    /// Its place among the columns of the file.
    index: usize,
}

/// The columns of a file as lists of one unit: key, text, place. Columns that nobody asks for are left alone.
fn read(name: &str, place: &Place, asked: &[&[&str]], files: &Files) -> Result<Vec<(String, String, Place)>, Fault> {
    let (file, text) = files.read(name, place, "csv").map_err(|(found, expected)| (place.clone(), found, expected))?;
    let whole = Place::whole(&file);
    let mut lines = text
        .trim_start_matches('\u{feff}')
        .lines()
        .enumerate()
        .filter(|(_, line)| !line.trim().is_empty() && !line.starts_with('#'))
        .map(|(index, line)| {
            (Place { file: file.clone(), line: u32::try_from(index + 1).unwrap_or(u32::MAX), column: 1 }, line)
        });
    let Some((head_place, head)) = lines.next() else { return Err((whole, "no rows".to_owned(), header(asked))) };
    let separator = [b';', b','].into_iter().find(|separator| head.contains(char::from(*separator))).unwrap_or(b'\t');
    let cells = |line: &str, place: &Place| {
        csv_cells(line, separator).map_err(|error| (place.clone(), error.to_string(), "a CSV row".to_owned()))
    };
    let head = cells(head, &head_place)?;
    let columns = columns(&head, asked).map_err(|(found, expected)| (head_place, found, expected))?;
    let mut rows: Vec<(Place, Vec<String>)> = Vec::new();
    for (place, line) in lines.take(MOST_ROWS + 1) {
        let mut row = cells(line, &place)?;
        // A trailing separator is a habit of some benches.
        if row.len() == head.len() + 1 && row.last().is_some_and(String::is_empty) {
            row.pop();
        }
        if row.len() != head.len() {
            return Err((place, format!("{} cells", row.len()), format!("{}, as in the header", head.len())));
        }
        rows.push((place, row));
    }
    if !(1..=MOST_ROWS).contains(&rows.len()) {
        let found = if rows.is_empty() { "no rows".to_owned() } else { format!("more than {MOST_ROWS} rows") };
        return Err((whole, found, format!("1 to {MOST_ROWS} rows below the header")));
    }
    let values = rows.iter().flat_map(|(_, row)| columns.iter().map(|column| row[column.index].as_str()));
    let comma = has_comma(char::from(separator), values);
    let list = |column: Column| {
        let value = |(place, row): &(Place, Vec<String>)| {
            number(&row[column.index], comma).map(|value| value.to_string()).map_err(|(found, expected)| {
                (place.clone(), format!("{found} in the column `{}`", column.key), expected.to_owned())
            })
        };
        let values = rows.iter().map(value).collect::<Result<Vec<_>, Fault>>()?;
        Ok((column.key, format!("{} {}", values.join(" "), column.unit), whole.clone()))
    };
    columns.into_iter().map(list).collect()
}

/// A header that holds what is asked for.
fn header(asked: &[&[&str]]) -> String {
    let group = |group: &&[&str]| group.iter().map(|key| format!("{key} [unit]")).collect::<Vec<_>>().join("` or `");
    format!("a header with the columns `{}`", asked.iter().map(group).collect::<Vec<_>>().join("`, `"))
}

/// The columns that are asked for, each once; else what was found and what was expected.
fn columns(head: &[String], asked: &[&[&str]]) -> Result<Vec<Column>, (String, String)> {
    let mut columns: Vec<Column> = Vec::new();
    for (index, cell) in head.iter().enumerate() {
        let with_unit = cell.strip_suffix(']').and_then(|cell| cell.split_once('['));
        let name = with_unit.map_or(cell.as_str(), |(name, _)| name.trim());
        let Some(key) = asked.iter().copied().flatten().find(|key| key.eq_ignore_ascii_case(name)) else { continue };
        let (true, Some((_, unit))) = (*key == name, with_unit) else {
            return Err((format!("the column {}", quote(cell)), format!("`{key} [unit]`, or another name")));
        };
        if columns.iter().any(|column| column.key == name) {
            return Err((format!("the column `{name}` twice"), "each column once".to_owned()));
        }
        columns.push(Column { key: name.to_owned(), unit: unit.trim().to_owned(), index });
    }
    let is_there = |group: &&[&str]| columns.iter().any(|column| group.contains(&column.key.as_str()));
    if asked.iter().all(is_there) {
        Ok(columns)
    } else {
        Err((format!("the columns {}", quote(&head.join(", "))), header(asked)))
    }
}
