//! What warmed the air: its rise over the outside by root cause.
//!
//! Warmth is carried by the same linear system as the shares by origin, in kelvin of total temperature over the outside's, with walls and hot
//! parts as further holders. Every exchange of heat is a conductance between two temperatures ([`Exchange`]), so that each holder's
//! warmth is the sum of what roots have sent it: turbine, shield, bay and tube end at the turbine. It goes through the stages of each step with the
//! state, by the same method. The work of pressure that rises or falls is a root; what the sum of all roots leaves over is another, and nothing when
//! steady.

use super::linear::Singular;
use super::roots::{PRESSURE, RAM, beyond, roots};
use super::stages::{BEFORE, DIAGONAL, STAGES, WEIGHTS};
use super::transport::{Flows, Transport};
use crate::flow::DuctId;
use crate::network::thermal::{Exchange, Holder, Surface};
use crate::network::{Network, Work};

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
    /// Pressure times volume over heat capacity in each holder, where the state stood last [kg K].
    pressed: Vec<f64>,
    /// Heat capacity of each node over that of air [kg].
    nodes: Vec<f64>,
    /// The step that is being taken.
    step: Step,
}

/// A step on its way through the stages.
#[derive(Debug, Clone, Default)]
struct Step {
    /// What was held and drawn before it, for a step that is refused.
    held: Vec<f64>,
    drawn: Vec<f64>,
    /// Pressure times volume over heat capacity before it [kg K], and its rates in the stages [kg K/s].
    pressed: Vec<f64>,
    pressing: [Vec<f64>; STAGES],
    /// Warmth times mass before it [kg K].
    start: Vec<f64>,
    /// Its rates in the stages [kg K/s].
    rates: [Vec<f64>; STAGES],
}

