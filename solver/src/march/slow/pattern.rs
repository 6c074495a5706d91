//! Which unknown is felt by which equation.

use super::unknowns::{Block, Unknowns};
use crate::flow::{DuctId, End};
use crate::joint::side::{Fed, Side};
use crate::network::thermal::{Air, Surface, Temperature};
use crate::network::{JointKind, Network, Place, end_of};

/// Cells on either side whose state a cell's rates depend on: the slopes in it and in its neighbours.
const REACH: usize = 2;
/// Cells from an unlinked end whose state the joint there sees, by the slope that is continued beyond the end.
const SEEN_BY_JOINT: usize = 3;

/// Rows that feel each unknown, rising; each feels itself.
pub(super) fn felt_by(network: &Network, unknowns: &Unknowns) -> Vec<Vec<usize>> {
    let mut felt = Felt { rows: (0..unknowns.slots.len()).map(|own| vec![own]).collect() };
    felt.cells(network, unknowns);
    felt.links(network, unknowns);
    let senders = Senders { network, unknowns };
    for joint in 0..network.joints.len() {
        let effects = senders.effects(joint);
        for cause in senders.causes(joint) {
            for effect in &effects {
                felt.note(cause, *effect);
            }
        }
    }
    for block in &unknowns.volumes {
        felt.note(*block, *block);
    }
    felt.heat(network, unknowns, &senders);
    felt.drive(network, unknowns, &senders);
    for rows in &mut felt.rows {
        rows.sort_unstable();
        rows.dedup();
    }
    felt.rows
}

struct Felt {
    rows: Vec<Vec<usize>>,
}

impl Felt {
    fn note(&mut self, cause: Block, effect: Block) {
        for column in cause.0..cause.0 + cause.1 {
            self.rows[column].extend(effect.0..effect.0 + effect.1);
        }
    }

    fn cells(&mut self, network: &Network, unknowns: &Unknowns) {
        for duct in network.arena.ducts() {
            let cells = &unknowns.cells[duct.0];
            for (cell, block) in cells.iter().enumerate() {
                for other in &cells[cell.saturating_sub(REACH)..=(cell + REACH).min(cells.len() - 1)] {
                    self.note(*block, *other);
                }
            }
        }
    }

    /// Walls and what they exchange heat with. What a wall feels of the cells that it warms comes from those
    /// cells ([`warmed`]).
    fn heat(&mut self, network: &Network, unknowns: &Unknowns, senders: &Senders<'_>) {
        let thermal = &network.thermal;
        for (duct, node) in thermal.ducts.iter().enumerate() {
            for cell in node.iter().flat_map(|_| &unknowns.cells[duct]) {
                self.note(unknowns.nodes[node.unwrap_or(0)], *cell);
            }
        }
        let mut pairs: Vec<(Block, Block)> = Vec::new();
        for (volume, wall) in thermal.volumes.iter().enumerate() {
            pairs.extend(wall.map(|(node, _)| (unknowns.nodes[node], unknowns.volumes[volume])));
        }
        pairs.extend(thermal.contacts.iter().map(|(one, two, _)| (unknowns.nodes[*one], unknowns.nodes[*two])));
        for radiating in &thermal.radiating {
            let nodes: Vec<Block> = radiating
                .surfaces
                .iter()
                .filter_map(|surface| match surface {
                    Temperature::Node(node) => Some(unknowns.nodes[*node]),
                    Temperature::Given(_) => None,
                })
                .collect();
            pairs.extend(nodes.iter().flat_map(|one| nodes.iter().map(|two| (*one, *two))));
        }
        for film in &thermal.films {
            let Air::Bay(bay) = film.air else { continue };
            let air = unknowns.volumes[thermal.bays[bay].volume];
            let Surface::Node { node, .. } = film.surface else { continue };
            pairs.push((unknowns.nodes[node], air));
        }
        for (one, two) in pairs {
            self.note(one, two);
            self.note(two, one);
        }
        // The speed of a bay's air is that of what flows in through its joints.
        for (bay, stored) in thermal.bays.iter().enumerate() {
            let blown: Vec<Block> = thermal
                .films
                .iter()
                .filter_map(|film| match (film.air, film.surface) {
                    (Air::Bay(own), Surface::Node { node, .. }) if own == bay => Some(unknowns.nodes[node]),
                    _ => None,
                })
                .chain([unknowns.volumes[stored.volume]])
                .collect();
            for joint in (0..network.joints.len()).filter(|joint| senders.stands_at(*joint, stored.volume)) {
                for cause in senders.causes(joint) {
                    for effect in &blown {
                        self.note(cause, *effect);
                    }
                }
            }
        }
    }

