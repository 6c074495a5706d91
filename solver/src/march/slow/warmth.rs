//! What warmed the air: its rise over the outside by root cause.
//!
//! Warmth is carried by the same linear system as the shares by origin, in kelvin of total temperature over the outside's, with walls and hot
//! parts as further holders. Every exchange of heat is a conductance between two temperatures ([`Exchange`]), so that each holder's
//! warmth is the sum of what roots have sent it: turbine, shield, bay and tube end at the turbine. What the sum of the roots leaves over in a
//! transient - pressure that rises or falls, steps of time - is a root of its own, and nothing when steady.

use super::linear::Singular;
use super::transport::{Brought, Flows, Transport};
use crate::flow::DuctId;
use crate::joint::side::Side;
use crate::loss::ram::Source;
use crate::network::thermal::{Air, Exchange, Holder, Surface};
use crate::network::{JointKind, Network, OUTSIDE, Work};

/// Root of the warmth that the air has from its own speed against the car.
const RAM: &str = "ram";
/// Root of the warmth that a fan's air has over the outside's.
const FAN: &str = "fan";
/// Root of the warmth that was there at the start.
const INITIAL: &str = "initial state";
/// Root of what no other explains.
const REST: &str = "pressure work and time steps";

/// Warmth of all holders by root.
#[derive(Debug, Clone)]
pub(super) struct Warmth {
    /// Names of the roots.
    pub(super) roots: Vec<String>,
    /// Warmth of each holder, root by root [K].
    pub(super) held: Vec<f64>,
    /// Warmth that has gone into each draw, draw by draw and root by root [kg K].
    pub(super) drawn: Vec<f64>,
    draws: Vec<usize>,
    /// Warmth of each holder in all [K].
    total: Vec<f64>,
    /// Heat capacity of each node over that of air [kg].
    nodes: Vec<f64>,
}

impl Warmth {
    /// No warmth yet.
    pub(super) fn new(network: &Network, holders: usize) -> Self {
        Self::following(roots([network]), network, holders)
    }

    /// No warmth yet, of these roots.
    pub(super) fn following(roots: Vec<String>, network: &Network, holders: usize) -> Self {
        let draws = network.draws();
        Self {
            held: vec![0.0; roots.len() * holders],
            drawn: vec![0.0; roots.len() * draws.len()],
            total: vec![0.0; holders],
            nodes: network.thermal.nodes.iter().map(|node| node.capacity / network.gas.heat_capacity).collect(),
            roots,
            draws,
        }
    }

    /// Takes over what a march has gathered whose network differs in numbers alone.
    pub(super) fn go_on(&mut self, other: &mut Self) {
        std::mem::swap(&mut self.roots, &mut other.roots);
        for (own, others) in [
            (&mut self.held, &mut other.held),
            (&mut self.drawn, &mut other.drawn),
            (&mut self.total, &mut other.total),
        ] {
            std::mem::swap(own, others);
        }
    }

    /// Takes the present state for the start: what is warm is so from the beginning.
    pub(super) fn begin(&mut self, network: &Network, transport: &Transport, work: &Work, y: &[f64]) {
        self.total = totals(network, transport, work, y);
        let n = self.total.len();
        self.held.fill(0.0);
        let initial = self.roots.len() - 2;
        self.held[initial * n..][..n].copy_from_slice(&self.total);
    }

    /// Books what goes into the draws now, over `time` [s].
    pub(super) fn book_now(&mut self, network: &Network, transport: &Transport, work: &Work, time: f64) {
        let mut flows = Flows::none(network);
        flows.add(network, work, 1.0);
        self.book(network, transport, work, &flows, time);
    }

    /// All numbers, for a checkpoint.
    pub(super) fn to_numbers(&self) -> Vec<f64> {
        [&self.held[..], &self.drawn, &self.total].concat()
    }

    /// Takes the numbers of [`Warmth::to_numbers`] back; they must be as many.
    pub(super) fn restore(&mut self, numbers: &[f64]) {
        let (held, rest) = numbers.split_at(self.held.len());
        let (drawn, total) = rest.split_at(self.drawn.len());
        self.held.copy_from_slice(held);
        self.drawn.copy_from_slice(drawn);
        self.total.copy_from_slice(total);
    }

