//! Every kind of joint around zero flow: finite, falling nowhere, with a slope and without a jump.

use crate::case_text::{CaseText, smooth_duct};
use crate::check::{Check, Failure, Group, Limit, Row, rows_only};
use crate::marched::Tract;
use tractwright::joint::side::Side;
use tractwright::network::{JointKind, JointState, Network, Place, Work};
use tractwright::part::Demand;

/// Checks around zero flow.
pub const GROUP: Group = Group {
    name: "zero_flow",
    about: "all joints of a tract with every kind of part in it, swept through zero flow",
    checks: &[
        Check {
            name: "tiny_flows",
            about: "from -1e-12 to 1e-12 kg/s",
            source: SOURCE,
            run: || rows_only(each_unknown(|name, drop| tiny_rows(name, drop))),
        },
        Check {
            name: "small_flows",
            about: "from -1 to 1 g/s, on two grids",
            source: SOURCE,
            run: || rows_only(each_unknown(|name, drop| small_rows(name, drop))),
        },
    ],
};

const SOURCE: &str = "a passage that loses pressure loses more at more flow (second law) and nothing at rest";

/// A tract with every kind of part, on a car that moves, all air at one pressure.
#[must_use]
pub fn every_kind() -> String {
    CaseText::new(1e5, 300.0)
        .speed(50.0)
        .part("nose", "kind: scoop, area: 60 cm2, recovery: 0.8, lip_radius: 3 mm, pressure_coefficient: -0.2")
        .part(
            "snout",
            "kind: duct, length: 200 mm, sections: [{at: 0 mm, diameter: 85 mm}, {at: 200 mm, diameter: 60 mm}]",
        )
        .part("bay", "kind: bay, temperature: 70 degC, pressure_coefficient: 0.1")
        .part("seam", "kind: gap, width: 1 mm, length: 300 mm")
        .part("front", "kind: plenum, volume: 8 L")
        .part("door", "kind: orifice_plate, diameter: 50 mm")
        .part("rear", "kind: plenum, volume: 2 L")
        .part("side", "kind: mouth, area: 50 cm2, lip_radius: 1 mm")
        .part("element", FILTER)
        .part("trunk", "kind: duct, length: 150 mm, diameter: 70 mm, inlet: {shape: flared, radius: 10 mm}")
        .part("y", "kind: wye, legs: {trunk: 0 deg, left: 40 deg, right: -40 deg}")
        .part("left", smooth_duct(0.12, 0.06))
        .part("corner", "kind: elbow, angle: 90 deg, radius: 60 mm")
        .part("left_middle", smooth_duct(0.1, 0.06))
        .part("plate", "kind: orifice_plate, diameter: 40 mm")
        .part("left_end", smooth_duct(0.1, 0.06))
        .part("right", smooth_duct(0.14, 0.06))
        .part("mesh", "kind: screen, pattern: wire_mesh, open_area: 60 %")
        .part("right_middle", smooth_duct(0.1, 0.06))
        .part("widening", "kind: step")
        .part("right_end", "kind: duct, length: 90 mm, diameter: 75 mm, wall: {temperature: 90 degC}")
        .part("left_turbo", "kind: draw, flow: 80 g/s")
        .part("right_turbo", "kind: draw, corrected_flow: 200 g/s")
        .part("breather", "kind: inflow, flow: 4 g/s, temperature: 80 degC")
        .part("hose", smooth_duct(0.15, 0.06))
        .part("bench", "kind: draw, depression: 0 Pa")
        .part("blind", smooth_duct(0.1, 0.06))
        .part("cap", "kind: wall")
        .part("engine_bay", "kind: bay, volume: 200 L")
        .part("hole", "kind: mouth, from: engine_bay, area: 25 cm2, lip_radius: 2 mm")
        .part("breath", smooth_duct(0.12, 0.05))
        .part("radiator", "kind: radiator, fan_flow: 100 g/s, core: 360 K")
        .part("floor", "kind: vent, area: 300 cm2, tall: 200 mm")
        .part(
            "turbine",
            "kind: hot_part, in: engine_bay, area: 800 cm2, mass: 8 kg, material: cast iron, temperature: 800 K",
        )
        .part("sheet", "kind: shield, in: engine_bay, area: 300 cm2, material: aluminium, thickness: 1 mm")
        .line(&["nose", "snout", "front"])
        .line(&["bay", "seam", "front"])
        .line(&["front", "door", "rear"])
        .line(&["side", "rear"])
        .line(&["rear", "element", "trunk", "y.trunk"])
        .line(&["y.left", "left", "corner", "left_middle", "plate", "left_end", "left_turbo"])
        .line(&["y.right", "right", "mesh", "right_middle", "widening", "right_end", "right_turbo"])
        .line(&["breather", "rear"])
        .line(&["front", "hose", "bench"])
        .line(&["front", "blind", "cap"])
        .line(&["hole", "breath", "front"])
        .line(&["radiator", "engine_bay"])
        .line(&["outside", "floor", "engine_bay"])
        .run("march: acoustic, until: 1 ms")
        .text()
}

