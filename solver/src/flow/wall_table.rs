//! Friction and film of a wall over the Reynolds number, as straight lines between knots that are found without a logarithm.

use super::{greater, lesser};
use std::fmt;

/// Leading bits of the mantissa that count the lines in an octave: 32 lines.
const MANTISSA_BITS: u32 = 5;
/// Octaves from Reynolds number 1 to 2^32.
const OCTAVES: usize = 32;
/// Lines in a table.
const LINES: usize = OCTAVES << MANTISSA_BITS;
/// Position of the counting bits in the bits of a number.
const SHIFT: u32 = f64::MANTISSA_DIGITS - 1 - MANTISSA_BITS;
/// Highest Reynolds number that has a line of its own.
const HIGHEST: f64 = 4_294_967_295.0;

/// A function of the Reynolds number as straight lines, equally wide within each octave from 1 on; the first and the last go on
/// beyond the table.
#[derive(Clone)]
struct Lines {
    at_zero: [f64; LINES],
    slope: [f64; LINES],
}

impl Lines {
    fn new(value: impl Fn(f64) -> f64) -> Box<Self> {
        let mut lines = Box::new(Self { at_zero: [0.0; LINES], slope: [0.0; LINES] });
        for line in 0..LINES {
            let (low, high) = (knot(line), knot(line + 1));
            let (at_low, at_high) = (value(low), value(high));
            lines.slope[line] = (at_high - at_low) / (high - low);
            lines.at_zero[line] = at_low - lines.slope[line] * low;
        }
        lines
    }

    #[inline(always)]
    fn at(&self, line: usize, reynolds: f64) -> f64 {
        self.at_zero[line] + self.slope[line] * reynolds
    }
}

impl fmt::Debug for Lines {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Lines").field("lines", &LINES).finish()
    }
}

/// Reynolds number at which a line begins: knots are counted by the leading bits of a number.
fn knot(line: usize) -> f64 {
    f64::from_bits(((line as u64) << SHIFT) + 1.0_f64.to_bits())
}

/// The line that belongs to a Reynolds number.
#[inline(always)]
fn line_of(reynolds: f64) -> usize {
    let bits = greater(1.0, lesser(HIGHEST, reynolds)).to_bits() - 1.0_f64.to_bits();
    // The mask changes nothing; it tells the compiler that the index is inside the table.
    (bits >> SHIFT) as usize & (LINES - 1)
}

/// Darcy friction factor times Reynolds number, and Nusselt number, over the Reynolds number with the hydraulic diameter.
///
/// The product f Re stays finite at rest (64 in a round duct), so that wall drag, f Re mu u / (2 D^2), has no singularity there.
#[derive(Debug, Clone)]
pub struct WallTable {
    friction: Box<Lines>,
    nusselt: Box<Lines>,
}

impl WallTable {
    /// Tabulates `friction` (f Re over Re) and `nusselt` (Nu over Re).
    #[must_use]
    pub fn new(friction: impl Fn(f64) -> f64, nusselt: impl Fn(f64) -> f64) -> Self {
        Self { friction: Lines::new(friction), nusselt: Lines::new(nusselt) }
    }

    /// f Re at a Reynolds number >= 0.
    #[inline(always)]
    #[must_use]
    pub fn friction(&self, reynolds: f64) -> f64 {
        self.friction.at(line_of(reynolds), reynolds)
    }

    /// Nu at a Reynolds number >= 0.
    #[inline(always)]
    #[must_use]
    pub fn nusselt(&self, reynolds: f64) -> f64 {
        self.nusselt.at(line_of(reynolds), reynolds)
    }
}

#[cfg(test)]
mod tests {
    use super::super::wall_law;
    use super::*;

    #[test]
    fn a_straight_law_is_met_exactly_even_beyond_the_table() {
        let table = WallTable::new(|re| 0.018 * re, |re| 3.0 + 0.5 * re);
        for reynolds in [0.0, 1e-9, 0.3, 1.0, 2.0, 777.7, 1e5, 4e9, 1e12] {
            assert!((table.friction(reynolds) - 0.018 * reynolds).abs() <= 1e-12 * (1.0 + reynolds), "{reynolds}");
            assert!((table.nusselt(reynolds) - 3.0 - 0.5 * reynolds).abs() <= 1e-11 * (1.0 + reynolds), "{reynolds}");
        }
    }

    #[test]
    fn the_table_meets_the_laws_between_its_knots() {
        let friction = |re| wall_law::churchill(re, 1e-3);
        let nusselt = |re| wall_law::film(re, 0.71, 0.1);
        let table = WallTable::new(friction, nusselt);
        let mut reynolds = 0.9;
        let mut worst = (0.0_f64, 0.0_f64);
        while reynolds < 1e7 {
            let friction_error = (table.friction(reynolds) / friction(reynolds) - 1.0).abs();
            let film_error = (table.nusselt(reynolds) / nusselt(reynolds) - 1.0).abs();
            worst = (friction_error.max(worst.0), film_error.max(worst.1));
            reynolds *= 1.013;
        }
        assert!(worst.0 < 3e-3 && worst.1 < 4e-3, "{worst:?}");
    }

    #[test]
    fn the_table_is_continuous_at_its_knots() {
        let table = WallTable::new(|re| wall_law::churchill(re, 1e-3), |re| wall_law::film(re, 0.71, 0.1));
        for line in 1..LINES {
            let at = knot(line);
            let before = f64::from_bits(at.to_bits() - 1);
            assert!((table.friction(at) / table.friction(before) - 1.0).abs() < 1e-12, "{at}");
            assert!((table.nusselt(at) / table.nusselt(before) - 1.0).abs() < 1e-12, "{at}");
        }
    }
}
