//! The network: all ducts, volumes and joints as one system of equations.
//!
//! One flat state `y` (cells, volumes, inertances, radiating ends, thermal nodes) and joint unknowns `z` (mass flows); [`Network::residual`] is the pure function
//! `(t, y, z) -> (dy/dt, g)` that every march integrates. The acoustic march first balances the joints one by one
//! ([`Network::balance`]), so that g = 0, and uses the same rates.

mod adrift;
mod blueprint;
mod branches;
mod build;
mod drive;
mod initial;
mod joints;
mod layout;
mod mesh;
mod streams;
mod tap;
pub mod thermal;
mod volume;
mod wall_tables;

pub use adrift::Adrift;
pub use blueprint::{AirStream, Blueprint, Entry, Fan, OUTSIDE, Outside, Stretch};
pub use build::Default as DefaultLoss;
pub use drive::Drive;
pub use joints::{JointKind, JointState, NamedLoss, NetworkJoint};
pub use layout::Layout;
pub use mesh::Fittings;
pub use volume::Volume;

pub use branches::{LinkStream, Overdrawn, PlainLink};
pub use joints::Place;
pub use streams::{MixedStream, Supply};
pub use tap::{AirAt, Tap};
use thermal::{Exchange, Thermal};

use crate::error::RunError;
use crate::flow::{Arena, DuctId, End, EndState, Fault};
use crate::gas::Gas;
use crate::joint::{Jet, View, VolumeState};
use crate::part::AirMeter;

/// A joint that could not be balanced.
#[derive(Debug, Clone, PartialEq)]
pub struct Unbalanced {
    /// Number of the joint.
    pub joint: usize,
    /// Remaining mismatch [Pa].
    pub mismatch: f64,
}

/// All ducts, volumes and joints of a tract.
#[derive(Debug)]
pub struct Network {
    /// The gas.
    pub gas: Gas,
    /// Free stream.
    pub stream: AirStream,
    /// Outside air.
    pub outside: Outside,
    /// Cells of all ducts.
    pub arena: Arena,
    /// Names of the ducts, in the arena's order.
    pub ducts: Vec<String>,
    /// Fittings of each duct.
    pub fittings: Vec<Fittings>,
    /// Volumes of the cells of each duct [m^3].
    pub cell_volumes: Vec<Vec<f64>>,
    /// Ducts of equal area that are joined without loss.
    pub links: Vec<PlainLink>,
    /// Stored volumes.
    pub volumes: Vec<Volume>,
    /// Joints; those whose jets cross a volume stand before those that take them in.
    pub joints: Vec<NetworkJoint>,
    /// Names of the places where air can enter, the initial air first: the origin tags, in the order of the share rows.
    pub origins: Vec<String>,
    /// Air meters.
    pub meters: Vec<Meter>,
    /// Walls, shields and hot parts, and the bays that they stand in.
    pub thermal: Thermal,
    /// The powertrain behind the draws, where there is one.
    pub drive: Option<Drive>,
    /// Where everything lies in `y` and `z`.
    pub layout: Layout,
    /// Losses and edges that the case did not name.
    pub defaults: Vec<DefaultLoss>,
    /// Names of all parts in the order of the case.
    pub part_order: Vec<String>,
}

/// An air meter in its duct.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Meter {
    /// The duct.
    pub duct: DuctId,
    /// Face of its cells that is nearest to the meter.
    pub face: usize,
    /// What it reads.
    pub law: AirMeter,
}

impl Meter {
    /// Mass flow past it along the duct [kg/s].
    #[must_use]
    pub fn flow(&self, network: &Network, work: &Work) -> f64 {
        network.arena.face_flows(&work.cells, self.duct).mass[self.face]
    }
}

/// Working memory of one evaluation. Allocated once; no step allocates.
#[derive(Debug)]
pub struct Work {
    /// The arena's own.
    pub cells: crate::flow::Work,
    /// States reconstructed to the duct ends: `[2 * duct + end]`.
    pub ends: Vec<EndState>,
    /// States of the volumes.
    pub volumes: Vec<VolumeState>,
    /// Jets that cross volumes.
    pub jets: Vec<Jet>,
    /// States of the joints.
    pub joints: Vec<JointState>,
    /// Shares by origin of the stream through each joint: `[joint * origins + origin]`.
    pub stream_shares: Vec<f64>,
    /// Heat that the air of each volume gets [W].
    pub volume_heat: Vec<f64>,
    /// Exchanges of heat, those between ducts and their air left out.
    pub exchanges: Vec<Exchange>,
    signal_rate: f64,
}

