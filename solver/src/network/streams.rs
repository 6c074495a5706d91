//! Who supplies and who takes the streams through a joint.

use super::{JointKind, Network, Work};
use crate::joint::series::SeriesJoint;
use crate::joint::side::Side;

/// Where a stream comes from or goes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Supply {
    /// The end of a duct, by its number.
    End(usize),
    /// A volume.
    Volume(usize),
    /// What lies beyond this side of this joint: outside, a bay of given state, an inflow, a draw.
    Beyond {
        /// Number of the joint.
        joint: usize,
        /// Its side.
        side: usize,
    },
}

/// A stream through a joint.
#[derive(Debug, Clone, PartialEq)]
pub struct MixedStream {
    /// Mass flow [kg/s], not negative.
    pub mass_flow: f64,
    /// What it is mixed of: shares that sum to one.
    pub from: Vec<(f64, Supply)>,
    /// Where it goes; `None` beyond the network.
    pub to: Option<Supply>,
}

impl Network {
    /// The streams through joint `index` when `flows` [kg/s] pass it: one of a series, in the order of the flow line; one a leg of a wye,
    /// into it. The jets that cross a volume are those in `work`.
    #[must_use]
    pub fn streams(&self, index: usize, flows: &[f64], work: &Work) -> Vec<MixedStream> {
        match &self.joints[index].kind {
            JointKind::Series(series) => {
                let near = usize::from(flows[0] < 0.0);
                let to = match series.sides[1 - near] {
                    Side::Duct { end } => Some(Supply::End(end)),
                    Side::Volume { volume, .. } => Some(Supply::Volume(volume)),
                    _ => None,
                };
                let mass_flow = flows[0].abs();
                vec![MixedStream { mass_flow, from: self.supplies(index, series, near, mass_flow, work), to }]
            }
            JointKind::Wye(wye) => {
                let supplied: f64 = flows.iter().map(|flow| flow.max(0.0)).sum();
                let legs = || wye.ends.iter().zip(flows);
                let from: Vec<_> =
                    legs().filter(|leg| *leg.1 > 0.0).map(|(end, flow)| (flow / supplied, Supply::End(*end))).collect();
                legs()
                    .filter(|leg| *leg.1 < 0.0)
                    .map(|(end, flow)| MixedStream {
                        mass_flow: -flow,
                        from: from.clone(),
                        to: Some(Supply::End(*end)),
                    })
                    .collect()
            }
        }
    }

    fn supplies(
        &self,
        index: usize,
        series: &SeriesJoint,
        near: usize,
        mass_flow: f64,
        work: &Work,
    ) -> Vec<(f64, Supply)> {
        match &series.sides[near] {
            Side::Duct { end } => vec![(1.0, Supply::End(*end))],
            Side::Volume { volume, faced, .. } => {
                let mut from = vec![(1.0, Supply::Volume(*volume))];
                for facing in faced {
                    let carried = facing.carried(&work.jets, mass_flow);
                    if let Some(sender) = self.sender(facing.jet) {
                        for part in &mut from {
                            part.0 *= 1.0 - carried;
                        }
                        from.push((carried, sender));
                    }
                }
                from
            }
            _ => vec![(1.0, Supply::Beyond { joint: index, side: near })],
        }
    }

    /// What stands behind the joint that sends `jet` into a volume.
    pub(crate) fn sender(&self, jet: usize) -> Option<Supply> {
        self.joints.iter().enumerate().find_map(|(index, joint)| {
            let side = 1 - joint.jet.filter(|found| found.0 == jet)?.1;
            let JointKind::Series(series) = &joint.kind else { return None };
            Some(match series.sides[side] {
                Side::Duct { end } => Supply::End(end),
                Side::Volume { volume, .. } => Supply::Volume(volume),
                _ => Supply::Beyond { joint: index, side },
            })
        })
    }
}
