//! A way on where the slow march finds none: for a short stretch waves are resolved, while walls, hot parts and the engine stand still.

use super::march::Slow;
use super::transport::Flows;
use crate::error::{Error, RunError};
use crate::march::{Acoustic, Observer};

/// Slowest periods of the network in the first stretch: several passages of sound, in which what is out of balance runs away or settles.
const PERIODS: f64 = 3.0;
/// Growth of a stretch when the slow march has come no farther behind the one before than that was long.
const GROWTH: f64 = 2.0;
/// Longest time that may be marched so in all [s]: beyond it the slow march has no say any more, and waves take too long.
const LONGEST: f64 = 10.0;

/// Stretches that are told of one by one.
const MOST_TOLD: usize = 4;

/// A stretch of a slow run that was marched with waves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stretch {
    /// Start [s].
    from: f64,
    /// End [s].
    to: f64,
    /// Number of the unknown whose equation was farthest from holding.
    unknown: usize,
}

impl Stretch {
    /// Numbers of a stretch in a checkpoint.
    pub(super) const NUMBERS: usize = 3;

    pub(super) fn to_numbers(self) -> [f64; Self::NUMBERS] {
        [self.from, self.to, self.unknown as f64]
    }

    pub(super) fn of_numbers(numbers: &[f64]) -> Self {
        Self { from: numbers[0], to: numbers[1], unknown: numbers[2] as usize }
    }

    fn length(self) -> f64 {
        self.to - self.from
    }
}

impl Slow<'_> {
    /// The stretches in which waves were resolved because no slow step could be solved, in words; none when there was no need.
    #[must_use]
    pub fn passed_with_waves(&self) -> Option<String> {
        let told = self.stretches.iter().take(MOST_TOLD).map(|stretch| {
            let (part, quantity) = self.system.describe(stretch.unknown);
            format!("from {:.3} to {:.3} s (`{part}`, {quantity})", stretch.from, stretch.to)
        });
        let mut told = told.collect::<Vec<_>>().join(", ");
        match self.stretches.len() {
            0 => return None,
            count if count > MOST_TOLD => told.push_str(&format!(" and {} times more", count - MOST_TOLD)),
            _ => {}
        }
        Some(format!("waves resolved and walls held where no slow step could be solved: {told}"))
    }

    /// Marches with waves for a while, at most to `end` [s], since no slow step can be solved; `why` says so.
    ///
    /// # Errors
    /// `why`, when that has been done for too long already; or waves do not get on either, or the observer could not go on.
    pub(super) fn pass_with_waves(
        &mut self,
        end: f64,
        why: RunError,
        observer: &mut dyn Observer<Self>,
    ) -> Result<(), Error> {
        let from = self.clock.time;
        let length = match self.stretches.last() {
            Some(last) if from - last.to < last.length() => GROWTH * last.length(),
            _ => self.system.network.ringing_window(PERIODS).0,
        };
        let spent: f64 = self.stretches.iter().map(|stretch| stretch.length()).sum();
        if spent + length > LONGEST {
            return Err(why.into());
        }
        let to = (from + length).min(end).min(self.until_event());
        self.stretches.push(Stretch { from, to, unknown: self.system.farthest(&self.f) });
        while self.clock.time < to {
            let next = self.schedule.next();
            self.resolve_waves(next.min(to))?;
            if self.clock.time >= next {
                self.record(observer)?;
            }
        }
        self.begin_anew()?;
        Ok(())
    }

    /// Marches with waves to `stop` [s], with the numbers of the network as they are now.
    fn resolve_waves(&mut self, stop: f64) -> Result<(), RunError> {
        let from = self.clock.time;
        self.system.go_to(from)?;
        let network = &*self.system.network;
        let masses = self.transport.holders.masses(network, &self.system.y);
        let mut flows = Flows::none(network);
        let mut waves = Acoustic::new(network, self.system.y.clone(), self.settings).with_flows(self.system.z.clone());
        waves.clock.time = from;
        std::mem::swap(&mut waves.integrals, &mut self.integrals);
        let mut ended = waves.start();
        while ended.is_ok() && waves.clock.time < stop {
            ended = waves.step(stop).map(|step| flows.add(network, &waves.work, step / (stop - from)));
        }
        std::mem::swap(&mut waves.integrals, &mut self.integrals);
        self.clock.time = waves.clock.time;
        self.clock.step += waves.clock.step;
        (self.system.y, self.system.z) = (waves.y, waves.z);
        ended?;
        self.start()?;
        let carried = self.carry_warmth(&flows, stop - from, &masses);
        carried.map_err(|_| RunError::Unsolvable { time: self.clock.time })
    }
}
