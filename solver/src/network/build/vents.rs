//! Vents: where they stand, and how warm and cold air pass each other in a tall one.

use super::{Body, Builder, Link};
use crate::joint::side::Side;
use crate::loss::Loss;
use crate::loss::orifice::Orifice;
use crate::network::blueprint::OUTSIDE;
use crate::part::Vent;

/// Distance of the middles of the two halves of a tall opening from its own, over its height. With no net flow the halves then exchange
/// `Cd A / 3 sqrt(g H drho / rho)`, the integral over the true profile of speed (Brown and Solvason 1962, Int. J. Heat Mass Transfer 5, 859).
const HALVES: f64 = 2.0 / 9.0;
/// Depth of a vent along the flow [m], for the inertia of the air in it. Common practice, no source.
const DEPTH: f64 = 2e-3;

/// The law of a vent, with `area` [m^2] of it.
pub(super) fn opening(vent: &Vent, area: f64) -> Box<dyn Loss> {
    Box::new(Orifice::opening(area, vent.discharge_coefficient, DEPTH))
}

impl Builder {
    /// Tells links of the vents in them; a tall vent becomes two, one above the other.
    pub(super) fn place_vents(&self, links: Vec<Link>) -> Vec<Link> {
        let mut placed = Vec::with_capacity(links.len());
        for mut link in links {
            link.vent = link.losses.iter().find_map(|(name, _)| self.vents.get(name)).copied();
            match link.vent {
                Some(vent) if vent.tall > 0.0 && link.losses.len() == 1 => {
                    for side in [-1.0, 1.0] {
                        let height = vent.height + side * HALVES * vent.tall;
                        let name = link.losses[0].0.clone();
                        placed.push(Link {
                            bodies: link.bodies.clone(),
                            names: link.names.clone(),
                            losses: vec![(name, opening(&vent, 0.5 * vent.area))],
                            vent: Some(Vent { height, ..vent }),
                            location: link.location.clone(),
                        });
                    }
                }
                _ => placed.push(link),
            }
        }
        placed
    }

    /// Puts the sides of a joint at the height of its `vent`, and the outside under the pressure that the road makes there.
    pub(super) fn raise(&self, sides: &mut [Side], bodies: &[Body; 2], vent: &Vent) {
        for (side, body) in sides.iter_mut().zip(bodies) {
            match side {
                Side::Volume { height, .. } => *height = vent.height,
                Side::Still { beside, temperature, .. } => {
                    let below = beside.pressure(None);
                    if matches!(body, Body::Terminal(name) if name == OUTSIDE) {
                        *beside = self.beside(vent.pressure_coefficient);
                    }
                    beside.still -= vent.height * self.blueprint.gas.fall_with_height(below, *temperature);
                }
                _ => {}
            }
        }
    }
}
