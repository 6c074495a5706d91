//! A study driven from outside: it suggests points, or runs those of a file.

use super::night::Night;
use super::{Place, to_go_on};
use crate::commands::write_failed;
use crate::failure::Failure;
use crate::{Streams, exit, interrupt};
use std::path::{Path, PathBuf};
use tractwright::quantity;
use tractwright::study::Evaluator;
use tractwright::study::journal::{Ended, Records, Shard};
use tractwright::study::plan::{Plan, Run, Variable};

/// Prints points that have not been run, as CSV: evenly spread between the bounds of the inputs
///
/// Values are in the unit of the study. `study run` takes the same form, whoever wrote it.
#[derive(Debug, clap::Args)]
pub(super) struct Suggest {
    #[command(flatten)]
    place: Place,
    /// Points for each layout and operating point
    #[arg(short, long, value_name = "N", default_value_t = 8)]
    number: usize,
}

/// Runs the points of a CSV file and prints them with their figures; they stand in the table like all others
///
/// The head names a column for each input of the study, `layout` and `point`; the last two may be missing where the study has one. A
/// value is a number in the unit of the study, or has its own unit.
#[derive(Debug, clap::Args)]
pub(super) struct RunPoints {
    #[command(flatten)]
    place: Place,
    /// File of the points
    #[arg(value_name = "POINTS")]
    points: PathBuf,
    /// Runs at a time; as many as there are cores when it is not given
    #[arg(long, value_name = "N", default_value_t = 0, hide_default_value = true)]
    threads: usize,
}

impl Suggest {
    pub(super) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        let plan = self.place.plan()?;
        let folder = self.place.folder();
        let evaluator = Evaluator::new(&plan, &folder);
        let known = Records::read(&folder)?;
        let mut csv = csv::Writer::from_writer(&mut *streams.out);
        csv.write_record(head(&plan)).map_err(write_failed)?;
        for place in 0..plan.places() {
            let mut given = 0;
            for number in 0.. {
                let Some(run) = plan.spread_evenly(place, number) else { break };
                if given == self.number {
                    break;
                }
                if known.is_done(evaluator.id(&run)).is_none() {
                    csv.write_record(record(&plan, &run)).map_err(write_failed)?;
                    given += 1;
                }
            }
        }
        csv.flush()?;
        Ok(exit::DONE)
    }
}

impl RunPoints {
    pub(super) fn execute(&self, streams: &mut Streams<'_>) -> Result<u8, Failure> {
        let plan = self.place.plan()?;
        let runs = read(&plan, &self.points)?;
        let folder = self.place.folder();
        let evaluator = Evaluator::new(&plan, &folder);
        let night = Night::open(&evaluator, &folder, Shard::WHOLE, false, streams.err)?;
        let tally = night.all(&plan, 0..runs.len(), &|number| runs[number].clone(), self.threads, streams)?;
        night.close()?;
        let known = Records::read(&folder)?;
        let ended: Vec<Option<Ended>> =
            runs.iter().map(|run| known.get(evaluator.id(run)).map(|entry| entry.ended)).collect();
        let mut names: Vec<&str> = Vec::new();
        for ended in ended.iter().flatten() {
            if let Ended::Done { figures, .. } = ended {
                let new: Vec<&str> =
                    figures.iter().map(|(name, _)| &**name).filter(|name| !names.contains(name)).collect();
                names.extend(new);
            }
        }
        let mut csv = csv::Writer::from_writer(&mut *streams.out);
        let heads = names.iter().map(|name| (*name).to_owned()).chain(["failed".to_owned()]);
        csv.write_record(head(&plan).into_iter().chain(heads)).map_err(write_failed)?;
        for (run, ended) in runs.iter().zip(&ended) {
            let figure = |name: &&str| match ended {
                Some(Ended::Done { figures, .. }) => {
                    let found = figures.iter().find(|(known, _)| **known == **name);
                    found.map_or_else(String::new, |(_, value)| value.to_string())
                }
                _ => String::new(),
            };
            let why = if let Some(Ended::Failed(why)) = ended { why.clone() } else { String::new() };
            csv.write_record(record(&plan, run).into_iter().chain(names.iter().map(figure)).chain([why]))
                .map_err(write_failed)?;
        }
        csv.flush()?;
        drop(csv);
        Ok(match (interrupt::requested(), tally.failed) {
            (true, _) => to_go_on(streams.err)?,
            (false, 0) => exit::DONE,
            (false, _) => exit::SOME_FAILED,
        })
    }
}

