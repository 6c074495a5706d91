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

use crate::error::Error;

/// When a run ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Until {
    /// At this time [s].
    Time(f64),
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

/// Someone who looks at a run while it marches. Looking never alters the trajectory.
pub trait Observer {
    /// A record time is reached, the start included.
    ///
    /// # Errors
    /// Whatever keeps the observer from noting the record; the run stops.
    fn record(&mut self, march: &mut Acoustic<'_>) -> Result<(), Error>;

    /// A step is done.
    ///
    /// # Errors
    /// As for `record`.
    fn step_done(&mut self, march: &Acoustic<'_>) -> Result<Control, Error> {
        let _ = march;
        Ok(Control::Continue)
    }
}

/// An observer that sees nothing.
#[derive(Debug, Clone, Copy, Default)]
pub struct Unobserved;

impl Observer for Unobserved {
    fn record(&mut self, _march: &mut Acoustic<'_>) -> Result<(), Error> {
        Ok(())
    }
}
