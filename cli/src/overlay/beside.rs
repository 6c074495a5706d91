//! Readings beside a result, where they were taken in the state that it is in.

use super::distance::{SAME_STATE, distance};
use crate::failure::Failure;
use crate::opened::Opened;
use tractwright::case::measured::{Basis, Channel, Meaning, Measured, Reads};
use tractwright::error::Error;
use tractwright::measured::{Log, Mean, Station, stations};
use tractwright::network::AirAt;
use tractwright::quantity::{self, Dimension, Unit};

/// The readings of the steady state of a log that is nearest to a result.
#[derive(Debug, Clone)]
pub(crate) struct Beside {
    /// The station, and how its numbers differ from those of the result, in words.
    pub(crate) station: String,
    /// Its gauges with a reading, in the order of the case.
    pub(crate) taps: Vec<BesideTap>,
}

/// A reading beside what the result has at its place.
#[derive(Debug, Clone)]
pub(crate) struct BesideTap {
    /// Its column.
    pub(crate) channel: Channel,
    /// Part and distance from its first end [m].
    pub(crate) part: String,
    pub(crate) x: Option<f64>,
    /// What it reads.
    pub(crate) reads: Reads,
    /// Unit of the log.
    pub(crate) unit: &'static Unit,
    /// The reading [SI].
    pub(crate) mean: Mean,
    /// What the result has there, as the gauge would read it [SI].
    pub(crate) model: f64,
    /// The air that the result has there.
    pub(crate) air: AirAt,
    /// The outside's pressure [Pa] and temperature [K] where it was read.
    pub(crate) outside: [f64; 2],
}

impl BesideTap {
    /// Total pressure by the reading [Pa], a wall tap with the velocity head that the result has there; `None` of what is no pressure gauge.
    pub(crate) fn total_pressure(&self, outside: f64) -> Option<f64> {
        let head =
            if matches!(self.reads, Reads::Static(_)) { self.air.total_pressure - self.air.pressure } else { 0.0 };
        self.pressure(outside).map(|pressure| pressure + head)
    }

    /// Its pressure as it would be read in air of the `outside` pressure [Pa]: as far above or below it as it was; `None` of what is no pressure gauge.
    pub(crate) fn pressure(&self, outside: f64) -> Option<f64> {
        self.reads.absolute(self.mean.value, self.outside[0]).map(|pressure| pressure - self.outside[0] + outside)
    }

    /// Its temperature as it would be read in air of the `outside` temperature [K]; `None` of what is no thermometer.
    pub(crate) fn temperature(&self, outside: f64) -> Option<f64> {
        (self.reads == Reads::Temperature).then(|| self.mean.value - self.outside[1] + outside)
    }
}

impl Beside {
    /// The readings of `log`, measured at the point of the result, that were taken in its state; in words why there are none.
    ///
    /// # Errors
    /// A tap is nowhere, or a station's numbers do not fit the case.
    pub(super) fn of(opened: &Opened, measured: &Measured, log: &Log) -> Result<Result<Self, String>, Failure> {
        let case = &opened.reading.case;
        let stations = stations(measured, log)?;
        let apart = |station: &Station| distance(case, &station.sets);
        let nearest = stations.iter().min_by(|a, b| apart(a).0.total_cmp(&apart(b).0));
        let Some(station) = nearest else { return Ok(Err("it has no steady state".to_owned())) };
        let (distance, words) = apart(station);
        if distance > SAME_STATE {
            return Ok(Err(format!("its nearest state, {}, is another: {words}", station.name)));
        }
        let there = station.case(case)?.at_point(&measured.point)?.outside;
        let taps = taps(opened, measured, log, station, [there.pressure, there.temperature])?;
        let station = if words.is_empty() { station.name.clone() } else { format!("{}; {words}", station.name) };
        Ok(Ok(Self { station, taps }))
    }
}

fn taps(
    opened: &Opened,
    measured: &Measured,
    log: &Log,
    station: &Station,
    outside: [f64; 2],
) -> Result<Vec<BesideTap>, Failure> {
    let reading = &opened.reading;
    let (network, window, time) = (&reading.built.network, opened.summary.window, reading.file.time()?);
    let inside: Vec<usize> =
        (0..time.len()).filter(|row| time[*row] >= window.from && time[*row] <= window.to).collect();
    let mut taps = Vec::new();
    for (number, channel) in measured.channels.iter().enumerate() {
        let (Meaning::Gauge { tap: text, reads }, Some(mean), Some(data)) =
            (&channel.meaning, station.means[number], log.channels[number])
        else {
            continue;
        };
        let Some(tap) = channel.tap(network).map_err(Error::from)? else { continue };
        let air = mean_of(&reading.air_at(&tap)?, &inside);
        let Some(model) = channel.of_air(&air, opened.outside.pressure) else { continue };
        // What is read against vacuum or an ice point moves with the air of the day.
        let model = match reads {
            Reads::Static(Basis::Absolute) | Reads::Total(Basis::Absolute) => {
                model - opened.outside.pressure + outside[0]
            }
            Reads::Temperature => model - opened.outside.temperature + outside[1],
            _ => model,
        };
        let (part, x) = text.split_once(':').map_or((text.as_str(), None), |(part, x)| (part, Some(x)));
        let x = x.and_then(|x| quantity::parse(x, Dimension::Length).ok());
        taps.push(BesideTap {
            channel: channel.clone(),
            part: part.trim().to_owned(),
            x,
            reads: *reads,
            unit: data.unit,
            mean,
            model,
            air,
            outside,
        });
    }
    Ok(taps)
}

fn mean_of(air: &[AirAt], rows: &[usize]) -> AirAt {
    let count = rows.len().max(1) as f64;
    let mean = |value: fn(&AirAt) -> f64| rows.iter().filter_map(|row| air.get(*row)).map(value).sum::<f64>() / count;
    AirAt {
        pressure: mean(|air| air.pressure),
        total_pressure: mean(|air| air.total_pressure),
        total_temperature: mean(|air| air.total_temperature),
        mass_flow: mean(|air| air.mass_flow),
    }
}
