//! A log in SI: what the case says of its columns, applied to a sheet.

mod asked;

use super::column::{Column, Header, column, value};
use super::runs::{resampled, rises, time_between, usual_gap, usual_step};
use super::sheet::Sheet;
use crate::case::measured::{LongForm, Meaning, Measured};
use crate::case::{Case, Number};
use crate::error::{CaseError, Error, Location, Problem};
use crate::quantity::decimal::number;
use crate::quantity::{self, Dimension, Unit, quote};
use std::cmp::Ordering;
use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use std::path::Path;

/// Measurements in SI, with what was kept out of them.
#[derive(Debug, Clone, PartialEq)]
pub struct Log {
    /// Name of the file.
    pub file: String,
    /// What the file has of each channel of the case, in the order of the case; `None` where it has no such column.
    pub channels: Vec<Option<ChannelData>>,
    /// The rows that count, in the order of the file.
    pub rows: Vec<LogRow>,
    /// What was noticed, in the order of the file.
    pub told: Vec<Told>,
    /// Number of rows below the header.
    pub rows_read: usize,
    /// Headers that the case does not speak of.
    pub unused: Vec<String>,
    /// Usual time between two rows [s]; `None` without times.
    pub step: Option<f64>,
    /// Stretches without rows, longer than the longest gap.
    pub dropouts: usize,
    /// Number of runs: pulls, or stretches in which time goes on.
    pub runs: usize,
    /// How the file is written, in words.
    pub form: String,
}

/// What a log has of a channel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChannelData {
    /// Unit in which it is written.
    pub unit: &'static Unit,
    /// What it measures.
    pub dimension: Dimension,
    /// Cells without a value.
    pub missing: usize,
    /// Usual time between two of its values [s]; `None` without times.
    pub step: Option<f64>,
}

/// A row.
#[derive(Debug, Clone, PartialEq)]
pub struct LogRow {
    /// Line in the file; of a resampled row the one before it.
    pub line: usize,
    /// Time [s]; `None` of a log without times.
    pub time: Option<f64>,
    /// Number of its run.
    pub run: usize,
    /// Values in SI by channel; `None` where there is none.
    pub values: Vec<Option<f64>>,
}

/// Something noticed in a log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told {
    /// Line in the file.
    pub line: usize,
    /// What was found and expected.
    pub text: String,
    /// Whether the row is kept out of everything.
    pub kept_out: bool,
}

impl Log {
    /// Reads the log at `path` as `case` says.
    ///
    /// # Errors
    /// The case has no `measured`, the file cannot be read, or a column has no unit or one that does not fit.
    pub fn from_path(case: &Case, path: &Path) -> Result<Self, Error> {
        let measured = case.measured.as_ref().ok_or_else(|| asked::meaning(case))?;
        let sheet = Sheet::from_path(path, &wanted(measured))?;
        Ok(Self::of(case, measured, &sheet)?)
    }

    /// Reads `sheet` as `case` says in `measured`.
    ///
    /// # Errors
    /// A column has no unit or one that does not fit, or a long form lacks a column.
    pub fn of(case: &Case, measured: &Measured, sheet: &Sheet) -> Result<Self, CaseError> {
        let numbers = case.numbers();
        asked::decimal_sign(measured, sheet)?;
        let comma = measured.decimal_comma.unwrap_or_else(|| sheet.has_decimal_comma());
        let mut reading = Reading::default();
        let broken = sheet.broken.iter();
        reading.told.extend(broken.map(|(line, found)| Told { line: *line, text: found.clone(), kept_out: true }));
        let (columns, unused) = match &measured.long {
            Some(long) => reading.long(sheet, measured, long, &numbers, comma)?,
            None => reading.wide(sheet, measured, &numbers, comma)?,
        };
        let mut channels: Vec<Option<ChannelData>> = vec![None; measured.channels.len()];
        for column in &columns {
            let values = reading.rows.iter().map(|row| row.values[column.channel]);
            // In a long form a row is of one channel, and an empty cell is none of another's.
            let missing = if measured.long.is_some() { 0 } else { values.filter(Option::is_none).count() };
            let step = usual_step(&reading.rows, |row| row.values[column.channel].is_some());
            channels[column.channel] =
                Some(ChannelData { unit: column.unit, dimension: column.dimension, missing, step });
        }
        asked::settings(measured, sheet, &channels)?;
        let step = usual_step(&reading.rows, |_| true);
        let gap = measured.gap.or(step.map(usual_gap)).unwrap_or(f64::INFINITY);
        let apart = |pair: &[LogRow]| pair[0].run == pair[1].run && time_between(pair).is_some_and(|time| time > gap);
        let dropouts =
            if measured.long.is_some() { 0 } else { reading.rows.windows(2).filter(|pair| apart(pair)).count() };
        if let Some(every) = measured.every {
            reading.rows = resampled(&reading.rows, every, measured.gap);
        }
        if let Some(pulls) = measured.pulls {
            reading.keep_pulls(pulls);
        }
        reading.told.sort_by_key(|told| told.line);
        let runs = reading.rows.iter().map(|row| row.run).collect::<std::collections::BTreeSet<_>>().len();
        let separator = match sheet.separator {
            ';' => "semicolons",
            '\t' => "tabs",
            _ => "commas",
        };
        let sign = if comma { "decimal comma" } else { "decimal point" };
        let form = if measured.long.is_some() { "long form" } else { "wide form" };
        let letters = if sheet.latin { ", Latin-1" } else { "" };
        Ok(Self {
            file: sheet.file.clone(),
            channels,
            rows: reading.rows,
            told: reading.told,
            rows_read: sheet.rows.len() + sheet.broken.len(),
            unused,
            step,
            dropouts,
            runs,
            form: format!("{form}, {separator}, {sign}{letters}, header in line {}", sheet.header_line),
        })
    }
}

