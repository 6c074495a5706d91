//! Heat beside the air: walls, shields and hot parts as thermal nodes, and what passes between them.
//!
//! A node has one temperature and stores heat. It exchanges heat with the air inside a part (the film of a duct or plenum), with the air of the
//! bay in which it stands, with other surfaces of the bay by radiation, and with what it touches. Every exchange is a conductance times
//! a difference of temperatures, so that warmth can be followed to its cause.

use super::{Network, StateFault, Work};
use crate::flow::DuctId;
use crate::heat::{Enclosure, Material, film};
use crate::joint::side::Side;
use crate::network::{JointKind, JointState};

/// A thermal node.
#[derive(Debug, Clone)]
pub struct ThermalNode {
    /// Part that it belongs to.
    pub part: String,
    /// What of it: empty, or the layer or face.
    pub what: String,
    /// Heat that it stores [J/K].
    pub capacity: f64,
    /// What it is made of.
    pub material: &'static Material,
    /// Temperature at the start [K].
    pub start: f64,
    /// Whether it is a hot part: a root of warmth, even while nothing heats it.
    pub is_source: bool,
    /// What heats it from beyond the network: temperature [K] and conductance [W/K].
    pub drive: Option<(f64, f64)>,
}

/// Air on the outer side of a surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Air {
    /// That of a stored bay, by its number among the bays.
    Bay(usize),
    /// Of given temperature [K], moving at this speed [m/s].
    Given {
        /// Temperature [K].
        temperature: f64,
        /// Speed along the surface [m/s].
        speed: f64,
    },
    /// The outside's, along a car that moves through it.
    Outside {
        /// Temperature [K].
        temperature: f64,
        /// Speed along the surface [m/s] where the run does not change it.
        speed: f64,
    },
}

/// What stands against the air of a bay: a surface of a node, or a core of given temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Surface {
    /// Of a node, whose film follows from temperatures and speed.
    Node {
        /// Number of the node.
        node: usize,
        /// Resistance between the node and the surface [m^2 K/W].
        before: f64,
        /// Area [m^2].
        area: f64,
        /// Length along which air flows [m].
        length: f64,
        /// Speed of the air along it over that of the bay.
        exposure: f64,
    },
    /// Of given temperature [K], with a conductance [W/K].
    Given {
        /// Temperature [K].
        temperature: f64,
        /// Film coefficient times area [W/K].
        conductance: f64,
    },
}

/// A film between a surface and air.
#[derive(Debug, Clone, PartialEq)]
pub struct AirFilm {
    /// Part whose surface it is.
    pub part: String,
    /// What lies beyond the network, where the air is given: a bay, or the outside.
    pub beyond: String,
    /// The surface.
    pub surface: Surface,
    /// The air.
    pub air: Air,
}

/// A stored bay.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredBay {
    /// Its number among the volumes.
    pub volume: usize,
    /// Section across which air flows through it [m^2].
    pub flow_area: f64,
}

/// Surfaces that radiate to each other.
#[derive(Debug, Clone)]
pub struct Radiating {
    /// Bay.
    pub bay: String,
    /// Temperature of each surface: a node's, or given [K].
    pub surfaces: Vec<Temperature>,
    /// Their exchange.
    pub enclosure: Enclosure,
}

/// A temperature that is a state or given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Temperature {
    /// Of a node.
    Node(usize),
    /// Given [K].
    Given(f64),
}

/// All that is thermal in a network.
#[derive(Debug, Clone, Default)]
pub struct Thermal {
    /// Nodes, in the order of the state.
    pub nodes: Vec<ThermalNode>,
    /// Node that is the wall of each duct.
    pub ducts: Vec<Option<usize>>,
    /// Node that is the wall of each volume, with film coefficient times surface [W/K].
    pub volumes: Vec<Option<(usize, f64)>>,
    /// Stored bays.
    pub bays: Vec<StoredBay>,
    /// Films against the air of bays and the outside.
    pub films: Vec<AirFilm>,
    /// Nodes that touch, with the conductance [W/K].
    pub contacts: Vec<(usize, usize, f64)>,
    /// Radiation, bay by bay.
    pub radiating: Vec<Radiating>,
}

/// One exchange of heat, as a conductance [W/K] between two temperatures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Exchange {
    /// From here.
    pub from: Holder,
    /// To here.
    pub to: Holder,
    /// Conductance [W/K].
    pub conductance: f64,
    /// Heat that passes [W].
    pub heat: f64,
}

/// What holds a temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Holder {
    /// A node.
    Node(usize),
    /// The air of a volume.
    Volume(usize),
    /// Something of given temperature [K] that belongs to this film.
    Film(usize, f64),
    /// What drives a node, of this temperature [K].
    Drive(usize, f64),
    /// A surface of given temperature [K] in this radiating bay.
    Skin(usize, f64),
}

impl ThermalNode {
    /// Name of the series of its temperature in a result.
    #[must_use]
    pub fn series_name(&self) -> String {
        match self.what.as_str() {
            "" => "wall_temperature".to_owned(),
            what => format!("{}_temperature", what.replace(' ', "_")),
        }
    }
}

