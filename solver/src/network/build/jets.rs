//! Jets that cross a volume.

use super::Builder;
use crate::joint::side::{Faced, Side};
use crate::network::joints::{JointKind, NetworkJoint};

impl Builder {
    /// Numbers the jets and tells each faced outlet of its own.
    pub(super) fn connect_jets(&mut self, joints: &mut [NetworkJoint]) -> usize {
        let mut count = 0;
        for (from, volume, into, share) in &std::mem::take(&mut self.jets) {
            let sender = joints.iter().position(|joint| touches(joint, *volume, from));
            let taker = joints.iter().position(|joint| touches(joint, *volume, into));
            let (Some(sender), Some(taker)) = (sender, taker) else {
                self.unknown_jet(*volume, if sender.is_none() { from } else { into });
                continue;
            };
            let jet = match joints[sender].jet {
                Some((jet, _)) => jet,
                None => {
                    let JointKind::Series(series) = &joints[sender].kind else { continue };
                    let side = usize::from(is_volume(&series.sides[1], *volume));
                    joints[sender].jet = Some((count, side));
                    count += 1;
                    count - 1
                }
            };
            if let JointKind::Series(series) = &mut joints[taker].kind {
                for side in &mut series.sides {
                    if let Side::Volume { volume: own, faced, .. } = side
                        && *own == *volume
                    {
                        faced.push(Faced { jet, share: *share });
                    }
                }
            }
        }
        count
    }

    fn unknown_jet(&mut self, volume: usize, name: &str) {
        let plenum = self.volumes[volume].name.clone();
        let location = self.location(&plenum);
        let found = format!("`{name}`, which is not joined to `{plenum}`");
        self.problem(&location, &format!("parts.{plenum}.carry_over"), &found, "parts that stand at this plenum");
    }
}

pub(super) fn is_volume(side: &Side, volume: usize) -> bool {
    matches!(side, Side::Volume { volume: own, .. } if *own == volume)
}

/// Whether `joint` connects `volume` to the part `name`, directly or by one of its losses.
fn touches(joint: &NetworkJoint, volume: usize, name: &str) -> bool {
    let JointKind::Series(series) = &joint.kind else { return false };
    series.sides.iter().any(|side| is_volume(side, volume))
        && (joint.parts.iter().any(|part| part == name) || joint.losses.iter().any(|loss| loss.part == name))
}
