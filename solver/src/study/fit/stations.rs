//! The steady states of a case at measured stations, as the model of a fit.

use super::fields::Fitted;
use super::least_squares::{Model, Slopes};
use crate::case::measured::Measured;
use crate::case::{Case, NewValue};
use crate::error::{CaseError, Error, Problem};
use crate::loss::Deviations;
use crate::measured::Station;
use crate::study::{KnownPoint, readings_in};
use std::fmt;

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

/// What a station came to.
pub type Answer = Result<Solved, StationError>;

/// A station in its steady state.
#[derive(Debug)]
pub struct Solved {
    known: KnownPoint,
    residuals: Vec<f64>,
    columns: Vec<Vec<f64>>,
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
    /// The states about which the last derivatives were taken; none before the first.
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
            about.is_reading() && about.sets.is_empty() && !left_out.contains(&about.name)
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
        let known = stations.iter().map(|_| None).collect();
        Self { case, measured, stations, fitted, hands, readings, known }
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

    /// The steady state of a station with these values, sought from `near`.
    fn state(&self, station: usize, values: &[f64], near: Option<&KnownPoint>) -> Result<KnownPoint, Error> {
        let sets = self.stations[station].sets.iter().map(|(path, value)| (path.as_str(), NewValue::Si(*value)));
        // The fitted values stand last: what is fitted is not set.
        let changes = sets.chain(self.fitted.iter().zip(values).flat_map(|(fitted, value)| fitted.changes(*value)));
        let case = self.case.with(&changes.collect::<Vec<_>>())?;
        match near {
            Some(near) => near.neighbour(&case, &self.measured.point, Deviations::default()),
            None => KnownPoint::of(&case, &self.measured.point),
        }
    }

    fn rows(&self, station: usize) -> impl Iterator<Item = &FitReading> {
        self.readings.iter().filter(move |reading| reading.station == station)
    }

    fn residuals_of(&self, station: usize, known: &KnownPoint) -> Result<Vec<f64>, Error> {
        let models = readings_in(self.measured, known)?;
        let residual = |reading: &FitReading| match models[reading.channel] {
            Some(model) => Ok((model - reading.value) / reading.spread),
            None => Err(self.reads_nothing(reading.channel)),
        };
        Ok(self.rows(station).map(residual).collect::<Result<_, CaseError>>()?)
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

    fn solved(&self, station: usize, values: &[f64]) -> Answer {
        let solve = || {
            let known = self.state(station, values, self.known[station].as_ref())?;
            let residuals = self.residuals_of(station, &known)?;
            Ok(Solved { known, residuals, columns: Vec::new() })
        };
        solve().map_err(|why| self.error(station, None, why))
    }

    /// The state with the derivatives of its residuals.
    fn solved_with_slopes(&self, station: usize, values: &[f64]) -> Answer {
        let mut solved = self.solved(station, values)?;
        let columns = (0..values.len()).map(|index| self.column(station, values, index, &solved));
        solved.columns = columns.collect::<Result<_, _>>()?;
        Ok(solved)
    }

    /// Derivatives by one value: central differences, on one side where the other has no steady state or is not allowed.
    fn column(&self, station: usize, values: &[f64], index: usize, here: &Solved) -> Result<Vec<f64>, StationError> {
        let fitted = &self.fitted[index];
        let step = STEP * fitted.size(values[index]);
        let at = |steps: f64| {
            let mut moved = values.to_vec();
            moved[index] += steps * step;
            fitted.allows(moved[index]).then(|| {
                let known = self.state(station, &moved, Some(&here.known))?;
                self.residuals_of(station, &known)
            })
        };
        let mix = |parts: &[(f64, &Vec<f64>)]| -> Vec<f64> {
            let row = |row: usize| parts.iter().map(|(weight, rows)| weight * rows[row]).sum::<f64>() / step;
            (0..here.residuals.len()).map(row).collect()
        };
        // On one side second order too: Abramowitz and Stegun, Handbook of Mathematical Functions, table 25.2.
        Ok(match (at(1.0), at(-1.0)) {
            (Some(Ok(up)), Some(Ok(down))) => mix(&[(0.5, &up), (-0.5, &down)]),
            (Some(Ok(near)), _) => match at(2.0) {
                Some(Ok(far)) => mix(&[(2.0, &near), (-0.5, &far), (-1.5, &here.residuals)]),
                _ => mix(&[(1.0, &near), (-1.0, &here.residuals)]),
            },
            (_, Some(Ok(near))) => match at(-2.0) {
                Some(Ok(far)) => mix(&[(-2.0, &near), (0.5, &far), (1.5, &here.residuals)]),
                _ => mix(&[(-1.0, &near), (1.0, &here.residuals)]),
            },
            (Some(Err(why)), _) | (_, Some(Err(why))) => return Err(self.error(station, Some(index), why)),
            (None, None) => vec![0.0; here.residuals.len()],
        })
    }

    /// The derivatives by one value; nothing where all that they show is what the steady solver leaves, or a search would follow it far away.
    fn felt(&self, index: usize, value: f64, column: Vec<f64>) -> Vec<f64> {
        let size = self.fitted[index].size(value);
        if column.iter().all(|slope| (slope * size).abs() < NOISE) { vec![0.0; column.len()] } else { column }
    }

    fn each(&self, one: &(dyn Fn(usize) -> Answer + Sync)) -> Result<Vec<Solved>, StationError> {
        let answers = self.hands.each(self.stations.len(), one).ok_or(StationError::Interrupted)?;
        answers.into_iter().collect()
    }

    fn error(&self, station: usize, field: Option<usize>, why: Error) -> StationError {
        let field = field.map(|field| self.fitted[field].paths[0].clone());
        StationError::NoState { station: self.stations[station].name.clone(), field, why: Box::new(why) }
    }
}

impl Model for Stations<'_> {
    type Error = StationError;

    fn readings(&self) -> usize {
        self.readings.len()
    }

    fn residuals(&mut self, values: &[f64]) -> Result<Vec<f64>, StationError> {
        let solved = self.each(&|station| self.solved(station, values))?;
        Ok(solved.into_iter().flat_map(|solved| solved.residuals).collect())
    }

    fn is_final(&self, why: &StationError) -> bool {
        matches!(why, StationError::Interrupted)
    }

    fn slopes(&mut self, values: &[f64]) -> Result<Slopes, StationError> {
        let solved = self.each(&|station| self.solved_with_slopes(station, values))?;
        let column = |index: usize| -> Vec<f64> {
            solved.iter().flat_map(|solved| solved.columns[index].iter().copied()).collect()
        };
        let columns = (0..values.len()).map(|index| self.felt(index, values[index], column(index))).collect();
        let residuals = solved.iter().flat_map(|solved| solved.residuals.iter().copied()).collect();
        // What follows sets off from here, so that it depends on the way of the search alone and not on who computed what.
        self.known = solved.into_iter().map(|solved| Some(solved.known)).collect();
        Ok(Slopes { residuals, columns })
    }
}

#[cfg(test)]
mod tests;