    /// Moves on by a step of `step` [s]: `work` and `y` are those of its end, `masses` those of the air before [kg]; `conductances` those of the
    /// walls of ducts, cell by cell [W/K].
    #[expect(clippy::too_many_arguments, reason = "a step is all of this")]
    pub(super) fn carry(
        &mut self,
        network: &Network,
        transport: &mut Transport,
        work: &Work,
        y: &[f64],
        flows: &Flows,
        step: f64,
        masses: &[f64],
        conductances: &[f64],
    ) -> Result<(), Singular> {
        let n = transport.holders.count;
        transport.begin(network, work, flows, step, masses);
        let mut stored = masses.to_vec();
        for (node, mass) in self.nodes.iter().enumerate() {
            let holder = transport.holders.node(node);
            stored[holder] = *mass;
            transport.lean(holder, mass / step);
        }
        // Right-hand sides: what was there, and what comes in.
        for of_root in self.held.chunks_exact_mut(n) {
            for (warmth, mass) in of_root.iter_mut().zip(&stored) {
                *warmth *= mass / step;
            }
        }
        let mut sides = Sides { held: &mut self.held, whole: vec![0.0; n], roots: &self.roots, n };
        for (whole, (mass, total)) in sides.whole.iter_mut().zip(stored.iter().zip(&self.total)) {
            *whole = mass / step * total;
        }
        for brought in transport.brought.clone() {
            if let Some((root, warmth)) = beyond(network, y, &brought) {
                sides.add(&root, brought.to, brought.mass_flow * warmth);
            }
        }
        exchange(network, transport, work, &mut sides);
        warm_ducts(network, transport, y, work, conductances, &mut sides);
        let whole = sides.whole;
        let total = totals(network, transport, work, y);
        let rest = self.roots.len() - 1;
        for ((side, reached), explained) in self.held[rest * n..].iter_mut().zip(transport.times(&total)).zip(&whole) {
            *side += reached - explained;
        }
        transport.solve(&mut self.held)?;
        self.total = total;
        self.book(network, transport, work, flows, step);
        Ok(())
    }

    /// Books what went into the draws.
    fn book(&mut self, network: &Network, transport: &Transport, work: &Work, flows: &Flows, step: f64) {
        let (n, count) = (transport.holders.count, self.roots.len());
        for (draw, joint) in self.draws.iter().enumerate() {
            for stream in network.streams(*joint, &flows.joints[*joint], work) {
                for (share, supply) in stream.from {
                    let Some(holder) = transport.holders.of_supply(network, supply) else { continue };
                    for root in 0..count {
                        let warmth = self.held[root * n + holder];
                        self.drawn[draw * count + root] += step * share * stream.mass_flow * warmth;
                    }
                }
            }
        }
    }

    /// Warmth of the air that goes into each draw, draw by draw and root by root [K]; zero for a draw that takes nothing.
    pub(super) fn at_draws(&self, network: &Network, transport: &Transport, work: &Work) -> Vec<f64> {
        let mut now = Self { drawn: vec![0.0; self.drawn.len()], ..self.clone() };
        let mut flows = Flows::none(network);
        flows.add(network, work, 1.0);
        now.book(network, transport, work, &flows, 1.0);
        for (of_draw, joint) in now.drawn.chunks_exact_mut(self.roots.len()).zip(&self.draws) {
            let flow = flows.joints[*joint][0].abs();
            for warmth in of_draw {
                *warmth = if flow > 0.0 { *warmth / flow } else { 0.0 };
            }
        }
        now.drawn
    }
}

/// Right-hand sides of the system.
struct Sides<'a> {
    held: &'a mut [f64],
    /// The sum of all roots but the last.
    whole: Vec<f64>,
    roots: &'a [String],
    n: usize,
}

impl Sides<'_> {
    fn add(&mut self, root: &str, holder: usize, value: f64) {
        if let Some(root) = self.roots.iter().position(|known| known == root) {
            self.held[root * self.n + holder] += value;
            self.whole[holder] += value;
        }
    }
}

