//! A junction of three or more duct ends.
//!
//! The unknowns are the flows of all legs but the last; the last carries what is left, so that mass is kept to the last bit. Each leg
//! has a total pressure and an offset from the junction's reference pressure, which the law of the junction gives for all flows
//! together ([`crate::loss::wye`]). Balance means that all legs agree on the reference pressure.

use super::wave::{Face, WaveCurve};
use super::{BALANCED, View};
use crate::loss::wye::Wye as WyeLaw;

/// Most legs of a wye, so that its workings need no heap.
pub const MOST_LEGS: usize = 8;
/// Evaluations that a balance may take before it starts again from the legs' impedances.
const RESTART_AFTER: usize = 40;
/// Evaluations that a balance may take in all.
const MOST_EVALUATIONS: usize = 400;
/// Mismatch, relative to the pressure, with which a balance that no longer improves is still accepted.
const ACCEPTED: f64 = 1e-11;

/// A wye: the duct ends that meet in it and the law of its losses.
#[derive(Debug)]
pub struct WyeJoint {
    /// Numbers of the duct ends in [`View::ends`].
    pub ends: Vec<usize>,
    /// Offsets of the legs.
    pub law: WyeLaw,
}

/// A wye at given flows.
#[derive(Debug, Clone, Default)]
pub struct WyeState {
    /// Mass flow of each leg [kg/s], positive into the wye.
    pub mass_flows: Vec<f64>,
    /// Face of each leg.
    pub faces: Vec<Face>,
    /// Total temperature of the mixed stream [K].
    pub mixed_temperature: f64,
    /// Reference pressure of each leg [Pa]; all equal when balanced.
    pub references: Vec<f64>,
    heads: Vec<f64>,
}

type Vector = [f64; MOST_LEGS];
type Matrix = [Vector; MOST_LEGS];

impl WyeState {
    /// Room for the state of `joint`.
    #[must_use]
    pub fn of(joint: &WyeJoint) -> Self {
        let legs = joint.ends.len();
        let rest = Face {
            pressure: 0.0,
            density: 0.0,
            velocity: 0.0,
            total_temperature: 0.0,
            total_pressure: 0.0,
            impedance: 0.0,
        };
        Self {
            mass_flows: vec![0.0; legs],
            faces: vec![rest; legs],
            mixed_temperature: 0.0,
            references: vec![0.0; legs],
            heads: vec![0.0; legs],
        }
    }

    /// How far leg `leg` is from agreeing with the last one on the reference pressure [Pa].
    #[must_use]
    pub fn mismatch(&self, leg: usize) -> f64 {
        self.references[leg] - self.references[self.references.len() - 1]
    }
}

impl WyeJoint {
    /// Number of unknown flows.
    #[must_use]
    pub fn unknowns(&self) -> usize {
        self.ends.len() - 1
    }

    /// Writes the state of the wye at the given `flows` [kg/s, into the wye] of all legs but the last.
    pub fn evaluate(&self, view: &View<'_>, flows: &[f64], state: &mut WyeState) {
        let last = self.ends.len() - 1;
        state.mass_flows[..last].copy_from_slice(&flows[..last]);
        state.mass_flows[last] = -flows[..last].iter().sum::<f64>();
        let (mut supplied, mut heat) = (0.0, 0.0);
        for leg in 0..=last {
            let flow = state.mass_flows[leg];
            if flow >= 0.0 {
                let face = self.curve(view, leg).outflow(flow);
                state.faces[leg] = face;
                supplied += flow;
                heat += flow * face.total_temperature;
            }
        }
        // With nothing supplied nothing is mixed: any leg's temperature serves.
        state.mixed_temperature = if supplied > 0.0 { heat / supplied } else { state.faces[last].total_temperature };
        for leg in 0..=last {
            let flow = state.mass_flows[leg];
            if flow < 0.0 {
                state.faces[leg] = self.curve(view, leg).inflow(-flow, state.mixed_temperature);
            }
            state.heads[leg] = state.faces[leg].total_pressure - state.faces[leg].pressure;
        }
        for leg in 0..=last {
            let offset = self.law.offset(leg, &state.mass_flows, &state.heads);
            let curve = self.curve(view, leg);
            // Above its capacity a leg's supply falls steeply, which holds the balance at the sonic flow.
            let over = (state.mass_flows[leg] - curve.capacity()).max(0.0);
            state.references[leg] = state.faces[leg].total_pressure - offset - 100.0 * curve.impedance() * over;
        }
    }

