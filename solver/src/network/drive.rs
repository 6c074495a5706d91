//! The powertrain behind the draws of a network.

use super::{JointKind, Network, NetworkJoint, StateFault, Work};
use crate::joint::side::Side;
use crate::part::Demand;
use crate::powertrain::{Inlet, MOST_TURBOS, Powertrain, Standing};

/// A powertrain and the joints through which it breathes.
#[derive(Debug)]
pub struct Drive {
    /// The powertrain.
    pub powertrain: Powertrain,
    /// Joint and side of the draw of each of its turbos.
    pub draws: Vec<(usize, usize)>,
}

impl Drive {
    /// `powertrain` behind the draws among `joints`.
    pub(super) fn new(powertrain: Powertrain, joints: &[NetworkJoint]) -> Self {
        let mut draws = vec![(0, 0); powertrain.turbos.len()];
        for (index, joint) in joints.iter().enumerate() {
            let JointKind::Series(series) = &joint.kind else { continue };
            for (side, kind) in series.sides.iter().enumerate() {
                if let Side::Draw { demand: Demand::Engine(turbo), .. } = kind {
                    draws[*turbo] = (index, side);
                }
            }
        }
        Self { powertrain, draws }
    }
}

impl Network {
    /// States of the powertrain in `y`; empty without one.
    #[must_use]
    pub fn drive_states<'a>(&self, y: &'a [f64]) -> &'a [f64] {
        &y[self.layout.powertrain_start()..self.layout.states()]
    }

    /// All that stands in the powertrain at state `y`, when the joints are as they are in `work`.
    #[must_use]
    pub fn standing(&self, y: &[f64], work: &Work) -> Option<Standing> {
        let drive = self.drive.as_ref()?;
        Some(drive.powertrain.look(self.drive_states(y), &self.inlets(drive, work)))
    }

    fn inlets(&self, drive: &Drive, work: &Work) -> [Inlet; MOST_TURBOS] {
        let mut inlets = [Inlet::default(); MOST_TURBOS];
        for (inlet, (joint, side)) in inlets.iter_mut().zip(&drive.draws) {
            let Some(state) = work.joints[*joint].series() else { continue };
            let inward = if *side == 1 { state.mass_flow } else { -state.mass_flow };
            let last = state.total_pressures.len() - 1;
            *inlet = Inlet {
                mass_flow: inward.max(0.0),
                total_pressure: state.total_pressures[if *side == 1 { last } else { 0 }],
                total_temperature: state.total_temperature,
            };
        }
        inlets
    }

    /// Writes the rates of the powertrain.
    pub(super) fn drive_rates(&self, y: &[f64], work: &Work, rates: &mut [f64]) {
        if let Some(drive) = &self.drive {
            let inlets = self.inlets(drive, work);
            drive.powertrain.rates(self.drive_states(y), &inlets, &mut rates[self.layout.powertrain_start()..]);
        }
    }

    /// Gives the state `y` of a neighbour the crank speed, gear and throttle of `start`, which no search for a steady state would change.
    pub fn give_drive(&self, start: &[f64], y: &mut [f64]) {
        if self.drive.is_some() {
            let given = Powertrain::given();
            let first = self.layout.powertrain_start();
            y[first..][given.clone()].copy_from_slice(&start[first..][given]);
        }
    }

    pub(super) fn start_drive(&self, y: &mut [f64]) {
        if let Some(drive) = &self.drive {
            y[self.layout.powertrain_start()..].copy_from_slice(&drive.powertrain.start());
        }
    }

    /// Refuses pressures and speeds below nothing.
    pub(super) fn check_drive(&self, y: &[f64]) -> Result<(), StateFault> {
        let Some(drive) = &self.drive else { return Ok(()) };
        let states = self.drive_states(y);
        for (turbo, known) in drive.powertrain.turbos.iter().enumerate() {
            let powertrain = &drive.powertrain;
            for (quantity, value, least) in [
                ("charge pressure", states[powertrain.charge(turbo)], 0.0),
                ("pressure before the turbine", states[powertrain.exhaust(turbo)], 0.0),
                ("shaft speed", states[powertrain.shaft(turbo)], -1.0),
            ] {
                if !(value > least && value < f64::INFINITY) {
                    return Err(StateFault { part: known.draw.clone(), cell: 0, position: 0.0, quantity, value });
                }
            }
        }
        Ok(())
    }
}
