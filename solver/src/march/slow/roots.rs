//! The root causes of warmth: what warms the air of itself, not by having been warmed.

use super::transport::Brought;
use crate::flow::DuctId;
use crate::joint::side::Side;
use crate::loss::ram::Source;
use crate::network::thermal::{Air, Surface};
use crate::network::{JointKind, Network, OUTSIDE};

/// Root of the warmth that the air has from its own speed against the car.
pub(super) const RAM: &str = "ram";
/// Root of the warmth that a fan's air has over the outside's.
pub(super) const FAN: &str = "fan";
/// Root of the warmth that was there at the start.
pub(super) const INITIAL: &str = "initial state";
/// Root of the work of pressure that rises or falls.
pub(super) const PRESSURE: &str = "pressure work";
/// Root of what no other explains: steps of time and cells.
pub(super) const REST: &str = "numerical";

/// Names of the root causes of warmth in these networks, phases of one run, in the order in which a march lists them.
#[must_use]
pub fn roots<'a>(networks: impl IntoIterator<Item = &'a Network>) -> Vec<String> {
    let mut roots = vec![RAM.to_owned()];
    for network in networks {
        add_roots(network, &mut roots);
    }
    roots.extend([INITIAL, PRESSURE, REST].map(str::to_owned));
    roots
}

fn add_roots(network: &Network, roots: &mut Vec<String>) {
    let mut add = |name: String| {
        if !roots.contains(&name) {
            roots.push(name);
        }
    };
    for (joint, found) in network.joints.iter().enumerate() {
        let JointKind::Series(series) = &found.kind else { continue };
        for side in 0..2 {
            if let Some(root) = root_of_side(network, joint, side, &series.sides[side]) {
                add(root);
            }
        }
    }
    for node in network.thermal.nodes.iter().filter(|node| node.is_source) {
        add(node.part.clone());
    }
    for film in &network.thermal.films {
        match (film.surface, film.air) {
            (Surface::Given { .. }, _) => add(film.part.clone()),
            (_, Air::Given { .. }) if film.beyond != OUTSIDE => add(film.beyond.clone()),
            _ => {}
        }
    }
    for radiating in &network.thermal.radiating {
        add(radiating.bay.clone());
    }
    for (duct, name) in network.ducts.iter().enumerate() {
        if network.thermal.ducts[duct].is_none() && network.arena.gives_heat(DuctId(duct)) {
            add(format!("{name} wall"));
        }
    }
    for volume in network.volumes.iter().filter(|volume| volume.wall.is_some()) {
        add(format!("{} wall", volume.name));
    }
}

/// Root of what comes in by a side.
fn root_of_side(network: &Network, joint: usize, side: usize, kind: &Side) -> Option<String> {
    let part = || network.joints[joint].parts[side].clone();
    match kind {
        Side::Mouth { air, .. } => Some(match air.source() {
            Source::Road => RAM.to_owned(),
            Source::Fan => FAN.to_owned(),
            Source::Bay(_) => part(),
        }),
        Side::Still { .. } if network.joints[joint].parts[side] == OUTSIDE => None,
        Side::Still { .. } | Side::Inflow { .. } | Side::Draw { .. } => Some(part()),
        Side::Duct { .. } | Side::Volume { .. } | Side::Wall => None,
    }
}

/// Root and warmth [K] of a stream from beyond the network.
pub(super) fn beyond(network: &Network, y: &[f64], brought: &Brought) -> Option<(String, f64)> {
    let JointKind::Series(series) = &network.joints[brought.joint].kind else { return None };
    let side = &series.sides[brought.side];
    let root = root_of_side(network, brought.joint, brought.side, side)?;
    let warmth = side.given_temperature(&network.gas, network.road_speed(y))? - network.outside.temperature;
    Some((root, warmth))
}
