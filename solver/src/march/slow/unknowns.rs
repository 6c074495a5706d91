//! The unknowns: which values of `y` and `z` the slow march solves for, in which order and of which size.
//!
//! The shares by origin are left out: they follow from the flow, by a linear solution of their own.

use crate::joint::radiation::STATES;
use crate::network::{Network, Place};
use crate::powertrain::Powertrain;

/// Where an unknown is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Slot {
    /// In `y`.
    State(usize),
    /// In `z`.
    Flow(usize),
}

/// Numbers of the unknowns of one thing: from, count.
pub(super) type Block = (usize, usize);

/// The unknowns of a network.
#[derive(Debug)]
pub(super) struct Unknowns {
    /// Where each is kept.
    pub(super) slots: Vec<Slot>,
    /// Typical size of each, for scaling and for differences.
    pub(super) sizes: Vec<f64>,
    /// Of the cells of each duct.
    pub(super) cells: Vec<Vec<Block>>,
    /// Of each volume.
    pub(super) volumes: Vec<Block>,
    /// Of each inertance.
    pub(super) inertances: Vec<Block>,
    /// Of each radiating end.
    pub(super) radiations: Vec<Block>,
    /// Of each thermal node.
    pub(super) nodes: Vec<Block>,
    /// Crank speed, and the other states of the powertrain that change of themselves; empty without one.
    pub(super) powertrain: [Block; 2],
    /// Of those the slow ones.
    slow_drive: Vec<usize>,
    /// Of each joint; none where its flow is a state.
    pub(super) joints: Vec<Block>,
}

/// Area of a section whose flow at three tenths of the speed of sound is a typical flow [m^2]: 70 mm across.
const TYPICAL_AREA: f64 = 0.0038;
const TYPICAL_MACH: f64 = 0.3;

impl Unknowns {
    /// The unknowns of `network`, of sizes that are typical for air in the state of the outside.
    pub(super) fn of(network: &Network) -> Self {
        let gas = &network.gas;
        let sound_speed = gas.sound_speed(network.outside.temperature);
        let pressure = network.outside.pressure;
        let density = pressure / (gas.gas_constant * network.outside.temperature);
        let flow = TYPICAL_MACH * density * sound_speed * TYPICAL_AREA;
        let mut place = Placing::default();
        let cell_sizes = [density, density * sound_speed, pressure / (gas.gamma - 1.0)];
        let slots = network.arena.slots();
        let cells = network.arena.ducts().map(|duct| {
            let of_duct = network.arena.slots_of(duct);
            of_duct
                .map(|slot| place.take((0..3).map(|row| (Slot::State(row * slots + slot), cell_sizes[row]))))
                .collect()
        });
        let cells = cells.collect();
        let layout = &network.layout;
        let volumes = network.volumes.iter().enumerate().map(|(index, volume)| {
            let start = layout.volume_start(index);
            let energy = pressure * volume.size / (gas.gamma - 1.0);
            place.take([(Slot::State(start), density * volume.size), (Slot::State(start + 1), energy)])
        });
        let volumes = volumes.collect();
        let inertances = (0..layout.inertances).map(|index| place.take([(Slot::State(layout.inertance(index)), flow)]));
        let inertances = inertances.collect();
        let radiations = (0..layout.radiations).map(|index| {
            let first = layout.radiation(index);
            place.take((0..STATES).map(|state| (Slot::State(first + state), [flow, pressure][state])))
        });
        let radiations = radiations.collect();
        let temperature = network.outside.temperature;
        let nodes = (0..layout.nodes).map(|index| place.take([(Slot::State(layout.node(index)), temperature)]));
        let nodes = nodes.collect();
        let (powertrain, slow_drive) = powertrain(network, &mut place);
        let joints = network.joints.iter().map(|joint| match joint.place {
            Place::Unknown(first) => place.take((0..joint.unknowns()).map(|k| (Slot::Flow(first + k), flow))),
            Place::Inertance(_) => (0, 0),
        });
        let joints = joints.collect();
        Self {
            slots: place.slots,
            sizes: place.sizes,
            cells,
            volumes,
            inertances,
            radiations,
            nodes,
            powertrain,
            slow_drive,
            joints,
        }
    }
}

impl Unknowns {
    /// What is slow: the unknowns whose error limits a step.
    pub(super) fn slow(&self) -> impl Iterator<Item = usize> + '_ {
        let stored = self.volumes.iter().chain(&self.nodes).flat_map(|block| block.0..block.0 + block.1);
        stored.chain(self.slow_drive.iter().copied())
    }
}

/// The unknowns of the powertrain, and those of them that are slow.
fn powertrain(network: &Network, place: &mut Placing) -> ([Block; 2], Vec<usize>) {
    let Some(drive) = &network.drive else { return ([(0, 0); 2], Vec::new()) };
    let (first, sizes) = (network.layout.powertrain_start(), drive.powertrain.sizes());
    let moving = |states: std::ops::Range<usize>| states.map(|state| (Slot::State(first + state), sizes[state]));
    let held = Powertrain::held();
    let blocks = [place.take(moving(0..held.start)), place.take(moving(held.end..sizes.len()))];
    let unknown = |state: usize| blocks[0].0 + if state < held.start { state } else { state - held.len() };
    (blocks, drive.powertrain.slow().map(unknown).collect())
}

#[derive(Default)]
struct Placing {
    slots: Vec<Slot>,
    sizes: Vec<f64>,
}

impl Placing {
    fn take(&mut self, values: impl IntoIterator<Item = (Slot, f64)>) -> Block {
        let first = self.slots.len();
        for (slot, size) in values {
            self.slots.push(slot);
            self.sizes.push(size);
        }
        (first, self.slots.len() - first)
    }
}
