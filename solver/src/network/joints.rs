//! The joints of a network: evaluating and balancing them in place, and handing their fluxes to cells and volumes.

use super::end_of;
use super::{Network, Work};
use crate::flow::{DuctId, EndFlux};
use crate::joint::Jet;
use crate::joint::radiation::Radiation;
use crate::joint::series::{SeriesJoint, SeriesState};
use crate::joint::side::Side;
use crate::joint::wave::Face;
use crate::joint::wye::{WyeJoint, WyeState};
use crate::loss::Basis;

/// A loss with the words under which tables list it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NamedLoss {
    /// Part that it belongs to.
    pub part: String,
    /// What of the part it is: `filter`, `inlet`, `step`, ...
    pub what: String,
    /// Where its numbers come from.
    pub basis: Basis,
}

/// The physics of a joint.
#[derive(Debug)]
pub enum JointKind {
    /// Two sides with losses between them.
    Series(SeriesJoint),
    /// Three or more duct ends.
    Wye(WyeJoint),
}

/// A joint with its place in the network.
#[derive(Debug)]
pub struct NetworkJoint {
    /// Names of the parts on its sides, in the order of the sides or legs.
    pub parts: Vec<String>,
    /// The physics.
    pub kind: JointKind,
    /// Names of the losses of a series, in its order; the wye's own loss for a wye.
    pub losses: Vec<NamedLoss>,
    /// Origin tag of air that comes from a side which is neither duct nor volume.
    pub origins: [Option<usize>; 2],
    /// Number of the jet that this joint sends into a volume, and the side of that volume.
    pub jet: Option<(usize, usize)>,
    /// First unknown in `z`, or the inertance's number when the flow is a state.
    pub place: Place,
}

/// Where the flow of a joint is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// In `z`, from this index.
    Unknown(usize),
    /// In `y`, as this inertance.
    Inertance(usize),
}

/// State of a joint.
#[derive(Debug, Clone)]
pub enum JointState {
    /// Of a series.
    Series(SeriesState),
    /// Of a wye.
    Wye(WyeState),
}

impl NetworkJoint {
    /// Room for the state of this joint.
    #[must_use]
    pub fn state(&self) -> JointState {
        match &self.kind {
            JointKind::Series(joint) => JointState::Series(SeriesState::of(joint)),
            JointKind::Wye(joint) => JointState::Wye(WyeState::of(joint)),
        }
    }

    /// Number of unknowns in `z`.
    #[must_use]
    pub fn unknowns(&self) -> usize {
        match (&self.kind, self.place) {
            (_, Place::Inertance(_)) => 0,
            (JointKind::Series(_), Place::Unknown(_)) => 1,
            (JointKind::Wye(joint), Place::Unknown(_)) => joint.unknowns(),
        }
    }

    /// Writes the mismatches [Pa] of the joint's unknowns into `g`.
    pub fn mismatches(&self, state: &JointState, g: &mut [f64]) {
        let Place::Unknown(first) = self.place else { return };
        match state {
            JointState::Series(state) => g[first] = state.mismatch,
            JointState::Wye(state) => {
                for leg in 0..self.unknowns() {
                    g[first + leg] = state.mismatch(leg);
                }
            }
        }
    }

    /// How fast the losses brake the joint's inertance [1/s]; zero where the flow is not a state.
    #[must_use]
    pub fn drag_rate(&self, state: &JointState) -> f64 {
        match (&self.kind, state) {
            (JointKind::Series(SeriesJoint { inertance: Some(inertance), .. }), JointState::Series(state)) => {
                state.slope / inertance
            }
            _ => 0.0,
        }
    }

    /// How fast the air before the joint's radiating end changes [1/s]; zero where it has none.
    #[must_use]
    pub fn radiation_rate(&self) -> f64 {
        let JointKind::Series(series) = &self.kind else { return 0.0 };
        series.sides.iter().filter_map(Side::radiation).map(Radiation::fastest_rate).sum()
    }

    /// Name for messages: `box - left_tube`.
    #[must_use]
    pub fn name(&self) -> String {
        self.parts.join(" - ")
    }
}

impl JointState {
    /// Whether a side gives all that it can.
    #[must_use]
    pub fn choked(&self) -> bool {
        self.series().is_some_and(|state| state.choked)
    }

