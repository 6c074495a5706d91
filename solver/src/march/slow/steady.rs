//! The steady state of a network, by Newton's method on steps of pseudo-time that grow as the residual falls.
//!
//! Kelley and Keyes 1998, SIAM Journal on Numerical Analysis 35, 508.

use super::linear::Factors;
use super::system::System;
use crate::error::RunError;
use crate::march::{Acoustic, March, Settings, Until};
use crate::network::{Network, Overdrawn, StateFault};

/// Least first step of pseudo-time [s], where the start is so far from steady that the longest one leads nowhere.
const FIRST_STEP: f64 = 1e-3;
/// First step times the largest rate or mismatch that the start leaves.
const FIRST_CHANGE: f64 = 0.1;
/// Longest step of pseudo-time [s]: what no other state fixes, such as the air in a closed room, stays where it is.
const LONGEST_STEP: f64 = 1e6;
/// Step of pseudo-time that has become so short that nothing helps any more [s].
const SHORTEST_STEP: f64 = 1e-9;
/// Largest change of an unknown in one step, over its size.
const LARGEST_CHANGE: f64 = 0.3;
/// What a second change from the same matrix may be over the first: the test of Deuflhard 2004, Newton Methods for Nonlinear Problems, section
/// 3.3, which no scaling of the equations alters.
const LEAST_CONTRACTION: f64 = 0.5;
/// Contraction at which the step stays as it is: a better one lets it grow, in proportion.
const WANTED_CONTRACTION: f64 = 0.3;
/// Contraction up to which more changes are taken from one matrix, as a new one costs some thirty evaluations and a change more costs one; and
/// that by which a leap to the longest step must contract.
const GOOD_CONTRACTION: f64 = 0.2;
/// Contraction up to which the longest step is tried next, at the cost of one matrix in factors where that leads nowhere.
const LEAP_CONTRACTION: f64 = 0.1;
/// Least and most growth of a step, and what is left of a refused one.
const GROWTH: [f64; 2] = [0.5, 30.0];
const SHORTENED: f64 = 0.2;
/// Change of all unknowns, over their sizes, at which the state is steady.
const STEADY: f64 = 1e-10;
/// The same where changes follow each other from one matrix: each leaves a share of itself, where a matrix of its own leaves no more than its
/// square, and a passage that chokes makes some million times as much of it in its balance.
const STEADY_FROM_ONE_MATRIX: f64 = 1e-13;
/// Step of pseudo-time from which on a small change means a steady state [s].
const LONG: f64 = 1e2;
/// Rate over size [1/s] and mismatch over pressure below which a state is steady however much it might still change: what floats freely,
/// such as the air of a closed room, has no other end.
const STILL: f64 = 1e-12;
/// Stretches that are marched with waves where the search from rest fails: the first as long as the slowest period, each so many times as long
/// as the one before, none of more than so many steps.
const STRETCHES: usize = 4;
const LONGER: f64 = 3.0;
const MOST_STEPS: u64 = 6_000;
/// Steps with waves by which a draw that empties its room must have shown it.
const MOST_WATCHED: u64 = 200_000;
/// Courant number of these.
const SHAKEN_COURANT: f64 = 0.8;
/// Steps after which it is given up.
const MOST_ITERATIONS: usize = 300;

/// A steady state.
#[derive(Debug, Clone, PartialEq)]
pub struct Steady {
    /// State.
    pub y: Vec<f64>,
    /// Flows of the joints [kg/s].
    pub z: Vec<f64>,
    /// Newton steps.
    pub iterations: usize,
    /// Largest rate of a state over its size [1/s] and mismatch of a joint over the outside's pressure that are left.
    pub left: f64,
}

