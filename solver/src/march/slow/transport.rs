//! What the air carries along: shares by origin, or warmth by cause.
//!
//! Given the mass flows of a step, what each cell and volume holds of a quantity per kilogram follows from one linear system, upwind and
//! implicit: no value leaves the range of those that flow in, and shares that sum to one go on doing so. A long step gives the steady
//! state.

use super::linear::{Pattern, Singular};
use crate::flow::End;
use crate::joint::side::Side;
use crate::network::thermal::{Air, Surface, Temperature};
use crate::network::{JointKind, JointState, Network, Supply, Work, end_of};

/// Mass flows over a step, as means.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Flows {
    /// Through the faces of each duct, along it [kg/s].
    faces: Vec<Vec<f64>>,
    /// Through each joint [kg/s]: one of a series, one a leg of a wye.
    pub(super) joints: Vec<Vec<f64>>,
}

impl Flows {
    /// No flow.
    pub(super) fn none(network: &Network) -> Self {
        let legs = |joint: &crate::network::NetworkJoint| match &joint.kind {
            JointKind::Series(_) => 1,
            JointKind::Wye(wye) => wye.ends.len(),
        };
        Self {
            faces: network.arena.ducts().map(|duct| vec![0.0; network.arena.cells(duct) + 1]).collect(),
            joints: network.joints.iter().map(|joint| vec![0.0; legs(joint)]).collect(),
        }
    }

    /// Adds `weight` times the flows in `work`.
    pub(super) fn add(&mut self, network: &Network, work: &Work, weight: f64) {
        for (duct, faces) in network.arena.ducts().zip(&mut self.faces) {
            for (sum, flow) in faces.iter_mut().zip(network.arena.face_flows(&work.cells, duct).mass) {
                *sum += weight * flow;
            }
        }
        for (state, sums) in work.joints.iter().zip(&mut self.joints) {
            match state {
                JointState::Series(series) => sums[0] += weight * series.mass_flow,
                JointState::Wye(wye) => {
                    for (sum, flow) in sums.iter_mut().zip(&wye.mass_flows) {
                        *sum += weight * flow;
                    }
                }
            }
        }
    }
}

/// Where the holders of a network stand among the unknowns of a transport: cells, then volumes, then thermal nodes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Holders {
    /// First cell of each duct.
    cells: Vec<usize>,
    /// First volume.
    volumes: usize,
    /// First thermal node.
    nodes: usize,
    /// Number of all.
    pub(super) count: usize,
}

impl Holders {
    pub(super) fn of(network: &Network) -> Self {
        let mut next = 0;
        let cells = network.arena.ducts().map(|duct| {
            let first = next;
            next += network.arena.cells(duct);
            first
        });
        let cells = cells.collect();
        let nodes = next + network.volumes.len();
        Self { cells, volumes: next, nodes, count: nodes + network.thermal.nodes.len() }
    }

    /// The cells of a duct.
    pub(super) fn cell(&self, duct: usize, cell: usize) -> usize {
        self.cells[duct] + cell
    }

    /// A volume.
    pub(super) fn volume(&self, volume: usize) -> usize {
        self.volumes + volume
    }

    /// A thermal node.
    pub(super) fn node(&self, node: usize) -> usize {
        self.nodes + node
    }

    fn end_cell(&self, network: &Network, number: usize) -> usize {
        let duct = number / 2;
        match end_of(number) {
            End::First => self.cells[duct],
            End::Last => self.cells[duct] + network.arena.cells(crate::flow::DuctId(duct)) - 1,
        }
    }

    /// The holder that supplies; none where what is supplied comes from beyond the network.
    pub(super) fn of_supply(&self, network: &Network, supply: Supply) -> Option<usize> {
        match supply {
            Supply::End(end) => Some(self.end_cell(network, end)),
            Supply::Volume(volume) => Some(self.volume(volume)),
            Supply::Beyond { .. } => None,
        }
    }

    /// Shares by origin in each holder, origin by origin.
    pub(super) fn shares(&self, network: &Network, y: &[f64]) -> Vec<f64> {
        let slots = network.arena.slots();
        let mut shares = Vec::with_capacity(self.count * network.origins.len());
        for origin in 0..network.origins.len() {
            for duct in network.arena.ducts() {
                shares.extend(network.arena.slots_of(duct).map(|slot| y[(3 + origin) * slots + slot] / y[slot]));
            }
            shares.extend((0..network.volumes.len()).map(|volume| {
                let stored = network.layout.volume(y, volume);
                stored[2 + origin] / stored[0]
            }));
            shares.resize((origin + 1) * self.count, 0.0);
        }
        shares
    }

