//! The steady state of a network, by Newton's method on steps of pseudo-time that grow as the residual falls.
//!
//! Kelley and Keyes 1998, SIAM Journal on Numerical Analysis 35, 508.

use super::system::System;
use crate::error::RunError;
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

/// The steady state that `network` comes to with what holds at `time` [s], sought from state `y` and flows `z`.
///
/// # Errors
/// None is found, with where it fails.
pub fn steady(network: &Network, time: f64, y: Vec<f64>, z: Vec<f64>) -> Result<Steady, RunError> {
    let mut system = System::new(network, time, y, z).map_err(|_| RunError::Unsolvable { time })?;
    let mut search = Search::new(&mut system).map_err(|fault| fault.at(time, 0))?;
    for iteration in 1..=MOST_ITERATIONS {
        if search.advance() {
            let (x, left) = (std::mem::take(&mut search.x), largest(&search.f));
            system.scatter(&x);
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
    step: f64,
    size: f64,
    values: Vec<f64>,
    matrix: Vec<f64>,
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
        let (values, matrix) = (vec![0.0; system.pattern.len()], vec![0.0; system.pattern.len()]);
        let size = norm(&f);
        let step = (FIRST_CHANGE / largest(&f)).clamp(FIRST_STEP, LONGEST_STEP);
        Ok(Self {
            system,
            x,
            f,
            step,
            size,
            values,
            matrix,
            change: vec![0.0; n],
            trial: vec![0.0; n],
            left: vec![0.0; n],
        })
    }

    /// One step; answers whether the state is steady.
    fn advance(&mut self) -> bool {
        if !self.find_change() {
            self.step *= 0.1;
            return false;
        }
        let states = || (0..self.x.len()).filter(|k| self.system.is_state(*k));
        let moved = states().fold(0.0, |most: f64, k| most.max(self.change[k].abs()));
        let mut share = (LARGEST_CHANGE / moved).min(1.0);
        for _ in 0..MOST_HALVINGS {
            if self.try_change(share) {
                let now = norm(&self.f);
                let growth = if share >= 1.0 { (self.size / now).clamp(GROWTH[0], GROWTH[1]) } else { 0.5 };
                let steady = share >= 1.0 && self.step >= LONG && largest(&self.change) <= STEADY;
                let steady = steady || largest(&self.f) <= STILL;
                self.step = (self.step * growth).min(LONGEST_STEP);
                self.size = now;
                return steady;
            }
            share *= 0.5;
        }
        self.step *= 0.1;
        false
    }

    /// Solves `(I / step - J) change = f`, without the first term in rows that are no rates; answers whether it could.
    fn find_change(&mut self) -> bool {
        if self.system.jacobian(&self.x, &self.f, &mut self.values).is_err() {
            return false;
        }
        self.change.copy_from_slice(&self.f);
        let factors = self.system.stage_factors(&self.values, self.step, &mut self.matrix);
        factors.and_then(|factors| factors.solve(&mut self.change)).is_ok()
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

    fn lost(&self, iterations: usize) -> RunError {
        let (part, quantity, left) = self.system.describe_largest(&self.f);
        RunError::NotSteady { part, quantity, left, iterations }
    }
}

fn norm(f: &[f64]) -> f64 {
    f.iter().map(|value| value * value).sum::<f64>().sqrt()
}

fn largest(f: &[f64]) -> f64 {
    f.iter().fold(0.0, |most: f64, value| most.max(value.abs()))
}
