//! The acoustic march: explicit, time-accurate for waves.
//!
//! SSP-RK2 (Gottlieb, Shu and Tadmor 2001, SIAM Review 43, 89) by default: `y1 = y + dt R(t, y)`, then
//! `y = (y + y1 + dt R(t + dt, y1)) / 2`, so that a steady answer depends neither on the Courant number nor on the march. Hancock's
//! march does with one evaluation a step: cells by the kernel's predictor, volumes by the midpoint of their last rates.
//!
//! The step follows from the state that it starts from. If the state that it leads to moves faster than the step allows, the step is
//! undone and retaken shorter.

use super::clock::{Clock, Schedule};
use super::forcing::{Forced, Forcing};
use super::settled::{Settled, Watch};
use super::{Control, Marching, Moment, Observer, Outcome, Settings, Until};
use crate::error::{Error, RunError};
use crate::flow::Predictor;
use crate::ledger::Integrals;
use crate::network::{Limit, Network, StateFault, Unbalanced, Work};

/// Courant number that no step may exceed, over the one aimed at.
const HIGHEST_OVER_AIM: f64 = 1.2;
/// First steps that are taken short: waves spring from a jump at the start that its state does not show. Toro, Riemann Solvers and
/// Numerical Methods for Fluid Dynamics, 3rd ed. 2009, section 6.3.2.
const GENTLE_STEPS: u64 = 5;
/// Courant number of these over the one aimed at.
const GENTLE_SHARE: f64 = 0.4;
/// Times that one step is retaken before the run stops.
const MOST_RETAKES: u32 = 12;
/// Steps shorter than this share of the first one mean that the march has collapsed.
const COLLAPSED: f64 = 1e-9;
/// Slowest periods in a window of the settled test.
const PERIODS_IN_WINDOW: f64 = 3.0;

/// What a run has counted.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Counters {
    /// Steps undone and retaken.
    pub retakes: u64,
    /// Shortest step [s].
    pub shortest: f64,
    /// Longest step [s].
    pub longest: f64,
    /// Steps in which a draw got less than it asked for because its passage was choked.
    pub choked: u64,
}

/// Everything that a run needs to go on exactly where it stopped.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Saved {
    /// Named blocks of numbers.
    pub blocks: Vec<(String, Vec<f64>)>,
    /// Named counts.
    pub counts: Vec<(String, u64)>,
}

/// An acoustic march of one network.
#[derive(Debug)]
pub struct Acoustic<'a> {
    /// The network.
    pub network: &'a Network,
    /// Time and step count.
    pub clock: Clock,
    /// Record times.
    pub schedule: Schedule,
    /// Flat state.
    pub y: Vec<f64>,
    /// Joint flows [kg/s].
    pub z: Vec<f64>,
    /// States of cells and joints at the current time.
    pub work: Work,
    /// Time integrals for the ledgers.
    pub integrals: Integrals,
    /// Counters.
    pub counters: Counters,
    settings: Settings,
    forced: Option<Forced<'a>>,
    settled: Option<Settled>,
    watched: Vec<usize>,
    hancock: bool,
    /// Whether `work` holds the states of the cells in `y` from the check of Hancock's step before.
    checked: bool,
    base: Vec<f64>,
    base_z: Vec<f64>,
    guess: Vec<f64>,
    stage: Vec<f64>,
    rates: Vec<f64>,
    last_rates: Vec<f64>,
    stiffest: (f64, Limit),
}

/// Why a step cannot be accepted.
#[derive(Debug, Clone, PartialEq)]
enum Refusal {
    /// It is longer than the state that it led to allows.
    TooLong,
    /// It led to a state that is not one.
    Stopped(RunError),
}

impl From<RunError> for Refusal {
    fn from(error: RunError) -> Self {
        Self::Stopped(error)
    }
}

