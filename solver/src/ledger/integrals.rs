//! Time integrals that the ledgers are made of, gathered with the stepper's own stage weights.
//!
//! All lie in one vector. A station's total pressure is averaged as the mean of its logarithm weighted by mass flow, because that is what
//! dissipation adds up in: along a streamtube `-R m d(ln p0)` is the entropy made in it.

use super::metered::{Metered, PER_METER};
use crate::flow::Fitted;
use crate::joint::side::Side;
use crate::network::{JointKind, JointState, Network, Work};

/// Integrals of one duct: entropy over R made by drag in all, by bends and by widening, and by heat at speed [kg]; wall heat [J].
pub(super) const PER_DUCT: usize = 5;
/// Place of the wall heat among the integrals of a duct.
pub const WALL_HEAT: usize = 4;
/// Integrals of a stream before its stations: mass [kg] and mass times total temperature [kg K].
pub(super) const PER_STREAM: usize = 2;

/// Where the integrals of each joint, link, duct and volume lie.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Places {
    /// First integral of each joint. A series has mass, mass times temperature, one station value per loss and one more, then the mass
    /// of each origin; a wye has mass, mass times temperature and one station value for each leg.
    pub joints: Vec<usize>,
    /// First integral of each plain link: mass, mass times temperature, one station value.
    pub links: Vec<usize>,
    /// First integral of each duct.
    pub ducts: Vec<usize>,
    /// Wall heat of each volume [J].
    pub volumes: Vec<usize>,
    /// Heat that came into walls and bays from beyond the network [J], and the heat that passed there whichever way it went [J].
    pub beyond: usize,
    /// First integral of each air meter: mass past it, and mass that it reads [kg].
    pub meters: Vec<usize>,
    /// Number of integrals.
    pub count: usize,
}

impl Places {
    /// The places in `network`.
    #[must_use]
    pub fn of(network: &Network) -> Self {
        let mut places = Self::default();
        let mut take = |length: usize| {
            let first = places.count;
            places.count += length;
            first
        };
        let joints = network.joints.iter().map(|joint| match &joint.kind {
            JointKind::Series(series) => take(PER_STREAM + series.losses.len() + 1 + network.origins.len()),
            JointKind::Wye(wye) => take(wye.ends.len() * (PER_STREAM + 1)),
        });
        let joints = joints.collect();
        let links = network.links.iter().map(|_| take(PER_STREAM + 1)).collect();
        let ducts = network.ducts.iter().map(|_| take(PER_DUCT)).collect();
        let volumes = network.volumes.iter().map(|_| take(1)).collect();
        let beyond = take(2);
        let meters = network.meters.iter().map(|_| take(PER_METER)).collect();
        Self { joints, links, ducts, volumes, beyond, meters, count: places.count }
    }
}

/// The integrals of a run.
#[derive(Debug, Clone)]
pub struct Integrals {
    /// Values up to now.
    pub values: Vec<f64>,
    /// Where each lies.
    pub places: Places,
    /// Lowest and highest mass flow through each draw since the last record [kg/s].
    pub extremes: Vec<[f64; 2]>,
    trial: Vec<f64>,
    metered: Metered,
    draws: Vec<usize>,
    reference: f64,
}

/// `ln(p / reference)` by the series of the inverse hyperbolic tangent where it is short, which is everywhere in an inlet tract.
fn log_ratio(pressure: f64, reference: f64) -> f64 {
    let s = (pressure - reference) / (pressure + reference);
    if s.abs() > 0.06 {
        return libm::log(pressure / reference);
    }
    let q = s * s;
    2.0 * s * (1.0 + q * (1.0 / 3.0 + q * (0.2 + q * (1.0 / 7.0 + q * (1.0 / 9.0 + q * (1.0 / 11.0 + q / 13.0))))))
}

impl Integrals {
    /// Integrals of `network`, all zero.
    #[must_use]
    pub fn new(network: &Network) -> Self {
        let places = Places::of(network);
        let draws = network.draws();
        Self {
            values: vec![0.0; places.count],
            trial: vec![0.0; places.count],
            metered: Metered::new(network),
            extremes: vec![[f64::INFINITY, f64::NEG_INFINITY]; draws.len()],
            draws,
            places,
            reference: network.outside.pressure,
        }
    }

    /// Pressure that the logarithms are taken over [Pa].
    #[must_use]
    pub fn reference(&self) -> f64 {
        self.reference
    }

    /// Begins a step that may yet be undone.
    pub fn begin(&mut self) {
        self.trial.copy_from_slice(&self.values);
        self.metered.begin();
    }

    /// Adds `weight` [s] times what flows now.
    pub fn add(&mut self, network: &Network, work: &Work, weight: f64) {
        self.add_flows(network, work, weight);
        for (index, joint) in work.joints.iter().enumerate() {
            if let JointState::Series(state) = joint {
                self.add_shares(index, network, work, weight * state.mass_flow);
            }
        }
    }

