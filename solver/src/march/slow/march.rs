//! The slow march through time.
//!
//! Each stage of a step is a nonlinear system, solved by Newton's method with the Jacobian of the step's start; where that does not
//! do, with that of the stage. Only what is slow has a say in the length of the step: volumes and walls. What ducts and joints do in between
//! follows them.

use super::linear::{Factors, Singular};
use super::stages::{BEFORE, DIAGONAL, ERROR, STAGES, TIMES, WEIGHTS};
use super::steady::steady;
use super::system::System;
use super::transport::{Flows, Transport};
use super::warmth::{Warmth, Way};
use super::waves::Stretch;
use crate::error::{Error, RunError};
use crate::ledger::Integrals;
use crate::march::clock::{Clock, Schedule};
use crate::march::{Control, Marching, Moment, Moving, Observer, Outcome, Saved, Settings, Until};
use crate::network::{JointKind, Network, Overdrawn, Work};

/// Error of a step that is allowed, over the size of what errs: 0.03 K of a wall.
const TOLERANCE: f64 = 1e-4;
/// First step [s].
const FIRST_STEP: f64 = 1e-3;
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
/// Time in which warmth comes to what it tends to [s].
const IN_THE_LONG_RUN: f64 = 1e9;
/// Time over which the flows of a steady state are booked [s].
const BOOKED: f64 = 1.0;

/// A slow march of one network.
#[derive(Debug)]
pub struct Slow<'a> {
    /// Time and step count.
    pub clock: Clock,
    /// Record times.
    pub schedule: Schedule,
    /// Time integrals for the ledgers.
    pub integrals: Integrals,
    /// Steps that were refused.
    pub refused: u64,
    /// Time at which the clutch closes again when it is open [s].
    pub(super) clutch_closes: f64,
    pub(super) settings: Settings,
    /// Stretches that were marched with waves.
    pub(super) stretches: Vec<Stretch>,
    /// Time of the last record [s].
    recorded: f64,
    /// Whether the state is the steady one.
    settled: bool,
    pub(super) system: System<'a>,
    pub(super) transport: Transport,
    warmth: Warmth,
    /// Room for the states beside those of the march.
    beside: Work,
    /// Length that the next step is to have [s].
    next: f64,
    values: Vec<f64>,
    jacobian: Vec<f64>,
    fresh: Vec<f64>,
    x: Vec<f64>,
    pub(super) f: Vec<f64>,
    stage: Vec<f64>,
    base: Vec<f64>,
    change: Vec<f64>,
    stage_rates: [Vec<f64>; STAGES],
}

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

impl<'a> Slow<'a> {
    /// A march from state `y` and joint flows `z` [kg/s] at `time` [s].
    ///
    /// # Errors
    /// The equations of the network cannot be solved.
    pub fn new(
        network: &'a Network,
        time: f64,
        y: Vec<f64>,
        z: Vec<f64>,
        settings: Settings,
    ) -> Result<Self, RunError> {
        let end = match settings.until {
            Until::Time(end) => end,
            Until::Steady | Until::Settled { .. } => BOOKED,
        };
        let unsolvable = |_: Singular| RunError::Unsolvable { time };
        let system = System::new(network, time, y, z).map_err(unsolvable)?;
        let transport = Transport::new(network).map_err(unsolvable)?;
        let n = system.len();
        let empty = || vec![0.0; n];
        Ok(Self {
            clock: Clock { time, step: 0 },
            schedule: Schedule { every: settings.record_every, end, done: 0 },
            integrals: Integrals::new(network),
            refused: 0,
            clutch_closes: 0.0,
            recorded: f64::NEG_INFINITY,
            settings,
            stretches: Vec::new(),
            settled: false,
            warmth: Warmth::new(network, transport.holders.count),
            beside: network.work(),
            transport,
            next: FIRST_STEP,
            values: vec![0.0; system.pattern.len()],
            jacobian: vec![0.0; system.pattern.len()],
            fresh: vec![0.0; system.pattern.len()],
            x: empty(),
            f: empty(),
            stage: empty(),
            base: empty(),
            change: empty(),
            stage_rates: [empty(), empty(), empty()],
            system,
        })
    }

