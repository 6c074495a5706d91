//! Logs of the car beside the model.

mod beside;
mod distance;

pub(crate) use beside::{Beside, BesideTap};
use distance::{SAME_STATE, distance};

use crate::failure::Failure;
use crate::opened::Opened;
use crate::print::number::significant;
use rayon::prelude::*;
use std::path::Path;
use tractwright::case::Case;
use tractwright::case::measured::Measured;
use tractwright::measured::{Doubt, Log, Station, doubts, stations};
use tractwright::study::{KnownPoint, Read, at_station, course_at, mean_sets, read_in, rises};

/// A log over a result.
#[derive(Debug)]
pub(crate) enum Laid {
    /// Its readings in the one state that the result is in.
    State(Beside),
    /// Its readings over the pull or roll-on of the result, with that of the model in the log's own outside.
    Course(Box<Overlay>),
    /// Why it is not laid over.
    Not(String),
}

impl Laid {
    /// The log at `path` over a result.
    ///
    /// # Errors
    /// The log cannot be read as the case of the result says, or the model cannot be solved beside it.
    pub(crate) fn of(opened: &Opened, path: &Path) -> Result<Self, Failure> {
        let (case, point) = (&opened.reading.case, &opened.reading.point);
        let Some(measured) = &case.measured else {
            return Ok(Self::Not("its case does not say how logs are read".to_owned()));
        };
        if measured.point != *point {
            return Ok(Self::Not(format!("it was measured at {}, the result is at {point}", measured.point)));
        }
        if !opened.point.phases.is_empty() {
            return Ok(Self::Not("the result is a course of phases".to_owned()));
        }
        if measured.course.is_some() {
            let overlay = Overlay::of(case, path)?;
            let (distance, words) = distance(case, &overlay.sets);
            if distance > SAME_STATE {
                return Ok(Self::Not(format!("it was measured in another course: {words}")));
            }
            return Ok(Self::Course(Box::new(overlay)));
        }
        Ok(match Beside::of(opened, measured, &Log::from_path(case, path)?)? {
            Ok(beside) => Self::State(beside),
            Err(why) => Self::Not(why),
        })
    }

    /// Its readings, where the result is one state.
    pub(crate) fn state(&self) -> Option<&Beside> {
        if let Self::State(beside) = self { Some(beside) } else { None }
    }

    /// It with the model, where the result is a pull or a roll-on.
    pub(crate) fn course(&self) -> Option<&Overlay> {
        if let Self::Course(overlay) = self { Some(overlay) } else { None }
    }
}

/// A log with the model beside each of its steady states.
#[derive(Debug)]
pub(crate) struct Overlay {
    /// How it is read.
    pub(crate) measured: Measured,
    /// The log.
    pub(crate) log: Log,
    /// Its steady states.
    pub(crate) stations: Vec<Station>,
    /// What the model says at each, by channel [SI]; or why it says nothing.
    pub(crate) models: Vec<Result<Vec<Option<f64>>, String>>,
    /// What is doubtful.
    pub(crate) doubts: Vec<Doubt>,
    /// Of a pull or roll-on the numbers of the case that the log sets, as means over it [SI].
    pub(crate) sets: Vec<(String, f64)>,
}

/// How far the model lies from the readings of a channel.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Miss {
    /// Number of the channel.
    pub(crate) channel: usize,
    /// Stations that have both.
    pub(crate) stations: usize,
    /// Means of reading, model and standard deviation of a reading [SI].
    pub(crate) means: [f64; 3],
    /// Root of the mean square of model less reading [SI].
    pub(crate) rms: f64,
    /// Station in which they are farthest apart, and by how much [SI].
    pub(crate) worst: (usize, f64),
}

