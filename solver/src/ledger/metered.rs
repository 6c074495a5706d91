//! What air meters see and read, step by step.

use crate::network::{Network, Work};

/// Integrals of an air meter: mass past it, and mass that it reads [kg].
pub(super) const PER_METER: usize = 2;

/// The meters of a network while it is marched.
#[derive(Debug, Clone)]
pub(super) struct Metered {
    /// Signal of each, in the unit of [`crate::part::AirMeter::signal`]; infinite before the first step, from which on it knows its flow.
    pub(super) signals: Vec<f64>,
    /// Mass past each in the step that is being taken [kg].
    passed: Vec<f64>,
    /// Length of that step so far [s].
    step: f64,
}

impl Metered {
    pub(super) fn new(network: &Network) -> Self {
        let count = network.meters.len();
        Self { signals: vec![f64::INFINITY; count], passed: vec![0.0; count], step: 0.0 }
    }

    /// Begins a step that may yet be undone.
    pub(super) fn begin(&mut self) {
        self.step = 0.0;
        self.passed.fill(0.0);
    }

    /// Adds `weight` [s] times what flows now.
    pub(super) fn add(&mut self, network: &Network, work: &Work, weight: f64) {
        self.step += weight;
        for (passed, meter) in self.passed.iter_mut().zip(&network.meters) {
            *passed += weight * meter.flow(network, work);
        }
    }

    /// Accepts the step: adds what passed and what was read to `integrals`, [`PER_METER`] a meter.
    pub(super) fn accept(&mut self, network: &Network, integrals: &mut [f64]) {
        if self.step <= 0.0 {
            return;
        }
        for (number, (sums, meter)) in integrals.chunks_exact_mut(PER_METER).zip(&network.meters).enumerate() {
            let flow = self.passed[number] / self.step;
            let before = self.signals[number];
            let before = if before.is_finite() { before } else { meter.law.signal(flow) };
            let (after, reading) = meter.law.advance(before, flow, self.step);
            self.signals[number] = after;
            sums[0] += self.passed[number];
            sums[1] += reading * self.step;
        }
    }
}
