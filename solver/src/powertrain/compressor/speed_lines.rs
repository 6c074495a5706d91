//! A measured map.
//!
//! Along a speed line a monotone cubic runs in the share of the way from the line's top to choke. Between lines the head over the
//! square of speed and the flows over choke flow go from one line to the next, the choke flow itself by a monotone cubic: so that
//! outside all lines, and down to rest, the affinity laws hold of themselves. Saravanamuttoo et al., Gas Turbine Theory, 6th ed.,
//! section 4.6, for the laws; how they are joined is an own construction.

use super::Reference;
use super::rows::{self, MapFault, MapRow, Numbered, fault};
use crate::heat::ease::larger;
use crate::powertrain::monotone::{EndSlope, MonotoneCurve};

/// Rise of pressure ratio to the left of a line's top, within the width of the line and over its own. An own choice: it keeps the line
/// falling where a measured one has its hump.
const SLIGHT: f64 = 0.02;
/// Fall of pressure ratio beyond choke, over the highest rise of the map, at twice the top line's choke flow. It goes with the square
/// of the flow beyond choke, as the loss of a fixed passage. An own choice, no source.
const BEYOND_CHOKE: f64 = 10.0;
/// Share of choke flow beyond it over which the steepness of a line's end fades by half. An own choice, no source.
const FADE: f64 = 0.1;
/// Lowest efficiency, and the width in which it is reached; both shrink with a lowest measured value below their sum.
const FLOOR: f64 = 0.3;
const EASE: f64 = 0.1;
/// Speed over that of the lowest line below which the efficiency sinks to its floor. An own choice: at rest there is none.
const SLOWEST: f64 = 0.25;
/// Speeds over that of the highest line, and shares of a line, beyond which nothing changes, so that no input overflows.
const FASTEST: f64 = 1e3;
const FARTHEST: f64 = 1e3;

/// A compressor's map from measured speed lines.
#[derive(Debug, Clone, PartialEq)]
pub struct SpeedLines {
    lines: Vec<Line>,
    /// Choke flow [kg/s] over speed [rad/s].
    choke: MonotoneCurve,
    /// Fall of pressure ratio beyond choke [s^2/kg^2].
    beyond: f64,
    floor: f64,
    speed_limit: f64,
    reference: Reference,
}

#[derive(Debug, Clone, PartialEq)]
struct Line {
    speed: f64,
    /// Flows of the first point and of the top over that of the last point.
    surge: f64,
    top: f64,
    /// Pressure ratio less one over the square of speed, from the top (0) to choke (1).
    head: MonotoneCurve,
    /// Efficiency from the first point (0) to the last (1).
    efficiency: MonotoneCurve,
}

/// Two neighbouring lines and how much of the second.
struct Between<'a> {
    low: &'a Line,
    high: &'a Line,
    share: f64,
}

impl Between<'_> {
    fn blend(&self, of: impl Fn(&Line) -> f64) -> f64 {
        let low = of(self.low);
        if self.share > 0.0 { low + (of(self.high) - low) * self.share } else { low }
    }
}

