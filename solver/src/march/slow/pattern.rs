//! Which unknown is felt by which equation.

use super::unknowns::{Block, Unknowns};
use crate::flow::{DuctId, End};
use crate::joint::side::Side;
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
            own.extend(series.sides.iter().filter_map(|side| match side {
                Side::Mouth { radiation: Some(radiation), .. } => Some(self.unknowns.radiations[radiation.index]),
                _ => None,
            }));
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