const FILTER: &str = "kind: filter, media_area: 0.2 m2, \
                      curve: {flow: 60 120 180 g/s, drop: 90 205 345 Pa, at: [20 degC, 101.3 kPa]}";

/// Rows of every unknown flow of the tract, of which for each quantity only the worst is kept. `rows` is given the names of the parts
/// that meet and the pressure that the joint lacks at a flow [kg/s] more than at none [Pa].
///
/// A corrected flow cannot turn round: below zero its sweep stands still.
fn each_unknown(rows: impl Fn(&str, &mut dyn FnMut(f64) -> f64) -> Vec<Row>) -> Result<Vec<Row>, Failure> {
    let tract = Tract::read(&every_kind())?;
    let mut worst: Vec<Row> = Vec::new();
    for mut sweep in Sweep::all(&tract) {
        let at_rest = sweep.mismatch(0.0)?;
        let name = sweep.name();
        let least = if sweep.only_forward() { 0.0 } else { f64::NEG_INFINITY };
        let mut lacking = |flow: f64| at_rest - sweep.mismatch(flow.max(least)).unwrap_or(f64::NAN);
        let found = rows(&name, &mut lacking);
        if worst.is_empty() {
            worst = found;
            continue;
        }
        for (kept, new) in worst.iter_mut().zip(found) {
            if worse(new.error(), kept.error()) {
                *kept = new;
            }
        }
    }
    Ok(worst)
}

/// One unknown flow of a network that is otherwise at rest.
struct Sweep<'a> {
    network: &'a Network,
    joint: usize,
    leg: usize,
    y: Vec<f64>,
    z: Vec<f64>,
    work: Work,
}

impl<'a> Sweep<'a> {
    fn all(tract: &'a Tract) -> Vec<Self> {
        let network = tract.network();
        let legs = |joint: usize| network.joints[joint].unknowns().max(1);
        (0..network.joints.len())
            .filter(|joint| !is_forced(network, *joint))
            .flat_map(|joint| (0..legs(joint)).map(move |leg| (joint, leg)))
            .map(|(joint, leg)| {
                let start = tract.at_start().march;
                Self { network, joint, leg, y: start.y, z: start.z, work: start.work }
            })
            .collect()
    }

    fn only_forward(&self) -> bool {
        let corrected = |side: &Side| matches!(side, Side::Draw { demand: Demand::CorrectedFlow { .. }, .. });
        matches!(&self.network.joints[self.joint].kind, JointKind::Series(series) if corrected(&series.sides[1]))
    }

    fn name(&self) -> String {
        match &self.work.joints[self.joint] {
            JointState::Series(_) => self.network.joints[self.joint].name(),
            JointState::Wye(_) => format!("leg {} of {}", self.leg + 1, self.network.joints[self.joint].name()),
        }
    }

    /// What the joint has to spare at a flow [kg/s], in pascals.
    fn mismatch(&mut self, flow: f64) -> Result<f64, Failure> {
        match self.network.joints[self.joint].place {
            Place::Unknown(first) => self.z[first + self.leg] = flow,
            Place::Inertance(place) => self.y[self.network.layout.inertance(place)] = flow,
        }
        let (mut rates, mut g) = (vec![0.0; self.y.len()], vec![0.0; self.z.len()]);
        self.network
            .residual(0.0, &self.y, &self.z, &mut self.work, &mut rates, &mut g)
            .map_err(|fault| Failure::Missing(format!("state of `{}`", fault.part)))?;
        Ok(match &self.work.joints[self.joint] {
            JointState::Series(state) => state.mismatch,
            JointState::Wye(state) => state.mismatch(self.leg),
        })
    }
}

/// Whether the flow of a joint is given from outside: that of a wall, an inflow, a draw of a given mass flow.
fn is_forced(network: &Network, joint: usize) -> bool {
    let given =
        |side: &Side| matches!(side, Side::Wall | Side::Inflow { .. } | Side::Draw { demand: Demand::Flow(_), .. });
    matches!(&network.joints[joint].kind, JointKind::Series(series) if series.sides.iter().any(given))
}