impl Overlay {
    /// The log at `path`, read as `case` says, with the model at each of its states: each solved for itself, or one course through all of them.
    ///
    /// # Errors
    /// The case does not say how, the log cannot be read, or a tap is nowhere.
    pub(crate) fn of(case: &Case, path: &Path) -> Result<Self, Failure> {
        let log = Log::from_path(case, path)?;
        let measured = case.measured.clone().ok_or_else(|| Failure::file("found no `measured` in the case"))?;
        let stations = stations(&measured, &log)?;
        let mut doubts = doubts(case, &measured, &log, &stations)?;
        // A tap that is nowhere is a mistake in the case, not in one of the stations.
        let network = case.build(&measured.point)?.network;
        for channel in &measured.channels {
            channel.tap(&network)?;
        }
        let (read, network, sets) = match measured.course {
            Some(speed) => {
                let course = course_at(case, &measured, speed, &stations, &[], None)?;
                (course.read, course.known.network, mean_sets(&stations))
            }
            None => (held(case, &measured, &stations), network, Vec::new()),
        };
        let mut risen = Vec::new();
        for (station, read) in stations.iter().zip(&read) {
            let Ok(read) = read else { continue };
            rises(case, &measured, station, &network, &read.airs).into_iter().for_each(|doubt| add(&mut risen, doubt));
        }
        doubts.extend(risen);
        let models = read.into_iter().map(|read| read.map(|read| read.readings)).collect();
        Ok(Self { measured, log, stations, models, doubts, sets })
    }

    /// Whether its states are those of one pull or roll-on.
    pub(crate) fn is_course(&self) -> bool {
        self.measured.course.is_some()
    }

    /// What a course's log sets of its `case`, as the model has it, in words.
    pub(crate) fn set_in_words(&self, case: &Case) -> String {
        let numbers = case.numbers();
        let one = |(path, value): &(String, f64)| {
            let unit = numbers.iter().find(|number| number.path == *path)?.unit;
            Some(format!("{path} {} {}", significant(unit.from_si(*value)), unit.symbol))
        };
        self.sets.iter().filter_map(one).collect::<Vec<_>>().join(", ")
    }

    /// States of which the model says nothing, and why.
    pub(crate) fn without_model(&self) -> Vec<String> {
        let one = |(station, model): (&Station, &Result<_, String>)| {
            model.as_ref().err().map(|why| format!("{}: no model: {why}", station.name))
        };
        self.stations.iter().zip(&self.models).filter_map(one).collect()
    }

    /// How far the model lies from each channel that reads something, in the order of the case.
    pub(crate) fn misses(&self) -> Vec<Miss> {
        let of_channel = |channel: usize| {
            let pairs: Vec<(usize, f64, f64, f64)> = self.pairs(channel).collect();
            let count = pairs.len() as f64;
            let mean = |value: fn(&(usize, f64, f64, f64)) -> f64| pairs.iter().map(value).sum::<f64>() / count;
            let apart = |pair: &(usize, f64, f64, f64)| pair.2 - pair.1;
            let worst = pairs.iter().max_by(|a, b| apart(a).abs().total_cmp(&apart(b).abs()))?;
            Some(Miss {
                channel,
                stations: pairs.len(),
                means: [mean(|pair| pair.1), mean(|pair| pair.2), mean(|pair| pair.3)],
                rms: mean(|pair| (pair.2 - pair.1) * (pair.2 - pair.1)).sqrt(),
                worst: (worst.0, apart(worst)),
            })
        };
        (0..self.measured.channels.len()).filter_map(of_channel).collect()
    }

    /// Of a channel: station, reading, model and standard deviation of the reading [SI], where there are both.
    pub(crate) fn pairs(&self, channel: usize) -> impl Iterator<Item = (usize, f64, f64, f64)> + '_ {
        let counts = self.measured.channels[channel].counts();
        self.stations.iter().zip(&self.models).enumerate().filter_map(move |(number, (station, model))| {
            let mean = station.means[channel].filter(|_| counts)?;
            Some((number, mean.value, model.as_ref().ok()?[channel]?, mean.spread))
        })
    }
}

/// What is read at each of the `stations`, each a steady state of its own.
fn held(case: &Case, measured: &Measured, stations: &[Station]) -> Vec<Result<Read, String>> {
    let base = KnownPoint::of(case, &measured.point).ok();
    let read = |station: &Station| read_in(measured, &at_station(case, measured, station, &[], base.as_ref())?);
    stations.par_iter().map(|station| read(station).map_err(|error| error.to_string())).collect()
}

/// One doubt a gauge: that of the first station stands, and says in how many.
fn add(doubts: &mut Vec<Doubt>, doubt: Doubt) {
    match doubts.iter_mut().find(|known| known.channel == doubt.channel) {
        Some(known) => known.stations += 1,
        None => doubts.push(doubt),
    }
}
