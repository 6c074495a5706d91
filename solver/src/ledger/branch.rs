//! Following a draw's air upstream, kilogram by kilogram.
//!
//! At each merge the way splits by the net inflows; every part on it then books the fall of the logarithm of total pressure, and the rise
//! of total temperature, with the share of the draw's air that passes it. The bookings add up to the whole by construction; what tells
//! whether they are right is the dissipation that the walls made, integrated on its own.

use super::integrals::{PER_DUCT, PER_STREAM, Places, duct_end};
use crate::joint::side::Side;
use crate::loss::Basis;
use crate::network::{JointKind, Network, end_number};

/// Shares of the air below this are not followed further: they are rounding, or air that goes round in circles.
const SMALLEST_SHARE: f64 = 1e-9;
/// Parts on a way, at most; a longer one goes round in circles.
const LONGEST_WAY: usize = 200;

/// What the integrals say of one stretch of time.
#[derive(Debug, Clone)]
pub(super) struct Stretch<'a> {
    pub(super) network: &'a Network,
    pub(super) places: Places,
    /// Integrals over the stretch.
    pub(super) integrals: Vec<f64>,
    attached: Vec<Attached>,
}

/// What a duct's end is joined to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Attached {
    Nothing,
    Series { joint: usize, side: usize },
    Link { link: usize, leads_to: usize },
    Wye { joint: usize, leg: usize },
}

/// Mean state of a stream at a station.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Station {
    /// Mass over the stretch [kg], in the direction of the flow line.
    pub(super) mass: f64,
    /// Total temperature [K].
    pub(super) temperature: f64,
    /// Logarithm of total pressure over the reference.
    pub(super) log_pressure: f64,
}

/// A booking of total pressure.
#[derive(Debug, Clone)]
pub(super) struct Drop {
    pub(super) part: String,
    pub(super) what: String,
    pub(super) basis: Option<Basis>,
    /// Fall of the logarithm of total pressure.
    pub(super) fall: f64,
    /// The same from dissipation integrated on its own, or from the law of the loss.
    pub(super) dissipated: f64,
}

/// A booking of total temperature.
#[derive(Debug, Clone)]
pub(super) struct Warming {
    pub(super) cause: String,
    /// Part in which the heat entered.
    pub(super) place: String,
    /// Rise [K].
    pub(super) rise: f64,
}

/// The bookings of one branch.
#[derive(Debug, Clone, Default)]
pub(super) struct Way {
    pub(super) drops: Vec<Drop>,
    pub(super) warmings: Vec<Warming>,
    depth: usize,
}

impl<'a> Stretch<'a> {
    pub(super) fn new(network: &'a Network, integrals: Vec<f64>) -> Self {
        let mut attached = vec![Attached::Nothing; 2 * network.ducts.len()];
        for (joint, found) in network.joints.iter().enumerate() {
            match &found.kind {
                JointKind::Series(series) => {
                    for (side, end) in series.sides.iter().enumerate().filter_map(|(k, s)| Some((k, duct_end(s)?))) {
                        attached[end] = Attached::Series { joint, side };
                    }
                }
                JointKind::Wye(wye) => {
                    for (leg, end) in wye.ends.iter().enumerate() {
                        attached[*end] = Attached::Wye { joint, leg };
                    }
                }
            }
        }
        for (link, found) in network.links.iter().enumerate() {
            let (from, to) = (end_number(found.from.0, found.from.1), end_number(found.to.0, found.to.1));
            attached[from] = Attached::Link { link, leads_to: to };
            attached[to] = Attached::Link { link, leads_to: from };
        }
        Self { network, places: Places::of(network), integrals, attached }
    }

    fn station_at(&self, stream: usize, value: usize) -> Station {
        let mass = self.integrals[stream];
        let mean = |integral: f64| if mass == 0.0 { 0.0 } else { integral / mass };
        Station { mass, temperature: mean(self.integrals[stream + 1]), log_pressure: mean(self.integrals[value]) }
    }