/// A value that is not that of a gas.
#[derive(Debug, Clone, PartialEq)]
pub struct StateFault {
    /// Part in which it stands.
    pub part: String,
    /// Cell from the part's first end; 0 in a volume.
    pub cell: usize,
    /// Place in the part [m].
    pub position: f64,
    /// What left its range.
    pub quantity: &'static str,
    /// Its value, in SI.
    pub value: f64,
}

impl StateFault {
    /// The error of a run that comes upon it at `time` [s] in its step number `step`.
    #[must_use]
    pub fn at(&self, time: f64, step: u64) -> RunError {
        RunError::NonPhysical {
            part: self.part.clone(),
            cell: self.cell,
            position: self.position,
            quantity: self.quantity,
            value: self.value,
            time,
            step,
        }
    }
}

impl Network {
    /// Working memory for evaluations of this network.
    #[must_use]
    pub fn work(&self) -> Work {
        Work {
            cells: self.arena.work(),
            ends: vec![EndState { density: 1.0, velocity: 0.0, pressure: 1.0, area: 1.0 }; 2 * self.ducts.len()],
            volumes: vec![VolumeState { pressure: 0.0, temperature: 0.0 }; self.volumes.len()],
            jets: vec![Jet::default(); self.layout.jets],
            joints: self.joints.iter().map(NetworkJoint::state).collect(),
            stream_shares: vec![0.0; self.joints.len() * self.origins.len()],
            volume_heat: vec![0.0; self.volumes.len()],
            exchanges: Vec::with_capacity(self.thermal.most_exchanges()),
            signal_rate: 0.0,
        }
    }

    /// Volumes of the cells of a duct [m^3].
    #[must_use]
    pub fn volumes_of(&self, duct: DuctId) -> &[f64] {
        &self.cell_volumes[duct.0]
    }

    /// The pure function of the whole system: rates `dy/dt` and joint mismatches `g` [Pa] at time `t` [s], state `y` and flows `z`.
    ///
    /// # Errors
    /// The first value of `y` that is not that of a gas.
    pub fn residual(
        &self,
        t: f64,
        y: &[f64],
        z: &[f64],
        work: &mut Work,
        rates: &mut [f64],
        g: &mut [f64],
    ) -> Result<(), StateFault> {
        self.look(y, None, work)?;
        for index in 0..self.joints.len() {
            self.evaluate_joint(index, t, y, z, work);
            self.joints[index].mismatches(&work.joints[index], g);
        }
        self.exchange(y, work, rates);
        self.node_rates(work, rates);
        self.drive_rates(y, work, rates);
        self.arena.derivative(&work.cells, &mut rates[..self.layout.cells]);
        Ok(())
    }

    /// States of cells, duct ends and volumes that follow from `y` alone. With `half_step` [s] the duct ends are advanced by Hancock's
    /// predictor.
    ///
    /// # Errors
    /// The first value that is not that of a gas.
    pub fn look(&self, y: &[f64], half_step: Option<f64>, work: &mut Work) -> Result<(), StateFault> {
        self.check_cells(y, work)?;
        self.look_around(y, half_step, work)
    }

    /// The rest of [`Network::look`], behind [`Network::check_cells`].
    ///
    /// # Errors
    /// The first volume whose values are not those of a gas.
    pub fn look_around(&self, y: &[f64], half_step: Option<f64>, work: &mut Work) -> Result<(), StateFault> {
        self.check_volumes(y, work)?;
        self.set_walls(y, work);
        self.arena.fill_ghosts(&mut work.cells);
        work.signal_rate = self.arena.face_fluxes(&mut work.cells, half_step);
        for (end, state) in work.ends.iter_mut().enumerate() {
            *state = self.arena.end_state(&work.cells, DuctId(end / 2), end_of(end));
        }
        Ok(())
    }

    /// Finds the states of cells and volumes and whether they are those of a gas.
    ///
    /// # Errors
    /// The first value that is not.
    pub fn check(&self, y: &[f64], work: &mut Work) -> Result<(), StateFault> {
        self.check_cells(y, work)?;
        self.check_volumes(y, work)
    }

    /// The cells' part of [`Network::check`].
    ///
    /// # Errors
    /// The first value that is not that of a gas.
    pub fn check_cells(&self, y: &[f64], work: &mut Work) -> Result<(), StateFault> {
        self.arena.primitives(&y[..self.layout.cells], &mut work.cells).map_err(|fault| self.in_duct(fault))
    }

    fn check_volumes(&self, y: &[f64], work: &mut Work) -> Result<(), StateFault> {
        for (index, volume) in self.volumes.iter().enumerate() {
            let state = volume.state(&self.gas, self.layout.volume(y, index));
            for (quantity, value) in [("pressure", state.pressure), ("temperature", state.temperature)] {
                if !(value > 0.0 && value < f64::INFINITY) {
                    return Err(StateFault { part: volume.name.clone(), cell: 0, position: 0.0, quantity, value });
                }
            }
            work.volumes[index] = state;
        }
        for (index, node) in self.thermal.nodes.iter().enumerate() {
            let value = self.node_temperature(y, index);
            if !(value > 0.0 && value < f64::INFINITY) {
                let (part, quantity) = (node.part.clone(), "wall temperature");
                return Err(StateFault { part, cell: 0, position: 0.0, quantity, value });
            }
        }
        self.check_drive(y)
    }

