//! Shares of the air by origin, carried by the slow march's flows.

use super::linear::Singular;
use super::transport::{Flows, Transport};
use crate::network::{Network, Work};

impl Transport {
    /// Moves the shares in `y` on by `step` [s] with these `flows`; `before` are the masses that the holders had before [kg]. Everything else in
    /// `y` is that of the step's end.
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
        self.begin(network, work, flows, step, before);
        for node in 0..network.thermal.nodes.len() {
            self.lean(self.holders.node(node), 1.0);
        }
        let mut held = self.holders.shares(network, y);
        for of_origin in held.chunks_exact_mut(n) {
            for (share, mass) in of_origin.iter_mut().zip(before) {
                *share *= mass / step;
            }
        }
        for brought in &self.brought {
            if let Some(origin) = network.joints[brought.joint].origins[brought.side] {
                held[origin * n + brought.to] += brought.mass_flow;
            }
        }
        self.solve(&mut held)?;
        let slots = network.arena.slots();
        for (origin, of_origin) in held.chunks_exact(n).enumerate() {
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
