//! Shares of the air by origin, carried by the slow march's flows.

use super::linear::Singular;
use super::transport::{Flows, Transport};
use crate::network::{Network, Work};

impl Transport {
    /// Moves the shares in `y` on by `step` [s] with these `flows`; `masses` are what the holders had before [kg]. Everything else in `y` is
    /// that of the step's end.
    pub(super) fn carry_shares(
        &mut self,
        network: &Network,
        work: &Work,
        flows: &Flows,
        step: f64,
        before: &[f64],
        y: &mut [f64],
    ) -> Result<(), Singular> {
        let n = self.holders.count;
        let mut held = self.holders.shares(network, y);
        self.carry(network, work, flows, step, before, &mut held, &|joint, side, origin| {
            f64::from(u8::from(network.joints[joint].origins[side] == Some(origin)))
        })?;
        let slots = network.arena.slots();
        for origin in 0..network.origins.len() {
            let of_origin = &held[origin * n..][..n];
            for duct in network.arena.ducts() {
                let first = self.holders.cell(duct.0, 0);
                for (cell, slot) in network.arena.slots_of(duct).enumerate() {
                    y[(3 + origin) * slots + slot] = y[slot] * of_origin[first + cell];
                }
            }
            for volume in 0..network.volumes.len() {
                let start = network.layout.volume_start(volume);
                y[start + 2 + origin] = y[start] * of_origin[self.holders.volume(volume)];
            }
        }
        Ok(())
    }
}
