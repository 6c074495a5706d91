//! A case at measured stations, as the model of a fit: steady states, or the pulls and roll-ons that come by them.

use super::fields::Fitted;
use super::least_squares::{Model, Slopes};
use crate::case::measured::Measured;
use crate::case::{Case, NewValue};
use crate::error::{CaseError, Error, Problem};
use crate::measured::Station;
use crate::study::{Course, KnownPoint, at_station, course_at, read_in};
use std::fmt;
use std::ops::Range;

/// Who computes what the stations need: each number below `count` by `one`, in any order, answers in the order of the numbers; nothing when it
/// is interrupted. The library itself knows no threads.
pub trait Hands: Sync {
    /// Does it.
    fn each(&self, count: usize, one: &(dyn Fn(usize) -> Answer + Sync)) -> Option<Vec<Answer>>;
}

/// One pair of hands.
#[derive(Debug, Clone, Copy)]
pub struct Alone;

impl Hands for Alone {
    fn each(&self, count: usize, one: &(dyn Fn(usize) -> Answer + Sync)) -> Option<Vec<Answer>> {
        Some((0..count).map(one).collect())
    }
}

/// What one number came to.
pub type Answer = Result<Solved, StationError>;

/// Stations that go together with some values, or their derivatives by one of them.
#[derive(Debug)]
pub struct Solved {
    /// What was found of them; none of derivatives.
    known: Option<KnownPoint>,
    /// Residuals or derivatives, row by row.
    rows: Vec<f64>,
}

/// A fit that cannot go on.
#[derive(Debug)]
pub enum StationError {
    /// A station has no steady state, or the values do not fit the case.
    NoState {
        /// The station.
        station: String,
        /// The field that was moved, if one was.
        field: Option<String>,
        /// Why.
        why: Box<Error>,
    },
    /// Somebody asked to stop.
    Interrupted,
}

impl fmt::Display for StationError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoState { station, field: None, why } => write!(f, "station `{station}`: {why}"),
            Self::NoState { station, field: Some(field), why } => {
                write!(f, "station `{station}`, with `{field}` moved a little either way: {why}")
            }
            Self::Interrupted => f.write_str("interrupted"),
        }
    }
}

/// A reading that counts in a fit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FitReading {
    /// Number of the station.
    pub station: usize,
    /// Number of the channel of the case.
    pub channel: usize,
    /// What was read [SI].
    pub value: f64,
    /// One standard deviation of it [SI].
    pub spread: f64,
}

/// A case at stations. What a station sets of the case is taken as it was read.
pub struct Stations<'a> {
    case: &'a Case,
    measured: &'a Measured,
    stations: &'a [Station],
    fitted: &'a [Fitted],
    hands: &'a dyn Hands,
    readings: Vec<FitReading>,
    /// Stations that one march gives: each alone where it is a steady state, all of one log where it is a pull or a roll-on.
    together: Vec<Range<usize>>,
    /// What was found of these where the last derivatives were taken; none before the first.
    known: Vec<Option<KnownPoint>>,
}

impl fmt::Debug for Stations<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Stations")
            .field("stations", &self.stations)
            .field("fitted", &self.fitted)
            .finish_non_exhaustive()
    }
}

/// Step of the differences over the size of a value: the error of a central difference goes with its square, what the steady solver
/// leaves (1e-10) with its inverse.
const STEP: f64 = 0.002;
/// Change of a residual with the whole size of a value that is none: 1e-10 of 1e5 Pa over a gauge of 10 Pa and a step of 0.002 come to half of it.
const NOISE: f64 = 1e-3;

impl<'a> Stations<'a> {
    /// The stations with the readings of all channels that read something of the model, set no number of the case themselves and are not among those
    /// `left_out` by name.
    #[must_use]
    pub fn new(
        case: &'a Case,
        measured: &'a Measured,
        stations: &'a [Station],
        fitted: &'a [Fitted],
        left_out: &[String],
        hands: &'a dyn Hands,
    ) -> Self {
        let counts = |channel: usize| {
            let about = &measured.channels[channel];
            about.counts() && !left_out.contains(&about.name)
        };
        let of_station = |(number, station): (usize, &'a Station)| {
            station.means.iter().enumerate().filter(|(channel, _)| counts(*channel)).filter_map(
                move |(channel, mean)| {
                    let mean = mean.as_ref().filter(|mean| mean.spread > 0.0)?;
                    Some(FitReading { station: number, channel, value: mean.value, spread: mean.spread })
                },
            )
        };
        let readings = stations.iter().enumerate().flat_map(of_station).collect();
        let together: Vec<Range<usize>> = if measured.course.is_some() {
            let mut end = 0;
            let of_log = |log: &[Station]| {
                end += log.len();
                end - log.len()..end
            };
            stations.chunk_by(|a, b| a.file == b.file).map(of_log).collect()
        } else {
            (0..stations.len()).map(|station| station..station + 1).collect()
        };
        let known = together.iter().map(|_| None).collect();
        Self { case, measured, stations, fitted, hands, readings, together, known }
    }

