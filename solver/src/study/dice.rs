//! Random numbers that belong to a name and a sample, whoever asks for them and in whatever order.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// Words of the generator that one draw may take.
const WORDS: u128 = 4;

/// Draws for names and samples. ChaCha is a counter-based generator: a name is a stream of it, a sample a place in the stream (Bernstein
/// 2008, ChaCha, a variant of Salsa20; of its rounds eight are many for statistics).
#[derive(Debug, Clone)]
pub struct Dice(ChaCha8Rng);

impl Dice {
    /// Dice that give the same draws for the same `seed`.
    #[must_use]
    pub fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }

    /// Draw from the uniform distribution on -1 to 1.
    #[must_use]
    pub fn uniform(&self, name: &str, sample: usize) -> f64 {
        2.0 * self.pair(name, sample)[0] - 1.0
    }

    /// Draw from the normal distribution of mean 0 and standard deviation 1. Box and Muller 1958, Annals of Mathematical Statistics 29, 610.
    #[must_use]
    pub fn normal(&self, name: &str, sample: usize) -> f64 {
        let [first, second] = self.pair(name, sample);
        (-2.0 * libm::log(first)).sqrt() * libm::cos(2.0 * std::f64::consts::PI * second)
    }

    /// Two numbers between zero and one, neither of them included.
    fn pair(&self, name: &str, sample: usize) -> [f64; 2] {
        let mut generator = self.0.clone();
        generator.set_stream(hash(name));
        generator.set_word_pos(WORDS * sample as u128);
        [generator.next_u64(), generator.next_u64()].map(|word| ((word >> 11) as f64 + 0.5) / (1_u64 << 53) as f64)
    }
}

/// FNV-1a of Fowler, Noll and Vo, 64 bits: the same on every machine and in every version.
fn hash(name: &str) -> u64 {
    name.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_draw_belongs_to_seed_name_and_sample() {
        let dice = Dice::new(7);
        let draw = dice.normal("parts.box.volume", 3);
        let _ = dice.normal("parts.nose.area", 9);
        assert_eq!(draw.to_bits(), Dice::new(7).normal("parts.box.volume", 3).to_bits());
        for other in [
            Dice::new(8).normal("parts.box.volume", 3),
            dice.normal("parts.box.volume", 4),
            dice.normal("parts.box.surface", 3),
        ] {
            assert!((draw - other).abs() > 1e-9);
        }
        // The published test of the hash: of nothing, and of `a`.
        assert_eq!((hash(""), hash("a")), (0xcbf2_9ce4_8422_2325, 0xaf63_dc4c_8601_ec8c));
    }

    #[test]
    fn draws_have_the_moments_of_their_distributions() {
        let (dice, count) = (Dice::new(1), 40_000);
        let moments = |of: &dyn Fn(usize) -> f64| {
            let mean = (0..count).map(of).sum::<f64>() / count as f64;
            let square = (0..count).map(|sample| of(sample) * of(sample)).sum::<f64>() / count as f64;
            (mean, square)
        };
        // Four standard errors of each moment.
        let (mean, square) = moments(&|sample| dice.normal("x", sample));
        assert!(mean.abs() < 4.0 / 200.0 && (square - 1.0).abs() < 4.0 * 2.0_f64.sqrt() / 200.0, "{mean} {square}");
        let (mean, square) = moments(&|sample| dice.uniform("x", sample));
        assert!(
            mean.abs() < 4.0 * 0.577 / 200.0 && (square - 1.0 / 3.0).abs() < 4.0 * 0.298 / 200.0,
            "{mean} {square}"
        );
        let product = (0..count).map(|k| dice.normal("x", k) * dice.normal("y", k)).sum::<f64>() / count as f64;
        assert!(product.abs() < 4.0 / 200.0, "names are independent: {product}");
    }
}
