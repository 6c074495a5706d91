//! Joints: whatever gives the flux between duct ends, volumes and the outside.
//!
//! A joint has one unknown, its mass flow ([`series`]), or one a leg but the last ([`wye`]). Mass is therefore kept by construction
//! and to the last bit; what the solution balances is total pressure. Every function here is pure: the flow that balances a joint
//! follows from the states around it and from nothing else but the guess that it starts from.

pub mod radiation;
pub mod series;
pub mod side;
pub mod wave;
pub mod wye;

use crate::flow::EndState;
use crate::gas::Gas;
use crate::powertrain::Powertrain;

/// State of a stored volume.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VolumeState {
    /// Pressure [Pa].
    pub pressure: f64,
    /// Temperature [K].
    pub temperature: f64,
}

/// A jet that enters a volume, as an outlet that it faces sees it.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Jet {
    /// Mass flow into the volume [kg/s], zero when the flow is reversed.
    pub mass_flow: f64,
    /// Total pressure [Pa].
    pub total_pressure: f64,
    /// Total temperature [K].
    pub total_temperature: f64,
}

/// What surrounds the joints at one instant.
#[derive(Debug, Clone, Copy)]
pub struct View<'a> {
    /// The gas.
    pub gas: &'a Gas,
    /// Time [s].
    pub time: f64,
    /// States reconstructed to the duct ends: `[2 * duct]` first ends, `[2 * duct + 1]` last ends.
    pub ends: &'a [EndState],
    /// States of the volumes.
    pub volumes: &'a [VolumeState],
    /// Jets that cross a volume, in the order in which the network numbers them.
    pub jets: &'a [Jet],
    /// Stored states of the ends that radiate sound, [`radiation::STATES`] each.
    pub radiation: &'a [f64],
    /// Speed of the air that the car meets [m/s], where it changes in the run.
    pub road_speed: Option<f64>,
    /// The powertrain behind the draws and its states, where there is one.
    pub powertrain: Option<(&'a Powertrain, &'a [f64])>,
}

/// Pressure mismatch, relative to the pressure itself, below which a joint is balanced: some hundreds of round-off errors, and a
/// velocity of 2e-10 m/s.
pub const BALANCED: f64 = 1e-12;