impl Holder {
    /// Whether it lies beyond the network: its temperature is given.
    #[must_use]
    pub fn is_beyond(&self) -> bool {
        matches!(self, Self::Film(..) | Self::Drive(..) | Self::Skin(..))
    }
}

impl Thermal {
    /// Number of exchanges that there can be.
    pub(super) fn most_exchanges(&self) -> usize {
        let pairs: usize = self.radiating.iter().map(|radiating| radiating.surfaces.len().pow(2)).sum();
        self.nodes.len() + self.volumes.len() + self.films.len() + self.contacts.len() + pairs
    }
}

impl Network {
    /// Temperature of node `index` [K].
    #[must_use]
    pub fn node_temperature(&self, y: &[f64], index: usize) -> f64 {
        y[self.layout.node(index)]
    }

    /// Gives the walls of ducts the temperatures of their nodes.
    pub(super) fn set_walls(&self, y: &[f64], work: &mut Work) {
        for (duct, node) in self.thermal.ducts.iter().enumerate() {
            if let Some(node) = node {
                self.arena.set_wall_temperature(&mut work.cells, DuctId(duct), self.node_temperature(y, *node));
            }
        }
    }

    /// Finds all exchanges but those with the air in ducts, from the states in `work`, and notes the heat that each volume gets.
    pub(super) fn find_exchanges(&self, y: &[f64], work: &mut Work) {
        for ((volume, heat), state) in self.volumes.iter().zip(&mut work.volume_heat).zip(&work.volumes) {
            *heat = volume.wall_heat(*state);
        }
        let mut exchanges = std::mem::take(&mut work.exchanges);
        exchanges.clear();
        let thermal = &self.thermal;
        for (volume, wall) in thermal.volumes.iter().enumerate() {
            if let Some((node, conductance)) = wall {
                self.note(Holder::Node(*node), Holder::Volume(volume), *conductance, y, work, &mut exchanges);
            }
        }
        for (number, film) in thermal.films.iter().enumerate() {
            self.note_film(number, film, y, work, &mut exchanges);
        }
        for (one, other, conductance) in &thermal.contacts {
            self.note(Holder::Node(*one), Holder::Node(*other), *conductance, y, work, &mut exchanges);
        }
        for (number, radiating) in thermal.radiating.iter().enumerate() {
            self.note_radiation(number, radiating, y, work, &mut exchanges);
        }
        for (number, node) in thermal.nodes.iter().enumerate() {
            if let Some((temperature, conductance)) = node.drive {
                self.note(
                    Holder::Drive(number, temperature),
                    Holder::Node(number),
                    conductance,
                    y,
                    work,
                    &mut exchanges,
                );
            }
        }
        for exchange in &exchanges {
            for (holder, heat) in [(exchange.from, -exchange.heat), (exchange.to, exchange.heat)] {
                if let Holder::Volume(volume) = holder {
                    work.volume_heat[volume] += heat;
                }
            }
        }
        work.exchanges = exchanges;
    }

    /// Writes the rates of the nodes from what [`Network::find_exchanges`] found and from the heat of the walls of ducts.
    pub(super) fn node_rates(&self, work: &Work, rates: &mut [f64]) {
        let first = self.layout.node(0);
        for exchange in &work.exchanges {
            for (holder, heat) in [(exchange.from, -exchange.heat), (exchange.to, exchange.heat)] {
                if let Holder::Node(node) = holder {
                    rates[first + node] += heat;
                }
            }
        }
        for (duct, node) in self.thermal.ducts.iter().enumerate() {
            if let Some(node) = node {
                rates[first + node] -= self.duct_heat(work, DuctId(duct));
            }
        }
        for (node, rate) in self.thermal.nodes.iter().zip(&mut rates[first..]) {
            *rate /= node.capacity;
        }
    }

    /// Conductances between the walls of ducts and their air, cell by cell [W/K]; zero where a wall has no film. `work` is room for the
    /// states of `y`.
    ///
    /// The heat is linear in the temperature of the wall: a kelvin more tells its slope.
    ///
    /// # Errors
    /// The first value of `y` that is not that of a gas.
    pub fn wall_conductances(&self, y: &[f64], work: &mut Work) -> Result<Vec<f64>, StateFault> {
        self.look(y, None, work)?;
        let before = self.arena.heat_row(&work.cells).to_vec();
        let mut warmer = y.to_vec();
        for node in self.thermal.ducts.iter().flatten() {
            warmer[self.layout.node(*node)] += 1.0;
        }
        let mut given = Vec::new();
        for duct in self.arena.ducts().filter(|duct| self.thermal.ducts[duct.0].is_none()) {
            if let Some(temperature) = self.arena.wall_temperature(&work.cells, duct) {
                self.arena.set_wall_temperature(&mut work.cells, duct, temperature + 1.0);
                given.push((duct, temperature));
            }
        }
        self.look(&warmer, None, work)?;
        let after = self.arena.heat_row(&work.cells);
        let conductances = self.arena.ducts().flat_map(|duct| {
            let cells = self.arena.slots_of(duct).zip(self.volumes_of(duct));
            cells.map(|(slot, volume)| (after[slot] - before[slot]) * volume).collect::<Vec<_>>()
        });
        let conductances = conductances.collect();
        for (duct, temperature) in given {
            self.arena.set_wall_temperature(&mut work.cells, duct, temperature);
        }
        Ok(conductances)
    }

