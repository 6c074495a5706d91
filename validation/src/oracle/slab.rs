//! A slab of one material that a stream cools on one face, the other face insulated: the exact series. Incropera et al., 7th ed. (2011),
//! section 5.5.1. Lengths over the thickness, times as Fourier number, temperatures from 1 at the start to 0 of the stream.

use crate::oracle::root::bisect;
use std::f64::consts::PI;

/// Terms that are summed; after a Fourier number of 0.01 the last one is below 1e-16.
const TERMS: u32 = 40;

/// Roots and coefficients of the series at a `biot` number, film times thickness over conductivity.
fn terms(biot: f64) -> impl Iterator<Item = (f64, f64)> {
    (0..TERMS).filter_map(move |term| {
        let start = f64::from(term) * PI;
        let root = bisect(start, start + 0.5 * PI, |z| z * libm::sin(z) - biot * libm::cos(z))?;
        Some((root, 4.0 * libm::sin(root) / (2.0 * root + libm::sin(2.0 * root))))
    })
}

/// Temperature at `place`, 0 at the insulated face and 1 at the cooled one, at a `fourier` number.
#[must_use]
pub fn temperature(biot: f64, fourier: f64, place: f64) -> f64 {
    terms(biot).map(|(root, size)| size * libm::exp(-root * root * fourier) * libm::cos(root * place)).sum()
}

/// Mean temperature: the share of its heat that the slab still holds.
#[must_use]
pub fn mean(biot: f64, fourier: f64) -> f64 {
    terms(biot).map(|(root, size)| size * libm::exp(-root * root * fourier) * libm::sin(root) / root).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn first_roots_are_those_of_the_printed_table() {
        // Incropera et al., table 5.1: Bi, first root, first coefficient.
        for (biot, root, size) in [(0.1, 0.3111, 1.0161), (1.0, 0.8603, 1.1191), (10.0, 1.4289, 1.2620)] {
            let found = terms(biot).next().unwrap();
            assert!((found.0 - root).abs() < 1e-4 && (found.1 - size).abs() < 1e-4, "{found:?}");
        }
        assert_eq!(terms(1.0).count(), TERMS as usize);
    }

    #[test]
    fn heat_leaves_as_fast_as_the_film_lets_it() {
        let (biot, fourier, step) = (0.7, 0.3, 1e-5);
        let rate = (mean(biot, fourier + step) - mean(biot, fourier - step)) / (2.0 * step);
        assert_relative_eq!(rate, -biot * temperature(biot, fourier, 1.0), max_relative = 1e-8);
    }
}
