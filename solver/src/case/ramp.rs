//! A ramp: the stretch of time in which the numbers of a phase move from those of the phase before in a straight line.

use super::between::Between;
use super::parts::{self, Changes};
use super::{Case, Fan, Outside, Point, PointCase, Task, point_case};
use crate::error::{CaseError, Problem, RunError};
use crate::fields::Log;
use crate::gas::Gas;
use crate::march::Moving;
use crate::network::{Layout, Network};
use crate::yaml::{Entry, Node};

/// Shares of a ramp at which it is tried before the run, so that what does not fit together is told then.
const TRIED: [f64; 4] = [0.0, 0.25, 0.5, 0.75];

/// A ramp between two points of a case.
#[derive(Debug)]
pub struct Ramp {
    case: Case,
    points: [Point; 2],
    /// Parts, as each of the points has them.
    parts: Vec<[Entry; 2]>,
    outside: [Outside; 2],
    /// Start [s].
    from: f64,
    /// Time that it takes [s].
    length: f64,
    layout: Layout,
}

impl Ramp {
    /// The ramp of `case` from the first to the second of `points`, which begins at `from` [s] and takes `length` [s]. Its networks are laid
    /// out like `like`.
    ///
    /// # Errors
    /// Numbers on the way make no network.
    pub(super) fn new(
        case: &Case,
        points: [&Point; 2],
        from: f64,
        length: f64,
        like: &Network,
    ) -> Result<Self, CaseError> {
        let log = Log::new();
        let entries = case.tree.get("parts").and_then(Node::map).unwrap_or_default();
        let changes = Changes::of(&case.tree, entries, &log);
        let parts = entries.iter().map(|part| points.map(|point| changes.apply(&point.name, part, &log))).collect();
        let outside = points.map(|point| point_case::outside_at(case, point, &log).unwrap_or(case.outside));
        log.finish()?;
        let (case, points, layout) = (case.clone(), points.map(Point::clone), like.layout.clone());
        let ramp = Self { case, points, parts, outside, from, length, layout };
        for share in TRIED {
            ramp.network(share)?;
        }
        Ok(ramp)
    }

    /// End of the ramp [s].
    #[must_use]
    pub fn until(&self) -> f64 {
        self.from + self.length
    }

    /// The undisturbed air at `time` [s].
    #[must_use]
    pub fn outside(&self, time: f64) -> Outside {
        outside(self.at(time), &self.outside)
    }

    fn at(&self, time: f64) -> Between {
        Between { share: ((time - self.from) / self.length).clamp(0.0, 1.0) }
    }

    fn network(&self, share: f64) -> Result<Network, CaseError> {
        let between = Between { share };
        let log = Log::new();
        let case = self.point_case(between, &log);
        log.finish()?;
        let unread = |found: String| {
            let expected = "points that differ in numbers alone".to_owned();
            let location = self.points[1].location.clone();
            let problem =
                Problem { location, path: format!("points.{}", self.points[1].name), found, expected, nearest: None };
            CaseError { problems: vec![problem] }
        };
        let case = case.ok_or_else(|| unread("a case that cannot be read part of the way there".to_owned()))?;
        let network = Network::build(self.case.blueprint(case))?;
        if network.layout != self.layout {
            return Err(unread("a network of another kind part of the way there".to_owned()));
        }
        Ok(network)
    }

    fn point_case(&self, between: Between, log: &Log) -> Option<PointCase> {
        let mut read = Vec::with_capacity(self.parts.len());
        for [from, to] in &self.parts {
            let keys = parts::keys_of(to, self.case.kinds);
            let value = between.map(&from.value, &to.value, keys);
            let part = Entry { value, ..to.clone() };
            read.push((part.key.clone(), parts::read_part(&part, self.case.kinds, log)?));
        }
        let point = self.point(between);
        point_case::assemble(&self.case, &point, read, outside(between, &self.outside), log)
    }

    /// The point on the way. A crank that is to turn at another speed is brought there as by a brake.
    fn point(&self, between: Between) -> Point {
        let [from, to] = &self.points;
        let number = |of: fn(&Point) -> f64| between.number(of(from), of(to));
        let rise = to.engine_speed - from.engine_speed;
        Point {
            speed: number(|point| point.speed),
            wind: number(|point| point.wind),
            fan: fan(between, [from.fan.as_ref(), to.fan.as_ref()], &self.outside),
            slope: number(|point| point.slope),
            engine_speed: number(|point| point.engine_speed),
            throttle: number(|point| point.throttle),
            task: if rise.abs() > 0.0 {
                Task::Pull { to: to.engine_speed, rate: rise / self.length }
            } else {
                Task::Hold
            },
            ..to.clone()
        }
    }
}

impl Moving for Ramp {
    fn until(&self) -> f64 {
        Self::until(self)
    }

    fn network_at(&self, time: f64) -> Result<Network, RunError> {
        self.network(self.at(time).share).map_err(|error| {
            let problem = error.problems.first().map_or_else(String::new, ToString::to_string);
            RunError::NoNetwork { problem, time }
        })
    }
}

/// Where only one of two points has a fan, it comes or goes with what it covers of each mouth.
fn fan(between: Between, [from, to]: [Option<&Fan>; 2], outside: &[Outside; 2]) -> Option<Fan> {
    let speed = between.number(from.or(to)?.speed, to.or(from)?.speed);
    let [before, after] = [from, to].map(|fan| fan.map_or(&[][..], |fan| &fan.reaches));
    let covered = |of: &[(String, f64)], mouth: &str| {
        of.iter().find(|reached| reached.0 == mouth).map_or(0.0, |reached| reached.1)
    };
    let mut reaches: Vec<(String, f64)> = Vec::new();
    for (mouth, _) in after.iter().chain(before) {
        if !reaches.iter().any(|known| known.0 == *mouth) {
            reaches.push((mouth.clone(), between.number(covered(before, mouth), covered(after, mouth))));
        }
    }
    let temperature = match [from, to].map(|fan| fan.map(|fan| fan.temperature)) {
        [Some(from), Some(to)] if from.is_some() || to.is_some() => {
            let [before, after] = [outside[0].temperature, outside[1].temperature];
            Some(between.number(from.unwrap_or(before), to.unwrap_or(after)))
        }
        [from, to] => from.or(to).flatten(),
    };
    Some(Fan { speed, temperature, reaches })
}

/// The undisturbed air between that of two points; another gas than air is that of the second.
fn outside(between: Between, [from, to]: &[Outside; 2]) -> Outside {
    let pressure = between.number(from.pressure, to.pressure);
    let temperature = between.number(from.temperature, to.temperature);
    let relative_humidity = between.number(from.relative_humidity, to.relative_humidity);
    let is_air = to.gas == Gas::moist_air(to.pressure, to.temperature, to.relative_humidity);
    let gas = if is_air { Gas::moist_air(pressure, temperature, relative_humidity) } else { to.gas };
    Outside { pressure, temperature, relative_humidity, gas }
}