    /// Heat from the wall of a duct into its air [W].
    #[must_use]
    pub fn duct_heat(&self, work: &Work, duct: DuctId) -> f64 {
        let heat = self.arena.wall_heat(&work.cells, duct);
        heat.iter().zip(self.volumes_of(duct)).map(|(heat, volume)| heat * volume).sum()
    }

    fn temperature_of(&self, holder: Holder, y: &[f64], work: &Work) -> f64 {
        match holder {
            Holder::Node(node) => self.node_temperature(y, node),
            Holder::Volume(volume) => work.volumes[volume].temperature,
            Holder::Film(_, temperature) | Holder::Drive(_, temperature) | Holder::Skin(_, temperature) => temperature,
        }
    }

    fn note(&self, from: Holder, to: Holder, conductance: f64, y: &[f64], work: &Work, exchanges: &mut Vec<Exchange>) {
        let difference = self.temperature_of(from, y, work) - self.temperature_of(to, y, work);
        exchanges.push(Exchange { from, to, conductance, heat: conductance * difference });
    }

    fn note_film(&self, number: usize, film: &AirFilm, y: &[f64], work: &Work, exchanges: &mut Vec<Exchange>) {
        let (air, holder, speed) = match film.air {
            Air::Bay(bay) => {
                let volume = self.thermal.bays[bay].volume;
                (work.volumes[volume].temperature, Holder::Volume(volume), self.bay_speed(bay, work))
            }
            Air::Given { temperature, speed } => (temperature, Holder::Film(number, temperature), speed),
            Air::Outside { temperature, speed } => {
                let speed = self.road_speed(y).map_or(speed, f64::abs);
                (temperature, Holder::Film(number, temperature), speed)
            }
        };
        match film.surface {
            Surface::Node { node, before, area, length, exposure } => {
                let own = self.node_temperature(y, node);
                let pressure = self.outside.pressure;
                let coefficient = film::outer(&self.gas, pressure, own, air, length, exposure * speed);
                let conductance = area / (before + 1.0 / coefficient);
                self.note(Holder::Node(node), holder, conductance, y, work, exchanges);
            }
            Surface::Given { temperature, conductance } => {
                self.note(Holder::Film(number, temperature), holder, conductance, y, work, exchanges);
            }
        }
    }

    fn note_radiation(
        &self,
        number: usize,
        radiating: &Radiating,
        y: &[f64],
        work: &Work,
        exchanges: &mut Vec<Exchange>,
    ) {
        let holder = |surface: usize| match radiating.surfaces[surface] {
            Temperature::Node(node) => Holder::Node(node),
            Temperature::Given(temperature) => Holder::Skin(number, temperature),
        };
        for one in 0..radiating.surfaces.len() {
            for other in 0..one {
                let (from, to) = (holder(other), holder(one));
                let (warm, cool) = (self.temperature_of(from, y, work), self.temperature_of(to, y, work));
                let conductance = radiating.enclosure.conductance(other, one, warm, cool);
                self.note(from, to, conductance, y, work, exchanges);
            }
        }
    }

    /// Mean speed of the air through a bay [m/s]: what flows in, over its section.
    #[must_use]
    pub fn bay_speed(&self, bay: usize, work: &Work) -> f64 {
        let StoredBay { volume, flow_area } = &self.thermal.bays[bay];
        let mut inflow = 0.0;
        for (joint, state) in self.joints.iter().zip(&work.joints) {
            let (JointKind::Series(series), JointState::Series(state)) = (&joint.kind, state) else { continue };
            for (side, flow) in series.sides.iter().zip([-state.mass_flow, state.mass_flow]) {
                if matches!(side, Side::Volume { volume: own, .. } if *own == *volume) {
                    inflow += flow.max(0.0);
                }
            }
        }
        let state = work.volumes[*volume];
        inflow * self.gas.gas_constant * state.temperature / (state.pressure * flow_area)
    }

    /// Heat that walls, shields and hot parts hold [J], over none at absolute zero.
    #[must_use]
    pub fn held_heat(&self, y: &[f64]) -> f64 {
        let held =
            self.thermal.nodes.iter().enumerate().map(|(index, node)| node.capacity * self.node_temperature(y, index));
        held.sum()
    }

    /// Temperatures of the nodes at the start [K].
    pub(super) fn start_nodes(&self, y: &mut [f64]) {
        for (index, node) in self.thermal.nodes.iter().enumerate() {
            y[self.layout.node(index)] = node.start;
        }
    }
}