/// The steady state that `network` comes to with what holds at `time` [s], sought from state `y` and flows `z`, and from rest where that
/// leads nowhere.
///
/// # Errors
/// None is found, with where it fails.
pub fn steady(network: &Network, time: f64, y: Vec<f64>, z: Vec<f64>) -> Result<Steady, RunError> {
    let rest = network.initial_state(&[]);
    let begins_elsewhere = y != rest;
    let mut found = seek(network, time, y, z);
    if is_lost(&found) && begins_elsewhere {
        found = seek(network, time, rest.clone(), vec![0.0; network.layout.unknowns]);
    }
    match found {
        Err(lost @ RunError::NotSteady { .. }) => seek_with_waves(network, time, rest, lost),
        found => found,
    }
}

fn is_lost(found: &Result<Steady, RunError>) -> bool {
    matches!(found, Err(RunError::NotSteady { .. } | RunError::NonPhysical { .. }))
}

/// Seeks from states to which the march that resolves waves leads from `rest`, stretch by stretch: where a passage chokes on the way, a law has a
/// corner that stops Newton's method, while that march, which balances each joint on its own, passes it. `lost` tells where the search
/// from rest has failed.
fn seek_with_waves(network: &Network, time: f64, rest: Vec<f64>, lost: RunError) -> Result<Steady, RunError> {
    let settings = Settings {
        march: March::Acoustic,
        from_steady: false,
        courant: SHAKEN_COURANT,
        until: Until::Time(f64::INFINITY),
        record_every: f64::INFINITY,
    };
    let mut waves = Acoustic::new(network, rest, settings);
    waves.clock.time = time;
    let mut marched = waves.start();
    let mut length = network.slowest_period();
    let mut demanded = Demanded::default();
    for _ in 0..STRETCHES {
        let (end, most) = (waves.clock.time + length, waves.clock.step + MOST_STEPS);
        demanded = Demanded::default();
        while marched.is_ok() && waves.clock.time < end && waves.clock.step < most {
            marched = waves.step(end).map(|step| demanded.add(network, &waves, step));
        }
        if marched.is_err() {
            break;
        }
        let found = seek(network, time, waves.y.clone(), waves.z.clone());
        if !is_lost(&found) {
            return found;
        }
        length *= LONGER;
    }
    Err(match lost {
        RunError::NotSteady { part, quantity, left, iterations, .. } => {
            let adrift = network.adrift().first().map(ToString::to_string);
            let because = adrift.or_else(|| {
                let later = || marched.is_ok().then(|| missed_later(network, &mut waves))?;
                demanded.missed().or_else(later).map(|draw| draw.to_string())
            });
            RunError::NotSteady { part, quantity, left, iterations, because }
        }
        other => other,
    })
}

/// Marches on with waves, period by period, until a draw gets less than it asks for: a large room takes its time to be emptied through passages that
/// choke. Answers with what that draw gets over a whole period more.
fn missed_later(network: &Network, waves: &mut Acoustic<'_>) -> Option<Overdrawn> {
    let mut first = None;
    while waves.clock.step < MOST_WATCHED {
        let end = waves.clock.time + network.slowest_period();
        let mut demanded = Demanded::default();
        while waves.clock.time < end {
            match waves.step(end) {
                Ok(step) => demanded.add(network, waves, step),
                Err(_) => return demanded.missed().or(first),
            }
        }
        let missed = demanded.missed();
        if first.is_some() && missed.is_some() {
            return missed;
        }
        first = missed;
    }
    first
}

/// What the draws of a given flow ask for and get over a stretch of time, so that pulses and swings of sound do not count.
#[derive(Debug, Default)]
struct Demanded {
    /// Their sums [kg].
    sums: Vec<Overdrawn>,
    time: f64,
}

impl Demanded {
    fn add(&mut self, network: &Network, waves: &Acoustic<'_>, step: f64) {
        let now = network.given_draws(waves.clock.time, &waves.work);
        if self.sums.is_empty() {
            self.sums = now.iter().map(|draw| Overdrawn { asked: 0.0, gets: 0.0, ..draw.clone() }).collect();
        }
        for (sum, draw) in self.sums.iter_mut().zip(now) {
            sum.asked += step * draw.asked;
            sum.gets += step * draw.gets;
        }
        self.time += step;
    }