impl SpeedLines {
    /// The map through `rows`, in any order: at least three speeds of at least three points, each speed the same to the last digit.
    /// Without a `speed_limit` [corrected rad/s] the highest line is the limit.
    ///
    /// Points left of a line's top tell its surge flow and efficiency; the pressure ratio goes on from the top with a slight rise
    /// instead of their hump. All other points are met.
    ///
    /// # Errors
    /// When lines or points are too few, a flow stands twice, an efficiency is outside 0 to 1, a line rises beyond its hump, lines
    /// cross, or the choke flow does not grow with speed.
    pub fn new(rows: &[MapRow], reference: Reference, speed_limit: Option<f64>) -> Result<Self, MapFault> {
        let sorted = rows::sort(rows)?;
        let lines = sorted.iter().map(|points| Line::new(points)).collect::<Result<Vec<_>, _>>()?;
        let ends: Vec<(f64, f64)> = sorted.iter().map(|points| end(points)).collect();
        for (pair, points) in ends.windows(2).zip(&sorted[1..]) {
            if pair[1].1 <= pair[0].1 {
                let found = format!("a highest flow of {} kg/s, {} kg/s at the speed below", pair[1].1, pair[0].1);
                return fault(points[points.len() - 1].0, found, "a highest flow that grows with speed");
            }
        }
        let last = ends[ends.len() - 1];
        let secant = {
            let before = ends[ends.len() - 2];
            (last.1 - before.1) / (last.0 - before.0)
        };
        let first = EndSlope::Given(ends[0].1 / ends[0].0);
        let choke = MonotoneCurve::new(ends, first, EndSlope::Given(secant.min(last.1 / last.0)));
        let highest = rows.iter().map(|row| row.pressure_ratio).fold(1.0, f64::max);
        let lowest = rows.iter().map(|row| row.efficiency).fold(FLOOR + EASE, f64::min);
        let mut map = Self {
            beyond: BEYOND_CHOKE * (highest - 1.0) / (last.1 * last.1),
            floor: lowest * FLOOR / (FLOOR + EASE),
            speed_limit: speed_limit.unwrap_or(last.0),
            lines,
            choke,
            reference,
        };
        // Less than this and the lowest line would fall as speed grows.
        let (speed, choke) = (map.lines[0].speed, map.choke_flow(map.lines[0].speed));
        let steepness = speed * speed * -map.lines[0].head.at(1.0).1 / (choke * (1.0 - map.lines[0].top));
        map.beyond = map.beyond.max(steepness / choke);
        map.refuse_crossing(&sorted)?;
        Ok(map)
    }

    /// Each line must lie above the one below it, at the flows of both up to the lower one's choke.
    fn refuse_crossing(&self, sorted: &[Vec<Numbered>]) -> Result<(), MapFault> {
        for pair in sorted.windows(2) {
            let (low, choke) = end(&pair[0]);
            let (high, _) = end(&pair[1]);
            for (number, point) in pair[0].iter().chain(&pair[1]).filter(|(_, point)| point.corrected_flow <= choke) {
                let [below, above] = [low, high].map(|speed| self.raw_pressure_ratio(point.corrected_flow, speed));
                if above <= below {
                    let found = format!("lines that cross: {above:.4} here, {below:.4} at the lower of both speeds");
                    return fault(*number, found, "a pressure ratio that grows with speed at each flow");
                }
            }
        }
        Ok(())
    }

    fn clamped(&self, corrected_speed: f64) -> f64 {
        corrected_speed.clamp(0.0, FASTEST * self.lines[self.lines.len() - 1].speed)
    }

    fn between(&self, speed: f64) -> Between<'_> {
        let right = self.lines.partition_point(|line| line.speed <= speed);
        let low = &self.lines[right.saturating_sub(1)];
        let high = &self.lines[right.min(self.lines.len() - 1)];
        let width = high.speed - low.speed;
        let t = if width > 0.0 { (speed - low.speed) / width } else { 0.0 };
        Between { low, high, share: t * t * (3.0 - 2.0 * t) }
    }

    pub(super) fn choke_flow(&self, corrected_speed: f64) -> f64 {
        let speed = self.clamped(corrected_speed);
        let lowest = self.lines[0].speed;
        if speed < lowest { self.choke.at(lowest).0 * (speed / lowest) } else { self.choke.at(speed).0 }
    }

    pub(super) fn surge_flow(&self, corrected_speed: f64) -> f64 {
        self.choke_flow(corrected_speed) * self.between(self.clamped(corrected_speed)).blend(|line| line.surge)
    }

    pub(super) fn raw_pressure_ratio(&self, corrected_flow: f64, corrected_speed: f64) -> f64 {
        let speed = self.clamped(corrected_speed);
        let between = self.between(speed);
        let choke = self.choke_flow(speed);
        let top = choke * between.blend(|line| line.top);
        let square = speed * speed;
        // At rest the width is nothing, and so is all that is divided by it.
        let width = (choke - top).max(f64::MIN_POSITIVE);
        if corrected_flow >= choke {
            let over = corrected_flow - choke;
            let slope = square * between.blend(|line| line.head.at(1.0).1) / width;
            // The last piece's own steepness, which differs between lines, fades: far out all lines fall alike.
            let fade = FADE * choke / (FADE * choke + over).max(f64::MIN_POSITIVE);
            return 1.0
                + square * between.blend(|line| line.head.at(1.0).0)
                + (slope * fade - self.beyond * over) * over;
        }
        if corrected_flow <= top {
            let slope = square * between.blend(|line| line.head.at(0.0).1) / width;
            return 1.0 + square * between.blend(|line| line.head.at(0.0).0) + slope * (corrected_flow - top);
        }
        let place = (corrected_flow - top) / width;
        1.0 + square * between.blend(|line| line.head.at(place).0)
    }

    pub(super) fn efficiency(&self, corrected_flow: f64, corrected_speed: f64) -> f64 {
        let speed = self.clamped(corrected_speed);
        let between = self.between(speed);
        let choke = self.choke_flow(speed);
        let surge = choke * between.blend(|line| line.surge);
        let width = (choke - surge).max(f64::MIN_POSITIVE);
        let place = ((corrected_flow - surge) / width).clamp(-FARTHEST, FARTHEST);
        let measured = between.blend(|line| line.efficiency.at(place).0);
        let t = (speed / (SLOWEST * self.lines[0].speed)).min(1.0);
        let floored = larger(measured, self.floor, self.floor * EASE / FLOOR);
        self.floor + (floored - self.floor) * t * t * (3.0 - 2.0 * t)
    }

    pub(super) fn speed_limit(&self) -> f64 {
        self.speed_limit
    }

    pub(super) fn reference(&self) -> Reference {
        self.reference
    }
}

