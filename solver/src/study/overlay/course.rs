//! The model beside the stations of a pull or a roll-on: one course, read where it comes by.

use crate::case::measured::{Meaning, Measured};
use crate::case::{Case, Task};
use crate::error::{CaseError, Error, Problem};
use crate::loss::Deviations;
use crate::measured::Station;
use crate::study::KnownPoint;

/// A course with what the gauges would read in it.
#[derive(Debug)]
pub struct Course {
    /// The point, with the state from which it sets off.
    pub known: KnownPoint,
    /// By station, what every channel would read [SI], `None` of those that read nothing of the model; or in words why there is nothing.
    pub readings: Vec<Result<Vec<Option<f64>>, String>>,
}

/// Whether it was measured in a course of states rather than in steady ones: a pull, a roll-on or a throttle step.
#[must_use]
pub fn is_course(case: &Case, measured: &Measured) -> bool {
    *task(case, measured) != Task::Hold
}

fn task<'a>(case: &'a Case, measured: &Measured) -> &'a Task {
    case.points.iter().find(|point| point.name == measured.point).map_or(&Task::Hold, |point| &point.task)
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

/// The course of `case` at its measured point, sought from `near`, and what the gauges would read in it where it comes by each of the `stations`: at
/// its crank speed in a pull, at its road speed on the way out of a roll-on, in a straight line between two instants. The numbers that stations set
/// are those of `case` already.
///
/// # Errors
/// A throttle step, a log without that speed, or what [`KnownPoint::of`] has.
pub fn course_at(
    case: &Case,
    measured: &Measured,
    stations: &[Station],
    near: Option<&KnownPoint>,
) -> Result<Course, Error> {
    let by_road = match task(case, measured) {
        Task::RollOn { .. } => true,
        Task::Step { .. } => {
            return Err(no_speed(case, measured, "a throttle step, in which no speed tells states apart").into());
        }
        _ => false,
    };
    let wanted = if by_road { Meaning::RoadSpeed } else { Meaning::EngineSpeed };
    let speed = measured.channels.iter().position(|channel| channel.meaning == wanted);
    let Some(speed) = speed else {
        let found = if by_road {
            "a roll-on without a column of road speeds"
        } else {
            "a pull without a column of crank speeds"
        };
        return Err(no_speed(case, measured, found).into());
    };
    let mut instants: Vec<(f64, Vec<Option<f64>>)> = Vec::new();
    let known = KnownPoint::watched(case, &measured.point, near, Deviations::default(), &mut |moment, engine| {
        if engine.outward {
            let models = measured.channels.iter().map(|channel| channel.model(moment.network, moment.y, moment.work));
            // Logs have turns, as cases do.
            let here = if by_road { engine.road_speed } else { engine.crank_speed / std::f64::consts::TAU };
            instants.push((here, models.collect::<Result<_, CaseError>>()?));
        }
        Ok(())
    })?;
    let of_station = |station: &Station| {
        let at = station.means[speed].ok_or("it has no speed")?.value;
        between(&instants, at).ok_or_else(|| {
            let unit =
                |speed: f64| if by_road { format!("{:.1} m/s", speed) } else { format!("{:.0} rpm", 60.0 * speed) };
            let (first, last) = (instants.first().map_or(0.0, |one| one.0), instants.last().map_or(0.0, |one| one.0));
            format!("{} is not between {} and {}, through which the model goes", unit(at), unit(first), unit(last))
        })
    };
    let readings = stations.iter().map(of_station).collect();
    Ok(Course { known, readings })
}

/// What is read where the speed first passes `at`; nothing where it never does.
fn between(instants: &[(f64, Vec<Option<f64>>)], at: f64) -> Option<Vec<Option<f64>>> {
    let pair = instants.windows(2).find(|pair| pair[0].0 <= at && at <= pair[1].0)?;
    let share = if pair[1].0 > pair[0].0 { (at - pair[0].0) / (pair[1].0 - pair[0].0) } else { 0.0 };
    let mixed = |(before, behind): (&Option<f64>, &Option<f64>)| Some((1.0 - share) * (*before)? + share * (*behind)?);
    Some(pair[0].1.iter().zip(&pair[1].1).map(mixed).collect())
}

fn no_speed(case: &Case, measured: &Measured, found: &str) -> CaseError {
    let problem = Problem {
        location: case.location("measured.point"),
        path: format!("points.{}", measured.point),
        found: found.to_owned(),
        expected: "a steady point, a pull with a column `is: engine_speed`, or a roll-on with one `is: road_speed`"
            .to_owned(),
        nearest: None,
    };
    CaseError { problems: vec![problem] }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_station_is_read_between_two_instants_or_not_at_all() {
        let instants = [
            (30.0, vec![Some(1.0), None]),
            (40.0, vec![Some(3.0), None]),
            (38.0, vec![Some(9.0), None]),
            (50.0, vec![Some(5.0), None]),
        ];
        assert_eq!(between(&instants, 35.0), Some(vec![Some(2.0), None]));
        // Between gears a car is slower for a moment: the first time counts.
        let slower = between(&instants, 39.0).and_then(|read| read[0]).expect("a reading");
        assert!((slower - 2.8).abs() < 1e-12);
        assert_eq!(between(&instants, 44.0).map(|read| read[0]), Some(Some(7.0)));
        assert!(between(&instants, 29.0).is_none() && between(&instants, 50.1).is_none());
    }

    #[test]
    fn a_course_has_one_outside() {
        let station = |sets: &[(&str, f64)]| Station {
            name: String::new(),
            log: 0,
            line: 1,
            sets: sets.iter().map(|(path, value)| ((*path).to_owned(), *value)).collect(),
            means: Vec::new(),
        };
        let stations = [station(&[("a", 1.0), ("b", 5.0)]), station(&[("a", 3.0), ("b", 5.0)])];
        assert_eq!(mean_sets(&stations), [("a".to_owned(), 2.0), ("b".to_owned(), 5.0)]);
    }
}
