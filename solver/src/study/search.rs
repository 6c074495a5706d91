//! Looking for the best inputs between their bounds: from the best of some evenly spread runs on, by linear approximations.
//!
//! The search itself is Powell's method for constraints without derivatives (Powell 1994, in Advances in Optimization and Numerical Analysis, 51; the
//! library `cobyla` has it). Two aims make a front: the first aim is sought with the second held to one level after another (Haimes, Lasdon
//! and Wismer 1971, IEEE Transactions on Systems, Man and Cybernetics 1, 296). Each search is a pure function of the runs it is given, so that
//! one that was stopped comes to the same end when it is done again: what is known is not run twice.

use super::plan::{Goal, Plan, Run, Search, What};
use cobyla::{Func, RhoBeg, StopTols, minimize};
use std::cell::RefCell;

/// First step over the width of the bounds, and the step below which nobody looks further.
const FIRST_STEP: f64 = 0.15;
const LAST_STEP: f64 = 1e-3;
/// Digits of an input over the width of its bounds: finer than a workshop, so that the table can be read.
const DIGITS: f64 = 1e-4;
/// Cost of a run that failed, in the scale in which those of the first runs lie between zero and one.
const FAILED: f64 = 2.0;
/// Starts of a search for one aim.
const STARTS: usize = 2;
/// Levels of the second aim between the ends of a front.
const LEVELS: usize = 6;

/// What a run comes to, for a search: value of what an aim or a condition looks at; `None` where the run failed.
pub type Value<'a> = dyn Fn(&Run, &What) -> Option<f64> + 'a;

/// A condition for the library: not negative where it is met.
type Condition<'a> = Box<dyn Fn(&[f64], &mut ()) -> f64 + 'a>;

/// A search from one start.
#[derive(Debug, Clone, PartialEq)]
pub struct Local {
    /// Run from which it sets out.
    pub from: Run,
    /// Number of the aim that is sought.
    pub aim: usize,
    /// Largest cost of the other aim that is allowed.
    pub level: Option<f64>,
    /// Most runs that it makes.
    pub most: usize,
}

impl Plan {
    /// The evenly spread runs of a layout at a point from which the search goes on.
    #[must_use]
    pub fn starts(&self, layout: usize, point: usize) -> Vec<Run> {
        let place = layout * self.points.len() + point;
        let count = self.combinations();
        (place * count..(place + 1) * count).map(|number| self.run(number)).collect()
    }
}

/// The searches that come first for a layout at a point: from its best starts; of two aims one for each end of the front.
#[must_use]
pub fn first(plan: &Plan, search: Search, starts: &[Run], value: &Value<'_>) -> Vec<Local> {
    let left = search.evaluations.saturating_sub(starts.len());
    let (aims, each) = match plan.goals.len() {
        1 => (vec![0; STARTS.min(starts.len())], left / STARTS.min(starts.len()).max(1)),
        _ => (vec![0, 1], left / (LEVELS + 2)),
    };
    let mut taken = [0, 0];
    let local = |aim: usize| {
        let order = by_merit(plan, starts, aim, None, value);
        let from = starts[order[taken[aim]]].clone();
        taken[aim] += 1;
        Local { from, aim, level: None, most: each }
    };
    aims.into_iter().map(local).collect()
}

/// The searches between the ends of a front, once these are known among the runs `known`; none for one aim.
#[must_use]
pub fn between(plan: &Plan, search: Search, starts: &[Run], known: &[Run], value: &Value<'_>) -> Vec<Local> {
    let [first, second] = &plan.goals[..] else { return Vec::new() };
    let best = |aim: usize| {
        let met: Vec<&Run> = known.iter().filter(|run| broken(plan, run, value) <= 0.0).collect();
        let cost = |run: &Run| cost(&plan.goals[aim], run, value).unwrap_or(f64::INFINITY);
        met.into_iter().min_by(|a, b| cost(a).total_cmp(&cost(b))).cloned()
    };
    let (Some(of_first), Some(of_second)) = (best(0), best(1)) else { return Vec::new() };
    let (Some(high), Some(low)) = (cost(second, &of_first, value), cost(second, &of_second, value)) else {
        return Vec::new();
    };
    if cost(first, &of_first, value).is_none() || high <= low {
        return Vec::new();
    }
    let each = search.evaluations.saturating_sub(starts.len()) / (LEVELS + 2);
    let level = |number: usize| {
        let level = low + (high - low) * number as f64 / (LEVELS + 1) as f64;
        let order = by_merit(plan, known, 0, Some(level), value);
        Local { from: known[order[0]].clone(), aim: 0, level: Some(level), most: each }
    };
    (1..=LEVELS).map(level).collect()
}