    #[cold]
    fn in_duct(&self, fault: Fault) -> StateFault {
        StateFault {
            part: self.ducts[fault.duct.0].clone(),
            cell: fault.cell,
            position: (fault.cell as f64 + 0.5) * self.arena.cell_length(fault.duct),
            quantity: fault.quantity,
            value: fault.value,
        }
    }

    /// Balances every joint at time `t`, starting from the flows in `z` and leaving the balanced ones there. Asks for
    /// [`Network::look`] before.
    ///
    /// # Errors
    /// The first joint that no flow balances.
    pub fn balance(&self, t: f64, y: &[f64], z: &mut [f64], work: &mut Work) -> Result<(), Unbalanced> {
        for index in 0..self.joints.len() {
            self.balance_joint(index, t, y, z, work).map_err(|mismatch| Unbalanced { joint: index, mismatch })?;
        }
        Ok(())
    }

    /// Hands the fluxes of the joints in `work` to the ends of the ducts, from where the arena takes them, and writes the rates of volumes,
    /// inertances and radiating ends; those of the cells are left alone. Walls and all other thermal nodes are held: in the time of waves they
    /// do not change.
    pub fn exchange(&self, y: &[f64], work: &mut Work, rates: &mut [f64]) {
        rates[self.layout.cells..].fill(0.0);
        for index in 0..self.joints.len() {
            self.apply_joint(index, y, work, rates);
        }
        self.find_exchanges(y, work);
        for (index, heat) in work.volume_heat.iter().enumerate() {
            rates[self.layout.volume_start(index) + 1] += heat;
        }
    }

    /// The instant as joints see it.
    fn view<'a>(
        &'a self,
        t: f64,
        y: &'a [f64],
        ends: &'a [EndState],
        volumes: &'a [VolumeState],
        jets: &'a [Jet],
    ) -> View<'a> {
        let powertrain = self.drive.as_ref().map(|drive| (&drive.powertrain, &y[self.layout.powertrain_start()..]));
        View {
            gas: &self.gas,
            time: t,
            ends,
            volumes,
            jets,
            radiation: &y[self.layout.radiation(0)..],
            road_speed: self.road_speed(y),
            powertrain,
        }
    }

    /// Speed of the air that the car meets [m/s], where the run changes it.
    #[must_use]
    pub fn road_speed(&self, y: &[f64]) -> Option<f64> {
        self.drive.as_ref().and_then(|drive| drive.powertrain.air_speed(self.drive_states(y)))
    }

    /// Fastest change in the network [1/s]: signals over cells, volumes over their openings, inertances over volumes, radiating ends. A
    /// step of the Courant number over this is stable.
    #[must_use]
    pub fn stiffest_rate(&self, work: &Work) -> (f64, Limit) {
        let mut worst = (work.signal_rate, Limit::Cells);
        for (index, volume) in self.volumes.iter().enumerate() {
            let sound_speed = self.gas.sound_speed(work.volumes[index].temperature);
            let rate = sound_speed * volume.open_area / volume.size;
            let swing = INERTANCE_MARGIN * sound_speed * (volume.open_admittance / volume.size).sqrt();
            let rate = rate.max(swing);
            if rate > worst.0 {
                worst = (rate, Limit::Volume(index));
            }
        }
        for (index, joint) in self.joints.iter().enumerate() {
            let rate = joint.drag_rate(&work.joints[index]) + joint.radiation_rate();
            if rate > worst.0 {
                worst = (rate, Limit::Joint(index));
            }
        }
        worst
    }
}

/// Number of the end of a duct among all ends.
#[must_use]
pub fn end_number(duct: DuctId, end: End) -> usize {
    2 * duct.0 + usize::from(end == End::Last)
}

/// Which end of its duct the end of this number is.
#[must_use]
pub fn end_of(number: usize) -> End {
    if number.is_multiple_of(2) { End::First } else { End::Last }
}

/// How much slower than its swing an inertance between volumes is stepped. The explicit march adds energy to an undamped swing, by the
/// fourth power of its phase step over eight; a fifth of a radian leaves that below the losses of any real opening.
const INERTANCE_MARGIN: f64 = 5.0;

/// What limits the step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Limit {
    /// Signals over cells.
    Cells,
    /// A volume over its openings.
    Volume(usize),
    /// The drag of an inertance, or the air before a radiating end.
    Joint(usize),
}
