//! Laws swept through zero and through all patterns of flow: no jump, no gain of energy.

use crate::check::{Limit, Measure, Row};
use std::f64::consts::PI;

/// Points of a sweep.
const POINTS: u32 = 3600;

/// Three flows that sum to nothing, at an angle [rad] around the circle of all patterns. A full turn meets each of the six patterns:
/// one leg or two legs in, with each leg the odd one.
#[must_use]
pub fn three_flows(angle: f64) -> [f64; 3] {
    let third = 2.0 * PI / 3.0;
    [0.0, third, 2.0 * third].map(|shift| libm::cos(angle + shift))
}

/// What a wye does at one set of flows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WyeAnswer {
    /// Total pressure [Pa] of each leg over that of a common datum.
    pub offsets: [f64; 3],
    /// Total pressure lost, weighted with the flow into the wye: what the wye turns into heat, over density [Pa kg/s].
    pub dissipation: f64,
}

impl WyeAnswer {
    /// The answer that has these total pressures at flows into the wye [kg/s].
    #[must_use]
    pub fn new(flows: [f64; 3], offsets: [f64; 3]) -> Self {
        Self { offsets, dissipation: flows.iter().zip(&offsets).map(|(flow, offset)| flow * offset).sum() }
    }
}

/// Rows of a wye whose `law` gives the total pressures of the legs from the flows into it; `scale` [Pa] is the velocity head of the
/// largest flow.
#[must_use]
pub fn wye_rows(law: impl Fn([f64; 3]) -> [f64; 3], largest_flow: f64, scale: f64) -> Vec<Row> {
    const GAIN: Limit = Limit { value: 1e-9, why: "round-off; the second law allows none" };
    let step = 2.0 * PI / f64::from(POINTS);
    // A law without a jump moves by at most its slope times the step; 30 heads a radian is far above any published slope.
    let jump = Limit { value: 30.0 * step, why: "thirty heads a radian, some ten times the steepest published slope" };
    let answers: Vec<WyeAnswer> = (0..=POINTS)
        .map(|index| three_flows(f64::from(index) * step).map(|flow| largest_flow * flow))
        .map(|flows| WyeAnswer::new(flows, law(flows)))
        .collect();
    let least = answers.iter().map(|answer| answer.dissipation).fold(f64::INFINITY, f64::min);
    let moved = answers.windows(2).flat_map(|pair| {
        // Offsets share a datum, so differences between legs are what counts.
        (0..3).map(move |leg| {
            let between = |answer: &WyeAnswer| answer.offsets[leg] - answer.offsets[(leg + 1) % 3];
            ((between(&pair[1]) - between(&pair[0])).abs() / scale, 0.0)
        })
    });
    vec![
        Row::worst_by(Measure::Absolute, "step between neighbours, over the head", moved, jump),
        Row::at_least("least dissipation, over head and flow", least / (scale * largest_flow), 0.0, GAIN),
    ]
}

/// Mass flows [kg/s] from -1e-12 to 1e-12, with zero among them.
#[must_use]
pub fn flows_through_zero() -> [f64; 9] {
    [-1e-12, -1e-13, -1e-15, -1e-300, 0.0, 1e-300, 1e-15, 1e-13, 1e-12]
}

/// Rows of a law of pressure drop [Pa] over mass flow [kg/s] around zero flow: finite, nothing at rest, falling nowhere.
#[must_use]
pub fn zero_flow_rows(kind: &str, drop: impl Fn(f64) -> f64) -> Vec<Row> {
    const NOTHING: Limit = Limit { value: 1e-6, why: "a drop at 1e-12 kg/s cannot be told from rest" };
    const FALL: Limit = Limit { value: 1e-9, why: "round-off of a difference of total pressures" };
    let drops = flows_through_zero().map(drop);
    let largest =
        drops.iter().fold(
            0.0,
            |largest: f64, drop| {
                if drop.is_nan() || largest.is_nan() { f64::NAN } else { largest.max(drop.abs()) }
            },
        );
    let least_rise = drops.windows(2).map(|pair| pair[1] - pair[0]).fold(f64::INFINITY, f64::min);
    vec![
        Row::vanishing(format!("{kind}: largest drop around zero flow [Pa]"), largest, NOTHING),
        Row::at_least(format!("{kind}: least rise from flow to flow [Pa]"), least_rise, 0.0, FALL),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A wye that loses the velocity head of each leg, wherever it flows.
    fn lossy(flows: [f64; 3]) -> [f64; 3] {
        flows.map(|flow| 100.0 * flow * flow.abs())
    }

    #[test]
    fn all_six_patterns_are_met() {
        let signs: std::collections::BTreeSet<[bool; 3]> = (0..POINTS)
            .map(|index| three_flows(2.0 * PI * (f64::from(index) + 0.5) / f64::from(POINTS)).map(|flow| flow > 0.0))
            .collect();
        assert_eq!(signs.len(), 6);
    }

    #[test]
    fn a_smooth_wye_holds_and_one_that_jumps_or_gains_does_not() {
        assert!(wye_rows(lossy, 1.0, 100.0).iter().all(Row::holds));
        let jumps =
            |flows: [f64; 3]| lossy(flows).map(|offset| if flows[0] > 0.5 { offset + 50.0 * flows[0] } else { offset });
        assert!(wye_rows(jumps, 1.0, 100.0).iter().all(Row::holds), "a common shift is no jump");
        let torn = |flows: [f64; 3]| {
            let [first, second, third] = lossy(flows);
            [if flows[0] > 0.5 { first + 50.0 } else { first }, second, third]
        };
        assert!(!wye_rows(torn, 1.0, 100.0)[0].holds());
        let gains = |flows: [f64; 3]| lossy(flows).map(|offset| -offset);
        assert!(!wye_rows(gains, 1.0, 100.0)[1].holds());
    }

    #[test]
    fn a_law_without_end_at_rest_is_seen() {
        assert!(zero_flow_rows("good", |flow| 1e3 * flow).iter().all(Row::holds));
        assert!(!zero_flow_rows("division", |flow| flow / flow)[0].holds());
        assert!(!zero_flow_rows("step", |flow| f64::copysign(1.0, flow))[0].holds());
        assert!(!zero_flow_rows("falls", |flow| -1e4 * flow)[1].holds());
    }
}
