//! The mouth of a scoop swept through all its regimes: out, rest, spill, matched, beyond.

use crate::case_text::{CaseText, smooth_duct};
use crate::check::{Failure, Findings, Limit, Row};
use crate::checks::ram::BORE;
use crate::figure::Figure;
use crate::marched::Tract;
use crate::oracle::perfect_gas::PerfectGas;
use std::f64::consts::PI;
use tractwright::network::{JointKind, JointState, Network, Place, Work};

const GAS: PerfectGas = PerfectGas::AIR;
/// Pressure [Pa] and temperature [K] outside and, at rest, in the duct.
const AIR: (f64, f64) = (1e5, 300.0);
/// Largest mass flow of a sweep [kg/s], above the matched one at the highest speed.
const LARGEST: f64 = 0.3;
/// Road speeds [m/s].
const SPEEDS: [f64; 5] = [0.0, 5.0, 20.0, 50.0, 80.0];

/// The joint between a scoop and a duct whose air is at rest.
struct Mouth<'a> {
    network: &'a Network,
    joint: usize,
    y: Vec<f64>,
    z: Vec<f64>,
    work: Work,
}

impl<'a> Mouth<'a> {
    fn new(tract: &'a Tract) -> Result<Self, Failure> {
        let network = tract.network();
        let joint = network.joints.iter().position(|joint| joint.parts.iter().any(|part| part == "scoop"));
        let joint = joint.ok_or_else(|| Failure::Missing("joint of the scoop".to_owned()))?;
        let start = tract.at_start().march;
        Ok(Self { network, joint, y: start.y, z: start.z, work: start.work })
    }

    /// Total pressure [Pa] in the mouth at a mass flow [kg/s], positive into the duct.
    fn total_pressure(&mut self, flow: f64) -> Result<f64, Failure> {
        let joint = &self.network.joints[self.joint];
        let (Place::Unknown(place), JointKind::Series(series)) = (joint.place, &joint.kind) else {
            return Err(Failure::Missing("unknown flow of the scoop".to_owned()));
        };
        self.z[place] = flow;
        let (mut rates, mut g) = (vec![0.0; self.y.len()], vec![0.0; self.z.len()]);
        self.network
            .residual(0.0, &self.y, &self.z, &mut self.work, &mut rates, &mut g)
            .map_err(|fault| Failure::Missing(format!("state of `{}`", fault.part)))?;
        match &self.work.joints[self.joint] {
            // Without a loss between them, the duct's own pressure stands there when air comes out, and the mouth's is what is lacking.
            JointState::Series(state) if flow < 0.0 && series.losses.is_empty() => {
                Ok(state.total_pressures[0] + state.mismatch)
            }
            JointState::Series(state) => Ok(state.total_pressures[0]),
            JointState::Wye(_) => Err(Failure::Missing("series joint of the scoop".to_owned())),
        }
    }

    /// Total pressures over mass flow, from the largest outward to the largest inward in steps of the half over `points`.
    fn sweep(&mut self, points: i32) -> Result<Vec<(f64, f64)>, Failure> {
        let flow = |point: i32| LARGEST * f64::from(point) / f64::from(points);
        (-points..=points).map(|point| Ok((flow(point), self.total_pressure(flow(point))?))).collect()
    }
}

fn largest_step(points: &[(f64, f64)]) -> f64 {
    points.windows(2).map(|pair| (pair[1].1 - pair[0].1).abs()).fold(0.0, f64::max)
}

/// Rows of a sweep on two grids: steps that halve with the flow's, and no more than stagnation pressure for air that comes in.
fn regime_rows(name: &str, coarse: &[(f64, f64)], fine: &[(f64, f64)], stagnation: f64) -> Vec<Row> {
    const JUMP: Limit = Limit { value: 0.05, why: "a kink bends the steps a little; a jump keeps its size, 1.0" };
    const GAIN: Limit = Limit { value: 1e-6, why: "round-off, in pascals" };
    let kept = largest_step(fine) / largest_step(coarse);
    let inward = fine.iter().filter(|point| point.0 >= 0.0).map(|point| point.1);
    let highest = inward.fold(f64::NEG_INFINITY, |most: f64, now| if now > most || now.is_nan() { now } else { most });
    vec![
        Row::absolute(format!("{name}: largest step on the fine grid over the coarse"), kept, 0.5, JUMP),
        Row::at_least(format!("{name}: stagnation less the most that comes in [Pa]"), stagnation - highest, 0.0, GAIN),
    ]
}

/// A scoop at five speeds.
///
/// # Errors
/// The solver refused.
pub fn regimes() -> Result<Findings, Failure> {
    const FORM: &str = "form: flush_diverging_ramp, lip_radius: 3 mm, pressure_coefficient: 0.2";
    let mut findings = Findings::default();
    let mut figure = Figure::new("Scoop through its regimes", "mass flow into the scoop [kg/s]", "p0 - p outside [Pa]");
    for speed in SPEEDS {
        let text = CaseText::new(AIR.0, AIR.1)
            .speed(speed)
            .part("scoop", format!("kind: scoop, area: {} m2, {FORM}", 0.25 * PI * BORE * BORE))
            .part("pipe", smooth_duct(0.1, BORE))
            .part("cap", "kind: wall")
            .line(&["scoop", "pipe", "cap"])
            .run("until: 1 ms")
            .text();
        let tract = Tract::read(&text)?;
        let mut mouth = Mouth::new(&tract)?;
        let (coarse, fine) = (mouth.sweep(200)?, mouth.sweep(400)?);
        let stagnation = AIR.0 / GAS.pressure_ratio(speed / GAS.sound_speed(AIR.1));
        findings.rows.extend(regime_rows(&format!("{speed} m/s"), &coarse, &fine, stagnation));
        figure = figure.computed(format!("{speed} m/s"), fine.iter().map(|&(flow, total)| (flow, total - AIR.0)));
    }
    Ok(findings.with(figure))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sampled(points: i32, law: impl Fn(f64) -> f64) -> Vec<(f64, f64)> {
        let flow = |point: i32| 0.3 * f64::from(point) / f64::from(points);
        (-points..=points).map(|point| (flow(point), law(flow(point)))).collect()
    }

    #[test]
    fn a_jump_and_a_gain_are_seen() {
        let judged = |law: fn(f64) -> f64| -> Vec<bool> {
            regime_rows("", &sampled(200, law), &sampled(400, law), 1e5).iter().map(Row::holds).collect()
        };
        assert_eq!(judged(|flow| 1e5 - 1e4 * flow * flow.abs()), [true, true]);
        assert_eq!(judged(|flow| if flow > 0.1 { 9e4 } else { 1e5 }), [false, true]);
        assert_eq!(judged(|flow| 1e5 + 1e3 * flow), [true, false]);
        assert_eq!(judged(|flow| if flow > 0.2 { f64::NAN } else { 1e5 - flow }), [true, false]);
    }
}