impl<'a> Acoustic<'a> {
    /// A march from the state `y` at time zero.
    #[must_use]
    pub fn new(network: &'a Network, y: Vec<f64>, settings: Settings) -> Self {
        let end = match settings.until {
            Until::Time(end) | Until::Settled { at_most: end, .. } => end,
            Until::Steady => f64::INFINITY,
        };
        let watched = network.watched_joints();
        let settled = match settings.until {
            Until::Settled { tolerance, .. } => {
                let (window, periodic) = network.ringing_window(PERIODS_IN_WINDOW);
                Some(Settled::new(window, periodic, tolerance, 2 * watched.len()))
            }
            Until::Time(_) | Until::Steady => None,
        };
        Self {
            network,
            clock: Clock::default(),
            schedule: Schedule { every: settings.record_every, end, done: 0 },
            z: vec![0.0; network.layout.unknowns],
            work: network.work(),
            integrals: Integrals::new(network),
            counters: Counters { shortest: f64::INFINITY, ..Counters::default() },
            settings,
            forced: None,
            settled,
            watched,
            hancock: network.arena.scheme().march == Predictor::Hancock,
            checked: false,
            base: y.clone(),
            base_z: vec![0.0; network.layout.unknowns],
            guess: vec![0.0; network.layout.unknowns],
            stage: y.clone(),
            rates: vec![0.0; y.len()],
            last_rates: vec![0.0; y.len()],
            stiffest: (0.0, Limit::Cells),
            y,
        }
    }

    /// The same march with these joint flows [kg/s] as the first guess of its balances.
    #[must_use]
    pub fn with_flows(mut self, z: Vec<f64>) -> Self {
        self.z = z;
        self
    }

    /// The same march with a source of its own in the cells. Checkpoints do not hold the source: a march that is restored is forced anew.
    #[must_use]
    pub fn forced_by(mut self, forcing: &'a dyn Forcing) -> Self {
        self.forced = Some(Forced::new(forcing, self.network.layout.cells));
        self
    }

    /// Marches to the end, telling `observer`.
    ///
    /// # Errors
    /// The physics stopped the run ([`Acoustic::y`] then holds the last good state), or the observer could not go on.
    pub fn run(&mut self, observer: &mut dyn Observer<Self>) -> Result<Outcome, Error> {
        if self.schedule.done == 0 {
            self.start()?;
            self.record(observer)?;
        }
        while self.clock.time < self.schedule.end {
            let stop = self.schedule.next();
            let step = self.step(stop)?;
            let settled = self.note(step);
            if self.clock.time >= stop || settled {
                self.record(observer)?;
            }
            if settled {
                return Ok(Outcome::Settled);
            }
            if observer.step_done(self)? == Control::Stop {
                return Ok(Outcome::Interrupted);
            }
        }
        Ok(if self.settled.is_some() { Outcome::NotSettled } else { Outcome::Finished })
    }

    /// Brings joints and rates to the initial state.
    ///
    /// # Errors
    /// The initial state is not one.
    pub fn start(&mut self) -> Result<(), RunError> {
        let (time, y) = (self.clock.time, std::mem::take(&mut self.y));
        let started = self.evaluate(time, &y, None);
        self.y = y;
        self.last_rates.copy_from_slice(&self.rates);
        started
    }

    fn record(&mut self, observer: &mut dyn Observer<Self>) -> Result<(), Error> {
        self.schedule.done += 1;
        if self.hancock {
            // The joints stand in the middle of the step; what is recorded belongs to its end. Their guesses are put back, so that
            // looking does not alter the march.
            let z = self.z.clone();
            self.start_of_record()?;
            observer.record(self)?;
            self.z = z;
        } else {
            observer.record(self)?;
        }
        self.integrals.open_interval();
        Ok(())
    }

    fn start_of_record(&mut self) -> Result<(), RunError> {
        let (rates, last) = (self.rates.clone(), self.last_rates.clone());
        let stiffest = self.stiffest;
        self.start()?;
        (self.rates, self.last_rates, self.stiffest) = (rates, last, stiffest);
        Ok(())
    }

