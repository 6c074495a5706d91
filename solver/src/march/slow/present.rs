//! The network of a slow march as it is now: the same throughout a phase, another at every instant of a ramp.

use super::system::System;
use crate::error::RunError;
use crate::network::Network;
use crate::powertrain::{Load, Powertrain};
use std::ops::Deref;

/// The network of the present instant.
#[derive(Debug)]
pub(super) enum Present<'a> {
    /// That of the phase.
    Still(&'a Network),
    /// One on the way there.
    Moved(Box<Network>),
}

impl Deref for Present<'_> {
    type Target = Network;

    fn deref(&self) -> &Network {
        match self {
            Self::Still(network) => network,
            Self::Moved(network) => network,
        }
    }
}

/// What is left of the end of a step when its parts have been added up, over the time.
const ROUNDING: f64 = 1e-12;

impl System<'_> {
    /// Goes to `time` [s] with the network that holds then.
    ///
    /// # Errors
    /// The numbers of that time make no network.
    pub(super) fn go_to(&mut self, time: f64) -> Result<(), RunError> {
        self.time = time;
        let Some(moving) = self.moving else { return Ok(()) };
        // A step that ends with the ramp belongs to it to its last stage: a crank that is brought along turns faster until then.
        self.network = if time <= moving.until() * (1.0 + ROUNDING) {
            Present::Moved(Box::new(moving.network_at(time)?))
        } else {
            Present::Still(self.still)
        };
        self.network.arena.give_walls(&mut self.work.cells);
        // The throttle is a number of the state, which nothing but the driver moves.
        let first = self.still.layout.powertrain_start();
        if let Some(drive) = &self.network.drive {
            Powertrain::set(&mut self.y[first..], drive.powertrain.throttle, false);
        }
        Ok(())
    }

    /// The driver goes over to what a phase asks for: at once, or, where there is a ramp, as that brings it along.
    pub(super) fn begin_phase(&mut self) {
        let first = self.still.layout.powertrain_start();
        if let (Some(drive), None) = (&self.still.drive, self.moving)
            && let Load::Brake(rate) = drive.powertrain.load
        {
            let states = &mut self.y[first..];
            drive.powertrain.turn_at_start(states);
            Powertrain::set(states, drive.powertrain.throttle, rate == 0.0);
        }
    }
}