/// Names of the root causes of warmth in these networks, phases of one run, in the order in which a march lists them.
#[must_use]
pub fn roots<'a>(networks: impl IntoIterator<Item = &'a Network>) -> Vec<String> {
    let mut roots = vec![RAM.to_owned()];
    for network in networks {
        add_roots(network, &mut roots);
    }
    roots.extend([INITIAL.to_owned(), REST.to_owned()]);
    roots
}

fn add_roots(network: &Network, roots: &mut Vec<String>) {
    let mut add = |name: String| {
        if !roots.contains(&name) {
            roots.push(name);
        }
    };
    for (joint, found) in network.joints.iter().enumerate() {
        let JointKind::Series(series) = &found.kind else { continue };
        for side in 0..2 {
            if let Some(root) = root_of_side(network, joint, side, &series.sides[side]) {
                add(root);
            }
        }
    }
    for node in network.thermal.nodes.iter().filter(|node| node.is_source) {
        add(node.part.clone());
    }
    for film in &network.thermal.films {
        match (film.surface, film.air) {
            (Surface::Given { .. }, _) => add(film.part.clone()),
            (_, Air::Given { .. }) if film.beyond != OUTSIDE => add(film.beyond.clone()),
            _ => {}
        }
    }
    for radiating in &network.thermal.radiating {
        add(radiating.bay.clone());
    }
    for (duct, name) in network.ducts.iter().enumerate() {
        if network.thermal.ducts[duct].is_none() && network.arena.gives_heat(DuctId(duct)) {
            add(format!("{name} wall"));
        }
    }
    for volume in network.volumes.iter().filter(|volume| volume.wall.is_some()) {
        add(format!("{} wall", volume.name));
    }
}

/// Root of what comes in by a side.
fn root_of_side(network: &Network, joint: usize, side: usize, kind: &Side) -> Option<String> {
    let part = || network.joints[joint].parts[side].clone();
    match kind {
        Side::Mouth { air, .. } => Some(match air.source() {
            Source::Road => RAM.to_owned(),
            Source::Fan => FAN.to_owned(),
            Source::Bay(_) => part(),
        }),
        Side::Still { .. } if network.joints[joint].parts[side] == OUTSIDE => None,
        Side::Still { .. } | Side::Inflow { .. } | Side::Draw { .. } => Some(part()),
        Side::Duct { .. } | Side::Volume { .. } | Side::Wall => None,
    }
}

/// Root and warmth [K] of a stream from beyond the network.
fn beyond(network: &Network, y: &[f64], brought: &Brought) -> Option<(String, f64)> {
    let JointKind::Series(series) = &network.joints[brought.joint].kind else { return None };
    let side = &series.sides[brought.side];
    let root = root_of_side(network, brought.joint, brought.side, side)?;
    let warmth = side.given_temperature(&network.gas, network.road_speed(y))? - network.outside.temperature;
    Some((root, warmth))
}

/// Exchanges of heat beside the walls of ducts.
fn exchange(network: &Network, transport: &mut Transport, work: &Work, sides: &mut Sides<'_>) {
    let over = 1.0 / network.gas.heat_capacity;
    let outside = network.outside.temperature;
    for Exchange { from, to, conductance, .. } in &work.exchanges {
        let strength = conductance * over;
        let holder = |holder: &Holder| match holder {
            Holder::Node(node) => Ok(transport.holders.node(*node)),
            Holder::Volume(volume) => Ok(transport.holders.volume(*volume)),
            Holder::Film(film, temperature) => {
                let film = &network.thermal.films[*film];
                let given = matches!(film.surface, Surface::Given { .. });
                Err((if given { &film.part } else { &film.beyond }, *temperature))
            }
            Holder::Drive(node, temperature) => Err((&network.thermal.nodes[*node].part, *temperature)),
            Holder::Skin(radiating, temperature) => Err((&network.thermal.radiating[*radiating].bay, *temperature)),
        };
        match (holder(from), holder(to)) {
            (Ok(one), Ok(two)) if one != two => transport.couple(one, two, strength),
            (Ok(held), Err((root, temperature))) | (Err((root, temperature)), Ok(held)) => {
                transport.lean(held, strength);
                sides.add(root, held, strength * (temperature - outside));
            }
            _ => {}
        }
    }
    for (index, volume) in network.volumes.iter().enumerate() {
        if let Some((temperature, conductance)) = volume.wall {
            let held = transport.holders.volume(index);
            transport.lean(held, conductance * over);
            sides.add(&format!("{} wall", volume.name), held, conductance * over * (temperature - outside));
        }
    }
}