    /// The series state, where it is one.
    #[must_use]
    pub fn series(&self) -> Option<&SeriesState> {
        match self {
            Self::Series(state) => Some(state),
            Self::Wye(_) => None,
        }
    }
}

impl Network {
    /// Writes the state of joint `index` at the flows in `z`, or in `y` where they are states.
    pub(super) fn evaluate_joint(&self, index: usize, t: f64, y: &[f64], z: &[f64], work: &mut Work) {
        let joint = &self.joints[index];
        let view = self.view(t, y, &work.ends, &work.volumes, &work.jets);
        match (&joint.kind, &mut work.joints[index], joint.place) {
            (JointKind::Series(series), JointState::Series(state), Place::Unknown(first)) => {
                series.compare(&view, z[first], state);
            }
            (JointKind::Series(series), JointState::Series(state), Place::Inertance(place)) => {
                series.evaluate(&view, y[self.layout.inertance(place)], state);
            }
            (JointKind::Wye(wye), JointState::Wye(state), Place::Unknown(first)) => {
                wye.evaluate(&view, &z[first..first + wye.unknowns()], state);
            }
            _ => unreachable!("a joint keeps the kind of state that it was built with"),
        }
        self.note_jet(index, work);
    }

    /// Balances joint `index`.
    pub(super) fn balance_joint(
        &self,
        index: usize,
        t: f64,
        y: &[f64],
        z: &mut [f64],
        work: &mut Work,
    ) -> Result<(), f64> {
        let joint = &self.joints[index];
        let view = self.view(t, y, &work.ends, &work.volumes, &work.jets);
        match (&joint.kind, &mut work.joints[index], joint.place) {
            (JointKind::Series(series), JointState::Series(state), Place::Unknown(first)) => {
                z[first] = series.balance(&view, z[first], state)?;
            }
            (JointKind::Wye(wye), JointState::Wye(state), Place::Unknown(first)) => {
                wye.balance(&view, &mut z[first..first + wye.unknowns()], state)?;
            }
            _ => {
                return {
                    self.evaluate_joint(index, t, y, z, work);
                    Ok(())
                };
            }
        }
        self.note_jet(index, work);
        Ok(())
    }

    /// Notes the jet that joint `index` sends into a volume, for the outlets that it faces.
    fn note_jet(&self, index: usize, work: &mut Work) {
        let (Some((jet, side)), JointState::Series(state)) = (self.joints[index].jet, &work.joints[index]) else {
            return;
        };
        let inward = if side == 1 { state.mass_flow } else { -state.mass_flow };
        let last = state.total_pressures.len() - 1;
        work.jets[jet] = Jet {
            mass_flow: inward.max(0.0),
            total_pressure: state.total_pressures[if side == 1 { last } else { 0 }],
            total_temperature: state.total_temperature,
        };
    }

    /// Hands the fluxes of joint `index` to the cells and volumes on its sides.
    pub(super) fn apply_joint(&self, index: usize, y: &[f64], work: &mut Work, rates: &mut [f64]) {
        match &self.joints[index].kind {
            JointKind::Series(series) => self.apply_series(index, series, y, work, rates),
            JointKind::Wye(wye) => self.apply_wye(index, wye, work),
        }
    }

    fn apply_series(&self, index: usize, series: &SeriesJoint, y: &[f64], work: &mut Work, rates: &mut [f64]) {
        let JointState::Series(state) = &work.joints[index] else { return };
        let (flow, enthalpy) = (state.mass_flow, self.gas.heat_capacity * state.total_temperature);
        let (faces, mismatch) = (state.faces, state.mismatch);
        let mut all_shares = std::mem::take(&mut work.stream_shares);
        let shares = &mut all_shares[index * self.origins.len()..][..self.origins.len()];
        self.upstream_shares(index, series, flow, y, work, shares);
        for (side, face) in series.sides.iter().zip(faces).zip([flow, -flow]).map(|((s, f), m)| ((s, m), f)) {
            if let Some(radiation) = side.0.radiation() {
                let place = self.layout.radiation(radiation.index);
                let own = radiation.rates(&self.gas, &y[place..], -side.1);
                rates[place..place + own.len()].copy_from_slice(&own);
            }
            match side {
                (Side::Duct { end }, out) => {
                    if let Some(face) = face {
                        self.set_end(*end, &face, out, enthalpy, shares, work);
                    }
                }
                (Side::Volume { volume, .. }, out) => {
                    let start = self.layout.volume_start(*volume);
                    rates[start] -= out;
                    rates[start + 1] -= out * enthalpy;
                    for (rate, share) in rates[start + 2..].iter_mut().zip(shares.iter()) {
                        *rate -= out * share;
                    }
                }
                _ => {}
            }
        }
        work.stream_shares = all_shares;
        if let (Some(inertance), Place::Inertance(place)) = (series.inertance, self.joints[index].place) {
            rates[self.layout.inertance(place)] = mismatch / inertance;
        }
    }

