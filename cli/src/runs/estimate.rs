//! How large a run is, before it runs.

use tractwright::case::Built;
use tractwright::error::RunError;
use tractwright::march::{Acoustic, March, Until};

/// Size of a run.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Estimate {
    /// Cells of all ducts.
    pub(crate) cells: usize,
    /// First step [s]; none of a slow march, whose steps follow from their error.
    pub(crate) step: Option<f64>,
    /// What limits it.
    pub(crate) limited_by: String,
    /// Latest end [s].
    pub(crate) end: f64,
    /// Steps to the latest end; for a slow march the least there can be, one a record.
    pub(crate) steps: f64,
}

impl Estimate {
    /// From the first step of the run.
    ///
    /// # Errors
    /// The initial state is not one.
    pub(crate) fn of(built: &Built) -> Result<Self, RunError> {
        let network = &built.network;
        let cells = network.arena.ducts().map(|duct| network.arena.cells(duct)).sum();
        if built.settings.march == March::Slow {
            let end = if let Until::Time(end) = built.settings.until { end } else { 0.0 };
            let steps = (end / built.settings.record_every).ceil().max(1.0);
            return Ok(Self { cells, step: None, limited_by: "the error of walls and volumes".to_owned(), end, steps });
        }
        let mut march = Acoustic::new(network, built.initial.clone(), built.settings);
        march.start()?;
        let (rate, limit) = network.stiffest_rate(&march.work);
        let end = match built.settings.until {
            Until::Time(end) | Until::Settled { at_most: end, .. } => end,
            Until::Steady => 0.0,
        };
        let step = (built.settings.courant / rate).min(built.settings.record_every);
        Ok(Self { cells, step: Some(step), limited_by: network.limited_by(limit), end, steps: (end / step).ceil() })
    }
}
