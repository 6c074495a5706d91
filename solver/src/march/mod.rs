//! Marching a network through time.

mod acoustic;
mod clock;
mod forcing;
mod settled;
pub mod slow;

#[cfg(test)]
mod storm;
#[cfg(test)]
mod tests;

pub use acoustic::{Acoustic, Counters, Saved};
pub use clock::{Clock, Schedule};
pub use forcing::Forcing;
pub use settled::{Settled, Watch};

use crate::error::{Error, RunError};
use crate::ledger::Integrals;
use crate::network::{Network, Work};

/// How a network is carried through time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum March {
    /// Explicit, resolves waves.
    #[default]
    Acoustic,
    /// Implicit, for what is steady or changes over seconds and minutes.
    Slow,
}

/// When a run ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Until {
    /// At this time [s].
    Time(f64),
    /// With the steady state, found at once: goes with the slow march.
    Steady,
    /// When branch flow and recovery ring by less than `tolerance` over a window of some slowest periods, or at `at_most` [s].
    Settled {
        /// Time cap [s].
        at_most: f64,
        /// Largest peak-to-peak ringing, relative to the mean.
        tolerance: f64,
    },
}

/// How a run marches.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Which march.
    pub march: March,
    /// Whether an acoustic march starts from the steady state rather than from the given one.
    pub from_steady: bool,
    /// Courant number aimed at.
    pub courant: f64,
    /// When it ends.
    pub until: Until,
    /// Time between records [s].
    pub record_every: f64,
}

/// Why a run stopped.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// The end time is reached.
    Finished,
    /// Branch flow and recovery have settled.
    Settled,
    /// The steady state is found.
    Steady,
    /// The time cap came before they settled.
    NotSettled,
    /// The observer asked to stop; the run can be resumed.
    Interrupted,
}

/// Whether a run goes on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Control {
    /// Go on.
    Continue,
    /// Stop after this step.
    Stop,
}

/// A march at an instant, as a record of it is written.
#[derive(Debug, Clone, Copy)]
pub struct Moment<'a> {
    /// The network.
    pub network: &'a Network,
    /// Time [s].
    pub time: f64,
    /// Steps done.
    pub step: u64,
    /// Flat state.
    pub y: &'a [f64],
    /// States of cells and joints.
    pub work: &'a Work,
    /// Time integrals for the ledgers.
    pub integrals: &'a Integrals,
}

/// What is common to the marches: they can be looked at, and saved.
pub trait Marching {
    /// The march as it is now.
    fn moment(&self) -> Moment<'_>;

    /// Warmth of the air that goes into each draw [K], and what has gone into it since the start [kg K]: draw by draw, root cause by root
    /// cause. `None` of a march that does not follow it.
    fn warmth(&self) -> Option<[Vec<f64>; 2]> {
        None
    }

    /// Everything that it needs to go on exactly here.
    fn save(&self) -> Saved;
}

/// A network whose numbers move for a while.
pub trait Moving: std::fmt::Debug {
    /// Time until which they move [s].
    fn until(&self) -> f64;

    /// The network at `time` [s]: always the same for the same time, and laid out alike for all.
    ///
    /// # Errors
    /// The numbers of that time make no network.
    fn network_at(&self, time: f64) -> Result<Network, RunError>;
}

/// Someone who looks at a run while it marches. Looking never alters the trajectory.
pub trait Observer<M: ?Sized> {
    /// A record time is reached, the start included.
    ///
    /// # Errors
    /// Whatever keeps the observer from noting the record; the run stops.
    fn record(&mut self, march: &M) -> Result<(), Error>;

    /// A step is done.
    ///
    /// # Errors
    /// As for `record`.
    fn step_done(&mut self, march: &M) -> Result<Control, Error> {
        let _ = march;
        Ok(Control::Continue)
    }
}

/// An observer that sees nothing.
#[derive(Debug, Clone, Copy, Default)]
pub struct Unobserved;

impl<M: ?Sized> Observer<M> for Unobserved {
    fn record(&mut self, _march: &M) -> Result<(), Error> {
        Ok(())
    }
}
