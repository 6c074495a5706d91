//! The steady state of a network, by Newton's method on steps of pseudo-time that grow as the residual falls.
//!
//! Kelley and Keyes 1998, SIAM Journal on Numerical Analysis 35, 508.

use super::linear::Singular;
use super::system::System;
use crate::network::{Network, StateFault};

/// First step of pseudo-time [s], where the start is far from steady.
const FIRST_STEP: f64 = 1e-3;
/// First step times the largest rate or mismatch that the start leaves.
const FIRST_CHANGE: f64 = 0.1;
/// Least and most growth of a step after a whole change.
const GROWTH: [f64; 2] = [3.0, 100.0];
/// Longest step of pseudo-time [s]: what no other state fixes, such as the air in a closed room, stays where it is.
const LONGEST_STEP: f64 = 1e6;
/// Step of pseudo-time that has become so short that nothing helps any more [s].
const SHORTEST_STEP: f64 = 1e-9;
/// Largest change of a state in one step, over its size.
const LARGEST_CHANGE: f64 = 0.2;
/// Growth of the residual that a step may bring.
const LARGEST_GROWTH: f64 = 1e3;
/// Times a change is halved before the step is shortened.
const MOST_HALVINGS: u32 = 10;
/// Change of all unknowns, over their sizes, at which the state is steady.
const STEADY: f64 = 1e-10;
/// Step of pseudo-time from which on a small change means a steady state [s].
const LONG: f64 = 1e2;
/// Rate over size [1/s] and mismatch over pressure below which a state is steady however much it might still change: what floats freely,
/// such as the air of a closed room, has no other end.
const STILL: f64 = 1e-12;
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

/// Why no steady state was found.
#[derive(Debug, Clone, PartialEq)]
pub enum Unsteady {
    /// Newton's method came to no end.
    Wanders {
        /// Part with the largest rate or mismatch.
        part: String,
        /// What of it.
        quantity: &'static str,
        /// The rate, relative [1/s], or the mismatch over the outside's pressure.
        left: f64,
        /// Newton steps.
        iterations: usize,
    },
    /// The start is no state.
    Start(StateFault),
    /// The equations cannot be solved.
    Singular,
}

impl From<Singular> for Unsteady {
    fn from(_: Singular) -> Self {
        Self::Singular
    }
}

/// The steady state that `network` comes to with what holds at `time` [s], sought from state `y` and flows `z`.
///
/// # Errors
/// None is found, with where it fails.
pub fn steady(network: &Network, time: f64, y: Vec<f64>, z: Vec<f64>) -> Result<Steady, Unsteady> {
    let mut system = System::new(network, time, y, z)?;
    let mut search = Search::new(&mut system).map_err(Unsteady::Start)?;
    for iteration in 1..=MOST_ITERATIONS {
        if search.advance()? {
            let left = largest(&search.f).1;
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
    step: f64,
    size: f64,
    values: Vec<f64>,
    change: Vec<f64>,
    trial: Vec<f64>,
    left: Vec<f64>,
}

impl<'a, 'b> Search<'a, 'b> {
    fn new(system: &'a mut System<'b>) -> Result<Self, StateFault> {
        let n = system.len();
        let (mut x, mut f) = (vec![0.0; n], vec![0.0; n]);
        system.gather(&mut x);
        system.evaluate(&x, &mut f)?;
        let values = vec![0.0; system.pattern.len()];
        let size = norm(&f);
        let step = (FIRST_CHANGE / largest(&f).1).clamp(FIRST_STEP, LONGEST_STEP);
        Ok(Self { system, x, f, step, size, values, change: vec![0.0; n], trial: vec![0.0; n], left: vec![0.0; n] })
    }

    /// One step; answers whether the state is steady.
    fn advance(&mut self) -> Result<bool, Unsteady> {
        let solved = self.find_change();
        if solved.is_err() {
            self.step *= 0.1;
            return Ok(false);
        }
        let states = || (0..self.x.len()).filter(|k| self.system.is_state(*k));
        let moved = states().fold(0.0, |most: f64, k| most.max(self.change[k].abs()));
        let mut share = (LARGEST_CHANGE / moved).min(1.0);
        for _ in 0..MOST_HALVINGS {
            if self.try_change(share) {
                let now = norm(&self.f);
                let growth = if share >= 1.0 { (self.size / now).clamp(GROWTH[0], GROWTH[1]) } else { 0.5 };
                let steady = share >= 1.0 && self.step >= LONG && largest(&self.change).1 <= STEADY;
                let steady = steady || largest(&self.f).1 <= STILL;
                self.step = (self.step * growth).min(LONGEST_STEP);
                self.size = now;
                return Ok(steady);
            }
            share *= 0.5;
        }
        self.step *= 0.1;
        Ok(false)
    }

    /// Solves `(I / step - J) change = f`, without the first term in rows that are no rates.
    fn find_change(&mut self) -> Result<(), Unsteady> {
        self.system.jacobian(&self.x, &self.f, &mut self.values).map_err(Unsteady::Start)?;
        for value in &mut self.values {
            *value = -*value;
        }
        for (unknown, place) in self.system.pattern.diagonal.iter().enumerate() {
            if self.system.is_state(unknown) {
                self.values[*place] += 1.0 / self.step;
            }
        }
        self.change.copy_from_slice(&self.f);
        self.system.pattern.factors(&self.values)?.solve(&mut self.change)?;
        Ok(())
    }

    fn try_change(&mut self, share: f64) -> bool {
        for ((trial, x), change) in self.trial.iter_mut().zip(&self.x).zip(&self.change) {
            *trial = x + share * change;
        }
        if self.system.evaluate(&self.trial, &mut self.left).is_err() {
            return false;
        }
        let now = norm(&self.left);
        // Written so that what is not a number is refused.
        let accepted = now < LARGEST_GROWTH * self.size.max(1.0);
        if accepted {
            std::mem::swap(&mut self.x, &mut self.trial);
            std::mem::swap(&mut self.f, &mut self.left);
        }
        accepted
    }

    fn lost(&self, iterations: usize) -> Unsteady {
        let (unknown, left) = largest(&self.f);
        let (part, quantity) = self.system.describe(unknown);
        Unsteady::Wanders { part, quantity, left, iterations }
    }
}

fn norm(f: &[f64]) -> f64 {
    f.iter().map(|value| value * value).sum::<f64>().sqrt()
}

/// Place and size of the largest value.
fn largest(f: &[f64]) -> (usize, f64) {
    f.iter().enumerate().fold((0, 0.0), |most, (k, value)| if value.abs() > most.1 { (k, value.abs()) } else { most })
}