/// Speed and choke flow of a line.
fn end(points: &[Numbered]) -> (f64, f64) {
    (points[0].1.corrected_speed, points[points.len() - 1].1.corrected_flow)
}

impl Line {
    fn new(points: &[Numbered]) -> Result<Self, MapFault> {
        let (speed, choke) = end(points);
        let ratio = |at: usize| points[at].1.pressure_ratio;
        let mut peak = 0;
        for at in 1..points.len() {
            if ratio(at) >= ratio(peak) {
                peak = at;
            }
        }
        if peak + 1 == points.len() {
            let found = format!("the highest pressure ratio of the line, {}, at its highest flow", ratio(peak));
            return fault(points[peak].0, found, "a pressure ratio that falls towards the highest flow");
        }
        let mut right = points.windows(2).skip(peak);
        if let Some([(_, before), (number, row)]) =
            right.find(|pair| pair[1].1.pressure_ratio >= pair[0].1.pressure_ratio)
        {
            let found =
                format!("a pressure ratio of {} after {} at a lower flow", row.pressure_ratio, before.pressure_ratio);
            return fault(*number, found, "a pressure ratio that falls beyond the line's hump");
        }
        let curve = |from: usize, value: fn(&MapRow) -> f64| -> Vec<(f64, f64)> {
            let start = points[from].1.corrected_flow;
            let place = |row: &MapRow| (row.corrected_flow - start) / (choke - start);
            points[from..].iter().map(|(_, row)| (place(row), value(row))).collect()
        };
        let mut head = curve(peak, |row| row.pressure_ratio - 1.0);
        for point in &mut head {
            point.1 /= speed * speed;
        }
        let steepness = (head[0].1 - head[1].1) / (head[1].0 - head[0].0);
        let slight = (SLIGHT * head[0].1.abs()).min(steepness);
        let efficiency = curve(0, |row| row.efficiency);
        let natural = MonotoneCurve::new(efficiency.clone(), EndSlope::Natural, EndSlope::Natural);
        // Beyond its ends no line is better than at them.
        let (first, last) = (natural.at(0.0).1.max(0.0), natural.at(1.0).1.min(0.0));
        Ok(Self {
            speed,
            surge: points[0].1.corrected_flow / choke,
            top: points[peak].1.corrected_flow / choke,
            head: MonotoneCurve::new(head, EndSlope::Given(-slight), EndSlope::Natural),
            efficiency: MonotoneCurve::new(efficiency, EndSlope::Given(first), EndSlope::Given(last)),
        })
    }
}