    fn set_end(&self, end: usize, face: &Face, out: f64, enthalpy: f64, shares: &[f64], work: &mut Work) {
        let area = work.ends[end].area;
        let flux = EndFlux { mass: out, momentum: out * face.velocity + face.pressure * area, energy: out * enthalpy };
        self.arena.set_end_flux(&mut work.cells, DuctId(end / 2), end_of(end), &flux, shares);
    }

    /// Shares by origin of the stream through a series joint.
    fn upstream_shares(
        &self,
        index: usize,
        series: &SeriesJoint,
        flow: f64,
        y: &[f64],
        work: &Work,
        shares: &mut [f64],
    ) {
        let near = usize::from(flow < 0.0);
        shares.fill(0.0);
        match &series.sides[near] {
            Side::Duct { end } => self.add_end_shares(*end, 1.0, work, shares),
            Side::Volume { volume, faced, .. } => {
                let stored = self.layout.volume(y, *volume);
                for (share, mass) in shares.iter_mut().zip(&stored[2..]) {
                    *share = mass / stored[0];
                }
                for facing in faced {
                    let carried = facing.carried(&work.jets, flow.abs());
                    self.mix_jet(facing.jet, carried, work, shares);
                }
            }
            _ => {
                if let Some(origin) = self.joints[index].origins[near] {
                    shares[origin] = 1.0;
                }
            }
        }
    }

    /// Adds `weight` times the shares that a duct's end carries.
    fn add_end_shares(&self, end: usize, weight: f64, work: &Work, shares: &mut [f64]) {
        for (origin, share) in shares.iter_mut().enumerate() {
            *share += weight * self.arena.end_scalar(&work.cells, DuctId(end / 2), end_of(end), origin);
        }
    }

    /// Replaces the part `carried` of `shares` by those of the jet.
    fn mix_jet(&self, jet: usize, carried: f64, work: &Work, shares: &mut [f64]) {
        let Some((sender, side)) =
            self.joints.iter().find_map(|joint| joint.jet.filter(|found| found.0 == jet).map(|found| (joint, found.1)))
        else {
            return;
        };
        let JointKind::Series(series) = &sender.kind else { return };
        match (&series.sides[1 - side], sender.origins[1 - side]) {
            (Side::Duct { end }, _) => {
                for share in shares.iter_mut() {
                    *share *= 1.0 - carried;
                }
                self.add_end_shares(*end, carried, work, shares);
            }
            (_, Some(origin)) => {
                for share in shares.iter_mut() {
                    *share *= 1.0 - carried;
                }
                shares[origin] += carried;
            }
            _ => {}
        }
    }

    fn apply_wye(&self, index: usize, wye: &WyeJoint, work: &mut Work) {
        let mut all_shares = std::mem::take(&mut work.stream_shares);
        let shares = &mut all_shares[index * self.origins.len()..][..self.origins.len()];
        shares.fill(0.0);
        let JointState::Wye(state) = &work.joints[index] else { return };
        let supplied: f64 = state.mass_flows.iter().map(|flow| flow.max(0.0)).sum();
        for (end, flow) in wye.ends.iter().zip(&state.mass_flows) {
            if *flow > 0.0 {
                self.add_end_shares(*end, flow / supplied, work, shares);
            }
        }
        for leg in 0..wye.ends.len() {
            let JointState::Wye(state) = &work.joints[index] else { return };
            let (flow, face) = (state.mass_flows[leg], state.faces[leg]);
            let temperature = if flow >= 0.0 { face.total_temperature } else { state.mixed_temperature };
            self.set_end(wye.ends[leg], &face, flow, self.gas.heat_capacity * temperature, shares, work);
        }
        work.stream_shares = all_shares;
    }
}
