//! Readings that cannot be, or that hardly ever are.

use super::{Log, Station};
use crate::case::measured::{Channel, Meaning, Measured, Reads};
use crate::case::{Case, Outside, Task};
use crate::error::CaseError;

/// Air for each unit of work of a petrol engine [kg/J]: 3.2 to 4.2 kg/kWh. Common practice, no source.
const AIR_PER_WORK: [f64; 2] = [3.2 / 3.6e6, 4.2 / 3.6e6];
/// Standard deviations of its accuracy by which a reading may pass a limit before it is doubted.
const DEVIATIONS: f64 = 3.0;

/// A doubt about a channel.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    /// Number of the channel.
    pub channel: usize,
    /// In how many stations.
    pub stations: usize,
    /// What is doubted, with the figures of the worst station.
    pub text: String,
}

/// What is doubtful in `stations`, judged without any model of the tract: no pressure in it exceeds the free stream's total pressure or is less than half of the
/// outside's, no air is colder than outside, and an engine needs its air.
///
/// # Errors
/// What is wrong with the numbers that a station sets.
pub fn doubts(case: &Case, measured: &Measured, log: &Log, stations: &[Station]) -> Result<Vec<Doubt>, CaseError> {
    let mut found = Vec::new();
    let airs: Vec<Air> = stations.iter().map(|station| Air::of(case, measured, station)).collect::<Result<_, _>>()?;
    for (number, channel) in measured.channels.iter().enumerate() {
        let of_channel = stations.iter().zip(&airs).filter_map(|(station, air)| {
            let mean = station.means[number]?;
            let (beyond, text) = doubt(channel, mean.value, air)?;
            (beyond > DEVIATIONS * channel.accuracy).then(|| (beyond, format!("{text} at {}", station.name)))
        });
        let of_channel: Vec<(f64, String)> = of_channel.collect();
        if let Some((_, text)) = of_channel.iter().max_by(|a, b| a.0.total_cmp(&b.0)) {
            found.push(Doubt { channel: number, stations: of_channel.len(), text: text.clone() });
        }
    }
    found.extend(air_per_work(measured, stations));
    found.extend(smoothing(measured, log));
    Ok(found)
}

/// The undisturbed air of a station.
struct Air {
    outside: Outside,
    /// Dynamic pressure of the free stream, or of the fan where that is more [Pa].
    ram: f64,
}

impl Air {
    fn of(case: &Case, measured: &Measured, station: &Station) -> Result<Self, CaseError> {
        let at = station.case(case)?.at_point(&measured.point)?;
        // A roll-on has the speed of each of its states.
        let road = measured.channels.iter().position(|channel| channel.meaning == Meaning::RoadSpeed);
        let rolling =
            road.and_then(|road| station.means[road]).filter(|_| matches!(at.point.task, Task::RollOn { .. }));
        let air_speed = rolling.map_or(at.point.air_speed(), |speed| speed.value + at.point.wind);
        let speed = air_speed.abs().max(at.point.fan.as_ref().map_or(0.0, |fan| fan.speed));
        let outside = at.outside;
        let total = outside.gas.total_pressure(outside.pressure, outside.temperature, speed);
        Ok(Self { ram: total - outside.pressure, outside })
    }
}

/// By how much a reading passes a limit [SI], and which.
fn doubt(channel: &Channel, value: f64, air: &Air) -> Option<(f64, String)> {
    let Meaning::Gauge { reads, .. } = &channel.meaning else { return None };
    if let Some(pressure) = reads.absolute(value, air.outside.pressure) {
        let above = pressure - air.outside.pressure;
        if above > air.ram {
            let text = format!("{above:.0} Pa above the outside, where the air stream gives {:.0} Pa at most", air.ram);
            return Some((above - air.ram, text));
        }
        // Half of an atmosphere is lost by no induction system: the unit or the basis is another.
        let half = 0.5 * air.outside.pressure;
        return (pressure < half)
            .then(|| (half - pressure, format!("{pressure:.0} Pa, less than half of the outside's")));
    }
    if *reads == Reads::Temperature && value < air.outside.temperature {
        let below = air.outside.temperature - value;
        return Some((below, format!("{below:.1} K colder than the outside")));
    }
    None
}

/// Air for each unit of work, where both are measured.
fn air_per_work(measured: &Measured, stations: &[Station]) -> Option<Doubt> {
    let flow = measured.channels.iter().position(|channel| channel.meaning == Meaning::AirFlow)?;
    let (power, basis) = measured.channels.iter().enumerate().find_map(|(number, channel)| match &channel.meaning {
        Meaning::Power(basis) => Some((number, *basis)),
        _ => None,
    })?;
    let share = if basis.at_wheels { basis.driveline? } else { 1.0 };
    let ratios = stations.iter().filter_map(|station| {
        let ratio = station.means[flow]?.value / (station.means[power]?.value / share);
        Some((ratio, &station.name))
    });
    let outside = |ratio: f64| (AIR_PER_WORK[0] - ratio).max(ratio - AIR_PER_WORK[1]);
    let odd: Vec<(f64, &String)> = ratios.filter(|(ratio, _)| outside(*ratio) > 0.0).collect();
    let (ratio, name) = odd.iter().max_by(|a, b| outside(a.0).total_cmp(&outside(b.0)))?;
    Some(Doubt {
        channel: flow,
        stations: odd.len(),
        text: format!(
            "{:.2} kg of air for each kWh at the crank, where 3.2 to 4.2 are usual, at {name}",
            3.6e6 * ratio
        ),
    })
}

/// A power that was smoothed over more than the time between rows tells no change that is faster.
fn smoothing(measured: &Measured, log: &Log) -> Option<Doubt> {
    let (channel, basis) =
        measured.channels.iter().enumerate().find_map(|(number, channel)| match &channel.meaning {
            Meaning::Power(basis) => Some((number, basis)),
            _ => None,
        })?;
    log.channels[channel]?;
    let text = match basis.smoothing {
        None => "smoothed over nobody knows what time: a step in it is wider than in the engine".to_owned(),
        Some(time) if time > log.step.unwrap_or(f64::INFINITY) => {
            format!("smoothed over {time} s: a step in it is wider than in the engine")
        }
        Some(_) => return None,
    };
    Some(Doubt { channel, stations: 0, text })
}