    /// The powertrain, the joints of its draws, and what the moving car carries through the air.
    fn drive(&mut self, network: &Network, unknowns: &Unknowns, senders: &Senders<'_>) {
        let Some(drive) = &network.drive else { return };
        for cause in unknowns.powertrain {
            for effect in unknowns.powertrain {
                self.note(cause, effect);
            }
        }
        for (joint, _) in &drive.draws {
            for machine in unknowns.powertrain {
                senders.causes(*joint).into_iter().for_each(|cause| self.note(cause, machine));
                senders.effects(*joint).into_iter().for_each(|effect| self.note(machine, effect));
            }
        }
        for joint in (0..network.joints.len()).filter(|joint| senders.meets_the_road(*joint)) {
            for effect in senders.effects(joint) {
                self.note(unknowns.powertrain[0], effect);
            }
        }
        for film in &network.thermal.films {
            if let (Air::Outside { .. }, Surface::Node { node, .. }) = (film.air, film.surface) {
                self.note(unknowns.powertrain[0], unknowns.nodes[node]);
            }
        }
    }

    /// The end's slope looks through a link; cells of unequal length make it look farther.
    fn links(&mut self, network: &Network, unknowns: &Unknowns) {
        for link in &network.links {
            let ratio = network.arena.cell_length(link.from.0) / network.arena.cell_length(link.to.0);
            let depth = ((REACH as f64 + 0.5) * ratio.max(1.0 / ratio)).ceil() as usize + 1;
            let near: Vec<Block> = [link.from, link.to]
                .into_iter()
                .flat_map(|(duct, end)| from_end(&unknowns.cells[duct.0], end, depth))
                .collect();
            for cause in &near {
                for effect in &near {
                    self.note(*cause, *effect);
                }
            }
        }
    }
}

struct Senders<'a> {
    network: &'a Network,
    unknowns: &'a Unknowns,
}

