//! What the network knows of its branches: its draws, its plain links, how slowly it rings.

use super::{JointKind, Network, Work, end_number};
use crate::flow::{DuctId, End};
use crate::joint::side::Side;
use crate::loss::ram::FreeStream;
use crate::part::{Course, Demand};

/// Two duct ends of equal area, joined without loss.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PlainLink {
    /// End that the flow line leaves.
    pub from: (DuctId, End),
    /// End that it enters.
    pub to: (DuctId, End),
}

/// The stream through a plain link.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LinkStream {
    /// Mass flow [kg/s], positive in the order of the flow line.
    pub mass_flow: f64,
    /// Total temperature [K].
    pub total_temperature: f64,
    /// Total pressure [Pa].
    pub total_pressure: f64,
}

/// A draw of a given flow, and what it gets of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Overdrawn {
    /// Draw.
    pub draw: String,
    /// Mass flow that it asks for [kg/s].
    pub asked: f64,
    /// Mass flow that it gets [kg/s].
    pub gets: f64,
}

impl Overdrawn {
    /// Whether it gets less than it asks for.
    #[must_use]
    pub fn misses(&self) -> bool {
        self.gets < self.asked * (1.0 - MET_WITHIN)
    }
}

impl std::fmt::Display for Overdrawn {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self { draw, asked, gets } = self;
        let [asked, gets] = [asked, gets].map(|flow| 1e3 * flow);
        write!(f, "draw `{draw}` asks for more than can flow: {asked:.1} g/s, of which it gets {gets:.1}")
    }
}

/// Share of what it asks for that a draw may miss by rounding and by what a solution leaves.
const MET_WITHIN: f64 = 1e-6;

impl Network {
    /// The air that the car meets.
    #[must_use]
    pub fn free_stream(&self) -> FreeStream {
        FreeStream::road(&self.gas, self.outside.pressure, self.outside.temperature, self.stream.speed)
    }

    /// Numbers of the joints that lead to a draw, in the order of the case.
    #[must_use]
    pub fn draws(&self) -> Vec<usize> {
        let is_draw = |index: &usize| match &self.joints[*index].kind {
            JointKind::Series(series) => series.sides.iter().any(|side| matches!(side, Side::Draw { .. })),
            JointKind::Wye(_) => false,
        };
        let mut draws: Vec<usize> = (0..self.joints.len()).filter(is_draw).collect();
        draws.sort_by_key(|index| self.part_order.iter().position(|part| part == self.draw_name(*index)));
        draws
    }

    /// Name of the draw that joint `index` leads to; the joint's second part otherwise.
    #[must_use]
    pub fn draw_name(&self, index: usize) -> &str {
        let joint = &self.joints[index];
        let side = match &joint.kind {
            JointKind::Series(series) => usize::from(!matches!(series.sides[0], Side::Draw { .. })),
            JointKind::Wye(_) => 1,
        };
        &joint.parts[side]
    }

    /// Area of the inlet of the draw that joint `index` leads to [m^2].
    #[must_use]
    pub fn draw_area(&self, index: usize) -> f64 {
        let JointKind::Series(series) = &self.joints[index].kind else { return 0.0 };
        series
            .sides
            .iter()
            .find_map(|side| if let Side::Draw { area, .. } = side { Some(*area) } else { None })
            .unwrap_or(0.0)
    }

    /// Joints whose flow and pressure tell whether the network still rings: the draws', or all that are series when there is none.
    #[must_use]
    pub fn watched_joints(&self) -> Vec<usize> {
        let draws = self.draws();
        if !draws.is_empty() {
            return draws;
        }
        (0..self.joints.len()).filter(|index| matches!(self.joints[*index].kind, JointKind::Series(_))).collect()
    }

    /// Slowest period in which the network can ring [s]: the longest wave over all its ducts, or its volumes on their openings.
    #[must_use]
    pub fn slowest_period(&self) -> f64 {
        let sound_speed = self.gas.sound_speed(self.outside.temperature);
        let length: f64 =
            self.arena.ducts().map(|duct| self.arena.cell_length(duct) * self.arena.cells(duct) as f64).sum();
        let mut slowest = 4.0 * length / sound_speed;
        for volume in &self.volumes {
            // Helmholtz' resonator with all of the duct length behind one opening is slower than any real arrangement of them.
            let neck = (length + volume.open_area.sqrt()) / volume.open_area;
            let period = std::f64::consts::TAU * (volume.size * neck).sqrt() / sound_speed;
            slowest = slowest.max(period);
        }
        slowest
    }

