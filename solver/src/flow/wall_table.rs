//! Friction and film of a wall over the Reynolds number, as straight lines between knots that are found without a logarithm.

use super::{greater, lesser};
use std::fmt;
use std::sync::Arc;

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

/// Two functions of the Reynolds number, f Re and Nu, on one straight line each.
///
/// Single precision, so that a look-up fetches all four numbers at once: fetching is what it costs. Neighbouring lines share their
/// common end to the last bit, so that the functions are continuous.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Line {
    /// f Re at the beginning and at the end of the line, then Nu there.
    ends: [f32; 4],
}

impl Line {
    /// f Re some way along the line, 0..1.
    #[inline(always)]
    pub(super) fn friction(&self, along: f64) -> f64 {
        Self::between(self.ends[0], self.ends[1], along)
    }

    /// Nu some way along the line, 0..1.
    #[inline(always)]
    pub(super) fn nusselt(&self, along: f64) -> f64 {
        Self::between(self.ends[2], self.ends[3], along)
    }

    #[inline(always)]
    fn between(low: f32, high: f32, along: f64) -> f64 {
        let (low, high) = (f64::from(low), f64::from(high));
        low + (high - low) * along
    }
}

/// Where a Reynolds number lies in a table, whose lines are equally wide within each octave from 1 on; the functions are constant below
/// and above.
#[derive(Clone, Copy)]
pub(super) struct Place {
    /// Number of the line.
    pub(super) line: usize,
    /// Way from the line's beginning to its end, 0..1.
    pub(super) along: f64,
}

impl Place {
    #[inline(always)]
    pub(super) fn of(reynolds: f64) -> Self {
        let one = 1.0_f64.to_bits();
        let bits = greater(1.0, lesser(HIGHEST, reynolds)).to_bits() - one;
        // The bits behind the counting ones, moved to the front of a mantissa, make a number from 1 to 2.
        let fraction = (bits << MANTISSA_BITS) & ((1 << (f64::MANTISSA_DIGITS - 1)) - 1);
        Self { line: (bits >> SHIFT) as usize, along: f64::from_bits(fraction | one) - 1.0 }
    }
}

/// Reynolds number at which a line begins: knots are counted by the leading bits of a number.
fn knot(line: usize) -> f64 {
    f64::from_bits(((line as u64) << SHIFT) + 1.0_f64.to_bits())
}

/// Darcy friction factor times Reynolds number, and Nusselt number, over the Reynolds number with the hydraulic diameter.
///
/// The product f Re stays finite at rest (64 in a round duct), so that wall drag, f Re mu u / (2 D^2), has no singularity there.
#[derive(Clone, PartialEq)]
pub struct WallTable {
    lines: Arc<[Line]>,
}

impl WallTable {
    /// Tabulates `friction` (f Re over Re) and `nusselt` (Nu over Re). Both are taken as constant below Re = 1 and above 2^32.
    #[must_use]
    pub fn new(friction: impl Fn(f64) -> f64, nusselt: impl Fn(f64) -> f64) -> Self {
        let at_knot = |line| (friction(knot(line)) as f32, nusselt(knot(line)) as f32);
        let knots: Vec<(f32, f32)> = (0..=LINES).map(at_knot).collect();
        let line = |ends: &[(f32, f32)]| Line { ends: [ends[0].0, ends[1].0, ends[0].1, ends[1].1] };
        Self { lines: knots.windows(2).map(line).collect() }
    }

    /// f Re at a Reynolds number >= 0.
    #[must_use]
    pub fn friction(&self, reynolds: f64) -> f64 {
        let place = Place::of(reynolds);
        self.lines[place.line].friction(place.along)
    }

    /// Nu at a Reynolds number >= 0.
    #[must_use]
    pub fn nusselt(&self, reynolds: f64) -> f64 {
        let place = Place::of(reynolds);
        self.lines[place.line].nusselt(place.along)
    }
}

impl fmt::Debug for WallTable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("WallTable").field("lines", &LINES).finish()
    }
}

/// The tables of all walls behind each other, equal ones once, filled up to a power of two.
#[derive(Debug, Clone, Default)]
pub(super) struct Tables {
    known: Vec<WallTable>,
    lines: Vec<Line>,
}

