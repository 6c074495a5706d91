//! States that were measured: rows of a log put together.

use super::Log;
use crate::case::measured::{Measured, Stations};
use crate::case::{Case, NewValue};
use crate::error::{CaseError, Location, Problem};
use crate::quantity::quote;

/// Most steady states of a log. Nobody has more on purpose.
const MOST_STATIONS: usize = 3_000;

/// Things noticed in a log that are told where nothing is left of it.
const TOLD: usize = 3;

/// A state that was measured: a steady one, or one that a pull or roll-on comes by.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// What tells it from the others: `3000 rpm`, `line 14`.
    pub name: String,
    /// Its log.
    pub file: String,
    /// Line of its first row.
    pub line: usize,
    /// Numbers of the case that it gives: path, value in SI.
    pub sets: Vec<(String, f64)>,
    /// Means by channel of the case; `None` where it has none.
    pub means: Vec<Option<Mean>>,
}

/// The mean of a channel over the rows of a station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mean {
    /// The mean [SI].
    pub value: f64,
    /// One standard deviation of it [SI]: the channel's accuracy, and the scatter of what was averaged over the root of its number.
    pub spread: f64,
    /// Number of rows.
    pub rows: usize,
    /// Number of runs.
    pub runs: usize,
}

impl Station {
    /// The case at this station: its numbers in place of those of the point.
    ///
    /// # Errors
    /// What is wrong with them.
    pub fn case(&self, case: &Case) -> Result<Case, CaseError> {
        let changes: Vec<(&str, NewValue)> =
            self.sets.iter().map(|(path, value)| (path.as_str(), NewValue::Si(*value))).collect();
        case.with(&changes)
    }
}

/// The steady states of `log`, in rising order of what they are put together by, or in the order of the file.
///
/// # Errors
/// There is none, or there are more than anybody means.
pub fn stations(measured: &Measured, log: &Log) -> Result<Vec<Station>, CaseError> {
    let stations = match &measured.stations {
        Some(by) => gathered(measured, by, log),
        None => {
            let each = log.rows.iter().enumerate();
            each.filter_map(|(index, row)| station(measured, log, format!("line {}", row.line), &[index])).collect()
        }
    };
    let wrong = |found: String, expected: &str| {
        let location = Location { file: log.file.clone(), line: 0, column: 0 };
        let expected = expected.to_owned();
        CaseError { problems: vec![Problem { location, path: "measured".to_owned(), found, expected, nearest: None }] }
    };
    if stations.is_empty() {
        let sets = measured.channels.iter().filter(|channel| !channel.sets.is_empty());
        let sets = sets.map(|channel| quote(&channel.header)).collect::<Vec<_>>().join(", ");
        let expected = format!("rows with a reading and with all that sets numbers of the case: {sets}");
        let told = log.told.iter().take(TOLD).map(|told| match told.line {
            0 => format!("; {}", told.text),
            line => format!("; line {line}: {}", told.text),
        });
        return Err(wrong(format!("no row that makes a steady state{}", told.collect::<String>()), &expected));
    }
    if stations.len() > MOST_STATIONS {
        return Err(wrong(
            format!("{} steady states", stations.len()),
            "rows put together by `stations`, such as `{of: rpm, every: 250 rpm}`",
        ));
    }
    Ok(stations)
}

fn gathered(measured: &Measured, by: &Stations, log: &Log) -> Vec<Station> {
    // Adding zero makes a negative zero plain.
    let multiple = |value: f64| (value / by.every).round() + 0.0;
    let mut found: Vec<(f64, Vec<usize>)> = Vec::new();
    for (index, row) in log.rows.iter().enumerate() {
        let Some(value) = row.values[by.of] else { continue };
        let of = multiple(value);
        match found.binary_search_by(|(known, _)| known.total_cmp(&of)) {
            Ok(place) => found[place].1.push(index),
            Err(place) => found.insert(place, (of, vec![index])),
        }
    }
    let unit = log.channels[by.of].map_or("", |data| data.unit.symbol);
    let shown = |multiple: f64| {
        let value = log.channels[by.of].map_or(multiple * by.every, |data| data.unit.from_si(multiple * by.every));
        format!("{} {unit}", (value * 1e6).round() / 1e6)
    };
    found.iter().filter_map(|(multiple, rows)| station(measured, log, shown(*multiple), rows)).collect()
}

/// The station of these rows; `None` where they give no reading, or not all that sets numbers of the case.
fn station(measured: &Measured, log: &Log, name: String, rows: &[usize]) -> Option<Station> {
    let mean = |(number, channel): (usize, &crate::case::measured::Channel)| {
        let values: Vec<(usize, f64)> =
            rows.iter().filter_map(|row| Some((log.rows[*row].run, log.rows[*row].values[number]?))).collect();
        Mean::of(&values, channel.accuracy)
    };
    let means: Vec<Option<Mean>> = measured.channels.iter().enumerate().map(mean).collect();
    let mut sets = Vec::new();
    for (number, channel) in measured.channels.iter().enumerate().filter(|(_, channel)| !channel.sets.is_empty()) {
        let value = means[number]?.value;
        sets.extend(channel.sets.iter().map(|path| (path.clone(), value)));
    }
    let reads =
        |(channel, mean): (&crate::case::measured::Channel, &Option<Mean>)| channel.is_reading() && mean.is_some();
    let line = log.rows[*rows.first()?].line;
    measured.channels.iter().zip(&means).any(reads).then_some(Station {
        name,
        file: log.file.clone(),
        line,
        sets,
        means,
    })
}

impl Mean {
    /// The mean of (run, value): of the means of the runs where there are several, so that a long run has no more say than a short one.
    fn of(values: &[(usize, f64)], accuracy: f64) -> Option<Self> {
        let mut runs: Vec<Vec<f64>> = Vec::new();
        for run in values.chunk_by(|a, b| a.0 == b.0) {
            runs.push(run.iter().map(|(_, value)| *value).collect());
        }
        let of_runs: Vec<f64> = runs.iter().map(|run| mean(run)).collect();
        let averaged = if runs.len() > 1 { &of_runs } else { runs.first()? };
        let value = mean(averaged);
        let count = averaged.len() as f64;
        let scatter = if averaged.len() > 1 {
            let squares: f64 = averaged.iter().map(|one| (one - value) * (one - value)).sum();
            (squares / (count - 1.0) / count).sqrt()
        } else {
            0.0
        };
        Some(Self { value, spread: libm::hypot(accuracy, scatter), rows: values.len(), runs: runs.len() })
    }
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}