/// Names by which a header is known.
fn wanted(measured: &Measured) -> Vec<&str> {
    match &measured.long {
        Some(long) => vec![&long.time, &long.name, &long.value],
        None => measured.channels.iter().map(|channel| channel.header.as_str()).collect(),
    }
}

/// Rows while they are read.
#[derive(Default)]
struct Reading {
    rows: Vec<LogRow>,
    told: Vec<Told>,
}

type Columns<'a> = (Vec<Column<'a>>, Vec<String>);

impl Reading {
    fn wide<'a>(
        &mut self,
        sheet: &Sheet,
        measured: &'a Measured,
        numbers: &[Number],
        comma: bool,
    ) -> Result<Columns<'a>, CaseError> {
        let (mut columns, mut problems, mut used) = (Vec::new(), Vec::new(), Vec::new());
        for (number, channel) in measured.channels.iter().enumerate() {
            let Some(place) = sheet.column(&channel.header) else { continue };
            if sheet.is_twice(&channel.header) {
                problems.push(Problem {
                    location: Location { file: sheet.file.clone(), line: sheet.header_line, column: 0 },
                    path: format!("measured.columns.{}", channel.name),
                    found: format!("two columns {}", quote(&channel.header)),
                    expected: "one, or a `header` with the unit as it stands in the log".to_owned(),
                    nearest: None,
                });
            }
            used.push(place);
            let header =
                Header { unit: sheet.columns[place].unit.as_deref(), file: &sheet.file, line: sheet.header_line };
            match column(number, channel, &header, numbers) {
                Ok(column) => columns.push((place, column)),
                Err(error) => problems.extend(error.problems),
            }
        }
        if !problems.is_empty() {
            return Err(CaseError { problems });
        }
        let mut last: Option<f64> = None;
        let mut run = 0;
        for (line, cells) in &sheet.rows {
            let mut values = vec![None; measured.channels.len()];
            let mut fault = None;
            for (place, column) in &columns {
                match value(&cells[*place], column, comma) {
                    Ok(value) => values[column.channel] = value,
                    Err(found) => fault = fault.or(Some(found)),
                }
            }
            let (time, has_time) = time_of(measured, &columns, &values);
            let fault = fault.or_else(|| (has_time && time.is_none()).then(|| "no time".to_owned()));
            let again = time.is_some() && time == last;
            if let Some(text) = fault.or_else(|| again.then(|| "the time of the row before it once more".to_owned())) {
                self.told.push(Told { line: *line, text, kept_out: true });
                continue;
            }
            if time < last && last.is_some() {
                run += 1;
                self.begin_another_run(*line);
            }
            last = time;
            self.rows.push(LogRow { line: *line, time, run, values });
        }
        let unused = (0..sheet.columns.len()).filter(|place| !used.contains(place));
        let unused = unused.map(|place| sheet.columns[place].header.clone()).collect();
        Ok((columns.into_iter().map(|(_, column)| column).collect(), unused))
    }

    fn long<'a>(
        &mut self,
        sheet: &Sheet,
        measured: &'a Measured,
        long: &LongForm,
        numbers: &[Number],
        comma: bool,
    ) -> Result<Columns<'a>, CaseError> {
        let place = |header: &str| {
            sheet.column(header).ok_or_else(|| CaseError {
                problems: vec![Problem {
                    location: Location { file: sheet.file.clone(), line: sheet.header_line, column: 0 },
                    path: "measured.long".to_owned(),
                    found: format!("no column {}", quote(header)),
                    expected: format!("one of: {}", headers(sheet)),
                    nearest: None,
                }],
            })
        };
        let (time_at, name_at, value_at) = (place(&long.time)?, place(&long.name)?, place(&long.value)?);
        let unit_at = long.unit.as_deref().map(place).transpose()?;
        let Some(time_unit) = long.time_unit.as_deref().or(sheet.columns[time_at].unit.as_deref()) else {
            return Err(CaseError {
                problems: vec![Problem {
                    location: Location { file: sheet.file.clone(), line: sheet.header_line, column: 0 },
                    path: "measured.long.time".to_owned(),
                    found: format!("a column {} without a unit", quote(&long.time)),
                    expected: "`[unit]` in its header, or `time_unit` in the case".to_owned(),
                    nearest: None,
                }],
            });
        };
        let mut columns: BTreeMap<usize, Column<'a>> = BTreeMap::new();
        let mut unused = Vec::new();
        // Some loggers write channel after channel: each has its own clock, as run and last time.
        let mut clocks = vec![(0, f64::NEG_INFINITY); measured.channels.len()];
        let mut runs = 0;
        for (line, cells) in &sheet.rows {
            let Some(channel) = measured.channels.iter().position(|channel| channel.header == cells[name_at]) else {
                if !unused.contains(&cells[name_at]) {
                    unused.push(cells[name_at].clone());
                }
                continue;
            };
            let unit = unit_at.map(|at| cells[at].as_str()).filter(|unit| !unit.is_empty());
            let known = match columns.entry(channel) {
                Entry::Occupied(known) => {
                    let known = known.into_mut();
                    if let Some(other) = unit.filter(|unit| !known.is_in(unit)) {
                        let text = format!(
                            "{} in {}, expected {} as in the rows before",
                            quote(other),
                            quote(&cells[name_at]),
                            known.unit.symbol
                        );
                        self.told.push(Told { line: *line, text, kept_out: true });
                        continue;
                    }
                    known
                }
                Entry::Vacant(place) => {
                    let header = Header { unit, file: &sheet.file, line: *line };
                    place.insert(column(channel, &measured.channels[channel], &header, numbers)?)
                }
            };
            let time = number(&cells[time_at], comma)
                .map_err(|(found, expected)| format!("time {found}, expected {expected}"));
            let time = time.and_then(|time| {
                quantity::parse(&format!("{time} {time_unit}"), Dimension::Time).map_err(|fault| fault.found)
            });
            let read = time.and_then(|time| Ok((time, value(&cells[value_at], known, comma)?)));
            match read {
                Ok((time, value)) => {
                    let (run, last) = &mut clocks[channel];
                    *run += usize::from(time < *last);
                    *last = time;
                    if *run > runs {
                        runs = *run;
                        self.begin_another_run(*line);
                    }
                    let run = *run;
                    let mut values = vec![None; measured.channels.len()];
                    values[channel] = value;
                    self.rows.push(LogRow { line: *line, time: Some(time), run, values });
                }
                Err(text) => self.told.push(Told { line: *line, text, kept_out: true }),
            }
        }
        self.rows
            .sort_by(|a, b| a.run.cmp(&b.run).then_with(|| a.time.partial_cmp(&b.time).unwrap_or(Ordering::Equal)));
        Ok((columns.into_values().collect(), unused))
    }

    fn begin_another_run(&mut self, line: usize) {
        self.told.push(Told { line, text: "time goes back: another run begins".to_owned(), kept_out: false });
    }

    /// Leaves the rows of rises of a channel, each a run of its own.
    fn keep_pulls(&mut self, channel: usize) {
        let values: Vec<(usize, usize, f64)> = self
            .rows
            .iter()
            .enumerate()
            .filter_map(|(index, row)| Some((index, row.run, row.values[channel]?)))
            .collect();
        let rises = rises(&values);
        let count = self.rows.len();
        let mut kept = Vec::new();
        for (run, (from, to)) in rises.into_iter().enumerate() {
            kept.extend(self.rows[from..=to].iter().cloned().map(|row| LogRow { run, ..row }));
        }
        if kept.len() < count {
            let text = format!("{} rows in which no pull rises are left out", count - kept.len());
            self.told.push(Told { line: 0, text, kept_out: false });
        }
        self.rows = kept;
    }
}

fn headers(sheet: &Sheet) -> String {
    sheet.columns.iter().map(|column| column.header.as_str()).collect::<Vec<_>>().join(", ")
}

fn time_of(measured: &Measured, columns: &[(usize, Column<'_>)], values: &[Option<f64>]) -> (Option<f64>, bool) {
    let time = columns.iter().find(|(_, column)| measured.channels[column.channel].meaning == Meaning::Time);
    (time.and_then(|(_, column)| values[column.channel]), time.is_some())
}

#[cfg(test)]
mod tests;
