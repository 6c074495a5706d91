//! Speed lines of a compressor from a CSV file, as test stands write them.
//!
//! The header names a column and its unit, `corrected_flow [g/s]`; the columns are those of [`crate::powertrain::compressor::read_rows`]. Rows of one
//! speed are one line.

use super::files::Files;
use crate::fields::Log;
use crate::powertrain::MapRow;
use crate::powertrain::compressor::read_rows;
use crate::yaml::{Content, Entry, Node, Place};

/// Key that may name a file.
pub(super) const KEY: &str = "lines";
/// Where it stands.
const PATH: &str = "engine.compressor.lines";

/// Replaces `lines: NAME.csv` in the compressor of the section `engine` by what stands in the file.
pub(super) fn resolve(engine: &mut Node, files: &Files, log: &Log) {
    let Content::Map(keys) = &mut engine.content else { return };
    let compressor = keys.iter_mut().find(|entry| entry.key == "compressor").map(|entry| &mut entry.value.content);
    let Some(Content::Map(keys)) = compressor else { return };
    for entry in keys.iter_mut().filter(|entry| entry.key == KEY) {
        let Some(name) = entry.value.text().map(str::to_owned) else { continue };
        let place = entry.value.place.clone();
        match files.read(&name, &place, "csv") {
            Err((found, expected)) => {
                log.wrong(&place, PATH, found, expected);
                // What is wrong with the file has been told: its name is not to be taken for a wrong list too.
                entry.value = lines(&[], &place);
            }
            Ok((file, text)) => match read_rows(&file, &text) {
                Ok((rows, _)) => entry.value = lines(&rows, &Place::whole(&file)),
                Err(fault) => {
                    let (line, column) = (fault.location.line.max(1), fault.location.column.max(1));
                    let number = |value: usize| u32::try_from(value).unwrap_or(u32::MAX);
                    let at = Place { file: file.clone(), line: number(line), column: number(column) };
                    let found = fault.column.map_or(fault.found.clone(), |name| format!("{} in `{name}`", fault.found));
                    log.wrong(&at, PATH, found, fault.expected);
                    entry.value = lines(&[], &place);
                }
            },
        }
    }
}

/// A list of maps, one a speed.
fn lines(rows: &[MapRow], place: &Place) -> Node {
    let same = |one: &MapRow, other: &MapRow| one.corrected_speed.to_bits() == other.corrected_speed.to_bits();
    let list = rows.chunk_by(same).map(|line| {
        let all =
            |value: fn(&MapRow) -> f64| line.iter().map(|row| value(row).to_string()).collect::<Vec<_>>().join(" ");
        let turns = line[0].corrected_speed / (2.0 * std::f64::consts::PI);
        let entries = [
            ("speed", format!("{turns} Hz")),
            ("flow", format!("{} kg/s", all(|row| row.corrected_flow))),
            ("pressure_ratio", all(|row| row.pressure_ratio)),
            ("efficiency", all(|row| row.efficiency)),
        ];
        let entry = |(key, text): (&str, String)| Entry {
            key: key.to_owned(),
            place: place.clone(),
            value: Node::plain(text, place.clone()),
        };
        Node { place: place.clone(), content: Content::Map(entries.map(entry).into()) }
    });
    Node { place: place.clone(), content: Content::List(list.collect()) }
}