    /// Station `number` of a series joint.
    pub(super) fn series_station(&self, joint: usize, number: usize) -> Station {
        let first = self.places.joints[joint];
        self.station_at(first, first + PER_STREAM + number)
    }

    /// Shares by origin of the air through a series joint.
    pub(super) fn shares(&self, joint: usize) -> Vec<f64> {
        let first = self.places.joints[joint];
        let stations = self.network.joints[joint].losses.len() + 1;
        let start = first + PER_STREAM + stations;
        let mass = self.integrals[first];
        self.integrals[start..start + self.network.origins.len()].iter().map(|part| part / mass).collect()
    }

    fn last_station(&self, joint: usize) -> usize {
        self.network.joints[joint].losses.len()
    }

    fn leg_station(&self, joint: usize, leg: usize) -> Station {
        let first = self.places.joints[joint] + leg * (PER_STREAM + 1);
        self.station_at(first, first + PER_STREAM)
    }

    fn end_station(&self, end: usize) -> Station {
        match self.attached[end] {
            Attached::Series { joint, side: 0 } => self.series_station(joint, 0),
            Attached::Series { joint, .. } => self.series_station(joint, self.last_station(joint)),
            Attached::Link { link, .. } => {
                let first = self.places.links[link];
                self.station_at(first, first + PER_STREAM)
            }
            Attached::Wye { joint, leg } => self.leg_station(joint, leg),
            Attached::Nothing => Station::default(),
        }
    }

    /// Follows the air of the draw behind `joint` upstream.
    pub(super) fn follow(&self, joint: usize) -> Way {
        let mut way = Way::default();
        let JointKind::Series(series) = &self.network.joints[joint].kind else { return way };
        let upstream = usize::from(matches!(series.sides[0], Side::Draw { .. }));
        self.cross_series(joint, upstream, 1.0, &mut way);
        way.merge();
        way
    }

    fn cross_series(&self, joint: usize, upstream: usize, share: f64, way: &mut Way) {
        let losses = &self.network.joints[joint].losses;
        let mut book = |number: usize, sign: f64| {
            let (a, b) = (self.series_station(joint, number), self.series_station(joint, number + 1));
            let fall = share * sign * (a.log_pressure - b.log_pressure);
            way.drop(&losses[number].part, &losses[number].what, Some(&losses[number].basis), fall, fall);
        };
        // From the draw outwards, as the way is followed.
        if upstream == 0 {
            (0..losses.len()).rev().for_each(|number| book(number, 1.0));
        } else {
            (0..losses.len()).for_each(|number| book(number, -1.0));
        }
        let station = self.series_station(joint, if upstream == 0 { 0 } else { losses.len() });
        self.enter(joint, upstream, station, share, way);
    }

    /// Goes on upstream through the side `side` of a series joint, at which the stream has the state `station`.
    fn enter(&self, joint: usize, side: usize, station: Station, share: f64, way: &mut Way) {
        way.depth += 1;
        if share < SMALLEST_SHARE || way.depth > LONGEST_WAY {
            return;
        }
        let JointKind::Series(series) = &self.network.joints[joint].kind else { return };
        let name = &self.network.joints[joint].parts[side];
        match &series.sides[side] {
            Side::Duct { end } => self.cross_duct(*end, station, share, way),
            Side::Volume { volume, .. } => self.cross_volume(*volume, station, share, way),
            Side::Mouth { basis, .. } => {
                let missing = share * (self.free_stream() - station.log_pressure);
                way.drop(name, "mouth", Some(basis), missing, missing);
                self.enter_outside(name, station, share, way);
            }
            Side::Still { .. } => {
                let missing = share * (self.free_stream() - station.log_pressure);
                way.drop(name, "no ram", None, missing, missing);
                self.enter_outside(name, station, share, way);
            }
            Side::Inflow { .. } | Side::Draw { .. } => {
                let missing = share * (self.free_stream() - station.log_pressure);
                way.drop(name, "fed in", None, missing, missing);
                way.warm(name, name, share * (station.temperature - self.network.outside.temperature));
            }
            Side::Wall => {}
        }
    }