/// Mass flows [kg/s] from -1e-12 to 1e-12, with zero among them.
const TINY: [f64; 9] = [-1e-12, -1e-13, -1e-15, -1e-300, 0.0, 1e-300, 1e-15, 1e-13, 1e-12];

/// Rows of a drop [Pa] over mass flow [kg/s] close to zero flow: finite, nothing at rest, falling nowhere, with a slope.
pub fn tiny_rows(name: &str, drop: &mut dyn FnMut(f64) -> f64) -> Vec<Row> {
    const NOTHING: Limit = Limit { value: 1e-6, why: "a flow of 1e-12 kg/s cannot be told from rest" };
    const FALL: Limit = Limit { value: 1e-9, why: "round-off of a difference of total pressures" };
    const SLOPE: Limit = Limit { value: 1e8, why: "a hundred times the wave resistance of the narrowest duct" };
    let drops = TINY.map(&mut *drop);
    let largest = drops.iter().fold(0.0, |most: f64, drop| if worse(drop.abs(), most) { drop.abs() } else { most });
    let slope = (drop(1e-9) - drop(-1e-9)) / 2e-9;
    vec![
        Row::vanishing(format!("largest drop [Pa], {name}"), largest, NOTHING),
        Row::at_least(format!("least rise from flow to flow [Pa], {name}"), least_rise(&drops), 0.0, FALL),
        Row::vanishing(format!("slope at rest [Pa s/kg], {name}"), slope, SLOPE),
    ]
}

/// Rows of a drop [Pa] from -1 to 1 g/s: it falls nowhere, and its steps halve with those of the flow, which those of a jump would not.
pub fn small_rows(name: &str, drop: &mut dyn FnMut(f64) -> f64) -> Vec<Row> {
    const FALL: Limit = Limit { value: 1e-9, why: "round-off of a difference of total pressures" };
    const JUMP: Limit = Limit { value: 0.05, why: "a kink bends the steps a little; a jump keeps its size, 1.0" };
    let mut sweep = |points: i32| -> Vec<f64> {
        (-points..=points).map(|point| drop(1e-3 * f64::from(point) / f64::from(points))).collect()
    };
    let (coarse, fine) = (sweep(100), sweep(200));
    let largest = |drops: &[f64]| drops.windows(2).map(|pair| (pair[1] - pair[0]).abs()).fold(0.0, f64::max);
    let kept = largest(&fine) / largest(&coarse);
    vec![
        Row::at_least(format!("least rise from flow to flow [Pa], {name}"), least_rise(&fine), 0.0, FALL),
        Row::absolute(format!("largest step on the fine grid over the coarse, {name}"), kept, 0.5, JUMP),
    ]
}

/// Least rise from one value to the next; not a number if one of them is not.
fn least_rise(values: &[f64]) -> f64 {
    let rises = values.windows(2).map(|pair| pair[1] - pair[0]);
    rises.fold(f64::INFINITY, |least, rise| if worse(-rise, -least) { rise } else { least })
}

/// Whether a value exceeds the `most` so far, where nothing exceeds what is not a number.
fn worse(value: f64, most: f64) -> bool {
    value.is_nan() || value > most
}

#[cfg(test)]
mod tests {
    use super::*;

    fn holds(rows: &[Row]) -> Vec<bool> {
        rows.iter().map(Row::holds).collect()
    }

    #[test]
    fn every_kind_of_part_is_in_the_tract() {
        let text = every_kind();
        for kind in tractwright::part::KINDS {
            assert!(text.contains(&format!("kind: {}", kind.name)), "{}", kind.name);
        }
    }

    #[test]
    fn a_law_without_end_at_rest_is_seen() {
        assert_eq!(holds(&tiny_rows("good", &mut |flow| 1e3 * flow)), [true, true, true]);
        assert!(!tiny_rows("division", &mut |flow| flow / flow)[0].holds());
        assert!(!tiny_rows("step", &mut |flow| f64::copysign(1.0, flow))[0].holds());
        assert!(!tiny_rows("falls", &mut |flow| -1e4 * flow)[1].holds());
    }

    #[test]
    fn a_jump_is_seen() {
        assert_eq!(holds(&small_rows("good", &mut |flow| 1e3 * flow + 1e5 * flow * flow.abs())), [true, true]);
        assert!(!small_rows("jumps", &mut |flow| if flow > 3.3e-4 { flow + 1e-3 } else { flow })[1].holds());
        assert!(!small_rows("falls", &mut |flow| -flow)[0].holds());
        assert!(!small_rows("gap", &mut |flow| if flow.abs() < 1e-5 { f64::NAN } else { flow })[0].holds());
    }
}