    fn curve<'a>(&self, view: &View<'a>, leg: usize) -> WaveCurve<'a> {
        WaveCurve::new(view.gas, view.ends[self.ends[leg]])
    }

    /// Finds the flows that balance the wye, starting from those in `flows`, by Broyden's method from the legs' impedances.
    ///
    /// # Errors
    /// The remaining mismatch [Pa] when no flows balance it.
    pub fn balance(&self, view: &View<'_>, flows: &mut [f64], state: &mut WyeState) -> Result<(), f64> {
        let unknowns = self.unknowns();
        self.evaluate(view, flows, state);
        let scale = state.references.iter().fold(0.0, |most: f64, p| most.max(p.abs()));
        let mut inverse = self.impedance_inverse(view);
        let mut mismatch = mismatches(state);
        let mut size = largest(&mismatch, unknowns);
        for evaluation in 1..MOST_EVALUATIONS {
            if size <= BALANCED * scale {
                return Ok(());
            }
            if evaluation % RESTART_AFTER == 0 {
                if size <= ACCEPTED * scale {
                    return Ok(());
                }
                inverse = self.impedance_inverse(view);
            }
            // After a restart the full step has failed already: go gently.
            let share = if evaluation < RESTART_AFTER { 1.0 } else { 0.4 };
            let mut step = [0.0; MOST_LEGS];
            for row in 0..unknowns {
                step[row] = -share * (0..unknowns).map(|k| inverse[row][k] * mismatch[k]).sum::<f64>();
                flows[row] += step[row];
            }
            self.evaluate(view, flows, state);
            let new = mismatches(state);
            update_inverse(&mut inverse, &step, &mismatch, &new, unknowns);
            mismatch = new;
            size = largest(&mismatch, unknowns);
            let moved = largest(&step, unknowns);
            let carried = state.mass_flows.iter().fold(0.0, |most: f64, m| most.max(m.abs()));
            if moved <= f64::EPSILON * carried && size <= ACCEPTED * scale {
                return Ok(());
            }
        }
        Err(size)
    }

    /// Inverse of the acoustic Jacobian, `-(diag(Z) + Z_last)`, by the Sherman-Morrison formula.
    fn impedance_inverse(&self, view: &View<'_>) -> Matrix {
        let unknowns = self.unknowns();
        let last = self.curve(view, unknowns).impedance();
        let mut admittance = [0.0; MOST_LEGS];
        for (leg, value) in admittance.iter_mut().enumerate().take(unknowns) {
            *value = 1.0 / self.curve(view, leg).impedance();
        }
        let sum: f64 = admittance.iter().sum();
        let mut inverse = [[0.0; MOST_LEGS]; MOST_LEGS];
        for row in 0..unknowns {
            for column in 0..unknowns {
                let shared = admittance[row] * admittance[column] * last / (1.0 + last * sum);
                let own = if row == column { admittance[row] } else { 0.0 };
                inverse[row][column] = shared - own;
            }
        }
        inverse
    }
}

fn mismatches(state: &WyeState) -> Vector {
    let mut mismatch = [0.0; MOST_LEGS];
    for (leg, value) in mismatch.iter_mut().enumerate().take(state.references.len() - 1) {
        *value = state.mismatch(leg);
    }
    mismatch
}

fn largest(vector: &Vector, length: usize) -> f64 {
    vector[..length].iter().fold(0.0, |most: f64, value| most.max(value.abs()))
}

/// Broyden's good update of an inverse Jacobian. Dennis and Schnabel, Numerical Methods for Unconstrained Optimization, 1983, ch. 8.
fn update_inverse(inverse: &mut Matrix, step: &Vector, before: &Vector, after: &Vector, unknowns: usize) {
    let mut mapped = [0.0; MOST_LEGS];
    let mut projected = [0.0; MOST_LEGS];
    for row in 0..unknowns {
        for column in 0..unknowns {
            mapped[row] += inverse[row][column] * (after[column] - before[column]);
            projected[column] += step[row] * inverse[row][column];
        }
    }
    let denominator: f64 = (0..unknowns).map(|k| step[k] * mapped[k]).sum();
    if denominator.abs() < f64::MIN_POSITIVE {
        return;
    }
    for row in 0..unknowns {
        for column in 0..unknowns {
            inverse[row][column] += (step[row] - mapped[row]) * projected[column] / denominator;
        }
    }
}