    /// Marches to the end, telling `observer`.
    ///
    /// # Errors
    /// No steady state is found, a step cannot be solved, or the observer could not go on.
    pub fn run(&mut self, observer: &mut dyn Observer<Self>) -> Result<Outcome, Error> {
        if !matches!(self.settings.until, Until::Time(_)) {
            return self.run_steady(observer);
        }
        self.record_start(observer)?;
        let end = self.schedule.end;
        self.run_to(end, observer)
    }

    /// Marches to `end` [s], telling `observer`; the start has been recorded.
    ///
    /// # Errors
    /// As for [`Slow::run`].
    pub fn run_to(&mut self, end: f64, observer: &mut dyn Observer<Self>) -> Result<Outcome, Error> {
        while self.clock.time < end {
            let next = self.schedule.next();
            let moving = self.system.moving.map(Moving::until).filter(|until| *until > self.clock.time);
            let stop = next.min(end).min(moving.unwrap_or(end)).min(self.until_event());
            match self.step(stop) {
                Ok(_) if self.clock.time >= next => self.record(observer)?,
                Ok(_) => {}
                Err(why @ RunError::NotSolved { .. }) => self.pass_with_waves(end, why, observer)?,
                Err(stopped) => return Err(stopped.into()),
            }
            if self.act(observer)? {
                return Ok(Outcome::Finished);
            }
            if observer.step_done(self)? == Control::Stop {
                return Ok(Outcome::Interrupted);
            }
        }
        Ok(Outcome::Finished)
    }

    /// The march that tells warmth by these root causes, which are those of all phases that it is to go through.
    #[must_use]
    pub fn following(mut self, roots: Vec<String>) -> Self {
        self.warmth = Warmth::following(roots, self.system.still, self.transport.holders.count);
        self
    }

    /// The march with a network whose numbers move first.
    #[must_use]
    pub fn moved_by(mut self, moving: Option<&'a dyn Moving>) -> Self {
        self.system.moving = moving;
        self
    }

    /// The march goes on in `network`, which differs from its own in numbers alone: another phase begins, `moving` until its numbers are
    /// those. Where that fails, this march still stands at the end of its own phase.
    ///
    /// # Errors
    /// The state is not one, or the equations cannot be solved.
    pub fn go_on_in<'b>(&mut self, network: &'b Network, moving: Option<&'b dyn Moving>) -> Result<Slow<'b>, RunError> {
        let (y, z) = (self.system.y.clone(), self.system.z.clone());
        let mut next = Slow::new(network, self.clock.time, y, z, self.settings)?.moved_by(moving);
        next.clock = self.clock;
        next.system.begin_phase();
        next.start()?;
        next.refused = self.refused;
        std::mem::swap(&mut next.stretches, &mut self.stretches);
        std::mem::swap(&mut next.schedule, &mut self.schedule);
        std::mem::swap(&mut next.integrals, &mut self.integrals);
        next.warmth.go_on(&mut self.warmth);
        Ok(next)
    }

    /// Records the start, unless that is done.
    ///
    /// # Errors
    /// The state is not one, or the observer could not go on.
    pub fn record_start(&mut self, observer: &mut dyn Observer<Self>) -> Result<(), Error> {
        if self.schedule.done == 0 {
            self.start()?;
            if !self.settled {
                let System { network, y, work, .. } = &self.system;
                self.warmth.begin(network, &self.transport, work, y);
            }
            self.record(observer)?;
        }
        Ok(())
    }

    /// Draws of a given flow that get less than they ask for at present.
    #[must_use]
    pub fn overdrawn(&self) -> Vec<Overdrawn> {
        self.system.network.overdrawn(self.clock.time, &self.system.work)
    }

    /// State and flows of the joints [kg/s] at the present instant.
    #[must_use]
    pub fn state(&self) -> (Vec<f64>, Vec<f64>) {
        (self.system.y.clone(), self.system.z.clone())
    }

    /// Network, state and workings of the present instant.
    pub(super) fn instant(&self) -> (&Network, &[f64], &Work) {
        (&self.system.network, &self.system.y, &self.system.work)
    }

