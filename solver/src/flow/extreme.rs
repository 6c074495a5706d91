//! The highest or the lowest number of rows.

use super::{greater, lesser};

/// Numbers that a loop keeps side by side.
const LANES: usize = 8;

/// The most extreme of the numbers noted so far, in lanes, so that the loop is vectorised.
pub(super) struct Extreme<const HIGHEST: bool> {
    lanes: [f64; LANES],
}

impl Extreme<true> {
    /// The highest number, at least zero.
    #[inline(always)]
    pub(super) fn highest() -> Self {
        Self { lanes: [0.0; LANES] }
    }
}

impl Extreme<false> {
    /// The lowest number.
    #[inline(always)]
    pub(super) fn lowest() -> Self {
        Self { lanes: [f64::INFINITY; LANES] }
    }
}

impl<const HIGHEST: bool> Extreme<HIGHEST> {
    #[inline(always)]
    fn of(a: f64, b: f64) -> f64 {
        if HIGHEST { greater(a, b) } else { lesser(a, b) }
    }

    /// Notes the numbers of a row.
    #[inline(always)]
    pub(super) fn note(&mut self, row: &[f64]) {
        let (chunks, rest) = row.as_chunks::<LANES>();
        for chunk in chunks {
            for (lane, value) in self.lanes.iter_mut().zip(chunk) {
                *lane = Self::of(*lane, *value);
            }
        }
        for value in rest {
            self.lanes[0] = Self::of(self.lanes[0], *value);
        }
    }

    /// The most extreme number.
    #[inline(always)]
    pub(super) fn value(&self) -> f64 {
        let [a, b, c, d, e, f, g, h] = self.lanes;
        Self::of(Self::of(Self::of(a, b), Self::of(c, d)), Self::of(Self::of(e, f), Self::of(g, h)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_place_is_seen() {
        for len in [1, 7, 8, 9, 30] {
            for place in 0..len {
                let mut row = vec![2.0; len];
                row[place] = 3.0;
                let mut highest = Extreme::highest();
                highest.note(&row);
                assert!((highest.value() - 3.0).abs() <= 0.0);
                row[place] = 1.0;
                let mut lowest = Extreme::lowest();
                lowest.note(&row);
                assert!((lowest.value() - 1.0).abs() <= 0.0);
            }
        }
    }

    #[test]
    fn the_highest_is_not_below_zero() {
        let mut highest = Extreme::highest();
        highest.note(&[-1.0, -2.0]);
        assert!(highest.value().abs() <= 0.0);
    }
}
