//! Simulated time, and the times that a run must land on.

/// Simulated time and the number of steps done.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Clock {
    /// Time [s].
    pub time: f64,
    /// Steps done.
    pub step: u64,
}

impl Clock {
    /// Step towards `stop` [s] that is not longer than `longest` [s]: what remains in equal parts, so that no sliver is left over.
    #[must_use]
    pub fn step_towards(&self, stop: f64, longest: f64) -> f64 {
        let remaining = stop - self.time;
        remaining / (remaining / longest * (1.0 - 1e-9)).ceil().max(1.0)
    }

    /// Goes on by `step` [s], landing on `stop` exactly when that is what remains.
    pub fn advance(&mut self, step: f64, stop: f64) {
        let lands = step >= (stop - self.time) * (1.0 - 1e-12);
        self.time = if lands { stop } else { self.time + step };
        self.step += 1;
    }
}

/// Record times: multiples of an interval, and the end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Schedule {
    /// Interval [s].
    pub every: f64,
    /// End [s].
    pub end: f64,
    /// Records done; the next falls on this multiple of the interval.
    pub done: u64,
}

impl Schedule {
    /// Next time to land on [s]. A multiple, not a sum, so that no error gathers.
    #[must_use]
    pub fn next(&self) -> f64 {
        let next = self.done as f64 * self.every;
        // A last interval shorter than a thousandth is rounding, not a wish.
        if next >= self.end - 1e-3 * self.every { self.end } else { next }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lands_on_every_record_and_on_the_end() {
        let mut clock = Clock::default();
        let mut schedule = Schedule { every: 1e-3, end: 0.0105, done: 1 };
        let mut landed = Vec::new();
        while clock.time < schedule.end {
            let stop = schedule.next();
            let step = clock.step_towards(stop, 2.7e-4);
            assert!(step <= 2.7e-4 * (1.0 + 1e-8));
            clock.advance(step, stop);
            if clock.time >= stop {
                landed.push(clock.time);
                schedule.done += 1;
            }
        }
        let expected: Vec<f64> = (1..=10).map(|k| f64::from(k) * 1e-3).chain([0.0105]).collect();
        assert_eq!(landed, expected);
    }
}