    /// Adds `weight` [s] times what flows now, but for where it came from.
    pub fn add_flows(&mut self, network: &Network, work: &Work, weight: f64) {
        for (index, joint) in work.joints.iter().enumerate() {
            let first = self.places.joints[index];
            match joint {
                JointState::Series(state) => {
                    let mass = weight * state.mass_flow;
                    self.trial[first] += mass;
                    self.trial[first + 1] += mass * state.total_temperature;
                    for (station, pressure) in state.total_pressures.iter().enumerate() {
                        // A prescribed end, such as a wall, has no pressure of its own and no flow either.
                        if *pressure > 0.0 {
                            self.trial[first + PER_STREAM + station] += mass * log_ratio(*pressure, self.reference);
                        }
                    }
                }
                JointState::Wye(state) => {
                    for leg in 0..state.mass_flows.len() {
                        let (mass, place) = (weight * state.mass_flows[leg], first + leg * (PER_STREAM + 1));
                        let face = state.faces[leg];
                        self.trial[place] += mass;
                        self.trial[place + 1] += mass * face.total_temperature;
                        self.trial[place + 2] += mass * log_ratio(face.total_pressure, self.reference);
                    }
                }
            }
        }
        for (index, link) in network.links.iter().enumerate() {
            let stream = network.link_stream(link, work);
            let (mass, place) = (weight * stream.mass_flow, self.places.links[index]);
            self.trial[place] += mass;
            self.trial[place + 1] += mass * stream.total_temperature;
            self.trial[place + 2] += mass * log_ratio(stream.total_pressure, self.reference);
        }
        self.add_walls(network, work, weight);
        self.metered.add(network, work, weight);
    }

    /// Adds `mass` [kg] through series joint `joint`, parted by where the stream there came from.
    pub fn add_shares(&mut self, joint: usize, network: &Network, work: &Work, mass: f64) {
        let first = self.places.joints[joint] + PER_STREAM + network.joints[joint].losses.len() + 1;
        let shares = &work.stream_shares[joint * network.origins.len()..][..network.origins.len()];
        for (sum, share) in self.trial[first..].iter_mut().zip(shares) {
            *sum += mass * share;
        }
    }

    fn add_walls(&mut self, network: &Network, work: &Work, weight: f64) {
        for duct in network.arena.ducts() {
            let fittings = &network.fittings[duct.0];
            let made = network.arena.dissipation(
                &work.cells,
                duct,
                &Fitted {
                    volumes: network.volumes_of(duct),
                    bends: &fittings.bends,
                    widening_forward: &fittings.widening[0],
                    widening_reverse: &fittings.widening[1],
                },
            );
            let sums = [made.drag, made.bends, made.widening, made.heat_at_speed, made.heat];
            for (sum, rate) in self.trial[self.places.ducts[duct.0]..].iter_mut().zip(sums) {
                *sum += weight * rate;
            }
        }
        for exchange in &work.exchanges {
            let heat = match (exchange.from.is_beyond(), exchange.to.is_beyond()) {
                (true, false) => exchange.heat,
                (false, true) => -exchange.heat,
                _ => continue,
            };
            self.trial[self.places.beyond] += weight * heat;
            self.trial[self.places.beyond + 1] += weight * heat.abs();
        }
        for index in 0..network.volumes.len() {
            self.trial[self.places.volumes[index]] += weight * work.volume_heat[index];
        }
    }

    /// Accepts what was added since [`Integrals::begin`], and notes the draws' flows at the end of the step.
    pub fn accept(&mut self, network: &Network, work: &Work) {
        std::mem::swap(&mut self.values, &mut self.trial);
        let meters = self.values.len() - PER_METER * network.meters.len();
        self.metered.accept(network, &mut self.values[meters..]);
        for (extremes, joint) in self.extremes.iter_mut().zip(&self.draws) {
            if let JointState::Series(state) = &work.joints[*joint] {
                extremes[0] = extremes[0].min(state.mass_flow);
                extremes[1] = extremes[1].max(state.mass_flow);
            }
        }
    }

    /// Begins a new interval between records.
    pub fn open_interval(&mut self) {
        self.extremes.fill([f64::INFINITY, f64::NEG_INFINITY]);
    }

    /// All numbers, for a checkpoint.
    #[must_use]
    pub fn to_numbers(&self) -> Vec<f64> {
        let extremes = self.extremes.iter().flatten();
        self.values.iter().chain(extremes).chain(&self.metered.signals).copied().collect()
    }

    /// Takes the numbers of [`Integrals::to_numbers`] back; they must be as many.
    pub fn restore(&mut self, numbers: &[f64]) {
        let (values, rest) = numbers.split_at(self.values.len());
        let (extremes, signals) = rest.split_at(2 * self.extremes.len());
        self.values.copy_from_slice(values);
        self.metered.signals.copy_from_slice(signals);
        for (pair, numbers) in self.extremes.iter_mut().zip(extremes.chunks_exact(2)) {
            pair.copy_from_slice(numbers);
        }
    }
}

/// The duct end that a side is, if it is one.
pub(super) fn duct_end(side: &Side) -> Option<usize> {
    match side {
        Side::Duct { end } => Some(*end),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::log_ratio;

    #[test]
    fn the_short_logarithm_is_the_logarithm() {
        for pressure in [6e4, 8.9e4, 9.99e4, 1e5, 1.000_001e5, 1.12e5, 1.4e5_f64] {
            assert!((log_ratio(pressure, 1e5) - (pressure / 1e5).ln()).abs() < 2e-16);
        }
    }
}