    fn enter_outside(&self, name: &str, station: Station, share: f64, way: &mut Way) {
        let outside = self.network.outside.temperature;
        let ram = self.network.free_stream().total_temperature - outside;
        let ram = if (station.temperature - outside - ram).abs() < 1e-9 * outside { ram } else { 0.0 };
        way.warm("ram", name, share * ram);
        let mixed = station.temperature - outside - ram;
        if mixed != 0.0 {
            way.warm(&format!("{name} air"), name, share * mixed);
        }
    }

    fn cross_duct(&self, end: usize, station: Station, share: f64, way: &mut Way) {
        let (duct, other) = (end / 2, end ^ 1);
        let name = &self.network.ducts[duct];
        let before = self.end_station(other);
        let fall = before.log_pressure - station.log_pressure;
        self.book_duct(duct, station.mass.abs(), share, fall, way);
        way.warm(&format!("{name} wall"), name, share * (station.temperature - before.temperature));
        match self.attached[other] {
            Attached::Series { joint, side } => self.cross_series(joint, 1 - side, share, way),
            Attached::Link { leads_to, .. } => {
                way.depth += 1;
                if way.depth <= LONGEST_WAY {
                    self.cross_duct(leads_to, before, share, way);
                }
            }
            Attached::Wye { joint, leg } => self.cross_wye(joint, leg, before, share, way),
            Attached::Nothing => {}
        }
    }

    /// Books the fall of total pressure along a duct on its wall, bends and widening, in the ratio in which these made entropy.
    fn book_duct(&self, duct: usize, mass: f64, share: f64, fall: f64, way: &mut Way) {
        let name = &self.network.ducts[duct];
        let place = self.places.ducts[duct];
        let made = &self.integrals[place..place + PER_DUCT];
        let [drag, bends, widening, heat] = [made[0], made[1], made[2], made[3]];
        let (whole, fittings) = (drag + heat, &self.network.fittings[duct]);
        let per_kilogram = |part: f64| if mass > 0.0 { share * part / mass } else { 0.0 };
        let of_fall = |part: f64| if whole > 0.0 { share * fall * part / whole } else { 0.0 };
        let wall = whole - bends - widening;
        // What no dissipation explains is numerical; it stands with the wall.
        let rest = share * fall - of_fall(bends) - of_fall(widening);
        way.drop(name, "wall", Some(&fittings.friction_basis), rest, per_kilogram(wall));
        way.drop(name, "bends", Some(&fittings.bend_basis), of_fall(bends), per_kilogram(bends));
        way.drop(name, "widening", Some(&fittings.widening_basis), of_fall(widening), per_kilogram(widening));
    }

    fn cross_volume(&self, volume: usize, station: Station, share: f64, way: &mut Way) {
        let name = &self.network.volumes[volume].name;
        let mut inflows = Vec::new();
        for (joint, found) in self.network.joints.iter().enumerate() {
            let JointKind::Series(series) = &found.kind else { continue };
            for (side, kind) in series.sides.iter().enumerate() {
                if matches!(kind, Side::Volume { volume: own, .. } if *own == volume) {
                    let arriving = self.series_station(joint, if side == 0 { 0 } else { self.last_station(joint) });
                    let mass = if side == 1 { arriving.mass } else { -arriving.mass };
                    if mass > 0.0 {
                        inflows.push((joint, 1 - side, mass, arriving));
                    }
                }
            }
        }
        let total: f64 = inflows.iter().map(|inflow| inflow.2).sum();
        if total <= 0.0 {
            return;
        }
        let mean = |value: fn(&Station) -> f64| inflows.iter().map(|(_, _, m, s)| m * value(s)).sum::<f64>() / total;
        let fall = share * (mean(|s| s.log_pressure) - station.log_pressure);
        way.drop(name, "jets lost", Some(&self.jet_basis(volume)), fall, fall);
        let rise = station.temperature - mean(|s| s.temperature);
        let heat = self.integrals[self.places.volumes[volume]];
        let warmed = heat / (total * self.network.gas.heat_capacity);
        let is_bay = self.network.thermal.bays.iter().any(|bay| bay.volume == volume);
        way.warm(&format!("{name} {}", if is_bay { "heat" } else { "wall" }), name, share * warmed);
        // What no heat explains is air of another temperature that was there before.
        way.warm(&format!("{name} storage"), name, share * (rise - warmed));
        for (joint, upstream, mass, _) in &inflows {
            self.cross_series(*joint, *upstream, share * mass / total, way);
        }
    }