    /// The readings, station by station: row by row those of the residuals.
    #[must_use]
    pub fn fit_readings(&self) -> &[FitReading] {
        &self.readings
    }

    /// What was read, in the order of the readings [SI].
    ///
    /// Those of the stations hold where nothing else is given: readings can be made up to see what a fit would make of them.
    pub fn read_instead(&mut self, values: &[f64]) {
        self.readings.iter_mut().zip(values).for_each(|(reading, value)| reading.value = *value);
    }

    /// What is found of stations that go together with these values, sought from `near`, and their residuals, row by row.
    fn residuals_of(
        &self,
        group: usize,
        values: &[f64],
        near: Option<&KnownPoint>,
    ) -> Result<(KnownPoint, Vec<f64>), Error> {
        let stations = &self.stations[self.together[group].clone()];
        let fitted = self.fitted.iter().zip(values).flat_map(|(fitted, value)| fitted.changes(*value));
        let changes: Vec<(&str, NewValue)> = fitted.collect();
        let (known, read) = match self.measured.course {
            Some(speed) => {
                let Course { known, read } = course_at(self.case, self.measured, speed, stations, &changes, near)?;
                (known, read)
            }
            None => {
                let known = at_station(self.case, self.measured, &stations[0], &changes, near)?;
                let read = read_in(self.measured, &known)?;
                (known, vec![Ok(read)])
            }
        };
        let first = self.together[group].start;
        let residual = |reading: &FitReading| {
            let read = read[reading.station - first].as_ref().map_err(|why| self.not_there(reading.station, why))?;
            let model = read.readings[reading.channel].ok_or_else(|| self.reads_nothing(reading.channel))?;
            Ok((model + self.more_offset(reading.channel, values) - reading.value) / reading.spread)
        };
        let residuals = self.rows(group).map(residual).collect::<Result<_, CaseError>>()?;
        Ok((known, residuals))
    }

    fn rows(&self, group: usize) -> impl Iterator<Item = &FitReading> {
        let stations = self.together[group].clone();
        self.readings.iter().filter(move |reading| stations.contains(&reading.station))
    }

    /// A station that the course of the model does not come by.
    fn not_there(&self, station: usize, why: &str) -> CaseError {
        let problem = Problem {
            location: self.case.location(&format!("points.{}", self.measured.point)),
            path: format!("points.{}", self.measured.point),
            found: format!("a course that does not come by {}: {why}", self.stations[station].name),
            expected: "one that begins lower or ends higher, or `stations` of wider steps".to_owned(),
            nearest: None,
        };
        CaseError { problems: vec![problem] }
    }

    /// By how much these values move the offset of a gauge beyond what was taken off its readings [SI].
    fn more_offset(&self, channel: usize, values: &[f64]) -> f64 {
        let about = &self.measured.channels[channel];
        let own = self.fitted.iter().zip(values).find(|(fitted, _)| fitted.is_offset_of(about));
        own.map_or(0.0, |(_, value)| value - about.offset())
    }

    fn reads_nothing(&self, channel: usize) -> CaseError {
        let about = &self.measured.channels[channel];
        let problem = Problem {
            location: about.location.clone(),
            path: format!("measured.columns.{}", about.name),
            found: "a reading of which this case says nothing".to_owned(),
            expected: "a column that reads something of the case, or the fit without it".to_owned(),
            nearest: None,
        };
        CaseError { problems: vec![problem] }
    }

    fn solved(&self, group: usize, values: &[f64]) -> Answer {
        match self.residuals_of(group, values, self.known[group].as_ref()) {
            Ok((known, rows)) => Ok(Solved { known: Some(known), rows }),
            Err(why) => Err(self.error(group, None, why)),
        }
    }