    /// The first draw that got less than it asked for, with its mean flows.
    fn missed(&self) -> Option<Overdrawn> {
        let over = |sum: f64| sum / self.time;
        let mean = |sum: &Overdrawn| Overdrawn { asked: over(sum.asked), gets: over(sum.gets), ..sum.clone() };
        self.sums.iter().map(mean).find(Overdrawn::misses)
    }
}

fn seek(network: &Network, time: f64, y: Vec<f64>, z: Vec<f64>) -> Result<Steady, RunError> {
    let mut system = System::new(network, time, y, z).map_err(|_| RunError::Unsolvable { time })?;
    let mut search = Search::new(&mut system).map_err(|fault| fault.at(time, 0))?;
    for iteration in 1..=MOST_ITERATIONS {
        if search.advance() {
            let (x, mut f) = (std::mem::take(&mut search.x), std::mem::take(&mut search.f));
            // The last state that was looked at need not be this one.
            system.evaluate(&x, &mut f).map_err(|fault| fault.at(time, 0))?;
            let left = largest(&f);
            system.settle_shares().map_err(|_| RunError::Unsolvable { time })?;
            return Ok(Steady { y: system.y, z: system.z, iterations: iteration, left });
        }
        if search.step < SHORTEST_STEP {
            return Err(search.lost(iteration));
        }
    }
    Err(search.lost(MOST_ITERATIONS))
}

struct Search<'a, 'b> {
    system: &'a mut System<'b>,
    x: Vec<f64>,
    f: Vec<f64>,
    /// Step of pseudo-time [s].
    step: f64,
    /// Whether the longest one is tried in its place.
    leaps: bool,
    values: Vec<f64>,
    matrix: Vec<f64>,
    change: Vec<f64>,
    second: Vec<f64>,
    trial: Vec<f64>,
    left: Vec<f64>,
    next: Vec<f64>,
    next_left: Vec<f64>,
    jacobian_is_old: bool,
}

/// A step that was tried and led somewhere.
struct Tried {
    /// How much smaller a second change from the same matrix was than the first.
    contraction: f64,
    /// Whether the state behind it is steady.
    is_steady: bool,
}

impl<'a, 'b> Search<'a, 'b> {
    fn new(system: &'a mut System<'b>) -> Result<Self, StateFault> {
        let n = system.len();
        let (mut x, mut f) = (vec![0.0; n], vec![0.0; n]);
        system.balance()?;
        system.gather(&mut x);
        system.evaluate(&x, &mut f)?;
        let (values, matrix) = (vec![0.0; system.pattern.len()], vec![0.0; system.pattern.len()]);
        Ok(Self {
            system,
            x,
            step: first_step(&f),
            f,
            leaps: true,
            second: vec![0.0; n],
            jacobian_is_old: true,
            values,
            matrix,
            change: vec![0.0; n],
            trial: vec![0.0; n],
            left: vec![0.0; n],
            next: vec![0.0; n],
            next_left: vec![0.0; n],
        })
    }

    /// One step; answers whether the state is steady.
    fn advance(&mut self) -> bool {
        if self.jacobian_is_old && self.system.jacobian(&self.x, &self.f, &mut self.values).is_err() {
            self.step *= SHORTENED;
            return false;
        }
        self.jacobian_is_old = false;
        let leaps = std::mem::take(&mut self.leaps);
        let step = if leaps { LONGEST_STEP } else { self.step };
        let most = if leaps { GOOD_CONTRACTION } else { LEAST_CONTRACTION };
        let tried = self.try_step(step).filter(|tried| tried.contraction <= most || tried.is_steady);
        let Some(Tried { contraction, is_steady }) = tried else {
            if !leaps {
                self.step *= SHORTENED;
            }
            return false;
        };
        std::mem::swap(&mut self.x, &mut self.trial);
        std::mem::swap(&mut self.f, &mut self.left);
        self.jacobian_is_old = true;
        let growth = (WANTED_CONTRACTION / contraction).clamp(GROWTH[0], GROWTH[1]);
        let was_longest = step >= LONGEST_STEP;
        // Behind the longest step it begins anew where the next one as long leads nowhere.
        self.step = if was_longest { first_step(&self.f) } else { (step * growth).min(LONGEST_STEP) };
        self.leaps = was_longest || contraction <= LEAP_CONTRACTION;
        is_steady || largest(&self.f) <= STILL
    }