    /// Feeds the settled test; answers whether the run has settled.
    fn note(&mut self, step: f64) -> bool {
        let Some(settled) = &mut self.settled else { return false };
        let joints = &self.work.joints;
        let values = self.watched.iter().flat_map(|joint| match joints[*joint].series() {
            Some(state) => [state.mass_flow, state.total_pressures[state.total_pressures.len() - 1]],
            None => [0.0, 0.0],
        });
        settled.note(self.clock.time, step, values)
    }

    /// One step towards `stop` [s]; returns its length [s].
    ///
    /// # Errors
    /// The physics stopped the run; the state is the last good one.
    pub fn step(&mut self, stop: f64) -> Result<f64, RunError> {
        // The last state becomes the base; what was the base is overwritten by the new state.
        std::mem::swap(&mut self.base, &mut self.y);
        self.base_z.copy_from_slice(&self.z);
        let share = if self.clock.step < GENTLE_STEPS { GENTLE_SHARE } else { 1.0 };
        let mut longest = share * self.settings.courant / self.stiffest.0;
        let mut refusal = Refusal::TooLong;
        for _ in 0..=MOST_RETAKES {
            if longest < COLLAPSED * self.counters.longest {
                break;
            }
            let step = self.clock.step_towards(stop, longest);
            self.integrals.begin();
            let taken = if self.hancock { self.hancock(step) } else { self.runge_kutta(step, stop) };
            match taken {
                Ok(()) => {
                    self.integrals.accept(self.network, &self.work);
                    self.clock.advance(step, stop);
                    self.counters.shortest = self.counters.shortest.min(step);
                    self.counters.longest = self.counters.longest.max(step);
                    self.counters.choked += u64::from(self.work.joints.iter().any(|joint| joint.choked()));
                    return Ok(step);
                }
                Err(why) => refusal = why,
            }
            self.counters.retakes += 1;
            longest = 0.5 * step;
            self.return_to_base()?;
        }
        self.y.copy_from_slice(&self.base);
        Err(match refusal {
            Refusal::Stopped(error) => error,
            Refusal::TooLong => RunError::StepCollapsed {
                part: self.network.limited_by(self.stiffest.1),
                step_size: longest,
                time: self.clock.time,
                step: self.clock.step,
            },
        })
    }

    /// Undoes a step.
    fn return_to_base(&mut self) -> Result<(), RunError> {
        self.y.copy_from_slice(&self.base);
        self.z.copy_from_slice(&self.base_z);
        if self.hancock {
            return Ok(());
        }
        let (time, y) = (self.clock.time, std::mem::take(&mut self.y));
        let evaluated = self.evaluate(time, &y, None);
        self.y = y;
        // The guesses of the joints are part of the state that is returned to.
        self.z.copy_from_slice(&self.base_z);
        evaluated
    }

    /// Strong-stability-preserving Runge-Kutta step of second order. On entry rates and joints are those of `y`; so are they on exit.
    fn runge_kutta(&mut self, step: f64, stop: f64) -> Result<(), Refusal> {
        let end = if step >= (stop - self.clock.time) * (1.0 - 1e-12) { stop } else { self.clock.time + step };
        let mut stage = std::mem::take(&mut self.stage);
        self.integrals.add(self.network, &self.work, 0.5 * step);
        self.advance(&mut stage, self.clock.time, step);
        let mut evaluated =
            self.evaluate(end, &stage, None).map_err(Refusal::from).and_then(|()| self.refuse_too_long(step));
        if evaluated.is_ok() {
            self.integrals.add(self.network, &self.work, 0.5 * step);
            self.average(&mut stage, end, step);
            evaluated = self.evaluate(end, &stage, None).map_err(Refusal::from);
        }
        self.stage = stage;
        evaluated?;
        std::mem::swap(&mut self.y, &mut self.stage);
        self.refuse_too_long(step)
    }