/// What a transport of warmth goes by: the state that it goes to, and the flows on the way.
#[derive(Debug, Clone, Copy)]
pub(super) struct Way<'a> {
    pub(super) network: &'a Network,
    /// Workings of the state.
    pub(super) work: &'a Work,
    /// The state.
    pub(super) y: &'a [f64],
    pub(super) flows: &'a Flows,
    /// Conductances of the walls of ducts, cell by cell [W/K].
    pub(super) conductances: &'a [f64],
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
            pressed: vec![0.0; holders],
            nodes: network.thermal.nodes.iter().map(|node| node.capacity / network.gas.heat_capacity).collect(),
            roots,
            draws,
            step: Step::default(),
        }
    }

    /// Takes over what a march has gathered whose network differs in numbers alone.
    pub(super) fn go_on(&mut self, other: &mut Self) {
        std::mem::swap(&mut self.roots, &mut other.roots);
        std::mem::swap(&mut self.held, &mut other.held);
        std::mem::swap(&mut self.drawn, &mut other.drawn);
        std::mem::swap(&mut self.pressed, &mut other.pressed);
    }

    /// Takes the present state for the start: what is warm is so from the beginning.
    pub(super) fn begin(&mut self, network: &Network, transport: &Transport, work: &Work, y: &[f64]) {
        let total = totals(network, transport, work, y);
        self.held.fill(0.0);
        let initial = self.roots.len() - 3;
        self.held[initial * total.len()..][..total.len()].copy_from_slice(&total);
        self.stand(network, transport, work);
    }

    /// Takes note of the present pressures: what they were before does no work.
    pub(super) fn stand(&mut self, network: &Network, transport: &Transport, work: &Work) {
        self.pressed = pressed(network, transport, work);
    }

    /// Books what goes into the draws now, over `time` [s].
    pub(super) fn book_now(&mut self, network: &Network, transport: &Transport, work: &Work, time: f64) {
        let mut flows = Flows::none(network);
        flows.add(network, work, 1.0);
        self.book(network, transport, work, &flows, time);
    }

    /// All numbers, for a checkpoint.
    pub(super) fn to_numbers(&self) -> Vec<f64> {
        [&self.held[..], &self.drawn, &self.pressed].concat()
    }

    /// Takes the numbers of [`Warmth::to_numbers`] back; they must be as many.
    pub(super) fn restore(&mut self, numbers: &[f64]) {
        let (held, rest) = numbers.split_at(self.held.len());
        let (drawn, pressed) = rest.split_at(self.drawn.len());
        self.held.copy_from_slice(held);
        self.drawn.copy_from_slice(drawn);
        self.pressed.copy_from_slice(pressed);
    }

    /// Moves on by one implicit step of Euler, of `step` [s], from where the air had these `masses` [kg].
    pub(super) fn carry(
        &mut self,
        transport: &mut Transport,
        way: Way<'_>,
        step: f64,
        masses: &[f64],
    ) -> Result<(), Singular> {
        let stored = self.stored(masses);
        self.weigh(&stored);
        let now = pressed(way.network, transport, way.work);
        let pressing: Vec<f64> = now.iter().zip(&self.pressed).map(|(now, before)| (now - before) / step).collect();
        self.solve(transport, way, step, masses, &pressing)?;
        self.pressed = now;
        self.book(way.network, transport, way.work, way.flows, step);
        Ok(())
    }

    /// Begins a step from where the air has these `masses` [kg].
    pub(super) fn begin_step(&mut self, masses: &[f64]) {
        let stored = self.stored(masses);
        self.step.held.clone_from(&self.held);
        self.step.drawn.clone_from(&self.drawn);
        self.step.pressed.clone_from(&self.pressed);
        self.weigh(&stored);
        self.step.start.clone_from(&self.held);
    }

    /// Takes a step back that has been refused.
    pub(super) fn undo_step(&mut self) {
        self.held.clone_from(&self.step.held);
        self.drawn.clone_from(&self.step.drawn);
        self.pressed.clone_from(&self.step.pressed);
    }

    /// Moves on to stage `stage` of a step of `step` [s], to which it is an implicit step of Euler from where the air had the masses `base`
    /// [kg]; at the stage it has `masses`.
    pub(super) fn stage(
        &mut self,
        transport: &mut Transport,
        way: Way<'_>,
        stage: usize,
        step: f64,
        [base, masses]: [&[f64]; 2],
    ) -> Result<(), Singular> {
        let own = DIAGONAL * step;
        let begun = |start: &[f64], rates: &[Vec<f64>]| {
            let mut begun = start.to_vec();
            for (weight, rates) in BEFORE[stage].iter().zip(rates) {
                begun.iter_mut().zip(rates).for_each(|(value, rate)| *value += step * weight * rate);
            }
            begun
        };
        self.pressed = pressed(way.network, transport, way.work);
        let before = begun(&self.step.pressed, &self.step.pressing);
        let pressing: Vec<f64> = self.pressed.iter().zip(&before).map(|(now, before)| (now - before) / own).collect();
        let from = begun(&self.step.start, &self.step.rates);
        self.held.copy_from_slice(&from);
        self.solve(transport, way, own, base, &pressing)?;
        self.step.pressing[stage] = pressing;
        let stored = self.stored(masses);
        let held = self.held.chunks_exact(stored.len()).flat_map(|of_root| of_root.iter().zip(&stored));
        let rates = held.zip(&from).map(|((warmth, mass), from)| (warmth * mass - from) / own);
        self.step.rates[stage] = rates.collect();
        self.book(way.network, transport, way.work, way.flows, WEIGHTS[stage] * step);
        Ok(())
    }

    /// What stores warmth in each holder, as a mass of air [kg]: its air, or its heat capacity.
    fn stored(&self, masses: &[f64]) -> Vec<f64> {
        let mut stored = masses.to_vec();
        let first = stored.len() - self.nodes.len();
        stored[first..].copy_from_slice(&self.nodes);
        stored
    }

    /// Warmth becomes warmth times mass [kg K].
    fn weigh(&mut self, stored: &[f64]) {
        for of_root in self.held.chunks_exact_mut(stored.len()) {
            for (warmth, mass) in of_root.iter_mut().zip(stored) {
                *warmth *= mass;
            }
        }
    }

    /// What is held goes from warmth times mass [kg K], where the air had these `masses` [kg], to the warmth [K] behind an implicit step of Euler.
    /// `pressing` is the work of pressure on each holder over the heat capacity [kg K/s].
    fn solve(
        &mut self,
        transport: &mut Transport,
        way: Way<'_>,
        step: f64,
        masses: &[f64],
        pressing: &[f64],
    ) -> Result<(), Singular> {
        let Way { network, work, y, flows, conductances } = way;
        let n = transport.holders.count;
        transport.begin(network, work, flows, step, masses);
        for (node, mass) in self.nodes.iter().enumerate() {
            transport.lean(transport.holders.node(node), mass / step);
        }
        // Right-hand sides: what was there, and what comes in.
        let mut whole = vec![0.0; n];
        for of_root in self.held.chunks_exact_mut(n) {
            for (side, whole) in of_root.iter_mut().zip(&mut whole) {
                *side /= step;
                *whole += *side;
            }
        }
        let mut sides = Sides { held: &mut self.held, whole, roots: &self.roots, n };
        for brought in transport.brought.clone() {
            if let Some((root, warmth)) = beyond(network, y, &brought) {
                sides.add(&root, brought.to, brought.mass_flow * warmth);
            }
        }
        for (holder, work) in pressing.iter().enumerate() {
            sides.add(PRESSURE, holder, *work);
        }
        exchange(network, transport, work, &mut sides);
        warm_ducts(network, transport, y, work, conductances, &mut sides);
        let whole = sides.whole;
        let total = totals(network, transport, work, y);
        let rest = self.roots.len() - 1;
        for ((side, reached), explained) in self.held[rest * n..].iter_mut().zip(transport.times(&total)).zip(&whole) {
            *side += reached - explained;
        }
        transport.solve(&mut self.held)
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
    /// Their sum over all roots, but for what the last is to explain.
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

/// Pressure times volume over heat capacity in all holders [kg K].
fn pressed(network: &Network, transport: &Transport, work: &Work) -> Vec<f64> {
    let over = 1.0 / network.gas.heat_capacity;
    let mut pressed = Vec::with_capacity(transport.holders.count);
    for duct in network.arena.ducts() {
        let states = network.arena.cell_states(&work.cells, duct);
        pressed.extend(
            states.pressure.iter().zip(network.volumes_of(duct)).map(|(pressure, size)| over * pressure * size),
        );
    }
    pressed
        .extend(work.volumes.iter().zip(&network.volumes).map(|(state, volume)| over * state.pressure * volume.size));
    pressed.resize(transport.holders.count, 0.0);
    pressed
}

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
