//! Curves of filters from CSV files, as a bench writes them: `file: sheet.csv` becomes the lists that it holds.

use super::csv_cells;
use super::files::Files;
use crate::fields::{Log, join};
use crate::quantity::quote;
use crate::yaml::{Content, Entry, Node, Place};

/// Where curves stand in a part, and the columns that each may have.
const CURVES: [(&[&str], &[&str]); 2] =
    [(&["curve"], &["flow", "volume_flow", "drop"]), (&["dust", "loading"], &["mass", "drop"])];
/// Key that names a file.
const KEY: &str = "file";
/// Most rows of a curve.
const MOST_ROWS: usize = 1_000;

/// Puts the columns of the files that curves name in their places, in every part of `parts`.
pub(super) fn resolve(parts: &mut Node, path: &str, files: &Files, log: &Log) {
    let Content::Map(parts) = &mut parts.content else { return };
    for part in parts {
        let path = join(path, &part.key);
        for (way, columns) in CURVES {
            let Some((map, path)) = descend(&mut part.value, way, &path) else { continue };
            let Content::Map(keys) = &mut map.content else { continue };
            let Some(at) = keys.iter().position(|entry| entry.key == KEY) else { continue };
            let named = keys.remove(at);
            let path = join(&path, KEY);
            let Some(name) = named.value.text() else {
                log.wrong(&named.place, &path, named.value.describe(), "the name of a CSV file");
                continue;
            };
            match read(name, &named.value.place, columns, files) {
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
                    log.give_up(&path);
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

/// The columns of a file as lists of one unit: key, text, place.
fn read(name: &str, place: &Place, columns: &[&str], files: &Files) -> Result<Vec<(String, String, Place)>, Fault> {
    let (file, text) = files.read(name, place, "csv").map_err(|(found, expected)| (place.clone(), found, expected))?;
    let mut rows = text
        .trim_start_matches('\u{feff}')
        .lines()
        .enumerate()
        .filter(|(_, line)| !line.trim().is_empty() && !line.starts_with('#'))
        .map(|(index, line)| {
            (Place { file: file.clone(), line: u32::try_from(index + 1).unwrap_or(u32::MAX), column: 1 }, line)
        });
    let expected = || {
        format!(
            "a header such as `{}`",
            columns.iter().map(|column| format!("{column} [unit]")).collect::<Vec<_>>().join(", ")
        )
    };
    let Some((head_place, head)) = rows.next() else {
        return Err((Place::whole(&file), "no rows".to_owned(), expected()));
    };
    let separator = if head.contains(';') { b';' } else { b',' };
    let cells = |line: &str, place: &Place| {
        csv_cells(line, separator).map_err(|error| (place.clone(), error.to_string(), "a CSV row".to_owned()))
    };
    let mut lists: Vec<(String, String, Vec<String>)> = Vec::new();
    for cell in cells(head, &head_place)? {
        let parts = cell.strip_suffix(']').and_then(|cell| cell.split_once('['));
        match parts.map(|(name, unit)| (name.trim().to_owned(), unit.trim().to_owned())) {
            Some((name, unit)) if columns.contains(&name.as_str()) => lists.push((name, unit, Vec::new())),
            _ => return Err((head_place, format!("the column {}", quote(&cell)), expected())),
        }
    }
    for (row_place, line) in rows.by_ref().take(MOST_ROWS + 1) {
        let cells = cells(line, &row_place)?;
        if cells.len() != lists.len() {
            return Err((row_place, format!("{} cells", cells.len()), format!("{}, as in the header", lists.len())));
        }
        for (list, cell) in lists.iter_mut().zip(cells) {
            if cell.parse::<f64>().is_err() {
                return Err((
                    row_place,
                    format!("{} in the column `{}`", quote(&cell), list.0),
                    "a number with a decimal point".to_owned(),
                ));
            }
            list.2.push(cell);
        }
    }
    let rows = lists.first().map_or(0, |list| list.2.len());
    if !(1..=MOST_ROWS).contains(&rows) {
        let found = if rows == 0 { "no rows".to_owned() } else { format!("more than {MOST_ROWS} rows") };
        return Err((Place::whole(&file), found, format!("1 to {MOST_ROWS} rows below the header")));
    }
    let whole = Place::whole(&file);
    Ok(lists
        .into_iter()
        .map(|(key, unit, values)| (key, format!("{} {unit}", values.join(" ")), whole.clone()))
        .collect())
}
