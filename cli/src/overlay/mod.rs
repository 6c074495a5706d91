//! Logs of the car beside the model.

mod beside;

pub(crate) use beside::{Beside, BesideTap};

use crate::failure::Failure;
use rayon::prelude::*;
use std::path::Path;
use tractwright::case::Case;
use tractwright::case::measured::Measured;
use tractwright::error::Error;
use tractwright::measured::{Doubt, Log, Station, doubts, stations};
use tractwright::study::{KnownPoint, at_station, readings_in, rises};

/// What the model says at a station, by channel [SI], and what is doubtful there.
type Solved = (Vec<Option<f64>>, Vec<Doubt>);

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
    /// The log at `path`, read as `case` says, with the model at each of its steady states.
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
        let base = KnownPoint::of(case, &measured.point).ok();
        let solved: Vec<Result<Solved, Error>> = stations
            .par_iter()
            .map(|station| {
                let known = at_station(case, &measured, station, base.as_ref())?;
                Ok((readings_in(&measured, &known)?, rises(case, &measured, station, &known)?))
            })
            .collect();
        let (mut models, mut risen) = (Vec::with_capacity(stations.len()), Vec::new());
        for solved in solved {
            match solved {
                Ok((readings, here)) => {
                    models.push(Ok(readings));
                    here.into_iter().for_each(|doubt| add(&mut risen, doubt));
                }
                Err(error) => models.push(Err(error.to_string())),
            }
        }
        doubts.extend(risen);
        Ok(Self { measured, log, stations, models, doubts })
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
        // A column that sets what it reads would be held against itself.
        let about = &self.measured.channels[channel];
        let counts = about.is_reading() && about.sets.is_empty();
        self.stations.iter().zip(&self.models).enumerate().filter_map(move |(number, (station, model))| {
            let mean = station.means[channel].filter(|_| counts)?;
            Some((number, mean.value, model.as_ref().ok()?[channel]?, mean.spread))
        })
    }
}

/// One doubt a gauge: that of the first station stands, and says in how many.
fn add(doubts: &mut Vec<Doubt>, doubt: Doubt) {
    match doubts.iter_mut().find(|known| known.channel == doubt.channel) {
        Some(known) => known.stations += 1,
        None => doubts.push(doubt),
    }
}
