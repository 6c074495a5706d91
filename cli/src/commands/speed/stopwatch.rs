//! How long a computation takes this thread, whatever else the machine does.

use std::time::Duration;

/// A running stopwatch: of the processor's time for this thread on Unix, of the clock elsewhere.
pub(super) struct Stopwatch(Moment);

#[cfg(unix)]
type Moment = Duration;
#[cfg(not(unix))]
type Moment = std::time::Instant;

impl Stopwatch {
    /// Starts now.
    pub(super) fn start() -> Self {
        Self(now())
    }

    /// Time since the start [s].
    pub(super) fn seconds(&self) -> f64 {
        self.elapsed().as_secs_f64()
    }

    #[cfg(unix)]
    fn elapsed(&self) -> Duration {
        now() - self.0
    }

    #[cfg(not(unix))]
    fn elapsed(&self) -> Duration {
        self.0.elapsed()
    }
}

#[cfg(unix)]
fn now() -> Moment {
    let spent = rustix::time::clock_gettime(rustix::time::ClockId::ThreadCPUTime);
    // Neither part of a processor time is negative.
    Duration::new(spent.tv_sec.unsigned_abs(), spent.tv_nsec as u32)
}

#[cfg(not(unix))]
fn now() -> Moment {
    std::time::Instant::now()
}
