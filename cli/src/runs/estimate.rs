//! How large a run is, before it runs.

use tractwright::case::Built;
use tractwright::error::RunError;
use tractwright::march::{Acoustic, Until};

/// Size of a run.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Estimate {
    /// Cells of all ducts.
    pub(crate) cells: usize,
    /// First step [s].
    pub(crate) step: f64,
    /// What limits it.
    pub(crate) limited_by: String,
    /// Latest end [s].
    pub(crate) end: f64,
    /// Steps to the latest end.
    pub(crate) steps: f64,
}

impl Estimate {
    /// From the first step of the run.
    ///
    /// # Errors
    /// The initial state is not one.
    pub(crate) fn of(built: &Built) -> Result<Self, RunError> {
        let network = &built.network;
        let mut march = Acoustic::new(network, built.initial.clone(), built.settings);
        march.start()?;
        let (rate, limit) = network.stiffest_rate(&march.work);
        let end = match built.settings.until {
            Until::Time(end) | Until::Settled { at_most: end, .. } => end,
            Until::Steady => 0.0,
        };
        let step = (built.settings.courant / rate).min(built.settings.record_every);
        Ok(Self {
            cells: network.arena.ducts().map(|duct| network.arena.cells(duct)).sum(),
            step,
            limited_by: network.limited_by(limit),
            end,
            steps: (end / step).ceil(),
        })
    }
}