/// Heat of the walls of ducts. What the film does beyond the difference of total temperatures, by the speed of the air, is ram.
fn warm_ducts(
    network: &Network,
    transport: &mut Transport,
    y: &[f64],
    work: &Work,
    conductances: &[f64],
    sides: &mut Sides<'_>,
) {
    let over = 1.0 / network.gas.heat_capacity;
    let outside = network.outside.temperature;
    for duct in network.arena.ducts() {
        if !network.arena.gives_heat(duct) {
            continue;
        }
        let heat = network.arena.wall_heat(&work.cells, duct);
        let rises = face_rises(network, work, duct);
        let node = network.thermal.ducts[duct.0];
        let wall = match node {
            Some(node) => Some(network.node_temperature(y, node)),
            None => network.arena.wall_temperature(&work.cells, duct),
        };
        for (cell, volume) in network.volumes_of(duct).iter().enumerate() {
            let holder = transport.holders.cell(duct.0, cell);
            let own = format!("{} wall", network.ducts[duct.0]);
            let heat = heat[cell] * volume;
            let Some(wall) = wall else {
                sides.add(&own, holder, heat * over);
                continue;
            };
            let strength = conductances[holder] * over;
            match node {
                Some(node) => {
                    let wall = transport.holders.node(node);
                    transport.couple(wall, holder, strength);
                }
                None => {
                    transport.lean(holder, strength);
                    sides.add(&own, holder, strength * (wall - outside));
                }
            }
            let speed = heat * over - strength * (wall - outside - rises[cell]);
            sides.add(RAM, holder, speed);
            if let Some(node) = node {
                sides.add(RAM, transport.holders.node(node), -speed);
            }
        }
    }
}

/// Rise of total temperature over the outside at the face by which the air leaves each cell of a duct [K].
fn face_rises(network: &Network, work: &Work, duct: DuctId) -> Vec<f64> {
    let flows = network.arena.face_flows(&work.cells, duct);
    let states = network.arena.cell_states(&work.cells, duct);
    let (gas, outside) = (&network.gas, network.outside.temperature);
    (0..network.arena.cells(duct))
        .map(|cell| {
            let face = if flows.mass[cell] + flows.mass[cell + 1] >= 0.0 { cell + 1 } else { cell };
            let (mass, energy) = (flows.mass[face], flows.energy[face]);
            let rise = energy / (mass * gas.heat_capacity) - outside;
            let speed = states.velocity[cell];
            let still = states.pressure[cell] / (states.density[cell] * gas.gas_constant);
            let own = still + 0.5 * speed * speed / gas.heat_capacity - outside;
            // Where hardly anything flows, its energy is rounding and pressure work.
            if (rise - own).abs() <= NEAR { rise } else { own }
        })
        .collect()
}

/// How far total temperature at a face can be from that of its cell [K].
const NEAR: f64 = 20.0;

/// Rise of all holders over the outside [K].
fn totals(network: &Network, transport: &Transport, work: &Work, y: &[f64]) -> Vec<f64> {
    let outside = network.outside.temperature;
    let mut totals = Vec::with_capacity(transport.holders.count);
    for duct in network.arena.ducts() {
        totals.extend(face_rises(network, work, duct));
    }
    totals.extend(work.volumes.iter().map(|volume| volume.temperature - outside));
    totals.extend((0..network.thermal.nodes.len()).map(|node| network.node_temperature(y, node) - outside));
    totals
}