    /// Mass of air in each holder [kg]; none in a thermal node.
    pub(super) fn masses(&self, network: &Network, y: &[f64]) -> Vec<f64> {
        let mut masses = Vec::with_capacity(self.count);
        for duct in network.arena.ducts() {
            let density = &y[network.arena.slots_of(duct)];
            masses.extend(density.iter().zip(network.volumes_of(duct)).map(|(density, volume)| density * volume));
        }
        masses.extend((0..network.volumes.len()).map(|volume| network.layout.volume(y, volume)[0]));
        masses.resize(self.count, 0.0);
        masses
    }
}

/// The linear system of a network.
#[derive(Debug)]
pub(super) struct Transport {
    pub(super) holders: Holders,
    pattern: Pattern,
    rows: Vec<Vec<usize>>,
    starts: Vec<usize>,
    values: Vec<f64>,
    /// What streams bring from beyond the network.
    pub(super) brought: Vec<Brought>,
}

/// A stream from beyond the network.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Brought {
    /// Joint through which it comes.
    pub(super) joint: usize,
    /// Side of the joint that it comes from.
    pub(super) side: usize,
    /// Holder that it goes to.
    pub(super) to: usize,
    /// Mass flow [kg/s].
    pub(super) mass_flow: f64,
}

impl Transport {
    pub(super) fn new(network: &Network) -> Result<Self, Singular> {
        let holders = Holders::of(network);
        let mut rows: Vec<Vec<usize>> = (0..holders.count).map(|own| vec![own]).collect();
        let mut join = |a: usize, b: usize| {
            rows[a].push(b);
            rows[b].push(a);
        };
        for duct in network.arena.ducts() {
            for cell in 1..network.arena.cells(duct) {
                join(holders.cell(duct.0, cell - 1), holders.cell(duct.0, cell));
            }
        }
        for link in &network.links {
            let at = |(duct, end)| holders.end_cell(network, crate::network::end_number(duct, end));
            join(at(link.from), at(link.to));
        }
        for joint in 0..network.joints.len() {
            let around = around(network, &holders, joint);
            for (k, one) in around.iter().enumerate() {
                for other in &around[..k] {
                    join(*one, *other);
                }
            }
        }
        for (one, two) in exchanges(network, &holders) {
            join(one, two);
        }
        for row in &mut rows {
            row.sort_unstable();
            row.dedup();
        }
        let starts = rows.iter().scan(0, |next, rows| {
            let start = *next;
            *next += rows.len();
            Some(start)
        });
        let starts = starts.collect();
        let pattern = Pattern::new(&rows)?;
        let values = vec![0.0; pattern.len()];
        Ok(Self { holders, pattern, rows, starts, values, brought: Vec::new() })
    }

    /// Begins the system of a step of `step` [s] with these flows: what the air brings along. `masses` are those before [kg]. What comes from
    /// beyond the network is left in `brought`.
    pub(super) fn begin(&mut self, network: &Network, work: &Work, flows: &Flows, step: f64, masses: &[f64]) {
        self.values.fill(0.0);
        self.brought.clear();
        for (holder, mass) in masses.iter().enumerate() {
            self.put(holder, holder, mass / step);
        }
        for duct in network.arena.ducts() {
            let faces = &flows.faces[duct.0];
            let inner = &faces[..network.arena.cells(duct)];
            for (cell, flow) in inner.iter().copied().enumerate().skip(1) {
                let (before, after) = (self.holders.cell(duct.0, cell - 1), self.holders.cell(duct.0, cell));
                let (from, to) = if flow >= 0.0 { (before, after) } else { (after, before) };
                self.stream(from, to, flow.abs());
            }
        }
        for link in &network.links {
            let (duct, end) = link.from;
            let face = if end == End::First { 0 } else { network.arena.cells(duct) };
            let flow = flows.faces[duct.0][face] * end.outward();
            let at = |(duct, end)| self.holders.end_cell(network, crate::network::end_number(duct, end));
            let (a, b) = (at(link.from), at(link.to));
            let (from, to) = if flow >= 0.0 { (a, b) } else { (b, a) };
            self.stream(from, to, flow.abs());
        }
        for joint in 0..network.joints.len() {
            for stream in network.streams(joint, &flows.joints[joint], work) {
                let Some(to) = stream.to.and_then(|to| self.holders.of_supply(network, to)) else { continue };
                for (share, from) in stream.from {
                    let flow = share * stream.mass_flow;
                    if let Supply::Beyond { joint, side } = from {
                        self.put(to, to, flow);
                        self.brought.push(Brought { joint, side, to, mass_flow: flow });
                    } else if let Some(from) = self.holders.of_supply(network, from) {
                        self.stream(from, to, flow);
                    }
                }
            }
        }
    }