impl Senders<'_> {
    /// Whether joint `index` opens into this volume.
    fn stands_at(&self, index: usize, volume: usize) -> bool {
        match &self.network.joints[index].kind {
            JointKind::Series(series) => {
                series.sides.iter().any(|side| matches!(side, Side::Volume { volume: own, .. } if *own == volume))
            }
            JointKind::Wye(_) => false,
        }
    }

    /// Whether joint `index` stands in the air that the car moves through.
    fn meets_the_road(&self, index: usize) -> bool {
        match &self.network.joints[index].kind {
            JointKind::Series(series) => series.sides.iter().any(|side| match side {
                Side::Mouth { .. } | Side::Inflow { fed: Fed::Radiator { .. }, .. } => true,
                Side::Still { beside, .. } => beside.per_square.abs() > 0.0,
                _ => false,
            }),
            JointKind::Wye(_) => false,
        }
    }

    /// What joint `index` looks at: the cells near the ends on it, volumes, its own flow, the air before an end that radiates, and what
    /// sends it a jet.
    fn causes(&self, index: usize) -> Vec<Block> {
        let mut causes = self.own(index);
        match &self.network.joints[index].kind {
            JointKind::Series(series) => {
                for side in &series.sides {
                    match side {
                        Side::Duct { end } => causes.extend(self.near_end(*end, SEEN_BY_JOINT)),
                        Side::Volume { volume, faced, .. } => {
                            causes.push(self.unknowns.volumes[*volume]);
                            causes.extend(faced.iter().flat_map(|faced| self.sends(faced.jet, index)));
                        }
                        _ => {}
                    }
                }
            }
            JointKind::Wye(wye) => {
                causes.extend(wye.ends.iter().flat_map(|end| self.near_end(*end, SEEN_BY_JOINT)));
            }
        }
        causes
    }

    /// What joint `index` acts on: its own mismatches, the end cells, volumes, its inertance, the air before an end that radiates.
    fn effects(&self, index: usize) -> Vec<Block> {
        let mut effects = self.own(index);
        match &self.network.joints[index].kind {
            JointKind::Series(series) => {
                for side in &series.sides {
                    match side {
                        Side::Duct { end } => effects.extend(self.near_end(*end, 1)),
                        Side::Volume { volume, .. } => effects.push(self.unknowns.volumes[*volume]),
                        _ => {}
                    }
                }
            }
            JointKind::Wye(wye) => effects.extend(wye.ends.iter().flat_map(|end| self.near_end(*end, 1))),
        }
        effects
    }

    /// The unknowns of the joint itself.
    fn own(&self, index: usize) -> Vec<Block> {
        let joint = &self.network.joints[index];
        let mut own = vec![self.unknowns.joints[index]];
        if let Place::Inertance(place) = joint.place {
            own.push(self.unknowns.inertances[place]);
        }
        if let JointKind::Series(series) = &joint.kind {
            let radiations = series.sides.iter().filter_map(Side::radiation);
            own.extend(radiations.map(|radiation| self.unknowns.radiations[radiation.index]));
        }
        own
    }

    /// What the joint that sends `jet` looks at.
    fn sends(&self, jet: usize, receiver: usize) -> Vec<Block> {
        let joints = self.network.joints.iter().enumerate();
        joints
            .filter(|(other, joint)| *other != receiver && joint.jet.is_some_and(|found| found.0 == jet))
            .flat_map(|(sender, _)| self.causes(sender))
            .collect()
    }

    fn near_end(&self, number: usize, count: usize) -> impl Iterator<Item = Block> + '_ {
        from_end(&self.unknowns.cells[DuctId(number / 2).0], end_of(number), count)
    }
}

fn from_end(cells: &[Block], end: End, count: usize) -> impl Iterator<Item = Block> + '_ {
    let count = count.min(cells.len());
    (0..count).map(move |steps| match end {
        End::First => cells[steps],
        End::Last => cells[cells.len() - 1 - steps],
    })
}

/// For each unknown of a cell that a wall warms: the row of the wall, and the cell's place.
///
/// All cells of a duct act on one row, that of its wall. Were they differenced through it, no two of them could share a colour; but what each
/// gets of the wall's heat is known cell by cell.
pub(super) fn warmed(network: &Network, unknowns: &Unknowns) -> Vec<Option<Warmed>> {
    let mut warmed = vec![None; unknowns.slots.len()];
    for (duct, node) in network.thermal.ducts.iter().enumerate() {
        let Some(node) = node else { continue };
        let id = DuctId(duct);
        for ((block, slot), volume) in
            unknowns.cells[duct].iter().zip(network.arena.slots_of(id)).zip(network.volumes_of(id))
        {
            let row = unknowns.nodes[*node].0;
            let over = volume / (network.thermal.nodes[*node].capacity * unknowns.sizes[row]);
            warmed[block.0..block.0 + block.1].fill(Some(Warmed { row, slot, over }));
        }
    }
    warmed
}

/// A cell and the wall that warms it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Warmed {
    /// Row of the wall.
    pub(super) row: usize,
    /// Slot of the cell.
    pub(super) slot: usize,
    /// Fall of the wall's scaled temperature for each watt and cubic metre that the cell gets.
    pub(super) over: f64,
}
