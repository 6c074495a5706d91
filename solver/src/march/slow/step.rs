//! A step of the slow march.
//!
//! Each stage is a nonlinear system, solved by Newton's method with the Jacobian of the step's start; where that does not do, with that of
//! the stage. Only what is slow has a say in the length of the step: volumes and walls. What ducts and joints do in between follows them.

use super::linear::{Factors, Singular};
use super::march::Slow;
use super::stages::{BEFORE, DIAGONAL, ERROR, STAGES, TIMES, WEIGHTS};
use super::transport::Flows;
use crate::error::RunError;
use crate::network::JointKind;

/// Error of a step that is allowed, over the size of what errs: 0.03 K of a wall.
const TOLERANCE: f64 = 1e-4;
/// Shortest step [s]: if that does not solve, nothing will.
const SHORTEST_STEP: f64 = 1e-7;
/// Least and most growth of a step.
const GROWTH: [f64; 2] = [0.2, 5.0];
/// Share of the step that the error would allow.
const CAUTION: f64 = 0.85;
/// Change in all unknowns, over their sizes, at which a stage is solved.
const SOLVED: f64 = 1e-10;
/// Changes after which a stage is not going to be solved. Behind a jump the limiter's corners let changes fall by a factor of four each time,
/// whatever the matrix: twenty of them cost less than a step that is refused.
const MOST_CHANGES: usize = 30;
/// Fall of the changes from one to the next that is too slow.
const SLOW_FALL: f64 = 0.5;
/// Largest change of an unknown, over its size, from which a stage is likely to come back.
const LARGEST_CHANGE: f64 = 1.0;

/// Why a step was not taken.
pub(super) enum Refusal {
    /// A stage was not solved.
    NotSolved,
    /// The error would be this many times what is allowed.
    Inaccurate(f64),
    /// The run cannot go on at all.
    Stopped(RunError),
}

impl From<RunError> for Refusal {
    fn from(error: RunError) -> Self {
        Self::Stopped(error)
    }
}

impl From<Singular> for Refusal {
    fn from(_: Singular) -> Self {
        Self::NotSolved
    }
}

