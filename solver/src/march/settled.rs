//! Whether branch flow and recovery still ring.
//!
//! Time is cut into windows of some slowest periods. A steady draw has settled when nothing in a window differs from its mean by more
//! than the tolerance; a pulsed one when two windows in a row have the same mean, lowest and highest values.

/// What is watched: the flow of a joint or its total pressure.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Watch {
    /// Lowest value in the window.
    pub least: f64,
    /// Highest value in the window.
    pub most: f64,
    /// Integral over time in the window.
    pub integral: f64,
    before: Option<[f64; 3]>,
}

/// The windows of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct Settled {
    /// Length of a window [s].
    pub window: f64,
    /// Whether a draw pulses, so that windows are compared with each other.
    pub periodic: bool,
    /// Largest change allowed, relative to the mean.
    pub tolerance: f64,
    /// Start of the current window [s].
    pub start: f64,
    /// What is watched.
    pub watches: Vec<Watch>,
}

impl Watch {
    fn restart(&mut self, mean: f64) {
        *self = Self { before: Some([mean, self.least, self.most]), ..Self::fresh() };
    }

    fn fresh() -> Self {
        Self { least: f64::INFINITY, most: f64::NEG_INFINITY, integral: 0.0, before: None }
    }

    fn note(&mut self, value: f64, step: f64) {
        self.least = self.least.min(value);
        self.most = self.most.max(value);
        self.integral += value * step;
    }

    fn calm(&self, mean: f64, tolerance: f64, periodic: bool) -> bool {
        let allowed = tolerance * mean.abs().max(f64::MIN_POSITIVE);
        if !periodic {
            return self.most - self.least <= allowed;
        }
        let now = [mean, self.least, self.most];
        self.before.is_some_and(|before| now.iter().zip(before).all(|(a, b)| (a - b).abs() <= allowed))
    }

    /// The values as numbers, for a checkpoint.
    #[must_use]
    pub fn to_numbers(&self) -> [f64; 6] {
        let before = self.before.unwrap_or([f64::NAN; 3]);
        [self.least, self.most, self.integral, before[0], before[1], before[2]]
    }

    /// The watch of [`Watch::to_numbers`].
    #[must_use]
    pub fn from_numbers(numbers: &[f64]) -> Self {
        let before = [numbers[3], numbers[4], numbers[5]];
        Self {
            least: numbers[0],
            most: numbers[1],
            integral: numbers[2],
            before: (!before[0].is_nan()).then_some(before),
        }
    }
}

impl Settled {
    /// Windows of length `window` [s] over `watched` values.
    #[must_use]
    pub fn new(window: f64, periodic: bool, tolerance: f64, watched: usize) -> Self {
        Self { window, periodic, tolerance, start: 0.0, watches: vec![Watch::fresh(); watched] }
    }

    /// Notes the `values` that held over the last `step` [s] up to `time` [s]; answers whether all are calm at the end of a window.
    pub fn note(&mut self, time: f64, step: f64, values: impl Iterator<Item = f64>) -> bool {
        for (watch, value) in self.watches.iter_mut().zip(values) {
            watch.note(value, step);
        }
        let length = time - self.start;
        if length < self.window {
            return false;
        }
        let mut calm = !self.watches.is_empty();
        for watch in &mut self.watches {
            let mean = watch.integral / length;
            calm &= watch.calm(mean, self.tolerance, self.periodic);
            watch.restart(mean);
        }
        self.start = time;
        calm
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn calm_after(periodic: bool, value: impl Fn(f64) -> f64) -> Option<f64> {
        let mut settled = Settled::new(0.05, periodic, 1e-4, 1);
        (1..4000).map(|k| f64::from(k) * 1e-3).find(|time| settled.note(*time, 1e-3, std::iter::once(value(*time))))
    }

    #[test]
    fn a_decaying_ring_settles_when_it_has_decayed() {
        let time = calm_after(false, |t| 1.0 + 0.1 * (-20.0 * t).exp() * (400.0 * t).sin());
        assert!(time.is_some_and(|t| t > 0.3 && t < 0.6), "{time:?}");
    }

    #[test]
    fn a_pulse_never_settles_as_steady_but_does_as_periodic() {
        let pulse = |t: f64| 1.0 + 0.2 * (2.0 * std::f64::consts::PI * 40.0 * t).sin();
        assert_eq!(calm_after(false, pulse), None);
        assert!(calm_after(true, pulse).is_some());
    }
}