    /// The network of the phase.
    pub(super) fn network(&self) -> &'a Network {
        self.system.still
    }

    /// The states of the powertrain.
    pub(super) fn drive_states(&mut self) -> &mut [f64] {
        let first = self.system.network.layout.powertrain_start();
        &mut self.system.y[first..]
    }

    /// Rate of the crank's speed [rad/s^2] at the present instant.
    pub(super) fn crank_rate(&self) -> f64 {
        let unknown = self.system.unknowns.powertrain[0].0;
        self.f[unknown] * self.system.unknowns.sizes[unknown]
    }

    /// Records the present instant, unless it has been.
    pub(super) fn record_now(&mut self, observer: &mut dyn Observer<Self>) -> Result<(), Error> {
        if self.recorded < self.clock.time { self.record(observer) } else { Ok(()) }
    }

    /// Goes on from a state that the driver has changed: with short steps.
    pub(super) fn begin_anew(&mut self) -> Result<(), RunError> {
        self.next = self.next.min(FIRST_STEP);
        self.start()
    }

    /// Goes to the steady state.
    ///
    /// # Errors
    /// None is found.
    pub fn settle(&mut self) -> Result<(), RunError> {
        let (y, z) = (self.system.y.clone(), self.system.z.clone());
        let found = steady(&self.system.network, self.clock.time, y, z)?;
        (self.system.y, self.system.z) = (found.y, found.z);
        self.clock.step = found.iterations as u64;
        self.settled = true;
        self.start()?;
        self.settle_warmth()
    }

    /// Brings the warmth of all holders to what the present state makes of it in the long run.
    fn settle_warmth(&mut self) -> Result<(), RunError> {
        let network = &self.system.network;
        let mut flows = Flows::none(network);
        flows.add(network, &self.system.work, 1.0);
        let masses = self.transport.holders.masses(network, &self.system.y);
        self.warmth.stand(network, &self.transport, &self.system.work);
        let drawn = self.warmth.drawn.clone();
        let carried = self.carry_warmth(&flows, IN_THE_LONG_RUN, &masses);
        self.warmth.drawn = drawn;
        carried.map_err(|_| RunError::Unsolvable { time: self.clock.time })
    }

    /// Moves the warmth of all holders on by one implicit step of Euler; the state is that of its end.
    pub(super) fn carry_warmth(&mut self, flows: &Flows, step: f64, masses: &[f64]) -> Result<(), Refusal> {
        let conductances = self.conductances()?;
        let System { network, y, work, .. } = &self.system;
        let way = Way { network, work, y, flows, conductances: &conductances };
        self.warmth.carry(&mut self.transport, way, step, masses)?;
        Ok(())
    }

    /// Moves the warmth of all holders on to a stage of a step, where the state stands; the air had the masses `base` [kg].
    fn carry_warmth_to_stage(&mut self, flows: &Flows, stage: usize, step: f64, base: &[f64]) -> Result<(), Refusal> {
        let conductances = self.conductances()?;
        let System { network, y, work, .. } = &self.system;
        let masses = self.transport.holders.masses(network, y);
        let way = Way { network, work, y, flows, conductances: &conductances };
        self.warmth.stage(&mut self.transport, way, stage, step, [base, &masses])?;
        Ok(())
    }

    /// Conductances of the walls of ducts, cell by cell [W/K].
    fn conductances(&mut self) -> Result<Vec<f64>, Refusal> {
        let System { network, y, moving, .. } = &self.system;
        if moving.is_some() {
            network.arena.give_walls(&mut self.beside.cells);
        }
        network.wall_conductances(y, &mut self.beside).map_err(|_| Refusal::NotSolved)
    }

    /// Books the flows of the steady state over a second.
    fn run_steady(&mut self, observer: &mut dyn Observer<Self>) -> Result<Outcome, Error> {
        let network = self.network();
        if !self.settled {
            self.settle()?;
        }
        self.record(observer)?;
        self.integrals.begin();
        self.integrals.add(network, &self.system.work, BOOKED);
        self.integrals.accept(&self.system.network, &self.system.work);
        self.warmth.book_now(network, &self.transport, &self.system.work, BOOKED);
        self.clock.time += BOOKED;
        self.record(observer)?;
        Ok(Outcome::Steady)
    }

    /// Balances the joints at the present state.
    ///
    /// # Errors
    /// The state is not one.
    pub fn start(&mut self) -> Result<(), RunError> {
        let system = &mut self.system;
        system.go_to(self.clock.time)?;
        system.balance().map_err(|fault| fault.at(self.clock.time, self.clock.step))?;
        system.gather(&mut self.x);
        system.evaluate(&self.x, &mut self.f).map_err(|fault| fault.at(self.clock.time, self.clock.step))
    }

    pub(super) fn record(&mut self, observer: &mut dyn Observer<Self>) -> Result<(), Error> {
        self.schedule.done += 1;
        self.recorded = self.clock.time;
        observer.record(self)?;
        self.integrals.open_interval();
        Ok(())
    }

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

