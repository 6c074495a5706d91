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

/// Share of the outside's pressure that no induction system loses. Common practice, no source: a bad one loses a tenth.
const MOST_LOST: f64 = 0.2;
/// Warmth of the air over the outside's beyond which no inlet is [K]. Common practice, no source: a hot bay after a stop is some 60 K warmer.
const MOST_WARMTH: f64 = 80.0;
/// States from which on a gauge that reads the same in all of them is stuck.
const STUCK: usize = 5;
/// What may be set of a road: pressure [Pa] of 5 km above the sea to that of an anticyclone below it, temperature [K] of polar winter and of a desert,
/// speed [m/s] up to a record. Common practice, no source.
const OUTSIDE_PRESSURE: [f64; 2] = [50e3, 110e3];
const OUTSIDE_TEMPERATURE: [f64; 2] = [223.15, 328.15];
const MOST_SPEED: f64 = 130.0;

/// What is doubtful in `stations`, judged without any model of the tract: no pressure in it exceeds the free stream's total pressure or is far below the
/// outside's, no air is colder than outside or as hot as exhaust, a gauge moves, there is an outside on earth, and an engine needs its air.
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
        found.extend(stuck(channel, number, stations));
    }
    found.extend(no_outside(case, measured, stations, &airs));
    found.extend(air_per_work(measured, stations));
    found.extend(smoothing(measured, log));
    Ok(found)
}

/// The undisturbed air of a station.
struct Air {
    outside: Outside,
    /// Dynamic pressure of the free stream, or of the fan where that is more [Pa].
    ram: f64,
    /// Speed of the air against the car [m/s].
    speed: f64,
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
        Ok(Self { ram: total - outside.pressure, speed: air_speed.abs(), outside })
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
        let most = MOST_LOST * air.outside.pressure;
        return (-above > most).then(|| {
            (-above - most, format!("{:.0} Pa below the outside, more than a fifth of its pressure", -above))
        });
    }
    if *reads == Reads::Temperature && value < air.outside.temperature {
        let below = air.outside.temperature - value;
        return Some((below, format!("{below:.1} K colder than the outside")));
    }
    let warmth = value - air.outside.temperature;
    (*reads == Reads::Temperature && warmth > MOST_WARMTH)
        .then(|| (warmth - MOST_WARMTH, format!("{warmth:.0} K warmer than the outside")))
}

/// A gauge that reads the same in many states.
fn stuck(channel: &Channel, number: usize, stations: &[Station]) -> Option<Doubt> {
    let values: Vec<f64> = stations.iter().filter_map(|station| Some(station.means[number]?.value)).collect();
    let same = channel.counts() && values.len() >= STUCK && values.iter().all(|value| (value - values[0]).abs() <= 0.0);
    let text = format!("reads the same in all of {} states, as if it were stuck", values.len());
    same.then_some(Doubt { channel: number, stations: 0, text })
}

/// What a number that is set must lie between: what it is, where it stands, from and to.
type Limit = (&'static str, fn(&Air) -> f64, [f64; 2]);

/// An outside that is none on earth, or a road speed that no car has.
fn no_outside(case: &Case, measured: &Measured, stations: &[Station], airs: &[Air]) -> Vec<Doubt> {
    let numbers = case.numbers();
    let mut found = Vec::new();
    for (number, channel) in measured.channels.iter().enumerate() {
        let sets = |end: &str| channel.sets.iter().any(|path| path.ends_with(end));
        let of: Option<Limit> = if sets("outside.pressure") {
            Some(("an outside of", |air| air.outside.pressure, OUTSIDE_PRESSURE))
        } else if sets("outside.temperature") {
            Some(("an outside of", |air| air.outside.temperature, OUTSIDE_TEMPERATURE))
        } else if sets(".speed") && channel.sets.iter().any(|path| path.starts_with("points.")) {
            Some(("a road speed of", |air| air.speed, [0.0, MOST_SPEED]))
        } else {
            None
        };
        let Some((what, value, [least, most])) = of else { continue };
        let odd = |air: &&Air| !(least..=most).contains(&value(air));
        let count = airs.iter().filter(odd).count();
        let Some((station, air)) = stations.iter().zip(airs).find(|(_, air)| odd(air)) else { continue };
        let unit = numbers.iter().find(|number| channel.sets.contains(&number.path)).map(|number| number.unit);
        let shown = unit.map_or(String::new(), |unit| format!("{:.1} {}", unit.from_si(value(air)), unit.symbol));
        found.push(Doubt { channel: number, stations: count, text: format!("{what} {shown} at {}", station.name) });
    }
    found
}

/// Air for each unit of work, where both are measured.
fn air_per_work(measured: &Measured, stations: &[Station]) -> Option<Doubt> {
    let flow = measured.channels.iter().position(|channel| channel.meaning == Meaning::AirFlow)?;
    let (power, basis) = measured.channels.iter().enumerate().find_map(|(number, channel)| match &channel.meaning {
        Meaning::Power(basis) => Some((number, *basis)),
        _ => None,
    })?;
    let share = basis.share();
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