impl Tables {
    /// Where a table begins; adds it if it is new.
    pub(super) fn start_of(&mut self, table: &WallTable) -> usize {
        let index = self.known.iter().position(|known| known == table).unwrap_or_else(|| {
            self.known.push(table.clone());
            self.known.len() - 1
        });
        let start = index * LINES;
        self.lines.resize((self.known.len() * LINES).next_power_of_two(), Line::default());
        self.lines[start..start + LINES].copy_from_slice(&table.lines);
        start
    }

    /// Fetches the lines of these numbers, counted over all tables.
    #[inline(always)]
    pub(super) fn fetch(&self, numbers: &[usize], lines: &mut [Line]) {
        let all = self.lines.as_slice();
        for (line, number) in lines.iter_mut().zip(numbers) {
            // The mask changes nothing; it tells the compiler that the index is inside the row.
            *line = all[number & (all.len() - 1)];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::wall_law;
    use super::*;

    #[test]
    fn a_straight_law_is_met_to_single_precision() {
        let table = WallTable::new(|re| 0.018 * re, |re| 3.0 + 0.5 * re);
        for reynolds in [1.0, 2.0, 777.7, 1e5, 4e9] {
            let (friction, nusselt) = (table.friction(reynolds), table.nusselt(reynolds));
            assert!((friction / (0.018 * reynolds) - 1.0).abs() <= 1e-7, "{reynolds}");
            assert!((nusselt / (3.0 + 0.5 * reynolds) - 1.0).abs() <= 1e-7, "{reynolds}");
        }
    }

    #[test]
    fn tables_behind_each_other_are_the_tables() {
        let of = |slope: f64| WallTable::new(move |re| slope * re, move |re| 2.0 * slope * re);
        let mut tables = Tables::default();
        let starts = [1.0, 2.0, 1.0, 3.0].map(|slope| tables.start_of(&of(slope)));
        assert_eq!(starts, [0, LINES, 0, 2 * LINES]);
        for (slope, start) in [(1.0, 0), (2.0, LINES), (3.0, 2 * LINES)] {
            let Place { line, along } = Place::of(1_234.5);
            let mut found = [Line::default()];
            tables.fetch(&[start + line], &mut found);
            let [line] = found;
            assert!((line.friction(along) - of(slope).friction(1_234.5)).abs() <= 0.0);
            assert!((line.nusselt(along) - of(slope).nusselt(1_234.5)).abs() <= 0.0);
        }
    }

    #[test]
    fn the_table_goes_on_level_beyond_its_ends() {
        let table = WallTable::new(|re| 64.0 + re, |re| re);
        for reynolds in [0.0, 1e-300, 0.5, 1.0] {
            assert!((table.friction(reynolds) - 65.0).abs() < 1e-12, "{reynolds}");
        }
        assert!((table.friction(1e300) / 4_294_967_359.0 - 1.0).abs() < 1e-6);
    }

    #[test]
    fn the_table_meets_the_laws_between_its_knots() {
        let friction = |re| wall_law::churchill(re, 1e-3);
        let nusselt = |re| wall_law::film(re, 0.71, 0.1);
        let table = WallTable::new(friction, nusselt);
        let mut reynolds = 0.9;
        let mut worst = (0.0_f64, 0.0_f64);
        while reynolds < 1e7 {
            let found = (table.friction(reynolds), table.nusselt(reynolds));
            worst.0 = worst.0.max((found.0 / friction(reynolds) - 1.0).abs());
            worst.1 = worst.1.max((found.1 / nusselt(reynolds) - 1.0).abs());
            reynolds *= 1.013;
        }
        assert!(worst.0 < 3e-3 && worst.1 < 5e-3, "{worst:?}");
    }

    #[test]
    fn the_table_is_continuous_at_its_knots() {
        let table = WallTable::new(|re| wall_law::churchill(re, 1e-3), |re| wall_law::film(re, 0.71, 0.1));
        for line in 1..LINES {
            let at = knot(line);
            let before = f64::from_bits(at.to_bits() - 1);
            let (friction, nusselt) = (table.friction(at), table.nusselt(at));
            let (friction_before, nusselt_before) = (table.friction(before), table.nusselt(before));
            assert!((friction / friction_before - 1.0).abs() < 1e-14, "{at}");
            assert!((nusselt / nusselt_before - 1.0).abs() < 1e-14, "{at}");
        }
    }
}
