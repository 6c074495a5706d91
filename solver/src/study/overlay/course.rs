//! The model beside the states of a pull or a roll-on: one course, read where it comes by.

use crate::case::measured::{Channel, Meaning, Measured};
use crate::case::{Case, NewValue};
use crate::error::{CaseError, Error};
use crate::loss::Deviations;
use crate::measured::Station;
use crate::network::{AirAt, Network, Work};
use crate::study::KnownPoint;

/// A course with what the gauges would read in it.
#[derive(Debug)]
pub struct Course {
    /// The point, with the state from which it sets off.
    pub known: KnownPoint,
    /// By station what is read there, or in words why there is nothing.
    pub read: Vec<Result<Read, String>>,
}

/// What the channels would read in one state of the model.
#[derive(Debug, Clone, PartialEq)]
pub struct Read {
    /// By channel what it would read [SI]; `None` of those that read nothing of the model.
    pub readings: Vec<Option<f64>>,
    /// By channel the air where its gauge sits.
    pub airs: Vec<Option<AirAt>>,
}

/// The numbers of the case that `stations` of one log set, as means over them: a course has one outside.
#[must_use]
pub fn mean_sets(stations: &[Station]) -> Vec<(String, f64)> {
    let mut sums: Vec<(String, f64, f64)> = Vec::new();
    for (path, value) in stations.iter().flat_map(|station| &station.sets) {
        match sums.iter_mut().find(|sum| sum.0 == *path) {
            Some(sum) => (sum.1, sum.2) = (sum.1 + value, sum.2 + 1.0),
            None => sums.push((path.clone(), *value, 1.0)),
        }
    }
    sums.into_iter().map(|(path, sum, count)| (path, sum / count)).collect()
}

/// The course of `case` at its measured point with what its `stations` set and with `changes` besides, sought from `near`, and what the gauges would
/// read in it where it comes by each of them: at the crank speed of `speed`'s channel in a pull, at its road speed on the way out of a roll-on, in a
/// straight line between two instants.
///
/// # Errors
/// What [`KnownPoint::of`] has.
pub fn course_at(
    case: &Case,
    measured: &Measured,
    speed: usize,
    stations: &[Station],
    changes: &[(&str, NewValue)],
    near: Option<&KnownPoint>,
) -> Result<Course, Error> {
    let sets = mean_sets(stations);
    let sets = sets.iter().map(|(path, value)| (path.as_str(), NewValue::Si(*value)));
    // The changes stand last: what is fitted is not set.
    let case = case.with(&sets.chain(changes.iter().cloned()).collect::<Vec<_>>())?;
    let by_road = measured.channels[speed].meaning == Meaning::RoadSpeed;
    let mut instants: Vec<(f64, Read)> = Vec::new();
    let known = KnownPoint::watched(&case, &measured.point, near, Deviations::default(), &mut |moment, engine| {
        if engine.outward {
            // Logs have turns, as cases do.
            let here = if by_road { engine.road_speed } else { engine.crank_speed / std::f64::consts::TAU };
            instants.push((here, Read::of(measured, moment.network, moment.y, moment.work)?));
        }
        Ok(())
    })?;
    let of_station = |station: &Station| {
        let at = station.means[speed].ok_or("it has no speed")?.value;
        between(&instants, at).ok_or_else(|| {
            let told =
                |speed: f64| if by_road { format!("{speed:.1} m/s") } else { format!("{:.0} rpm", 60.0 * speed) };
            let end = |instant: Option<&(f64, Read)>| told(instant.map_or(0.0, |instant| instant.0));
            format!(
                "{} is not between {} and {}, through which the model goes",
                told(at),
                end(instants.first()),
                end(instants.last())
            )
        })
    };
    let read = stations.iter().map(of_station).collect();
    Ok(Course { known, read })
}

impl Read {
    /// In the state `y` of `network` that stands in `work`.
    ///
    /// # Errors
    /// A tap that the network does not have.
    pub(super) fn of(measured: &Measured, network: &Network, y: &[f64], work: &Work) -> Result<Self, CaseError> {
        let reading = |channel: &Channel| channel.model(network, y, work);
        let air = |channel: &Channel| Ok(channel.tap(network)?.map(|tap| tap.air(network, work)));
        Ok(Self {
            readings: measured.channels.iter().map(reading).collect::<Result<_, _>>()?,
            airs: measured.channels.iter().map(air).collect::<Result<_, CaseError>>()?,
        })
    }

    fn mixed(before: &Self, behind: &Self, share: f64) -> Self {
        let mix = |a: f64, b: f64| (1.0 - share) * a + share * b;
        let air = |a: &AirAt, b: &AirAt| AirAt {
            pressure: mix(a.pressure, b.pressure),
            total_pressure: mix(a.total_pressure, b.total_pressure),
            total_temperature: mix(a.total_temperature, b.total_temperature),
            mass_flow: mix(a.mass_flow, b.mass_flow),
        };
        let readings = before.readings.iter().zip(&behind.readings).map(|(a, b)| Some(mix((*a)?, (*b)?)));
        let airs = before.airs.iter().zip(&behind.airs).map(|(a, b)| Some(air(a.as_ref()?, b.as_ref()?)));
        Self { readings: readings.collect(), airs: airs.collect() }
    }
}

/// What is read where the speed first passes `at`; nothing where it never does.
fn between(instants: &[(f64, Read)], at: f64) -> Option<Read> {
    let pair = instants.windows(2).find(|pair| pair[0].0 <= at && at <= pair[1].0)?;
    let share = if pair[1].0 > pair[0].0 { (at - pair[0].0) / (pair[1].0 - pair[0].0) } else { 0.0 };
    Some(Read::mixed(&pair[0].1, &pair[1].1, share))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_station_is_read_between_two_instants_or_not_at_all() {
        let instant = |speed: f64, read: f64| {
            let air = AirAt { pressure: read, total_pressure: 2.0 * read, total_temperature: 300.0, mass_flow: 0.0 };
            (speed, Read { readings: vec![Some(read), None], airs: vec![Some(air), None] })
        };
        let instants = [instant(30.0, 1.0), instant(40.0, 3.0), instant(38.0, 9.0), instant(50.0, 5.0)];
        let read = |at: f64| between(&instants, at);
        assert_eq!(read(35.0).expect("a state").readings, [Some(2.0), None]);
        let total = read(35.0).and_then(|read| read.airs[0]).map(|air| air.total_pressure);
        assert_eq!(total, Some(4.0));
        // Between gears a car is slower for a moment: the first time counts.
        let slower = read(39.0).and_then(|read| read.readings[0]).expect("a reading");
        assert!((slower - 2.8).abs() < 1e-12);
        assert_eq!(read(44.0).and_then(|read| read.readings[0]), Some(7.0));
        assert!(read(29.0).is_none() && read(50.1).is_none());
    }

    #[test]
    fn a_course_has_one_outside() {
        let station = |sets: &[(&str, f64)]| Station {
            name: String::new(),
            file: String::new(),
            line: 1,
            sets: sets.iter().map(|(path, value)| ((*path).to_owned(), *value)).collect(),
            means: Vec::new(),
        };
        let stations = [station(&[("a", 1.0), ("b", 5.0)]), station(&[("a", 3.0), ("b", 5.0)])];
        assert_eq!(mean_sets(&stations), [("a".to_owned(), 2.0), ("b".to_owned(), 5.0)]);
    }
}
