//! How the march brings warmth along.

use super::march::Slow;
use super::step::Refusal;
use super::system::System;
use super::transport::Flows;
use super::warmth::Way;
use crate::error::RunError;

/// Time in which warmth comes to what it tends to [s].
const IN_THE_LONG_RUN: f64 = 1e9;

impl Slow<'_> {
    /// Brings the warmth of all holders to what the present state makes of it in the long run.
    pub(super) fn settle_warmth(&mut self) -> Result<(), RunError> {
        let network = &self.system.network;
        let mut flows = Flows::none(network);
        flows.add(network, &self.system.work, 1.0);
        let masses = self.transport.holders.masses(network, &self.system.y);
        self.warmth.stand(network, &self.transport, &self.system.work);
        let drawn = self.warmth.drawn.clone();
        let carried = self.carry_warmth(&flows, IN_THE_LONG_RUN, &masses);
        self.warmth.drawn = drawn;
        carried.map_err(|_| RunError::Unsolvable { time: self.clock.time })
    }

    /// Moves the warmth of all holders on by one implicit step of Euler; the state is that of its end.
    pub(super) fn carry_warmth(&mut self, flows: &Flows, step: f64, masses: &[f64]) -> Result<(), Refusal> {
        let conductances = self.conductances()?;
        let System { network, y, work, .. } = &self.system;
        let way = Way { network, work, y, flows, conductances: &conductances };
        self.warmth.carry(&mut self.transport, way, step, masses)?;
        Ok(())
    }

    /// Moves the warmth of all holders on to a stage of a step, where the state stands; the air had the masses `base` [kg].
    pub(super) fn carry_warmth_to_stage(
        &mut self,
        flows: &Flows,
        stage: usize,
        step: f64,
        base: &[f64],
    ) -> Result<(), Refusal> {
        let conductances = self.conductances()?;
        let System { network, y, work, .. } = &self.system;
        let masses = self.transport.holders.masses(network, y);
        let way = Way { network, work, y, flows, conductances: &conductances };
        self.warmth.stage(&mut self.transport, way, stage, step, [base, &masses])?;
        Ok(())
    }

    /// Conductances of the walls of ducts, cell by cell [W/K].
    fn conductances(&mut self) -> Result<Vec<f64>, Refusal> {
        let System { network, y, moving, .. } = &self.system;
        if moving.is_some() {
            network.arena.give_walls(&mut self.beside.cells);
        }
        network.wall_conductances(y, &mut self.beside).map_err(|_| Refusal::NotSolved)
    }
}