impl Marching for Slow<'_> {
    fn moment(&self) -> Moment<'_> {
        Moment {
            network: &self.system.network,
            time: self.clock.time,
            step: self.clock.step,
            y: &self.system.y,
            work: &self.system.work,
            integrals: &self.integrals,
        }
    }

    fn warmth(&self) -> Option<[Vec<f64>; 2]> {
        let now = self.warmth.at_draws(&self.system.network, &self.transport, &self.system.work);
        Some([now, self.warmth.drawn.clone()])
    }

    fn save(&self) -> Saved {
        Saved {
            blocks: vec![
                ("y".to_owned(), self.system.y.clone()),
                ("z".to_owned(), self.system.z.clone()),
                ("clock".to_owned(), vec![self.clock.time, self.next, self.clutch_closes, self.recorded]),
                ("integrals".to_owned(), self.integrals.to_numbers()),
                ("warmth".to_owned(), self.warmth.to_numbers()),
                ("stretches".to_owned(), self.stretches.iter().flat_map(|stretch| stretch.to_numbers()).collect()),
            ],
            counts: vec![
                ("step".to_owned(), self.clock.step),
                ("records".to_owned(), self.schedule.done),
                ("refused".to_owned(), self.refused),
            ],
        }
    }
}

impl Slow<'_> {
    /// Goes on from `saved`, in a phase that has `begun` at this time [s].
    ///
    /// # Errors
    /// The saved state does not fit the network (`None`), or it is not a state.
    pub fn restore(&mut self, saved: &Saved, begun: f64) -> Result<(), Option<RunError>> {
        let take = |name: &str, length: usize| {
            let found = saved.blocks.iter().find(|block| block.0 == name).map(|block| block.1.as_slice());
            found.filter(|values| values.len() == length).ok_or(None)
        };
        let count = |name: &str| saved.counts.iter().find(|count| count.0 == name).map(|count| count.1).ok_or(None);
        let (states, flows) = (self.system.y.len(), self.system.z.len());
        self.system.y.copy_from_slice(take("y", states)?);
        self.system.z.copy_from_slice(take("z", flows)?);
        let clock = take("clock", 4)?;
        self.clock = Clock { time: clock[0], step: count("step")? };
        // At the very start of a phase the steps begin short.
        self.next = if self.clock.time > begun { clock[1] } else { FIRST_STEP };
        (self.clutch_closes, self.recorded) = (clock[2], clock[3]);
        self.integrals.restore(take("integrals", self.integrals.to_numbers().len())?);
        self.warmth.restore(take("warmth", self.warmth.to_numbers().len())?);
        let stretches = saved.blocks.iter().find(|block| block.0 == "stretches").ok_or(None)?;
        self.stretches = stretches.1.chunks_exact(Stretch::NUMBERS).map(Stretch::of_numbers).collect();
        self.schedule.done = count("records")?;
        self.refused = count("refused")?;
        self.system.go_to(self.clock.time).map_err(Some)?;
        if self.clock.time <= begun {
            self.system.begin_phase();
            return self.start().map_err(Some);
        }
        self.system.gather(&mut self.x);
        let evaluated = self.system.evaluate(&self.x, &mut self.f);
        evaluated.map_err(|fault| Some(fault.at(self.clock.time, self.clock.step)))
    }
}