    /// Adds an exchange between two holders.
    pub(super) fn couple(&mut self, one: usize, two: usize, strength: f64) {
        self.lean(one, strength);
        self.lean(two, strength);
        self.put(one, two, -strength);
        self.put(two, one, -strength);
    }

    /// Adds a pull of a holder towards what stands on the right-hand side.
    pub(super) fn lean(&mut self, holder: usize, strength: f64) {
        self.put(holder, holder, strength);
    }

    /// Replaces right-hand sides, one after another, by the solutions.
    pub(super) fn solve(&self, sides: &mut [f64]) -> Result<(), Singular> {
        self.pattern.factors(&self.values)?.solve_many(sides, sides.len() / self.holders.count)
    }

    /// The matrix times `values`.
    pub(super) fn times(&self, values: &[f64]) -> Vec<f64> {
        let mut product = vec![0.0; values.len()];
        for (column, rows) in self.rows.iter().enumerate() {
            for (row, entry) in rows.iter().zip(&self.values[self.starts[column]..]) {
                product[*row] += entry * values[column];
            }
        }
        product
    }

    /// A stream of `flow` [kg/s] from a holder to another, in the form `what flows in dilutes`: `flow (own - supplied)`, which holds whatever
    /// flows out.
    fn stream(&mut self, from: usize, to: usize, flow: f64) {
        self.put(to, to, flow);
        self.put(to, from, -flow);
    }

    fn put(&mut self, row: usize, column: usize, value: f64) {
        if let Ok(found) = self.rows[column].binary_search(&row) {
            self.values[self.starts[column] + found] += value;
        }
    }
}

/// Holders that a joint brings together.
fn around(network: &Network, holders: &Holders, joint: usize) -> Vec<usize> {
    let supplies: Vec<Supply> = match &network.joints[joint].kind {
        JointKind::Series(series) => series
            .sides
            .iter()
            .flat_map(|side| match side {
                Side::Duct { end } => vec![Supply::End(*end)],
                Side::Volume { volume, faced, .. } => {
                    let senders = faced.iter().filter_map(|facing| network.sender(facing.jet));
                    std::iter::once(Supply::Volume(*volume)).chain(senders).collect()
                }
                _ => Vec::new(),
            })
            .collect(),
        JointKind::Wye(wye) => wye.ends.iter().map(|end| Supply::End(*end)).collect(),
    };
    supplies.into_iter().filter_map(|supply| holders.of_supply(network, supply)).collect()
}

/// Holders that exchange heat.
fn exchanges(network: &Network, holders: &Holders) -> Vec<(usize, usize)> {
    let thermal = &network.thermal;
    let mut pairs = Vec::new();
    for (duct, node) in thermal.ducts.iter().enumerate() {
        let cells = 0..network.arena.cells(crate::flow::DuctId(duct));
        pairs.extend(node.iter().flat_map(|node| {
            cells.clone().map(|cell| (holders.node(*node), holders.cell(duct, cell))).collect::<Vec<_>>()
        }));
    }
    for (volume, wall) in thermal.volumes.iter().enumerate() {
        pairs.extend(wall.map(|(node, _)| (holders.node(node), holders.volume(volume))));
    }
    pairs.extend(thermal.contacts.iter().map(|(one, two, _)| (holders.node(*one), holders.node(*two))));
    for film in &thermal.films {
        if let (Surface::Node { node, .. }, Air::Bay(bay)) = (film.surface, film.air) {
            pairs.push((holders.node(node), holders.volume(thermal.bays[bay].volume)));
        }
    }
    for radiating in &thermal.radiating {
        let nodes: Vec<usize> = radiating
            .surfaces
            .iter()
            .filter_map(|surface| match surface {
                Temperature::Node(node) => Some(holders.node(*node)),
                Temperature::Given(_) => None,
            })
            .collect();
        for (number, one) in nodes.iter().enumerate() {
            pairs.extend(nodes[..number].iter().filter(|two| *two != one).map(|two| (*one, *two)));
        }
    }
    pairs
}
