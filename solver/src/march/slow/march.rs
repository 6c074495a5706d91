//! The slow march through time: from one step to the next, from record to record, from phase to phase.

use super::linear::Singular;
use super::stages::STAGES;
use super::steady::steady;
use super::system::System;
use super::transport::Transport;
use super::warmth::Warmth;
use super::waves::Stretch;
use crate::error::{Error, RunError};
use crate::ledger::Integrals;
use crate::march::clock::{Clock, Schedule};
use crate::march::{Control, Moving, Observer, Outcome, Settings, Until};
use crate::network::{Network, Overdrawn, Work};

/// First step [s].
pub(super) const FIRST_STEP: f64 = 1e-3;
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
    pub(super) recorded: f64,
    /// Whether the state is the steady one.
    pub(super) settled: bool,
    pub(super) system: System<'a>,
    pub(super) transport: Transport,
    pub(super) warmth: Warmth,
    /// Room for the states beside those of the march.
    pub(super) beside: Work,
    /// Length that the next step is to have [s].
    pub(super) next: f64,
    pub(super) values: Vec<f64>,
    pub(super) jacobian: Vec<f64>,
    pub(super) fresh: Vec<f64>,
    pub(super) x: Vec<f64>,
    pub(super) f: Vec<f64>,
    pub(super) stage: Vec<f64>,
    pub(super) base: Vec<f64>,
    pub(super) change: Vec<f64>,
    pub(super) stage_rates: [Vec<f64>; STAGES],
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
}