/// Searches; `of` does a run that is not known yet, and answers with whether to go on. All runs that were looked at, in their order.
pub fn local(plan: &Plan, local: &Local, starts: &[Run], value: &Value<'_>) -> Vec<Run> {
    let scale = Scale::new(plan, local.aim, starts, value);
    let seen: RefCell<Vec<Run>> = RefCell::new(Vec::new());
    let run_at = |x: &[f64]| {
        let numbers = plan.variables.iter().zip(x).map(|(variable, x)| {
            let (from, to) = variable.values.bounds();
            round(from + (to - from) * x.clamp(0.0, 1.0), to - from).clamp(from, to)
        });
        Run { numbers: numbers.collect(), ..local.from.clone() }
    };
    let aim = |x: &[f64], _: &mut ()| {
        let run = run_at(x);
        let cost = cost(&plan.goals[local.aim], &run, value).map_or(FAILED, |cost| scale.of(cost));
        let mut seen = seen.borrow_mut();
        if !seen.contains(&run) {
            seen.push(run);
        }
        cost
    };
    let mut conditions: Vec<Condition<'_>> = Vec::new();
    for limit in &plan.limits {
        conditions.push(Box::new(|x, ()| {
            let run = run_at(x);
            value(&run, &limit.what).and_then(|value| limit.margin(value)).unwrap_or(-1.0)
        }));
    }
    if let Some(level) = local.level {
        let other = Scale::new(plan, 1 - local.aim, starts, value);
        conditions.push(Box::new(move |x, ()| {
            let run = run_at(x);
            cost(&plan.goals[1 - local.aim], &run, value).map_or(-1.0, |cost| other.of(level) - other.of(cost))
        }));
    }
    let conditions: Vec<&dyn Func<()>> = conditions.iter().map(|condition| condition as &dyn Func<()>).collect();
    let start: Vec<f64> = plan
        .variables
        .iter()
        .zip(&local.from.numbers)
        .map(|(variable, number)| {
            let (from, to) = variable.values.bounds();
            (number - from) / (to - from)
        })
        .collect();
    let bounds = vec![(0.0, 1.0); start.len()];
    let stop = StopTols { xtol_abs: vec![LAST_STEP; start.len()], ..StopTols::default() };
    // How it ended says nothing: the table tells what is best.
    let _ = minimize(aim, &start, &bounds, &conditions, (), local.most.max(1), RhoBeg::All(FIRST_STEP), Some(stop));
    seen.into_inner()
}

/// The cost of an aim in a scale in which those of the starts lie between zero and one.
struct Scale {
    least: f64,
    width: f64,
}

impl Scale {
    fn new(plan: &Plan, aim: usize, starts: &[Run], value: &Value<'_>) -> Self {
        let costs = || starts.iter().filter_map(|run| cost(&plan.goals[aim], run, value));
        let least = costs().fold(f64::INFINITY, f64::min);
        let width = costs().fold(f64::NEG_INFINITY, f64::max) - least;
        if width > 0.0 && width.is_finite() { Self { least, width } } else { Self { least: 0.0, width: 1.0 } }
    }

    fn of(&self, cost: f64) -> f64 {
        (cost - self.least) / self.width
    }
}

fn cost(goal: &Goal, run: &Run, value: &Value<'_>) -> Option<f64> {
    value(run, &goal.what).map(|value| goal.cost(value))
}

/// By how much a run breaks the conditions, at the worst; zero or less where it meets all.
fn broken(plan: &Plan, run: &Run, value: &Value<'_>) -> f64 {
    let margin = |limit: &super::plan::Limit| value(run, &limit.what).and_then(|value| limit.margin(value));
    plan.limits.iter().map(|limit| margin(limit).map_or(f64::INFINITY, |margin| -margin)).fold(0.0, f64::max)
}

/// Numbers of the runs from the best on: first those that meet all conditions by their cost, then the others by how little they break them.
fn by_merit(plan: &Plan, runs: &[Run], aim: usize, level: Option<f64>, value: &Value<'_>) -> Vec<usize> {
    let merit = |run: &Run| {
        let over = level.map_or(0.0, |level| {
            cost(&plan.goals[1 - aim], run, value).map_or(f64::INFINITY, |cost| (cost - level).max(0.0))
        });
        let broken = broken(plan, run, value).max(over);
        (broken, cost(&plan.goals[aim], run, value).unwrap_or(f64::INFINITY))
    };
    let merits: Vec<(f64, f64)> = runs.iter().map(merit).collect();
    let mut order: Vec<usize> = (0..runs.len()).collect();
    order.sort_by(|a, b| merits[*a].0.total_cmp(&merits[*b].0).then(merits[*a].1.total_cmp(&merits[*b].1)));
    order
}

/// `number` in steps of a power of ten that is small beside the `width` of its bounds.
fn round(number: f64, width: f64) -> f64 {
    let places = -libm::floor(libm::log10(width * DIGITS));
    let scale = libm::pow(10.0, places.abs());
    if places >= 0.0 { (number * scale).round() / scale } else { (number / scale).round() * scale }
}

#[cfg(test)]
mod tests;