    fn jet_basis(&self, volume: usize) -> Basis {
        let carried = self.network.joints.iter().any(|joint| match &joint.kind {
            JointKind::Series(series) => series.sides.iter().any(
                |side| matches!(side, Side::Volume { volume: own, faced, .. } if *own == volume && !faced.is_empty()),
            ),
            JointKind::Wye(_) => false,
        });
        let text = if carried { "carry_over as given" } else { "carry_over 0" };
        Basis::Assumed(text.to_owned())
    }

    fn cross_wye(&self, joint: usize, leg: usize, station: Station, share: f64, way: &mut Way) {
        let JointKind::Wye(wye) = &self.network.joints[joint].kind else { return };
        way.depth += 1;
        if way.depth > LONGEST_WAY {
            return;
        }
        let suppliers: Vec<(usize, Station)> = (0..wye.ends.len())
            .filter(|other| *other != leg)
            .map(|other| (other, self.leg_station(joint, other)))
            .filter(|(_, state)| state.mass > 0.0)
            .collect();
        let total: f64 = suppliers.iter().map(|supplier| supplier.1.mass).sum();
        if total <= 0.0 {
            return;
        }
        let mean = suppliers.iter().map(|(_, state)| state.mass * state.log_pressure).sum::<f64>() / total;
        let fall = share * (mean - station.log_pressure);
        let loss = &self.network.joints[joint].losses[0];
        way.drop(&loss.part, "wye", Some(&loss.basis), fall, fall);
        for (other, state) in suppliers {
            self.cross_duct(wye.ends[other], state, share * state.mass / total, way);
        }
    }

    /// Logarithm of free-stream total pressure over the reference.
    fn free_stream(&self) -> f64 {
        let network = self.network;
        libm::log(network.free_stream().total_pressure(&network.gas) / network.outside.pressure)
    }
}

impl Way {
    fn drop(&mut self, part: &str, what: &str, basis: Option<&Basis>, fall: f64, dissipated: f64) {
        self.drops.push(Drop { part: part.to_owned(), what: what.to_owned(), basis: basis.cloned(), fall, dissipated });
    }

    fn warm(&mut self, cause: &str, place: &str, rise: f64) {
        self.warmings.push(Warming { cause: cause.to_owned(), place: place.to_owned(), rise });
    }

    /// Adds up bookings of the same kind; the way is listed from the outside to the draw.
    fn merge(&mut self) {
        let mut drops: Vec<Drop> = Vec::new();
        for drop in self.drops.drain(..).rev() {
            match drops.iter_mut().find(|known| known.part == drop.part && known.what == drop.what) {
                Some(known) => {
                    known.fall += drop.fall;
                    known.dissipated += drop.dissipated;
                }
                None => drops.push(drop),
            }
        }
        self.drops = drops;
        let mut warmings: Vec<Warming> = Vec::new();
        for warming in self.warmings.drain(..).rev() {
            match warmings.iter_mut().find(|known| known.cause == warming.cause && known.place == warming.place) {
                Some(known) => known.rise += warming.rise,
                None => warmings.push(warming),
            }
        }
        self.warmings = warmings;
    }
}
