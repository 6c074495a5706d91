//! Numbers that look random and are the same on any machine.

/// A linear congruential generator with the multiplier and increment of Knuth's for 64 bits (The Art of Computer Programming,
/// volume 2, section 3.3.4).
#[derive(Debug, Clone, Copy)]
pub struct Dice(pub u64);

impl Dice {
    /// A number between two bounds.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + self.share() * (high - low)
    }

    /// Whether something of the given likelihood, 0..1, happens.
    pub fn happens(&mut self, likelihood: f64) -> bool {
        self.share() < likelihood
    }

    /// One of `choices`, of which there must be at least one.
    pub fn one_of<T: Copy>(&mut self, choices: &[T]) -> T {
        let count = choices.len();
        choices[((self.share() * count as f64) as usize).min(count - 1)]
    }

    /// A number from 0 to 1.
    fn share(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        f64::from((self.0 >> 32) as u32) / f64::from(u32::MAX)
    }
}