    /// Hancock's step. Cells go to the middle of the step by the kernel's predictor, all else by its last rates.
    fn hancock(&mut self, step: f64) -> Result<(), Refusal> {
        let cells = self.network.layout.cells;
        let time = self.clock.time + 0.5 * step;
        let (mut middle, mut start) = (std::mem::take(&mut self.base), std::mem::take(&mut self.stage));
        // The base stands in for the middle of the step, whose cells it shares unless these are forced; the rest of it is put aside.
        let shared = if self.forced.is_some() { 0 } else { cells };
        start[shared..].copy_from_slice(&middle[shared..]);
        for (value, rate) in middle.iter_mut().zip(&self.last_rates).skip(cells) {
            *value += 0.5 * step * rate;
        }
        if let Some(forced) = &mut self.forced {
            forced.add(time, 0.5 * step, &mut middle);
        }
        let known = std::mem::take(&mut self.checked) && shared == cells;
        let seen = if known { Ok(()) } else { self.check_cells(&middle) };
        let evaluated = seen.and_then(|()| self.evaluate_around(time, &middle, Some(0.5 * step)));
        middle[shared..].copy_from_slice(&start[shared..]);
        (self.base, self.stage) = (middle, start);
        evaluated?;
        self.refuse_too_long(step)?;
        self.integrals.add(self.network, &self.work, step);
        let mut y = std::mem::take(&mut self.y);
        self.advance(&mut y, time, step);
        let sound = self.network.check(&y, &mut self.work);
        self.y = y;
        sound.map_err(|fault| self.stopped(&fault))?;
        self.checked = true;
        self.last_rates[cells..].copy_from_slice(&self.rates[cells..]);
        Ok(())
    }

    /// `y = base + step rates`, whatever `y` was, with the rates of `time` [s].
    fn advance(&mut self, y: &mut [f64], time: f64, step: f64) {
        let cells = self.network.layout.cells;
        let (own, rest) = y.split_at_mut(cells);
        self.network.arena.step(&self.base[..cells], own, step, &self.work.cells);
        if let Some(forced) = &mut self.forced {
            forced.add(time, step, own);
        }
        for ((value, base), rate) in rest.iter_mut().zip(&self.base[cells..]).zip(&self.rates[cells..]) {
            *value = base + step * rate;
        }
    }

    /// `y = (base + y + step rates) / 2`, in place, with the rates of `time` [s].
    fn average(&mut self, y: &mut [f64], time: f64, step: f64) {
        let cells = self.network.layout.cells;
        let (own, rest) = y.split_at_mut(cells);
        self.network.arena.advance(&self.base[..cells], own, step, 0.5, &self.work.cells);
        if let Some(forced) = &mut self.forced {
            forced.add(time, 0.5 * step, own);
        }
        for ((value, base), rate) in rest.iter_mut().zip(&self.base[cells..]).zip(&self.rates[cells..]) {
            *value = 0.5 * base + 0.5 * (*value + step * rate);
        }
    }

    /// Brings cells, joints, rates and the step limit to the state `y` at `time` [s].
    fn evaluate(&mut self, time: f64, y: &[f64], half_step: Option<f64>) -> Result<(), RunError> {
        self.check_cells(y)?;
        self.evaluate_around(time, y, half_step)
    }

    fn check_cells(&mut self, y: &[f64]) -> Result<(), RunError> {
        self.network.check_cells(y, &mut self.work).map_err(|fault| self.stopped(&fault))
    }

    /// The rest of [`Acoustic::evaluate`], where the states of the cells are known.
    fn evaluate_around(&mut self, time: f64, y: &[f64], half_step: Option<f64>) -> Result<(), RunError> {
        let network = self.network;
        self.guess.copy_from_slice(&self.z);
        network.look_around(y, half_step, &mut self.work).map_err(|fault| self.stopped(&fault))?;
        network.balance(time, y, &mut self.z, &mut self.work).map_err(|unbalanced| self.unbalanced(&unbalanced))?;
        network.exchange(y, &mut self.work, &mut self.rates);
        self.stiffest = network.stiffest_rate(&self.work);
        Ok(())
    }

    fn refuse_too_long(&self, step: f64) -> Result<(), Refusal> {
        let courant = step * self.stiffest.0;
        if courant <= HIGHEST_OVER_AIM * self.settings.courant { Ok(()) } else { Err(Refusal::TooLong) }
    }

    fn stopped(&self, fault: &StateFault) -> RunError {
        fault.at(self.clock.time, self.clock.step)
    }

