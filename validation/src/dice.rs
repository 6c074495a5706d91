//! Numbers that look random and are the same on any machine.

/// A linear congruential generator with the multiplier and increment of Knuth's for 64 bits (The Art of Computer Programming,
/// volume 2, section 3.3.4).
#[derive(Debug, Clone, Copy)]
pub struct Dice(pub u64);

impl Dice {
    /// A number between two bounds.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let share = f64::from((self.0 >> 32) as u32) / f64::from(u32::MAX);
        low + share * (high - low)
    }
}