fn head(plan: &Plan) -> Vec<String> {
    let inputs = plan.variables.iter().map(|variable| variable.name.clone());
    ["layout", "point"].map(str::to_owned).into_iter().chain(inputs).collect()
}

fn record(plan: &Plan, run: &Run) -> Vec<String> {
    let place = [plan.layout_of(run).name.clone(), plan.point_of(run).to_owned()];
    place.into_iter().chain(run.numbers.iter().map(f64::to_string)).collect()
}

/// The points of a file.
///
/// # Errors
/// Everything that is wrong with it, with its line.
fn read(plan: &Plan, path: &Path) -> Result<Vec<Run>, Failure> {
    let shown = path.display();
    let mut file = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .from_path(path)
        .map_err(|error| Failure::file(format!("{shown}: {error}")))?;
    let heads = file.headers().map_err(|error| Failure::file(format!("{shown}: {error}")))?.clone();
    let column = |name: &str| heads.iter().position(|head| head == name);
    let expected = head(plan);
    if let Some(unknown) = heads.iter().find(|head| !expected.iter().any(|known| known == head)) {
        let told = format!("{shown}:1: found the column `{unknown}`, expected: {}", expected.join(", "));
        return Err(Failure::wrong_use(told));
    }
    let columns: Vec<Option<usize>> = plan.variables.iter().map(|variable| column(&variable.name)).collect();
    if let Some(place) = columns.iter().position(Option::is_none) {
        let told =
            format!("{shown}:1: found no column `{}`, expected: {}", plan.variables[place].name, expected.join(", "));
        return Err(Failure::wrong_use(told));
    }
    let layouts: Vec<&str> = plan.layouts.iter().map(|layout| layout.name.as_str()).collect();
    let points: Vec<&str> = plan.points.iter().map(String::as_str).collect();
    let (mut runs, mut wrong) = (Vec::new(), Vec::new());
    for record in file.records() {
        let record = record.map_err(|error| Failure::file(format!("{shown}: {error}")))?;
        let line = record.position().map_or(0, csv::Position::line);
        let cell = |column: Option<usize>| column.and_then(|column| record.get(column));
        let place = |name: &str, known: &[&str]| match cell(column(name)) {
            None if known.len() == 1 => Ok(0),
            found => {
                let found = found.unwrap_or_default();
                let place = known.iter().position(|known| *known == found);
                place.ok_or_else(|| {
                    format!("{shown}:{line}: {name}: found `{found}`, expected one of: {}", known.join(", "))
                })
            }
        };
        let number = |(variable, column): (&Variable, &Option<usize>)| {
            let text = cell(*column).unwrap_or_default();
            number_of(variable, text).map_err(|why| format!("{shown}:{line}: {}: {why}", variable.name))
        };
        let numbers: Result<Vec<f64>, String> = plan.variables.iter().zip(&columns).map(number).collect();
        match (place("layout", &layouts), place("point", &points), numbers) {
            (Ok(layout), Ok(point), Ok(numbers)) => runs.push(Run { layout, point, numbers, draw: None }),
            (layout, point, numbers) => wrong.extend([layout.err(), point.err(), numbers.err()].into_iter().flatten()),
        }
    }
    if wrong.is_empty() { Ok(runs) } else { Err(Failure::all(wrong.into_iter().map(Failure::wrong_use).collect())) }
}

/// A number in the unit of the input, or a quantity with its own.
fn number_of(variable: &Variable, text: &str) -> Result<f64, String> {
    if let Ok(number) = text.parse::<f64>()
        && number.is_finite()
    {
        return Ok(number);
    }
    let si = quantity::parse(text, variable.dimension)
        .map_err(|fault| format!("found {}, expected {}", fault.found, fault.expected))?;
    Ok(variable.unit.from_si(si))
}