    fn unbalanced(&self, unbalanced: &Unbalanced) -> RunError {
        RunError::JointUnbalanced {
            joint: self.network.joints[unbalanced.joint].name(),
            mismatch: unbalanced.mismatch,
            time: self.clock.time,
            step: self.clock.step,
        }
    }
}

/// Names of the blocks of a checkpoint.
mod block {
    pub(super) const STATE: &str = "y";
    pub(super) const FLOWS: &str = "z";
    pub(super) const RATES: &str = "rates";
    pub(super) const CLOCK: &str = "clock";
    pub(super) const INTEGRALS: &str = "integrals";
    pub(super) const WATCHES: &str = "watches";
}

impl Marching for Acoustic<'_> {
    fn moment(&self) -> Moment<'_> {
        Moment {
            network: self.network,
            time: self.clock.time,
            step: self.clock.step,
            y: &self.y,
            work: &self.work,
            integrals: &self.integrals,
        }
    }

    fn save(&self) -> Saved {
        let clock = vec![
            self.clock.time,
            self.stiffest.0,
            self.counters.shortest,
            self.counters.longest,
            self.settled.as_ref().map_or(0.0, |settled| settled.start),
        ];
        let watches = self.settled.iter().flat_map(|settled| &settled.watches).flat_map(Watch::to_numbers).collect();
        Saved {
            blocks: vec![
                (block::STATE.to_owned(), self.y.clone()),
                // The guess from which the joints were balanced, not the balance: from there they come out the same to the last bit.
                (block::FLOWS.to_owned(), if self.hancock { self.z.clone() } else { self.guess.clone() }),
                (block::RATES.to_owned(), self.last_rates.clone()),
                (block::CLOCK.to_owned(), clock),
                (block::INTEGRALS.to_owned(), self.integrals.to_numbers()),
                (block::WATCHES.to_owned(), watches),
            ],
            counts: vec![
                ("step".to_owned(), self.clock.step),
                ("records".to_owned(), self.schedule.done),
                ("retakes".to_owned(), self.counters.retakes),
                ("choked".to_owned(), self.counters.choked),
            ],
        }
    }
}

impl Acoustic<'_> {
    /// Goes on from `saved`. Rates and joints are found anew from state and flows, which gives them to the last bit.
    ///
    /// # Errors
    /// The saved state does not fit the network (`None`), or it is not a state.
    pub fn restore(&mut self, saved: &Saved) -> Result<(), Option<RunError>> {
        let take = |name: &str, length: usize| {
            let found = saved.blocks.iter().find(|block| block.0 == name).map(|block| block.1.as_slice());
            found.filter(|values| values.len() == length).ok_or(None)
        };
        let count = |name: &str| saved.counts.iter().find(|count| count.0 == name).map(|count| count.1).ok_or(None);
        let (states, unknowns) = (self.y.len(), self.z.len());
        self.y.copy_from_slice(take(block::STATE, states)?);
        self.z.copy_from_slice(take(block::FLOWS, unknowns)?);
        let last_rates = take(block::RATES, self.last_rates.len())?.to_vec();
        let clock = take(block::CLOCK, 5)?;
        self.integrals.restore(take(block::INTEGRALS, self.integrals.to_numbers().len())?);
        self.clock = Clock { time: clock[0], step: count("step")? };
        self.schedule.done = count("records")?;
        self.counters =
            Counters { retakes: count("retakes")?, shortest: clock[2], longest: clock[3], choked: count("choked")? };
        if let Some(settled) = &mut self.settled {
            settled.start = clock[4];
            let numbers = take(block::WATCHES, 6 * settled.watches.len())?;
            for (watch, numbers) in settled.watches.iter_mut().zip(numbers.chunks_exact(6)) {
                *watch = Watch::from_numbers(numbers);
            }
        }
        let z = self.z.clone();
        self.start().map_err(Some)?;
        self.last_rates = last_rates;
        if self.hancock {
            self.z = z;
            self.stiffest.0 = clock[1];
        }
        Ok(())
    }
}