    /// Window over which ringing is judged, some slowest periods long and a whole number of pulses, and whether draws pulse [s].
    #[must_use]
    pub fn ringing_window(&self, periods: f64) -> (f64, bool) {
        let slowest = periods * self.slowest_period();
        match self.pulse_period() {
            Some(pulse) => ((slowest / pulse).ceil().max(1.0) * pulse, true),
            None => (slowest, false),
        }
    }

    /// Longest period of the pulsed draws and inflows [s].
    #[must_use]
    pub fn pulse_period(&self) -> Option<f64> {
        let mut longest = None;
        for joint in &self.joints {
            let JointKind::Series(series) = &joint.kind else { continue };
            for side in &series.sides {
                if let Side::Draw { course: Course::Pulsed { frequency, .. }, .. }
                | Side::Inflow { course: Course::Pulsed { frequency, .. }, .. } = side
                {
                    let period = 1.0 / frequency;
                    longest = Some(longest.map_or(period, |known: f64| known.max(period)));
                }
            }
        }
        longest
    }

    /// Draws of a given flow that get less than they ask for at `time` [s], when the joints are as they are in `work`: more cannot flow.
    #[must_use]
    pub fn overdrawn(&self, time: f64, work: &Work) -> Vec<Overdrawn> {
        self.given_draws(time, work).into_iter().filter(Overdrawn::misses).collect()
    }

    /// What each draw of a given flow asks for at `time` [s] and gets, when the joints are as they are in `work`.
    #[must_use]
    pub fn given_draws(&self, time: f64, work: &Work) -> Vec<Overdrawn> {
        let mut found = Vec::new();
        for (joint, state) in self.joints.iter().zip(&work.joints) {
            let (JointKind::Series(series), Some(state)) = (&joint.kind, state.series()) else { continue };
            for (side, kind) in series.sides.iter().enumerate() {
                let Side::Draw { demand: Demand::Flow(flow), course, .. } = kind else { continue };
                let (asked, gets) =
                    (flow * course.factor(time), if side == 1 { state.mass_flow } else { -state.mass_flow });
                found.push(Overdrawn { draw: joint.parts[side].clone(), asked, gets });
            }
        }
        found
    }

    /// Name of what limits the step.
    #[must_use]
    pub fn limited_by(&self, limit: super::Limit) -> String {
        match limit {
            super::Limit::Cells => "the smallest cells".to_owned(),
            super::Limit::Volume(index) => self.volumes[index].name.clone(),
            super::Limit::Joint(index) => self.joints[index].name(),
        }
    }

    /// The stream through a plain link, from the fluxes of its face.
    #[must_use]
    pub fn link_stream(&self, link: &PlainLink, work: &Work) -> LinkStream {
        let (duct, end) = link.from;
        let flows = self.arena.face_flows(&work.cells, duct);
        let face = if end == End::First { 0 } else { flows.mass.len() - 1 };
        let (mass, momentum, energy) = (flows.mass[face], flows.momentum[face], flows.energy[face]);
        let outward = end.outward();
        let state = work.ends[end_number(duct, end)];
        let gas = &self.gas;
        let still = state.pressure / (state.density * gas.gas_constant);
        let at_rest = 0.5 * state.velocity * state.velocity / gas.heat_capacity + still;
        let total_temperature = if mass == 0.0 { at_rest } else { energy / (mass * gas.heat_capacity) };
        // Static pressure from momentum and mass: p A = J - m u, with u from continuity; two passes from the end's own velocity do.
        let mut speed = state.velocity * outward;
        let mut pressure = state.pressure;
        for _ in 0..3 {
            pressure = (momentum - mass * speed) / state.area;
            let temperature = total_temperature - 0.5 * speed * speed / gas.heat_capacity;
            speed = mass * gas.gas_constant * temperature / (pressure * state.area);
        }
        let temperature = total_temperature - 0.5 * speed * speed / gas.heat_capacity;
        LinkStream {
            mass_flow: mass * outward,
            total_temperature,
            total_pressure: gas.total_pressure(pressure, temperature, speed),
        }
    }
}