impl Slow<'_> {
    /// One step towards `stop` [s]; returns its length [s].
    ///
    /// # Errors
    /// No step can be solved.
    pub fn step(&mut self, stop: f64) -> Result<f64, RunError> {
        self.system.go_to(self.clock.time)?;
        self.system.gather(&mut self.x);
        let fault = |fault: crate::network::StateFault| fault.at(self.clock.time, self.clock.step);
        self.system.evaluate(&self.x, &mut self.f).map_err(fault)?;
        self.system.jacobian(&self.x, &self.f, &mut self.jacobian).map_err(fault)?;
        let mut most_growth = GROWTH[1];
        loop {
            let step = self.clock.step_towards(stop, self.next);
            self.integrals.begin();
            match self.stages(step) {
                Ok(growth) => {
                    let growth = growth.min(most_growth);
                    // A step that was cut to land on a record says nothing against the longer one.
                    self.next = (step * growth).max(if step < self.next { self.next } else { 0.0 });
                    self.accept(step, stop);
                    return Ok(step);
                }
                Err(Refusal::Inaccurate(growth)) => self.next = step * growth,
                Err(Refusal::NotSolved) => self.next = 0.25 * step,
                Err(Refusal::Stopped(error)) => return Err(error),
            }
            self.refused += 1;
            self.warmth.undo_step();
            // What has just been too long is not tried again at once.
            most_growth = 1.0;
            let x = std::mem::take(&mut self.x);
            self.system.scatter(&x);
            self.x = x;
            if self.next < SHORTEST_STEP {
                let (part, quantity, _) = self.system.describe_largest(&self.f);
                return Err(RunError::NotSolved { part, quantity, time: self.clock.time, step: self.clock.step });
            }
        }
    }

    /// The stages of one step; answers by how much the next step may be longer.
    fn stages(&mut self, step: f64) -> Result<f64, Refusal> {
        let before = self.transport.holders.masses(&self.system.network, &self.system.y);
        self.warmth.begin_step(&before);
        let factors = self.system.stage_factors(&self.jacobian, DIAGONAL * step, &mut self.values)?;
        let mut flows = Flows::none(&self.system.network);
        self.stage.copy_from_slice(&self.x);
        for stage in 0..STAGES {
            self.base.copy_from_slice(&self.x);
            for (weight, rates) in BEFORE[stage].iter().zip(&self.stage_rates) {
                for (base, rate) in self.base.iter_mut().zip(rates) {
                    *base += step * weight * rate;
                }
            }
            self.system.go_to(self.clock.time + TIMES[stage] * step)?;
            self.system.scatter(&self.base);
            let base = self.transport.holders.masses(&self.system.network, &self.system.y);
            self.solve_stage(step, &factors)?;
            for unknown in 0..self.x.len() {
                self.stage_rates[stage][unknown] = (self.stage[unknown] - self.base[unknown]) / (DIAGONAL * step);
            }
            self.integrals.add_flows(&self.system.network, &self.system.work, WEIGHTS[stage] * step);
            flows.add(&self.system.network, &self.system.work, WEIGHTS[stage]);
            let mut now = Flows::none(&self.system.network);
            now.add(&self.system.network, &self.system.work, 1.0);
            self.carry_warmth_to_stage(&now, stage, step, &base)?;
        }
        let growth = self.judge(&factors)?;
        let system = &mut self.system;
        self.transport.carry_shares(&system.network, &system.work, &flows, step, &before, &mut system.y)?;
        // The streams of the step's end, with the shares that they carry now.
        system.evaluate(&self.stage, &mut self.f).map_err(|_| Refusal::NotSolved)?;
        for (index, joint) in system.network.joints.iter().enumerate() {
            if matches!(joint.kind, JointKind::Series(_)) {
                self.integrals.add_shares(index, &system.network, &system.work, step * flows.joints[index][0]);
            }
        }
        Ok(growth)
    }

    /// Solves the stage from where it stands.
    fn solve_stage(&mut self, step: f64, factors: &Factors) -> Result<(), Refusal> {
        let mut last = f64::INFINITY;
        let mut fresh: Option<Factors> = None;
        for change in 0..MOST_CHANGES {
            self.system.evaluate(&self.stage, &mut self.f).map_err(|_| Refusal::NotSolved)?;
            let moved = self.change_stage(step, fresh.as_ref().unwrap_or(factors))?;
            if moved <= SOLVED {
                self.system.evaluate(&self.stage, &mut self.f).map_err(|_| Refusal::NotSolved)?;
                return Ok(());
            }
            if moved.is_nan() || moved > LARGEST_CHANGE {
                return Err(Refusal::NotSolved);
            }
            if change > 0 && moved > SLOW_FALL * last {
                fresh = Some(self.fresh_factors(step)?);
            }
            last = moved;
        }
        Err(Refusal::NotSolved)
    }

    /// Factors with the Jacobian of the stage itself.
    fn fresh_factors(&mut self, step: f64) -> Result<Factors, Refusal> {
        self.system.evaluate(&self.stage, &mut self.f).map_err(|_| Refusal::NotSolved)?;
        self.system.jacobian(&self.stage, &self.f, &mut self.fresh).map_err(|_| Refusal::NotSolved)?;
        Ok(self.system.stage_factors(&self.fresh, DIAGONAL * step, &mut self.values)?)
    }

    /// One change of Newton's method; answers how large it was.
    fn change_stage(&mut self, step: f64, factors: &Factors) -> Result<f64, Singular> {
        for unknown in 0..self.change.len() {
            let rate = if self.system.is_state(unknown) {
                (self.stage[unknown] - self.base[unknown]) / (DIAGONAL * step)
            } else {
                0.0
            };
            self.change[unknown] = self.f[unknown] - rate;
        }
        factors.solve(&mut self.change)?;
        let mut moved = 0.0_f64;
        for (value, change) in self.stage.iter_mut().zip(&self.change) {
            *value += change;
            moved = moved.max(change.abs() / (1.0 + value.abs()));
        }
        Ok(moved)
    }

    /// Judges the error of the step; answers by how much the next one may be longer.
    fn judge(&mut self, factors: &Factors) -> Result<f64, Refusal> {
        for unknown in 0..self.change.len() {
            let rates = self.stage_rates.iter().zip(ERROR).map(|(rates, weight)| weight * rates[unknown]);
            let rate = if self.system.is_state(unknown) { rates.sum::<f64>() } else { 0.0 };
            self.change[unknown] = rate / DIAGONAL;
        }
        // What is stiff would be taken for an error that it has long forgotten.
        factors.solve(&mut self.change)?;
        let error = self.system.unknowns.slow().fold(0.0, |most: f64, unknown| {
            most.max(self.change[unknown].abs() / (TOLERANCE * (1.0 + self.x[unknown].abs())))
        });
        let growth = (CAUTION / error.max(1e-9).cbrt()).clamp(GROWTH[0], GROWTH[1]);
        if error <= 1.0 { Ok(growth) } else { Err(Refusal::Inaccurate(growth)) }
    }

    fn accept(&mut self, step: f64, stop: f64) {
        self.integrals.accept(&self.system.network, &self.system.work);
        self.clock.advance(step, stop);
        self.system.time = self.clock.time;
    }
}
