//! What a slow march shows of an instant, and how it is saved and goes on.

use super::march::{FIRST_STEP, Slow};
use super::waves::Stretch;
use crate::error::RunError;
use crate::march::clock::Clock;
use crate::march::{Marching, Moment, Saved};

impl Marching for Slow<'_> {
    fn moment(&self) -> Moment<'_> {
        Moment {
            network: &self.system.network,
            time: self.clock.time,
            step: self.clock.step,
            y: &self.system.y,
            work: &self.system.work,
            integrals: &self.integrals,
        }
    }

    fn warmth(&self) -> Option<[Vec<f64>; 2]> {
        let now = self.warmth.at_draws(&self.system.network, &self.transport, &self.system.work);
        Some([now, self.warmth.drawn.clone()])
    }

    fn save(&self) -> Saved {
        Saved {
            blocks: vec![
                ("y".to_owned(), self.system.y.clone()),
                ("z".to_owned(), self.system.z.clone()),
                ("clock".to_owned(), vec![self.clock.time, self.next, self.clutch_closes, self.recorded]),
                ("integrals".to_owned(), self.integrals.to_numbers()),
                ("warmth".to_owned(), self.warmth.to_numbers()),
                ("stretches".to_owned(), self.stretches.iter().flat_map(|stretch| stretch.to_numbers()).collect()),
            ],
            counts: vec![
                ("step".to_owned(), self.clock.step),
                ("records".to_owned(), self.schedule.done),
                ("refused".to_owned(), self.refused),
            ],
        }
    }
}

impl Slow<'_> {
    /// Goes on from `saved`, in a phase that has `begun` at this time [s].
    ///
    /// # Errors
    /// The saved state does not fit the network (`None`), or it is not a state.
    pub fn restore(&mut self, saved: &Saved, begun: f64) -> Result<(), Option<RunError>> {
        let take = |name: &str, length: usize| {
            let found = saved.blocks.iter().find(|block| block.0 == name).map(|block| block.1.as_slice());
            found.filter(|values| values.len() == length).ok_or(None)
        };
        let count = |name: &str| saved.counts.iter().find(|count| count.0 == name).map(|count| count.1).ok_or(None);
        let (states, flows) = (self.system.y.len(), self.system.z.len());
        self.system.y.copy_from_slice(take("y", states)?);
        self.system.z.copy_from_slice(take("z", flows)?);
        let clock = take("clock", 4)?;
        self.clock = Clock { time: clock[0], step: count("step")? };
        // At the very start of a phase the steps begin short.
        self.next = if self.clock.time > begun { clock[1] } else { FIRST_STEP };
        (self.clutch_closes, self.recorded) = (clock[2], clock[3]);
        self.integrals.restore(take("integrals", self.integrals.to_numbers().len())?);
        self.warmth.restore(take("warmth", self.warmth.to_numbers().len())?);
        let stretches = saved.blocks.iter().find(|block| block.0 == "stretches").ok_or(None)?;
        self.stretches = stretches.1.chunks_exact(Stretch::NUMBERS).map(Stretch::of_numbers).collect();
        self.schedule.done = count("records")?;
        self.refused = count("refused")?;
        self.system.go_to(self.clock.time).map_err(Some)?;
        if self.clock.time <= begun {
            self.system.begin_phase();
            return self.start().map_err(Some);
        }
        self.system.gather(&mut self.x);
        let evaluated = self.system.evaluate(&self.x, &mut self.f);
        evaluated.map_err(|fault| Some(fault.at(self.clock.time, self.clock.step)))
    }
}
