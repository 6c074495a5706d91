//! Ghost slots: what a duct sees beyond its ends.

use super::arena::{Arena, Duct, GHOSTS};
use super::greater;
use super::limiter::{SlopeLaw, VanAlbada};
use super::state::{End, Primitive};
use super::work::Work;

/// Largest fall of density or pressure from the last cell to its ghost, over the value in the cell.
const LARGEST_FALL: f64 = 0.5;

impl Arena {
    /// Fills the ghost slots: from the duct beyond at linked ends, by a limited continuation at all others.
    pub fn fill_ghosts(&self, work: &mut Work) {
        for duct in &self.ducts {
            for end in [End::First, End::Last] {
                if !duct.linked[end as usize] {
                    continue_beyond(duct, end, self.gas.gamma, work);
                }
            }
        }
        for link in &self.links {
            link.fill_ghosts(work);
        }
    }
}

/// Continues a duct beyond an end with the limited difference of its last cells. Smooth flow so keeps its slope up to the end face; a
/// shock near the end cannot be carried on to negative pressure.
fn continue_beyond(duct: &Duct, end: End, gamma: f64, work: &mut Work) {
    let [last, second, third] = [0, 1, 2].map(|steps| duct.inside(end, steps));
    let (q0, q1, q2) = (work.cell.at(last), work.cell.at(second), work.cell.at(third));
    let (near, far) = (difference(q0, q1), difference(q1, q2));
    let change = VanAlbada::changes(far, near, q0, work.sound_speed[last]);
    let beyond = Primitive {
        density: q0.density + greater(-LARGEST_FALL * q0.density, change.density),
        velocity: q0.velocity + change.velocity,
        pressure: q0.pressure + greater(-LARGEST_FALL * q0.pressure, change.pressure),
    };
    let sound_speed = (gamma * beyond.pressure / beyond.density).sqrt();
    for steps in 0..GHOSTS {
        let ghost = duct.ghost(end, steps);
        work.cell.set(ghost, beyond);
        work.sound_speed[ghost] = sound_speed;
        // Shares are not continued: their slope must vanish at the end so that they stay shares.
        for row in &mut work.scalar {
            row[ghost] = row[last];
        }
    }
}

fn difference(to: Primitive, from: Primitive) -> Primitive {
    Primitive {
        density: to.density - from.density,
        velocity: to.velocity - from.velocity,
        pressure: to.pressure - from.pressure,
    }
}