    /// Tries a `step`: an implicit one of Euler, by one change of Newton's method, or by two where a second one is not much smaller; and by more
    /// where it is the longest. Nothing when it leads nowhere.
    fn try_step(&mut self, step: f64) -> Option<Tried> {
        let factors = self.system.stage_factors(&self.values, step, &mut self.matrix).ok()?;
        self.change.copy_from_slice(&self.f);
        factors.solve(&mut self.change).ok()?;
        let change = largest(&self.change);
        if change > LARGEST_CHANGE {
            return None;
        }
        for ((trial, x), change) in self.trial.iter_mut().zip(&self.x).zip(&self.change) {
            *trial = x + change;
        }
        self.system.evaluate(&self.trial, &mut self.left).ok()?;
        let first = change.max(STEADY);
        let mut contraction = self.find_second(&factors, step)? / first;
        if contraction > GOOD_CONTRACTION && contraction <= 1.0 && self.take_second() {
            match self.find_second(&factors, step).map(|third| (third / first).sqrt()) {
                Some(of_two) if of_two < contraction => contraction = of_two,
                _ => self.swap_next(),
            }
        }
        if contraction > LEAST_CONTRACTION {
            return None;
        }
        let is_steady = step >= LONG && change <= STEADY || step >= LONGEST_STEP && self.follow(&factors, change);
        Some(Tried { contraction, is_steady })
    }

    /// Finds the change that would follow the trial in this `step`; answers with its size, which is none where the trial is all but solved.
    fn find_second(&mut self, factors: &Factors, step: f64) -> Option<f64> {
        for (unknown, second) in self.second.iter_mut().enumerate() {
            let rate = if self.system.is_state(unknown) { (self.trial[unknown] - self.x[unknown]) / step } else { 0.0 };
            *second = self.left[unknown] - rate;
        }
        factors.solve(&mut self.second).ok()?;
        let size = largest(&self.second);
        Some(if size <= STEADY { 0.0 } else { size })
    }

    /// Takes more changes from the same matrix behind one of size `change`, as long as each is much smaller than the one before: towards what is
    /// steady itself, not towards the end of the step, which stays off by what relaxes slowly. Answers whether they came to an end.
    fn follow(&mut self, factors: &Factors, mut change: f64) -> bool {
        while change > STEADY_FROM_ONE_MATRIX {
            self.second.copy_from_slice(&self.left);
            if factors.solve(&mut self.second).is_err() {
                return false;
            }
            let next = largest(&self.second);
            if next > GOOD_CONTRACTION * change || !self.take_second() {
                return false;
            }
            change = next;
        }
        true
    }

    /// Goes on from the trial by the second change; answers whether there is a state there.
    fn take_second(&mut self) -> bool {
        for ((next, trial), second) in self.next.iter_mut().zip(&self.trial).zip(&self.second) {
            *next = trial + second;
        }
        let is_state = self.system.evaluate(&self.next, &mut self.next_left).is_ok();
        if is_state {
            self.swap_next();
        }
        is_state
    }

    fn swap_next(&mut self) {
        std::mem::swap(&mut self.trial, &mut self.next);
        std::mem::swap(&mut self.left, &mut self.next_left);
    }

    fn lost(&self, iterations: usize) -> RunError {
        let (part, quantity, left) = self.system.describe_largest(&self.f);
        RunError::NotSteady { part, quantity, left, iterations, because: None }
    }
}

/// First step of pseudo-time [s] from where the equations leave `f`.
fn first_step(f: &[f64]) -> f64 {
    (FIRST_CHANGE / largest(f)).clamp(FIRST_STEP, LONGEST_STEP)
}

fn largest(f: &[f64]) -> f64 {
    f.iter().fold(0.0, |most: f64, value| most.max(value.abs()))
}