    /// Derivatives by one value: central differences, on one side where the other has no steady state or is not allowed.
    fn column(&self, group: usize, values: &[f64], index: usize, here: &Solved) -> Answer {
        let fitted = &self.fitted[index];
        if fitted.is_of_gauges_alone() {
            let slope = |reading: &FitReading| {
                let is_own = fitted.is_offset_of(&self.measured.channels[reading.channel]);
                if is_own { 1.0 / reading.spread } else { 0.0 }
            };
            return Ok(Solved { known: None, rows: self.rows(group).map(slope).collect() });
        }
        let step = STEP * fitted.size(values[index]);
        let at = |steps: f64| {
            let mut moved = values.to_vec();
            moved[index] += steps * step;
            let there = || Ok(self.residuals_of(group, &moved, here.known.as_ref())?.1);
            fitted.allows(moved[index]).then(there)
        };
        let mix = |parts: &[(f64, &Vec<f64>)]| -> Vec<f64> {
            let row = |row: usize| parts.iter().map(|(weight, rows)| weight * rows[row]).sum::<f64>() / step;
            (0..here.rows.len()).map(row).collect()
        };
        // On one side second order too: Abramowitz and Stegun, Handbook of Mathematical Functions, table 25.2.
        let rows = match (at(1.0), at(-1.0)) {
            (Some(Ok(up)), Some(Ok(down))) => mix(&[(0.5, &up), (-0.5, &down)]),
            (Some(Ok(near)), _) => match at(2.0) {
                Some(Ok(far)) => mix(&[(2.0, &near), (-0.5, &far), (-1.5, &here.rows)]),
                _ => mix(&[(1.0, &near), (-1.0, &here.rows)]),
            },
            (_, Some(Ok(near))) => match at(-2.0) {
                Some(Ok(far)) => mix(&[(-2.0, &near), (0.5, &far), (1.5, &here.rows)]),
                _ => mix(&[(-1.0, &near), (1.0, &here.rows)]),
            },
            (Some(Err(why)), _) | (_, Some(Err(why))) => return Err(self.error(group, Some(index), why)),
            (None, None) => vec![0.0; here.rows.len()],
        };
        Ok(Solved { known: None, rows })
    }

    /// The derivatives by one value; nothing where all that they show is what the steady solver leaves, or a search would follow it far away.
    fn felt(&self, index: usize, value: f64, column: Vec<f64>) -> Vec<f64> {
        let size = self.fitted[index].size(value);
        if column.iter().all(|slope| (slope * size).abs() < NOISE) { vec![0.0; column.len()] } else { column }
    }

    fn each(&self, count: usize, one: &(dyn Fn(usize) -> Answer + Sync)) -> Result<Vec<Solved>, StationError> {
        let answers = self.hands.each(count, one).ok_or(StationError::Interrupted)?;
        answers.into_iter().collect()
    }

    /// All stations with these values.
    fn all(&self, values: &[f64]) -> Result<Vec<Solved>, StationError> {
        self.each(self.together.len(), &|group| self.solved(group, values))
    }

    fn error(&self, group: usize, field: Option<usize>, why: Error) -> StationError {
        let field = field.map(|field| self.fitted[field].paths[0].clone());
        let name = |station: usize| self.stations[station].name.as_str();
        let (first, last) = (self.together[group].start, self.together[group].end - 1);
        let station = if first == last { name(first).to_owned() } else { format!("{} to {}", name(first), name(last)) };
        StationError::NoState { station, field, why: Box::new(why) }
    }
}

impl Model for Stations<'_> {
    type Error = StationError;

    fn readings(&self) -> usize {
        self.readings.len()
    }

    fn residuals(&mut self, values: &[f64]) -> Result<Vec<f64>, StationError> {
        Ok(self.all(values)?.into_iter().flat_map(|solved| solved.rows).collect())
    }

    fn is_final(&self, why: &StationError) -> bool {
        matches!(why, StationError::Interrupted)
    }

    fn slopes(&mut self, values: &[f64]) -> Result<Slopes, StationError> {
        let solved = self.all(values)?;
        // Field by field, the groups of each in their order.
        let (groups, fields) = (solved.len(), values.len());
        let slope = |number: usize| self.column(number % groups, values, number / groups, &solved[number % groups]);
        let slopes = self.each(groups * fields, &slope)?;
        let column = |index: usize| -> Vec<f64> {
            slopes[index * groups..(index + 1) * groups].iter().flat_map(|solved| solved.rows.iter().copied()).collect()
        };
        let columns = (0..fields).map(|index| self.felt(index, values[index], column(index))).collect();
        let residuals = solved.iter().flat_map(|solved| solved.rows.iter().copied()).collect();
        // What follows sets off from here, so that it depends on the way of the search alone and not on who computed what.
        self.known = solved.into_iter().map(|solved| solved.known).collect();
        Ok(Slopes { residuals, columns })
    }
}

#[cfg(test)]
mod tests;
