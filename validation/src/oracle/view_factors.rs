//! View factors from their definition, an integral over both surfaces of cosines over the square of the distance (Incropera et al., 7th
//! ed. 2011, eq. 13.1), by Gauss's rule. Of the four integrals those that are elementary are done by hand; no closed form of the whole is
//! used.

use crate::oracle::quadrature::gauss;
use std::f64::consts::PI;

/// Intervals a direction; each takes five points.
const INTERVALS: u32 = 24;

/// Integral over a rectangle from the origin.
fn over(across: f64, up: f64, function: impl Fn(f64, f64) -> f64) -> f64 {
    let line = |length: f64, function: &dyn Fn(f64) -> f64| -> f64 {
        let edge = |interval: u32| length * f64::from(interval) / f64::from(INTERVALS);
        (0..INTERVALS).map(|interval| gauss(edge(interval), edge(interval + 1), |x| [function(x)])[0]).sum()
    };
    line(across, &|x| line(up, &|y| function(x, y)))
}

/// Between two equal rectangles opposite each other. Only the offset of two points counts, and each offset as often as it fits.
#[must_use]
pub fn aligned_rectangles(width: f64, height: f64, gap: f64) -> f64 {
    let kernel = |x: f64, y: f64| {
        let distance = x * x + y * y + gap * gap;
        (width - x) * (height - y) * gap * gap / (PI * distance * distance)
    };
    4.0 * over(width, height, kernel) / (width * height)
}

/// From a rectangle that reaches `from` away from a shared `edge` to one at right angles that reaches `to`.
///
/// The integral over the second one's reach is elementary. What is left has a corner in which it is not smooth, where both points meet
/// on the edge; two triangles with their tips there take it away (Duffy 1982, SIAM J. Numer. Anal. 19, 1260).
#[must_use]
pub fn perpendicular_rectangles(edge: f64, from: f64, to: f64) -> f64 {
    let kernel = |height: f64, offset: f64| {
        let square = height * height + offset * offset;
        2.0 * (edge - offset) * height * to * to / (2.0 * PI * square * (square + to * to))
    };
    let corners = over(1.0, 1.0, |size, slope| {
        let area = size * from * edge;
        area * (kernel(size * from, size * slope * edge) + kernel(size * slope * from, size * edge))
    });
    corners / (edge * from)
}

/// From a disc to another one on the same axis. The integral over the angle between two points is elementary.
#[must_use]
pub fn coaxial_discs(from: f64, to: f64, gap: f64) -> f64 {
    let kernel = |one: f64, other: f64| {
        let (sum, twice) = (one * one + other * other + gap * gap, 2.0 * one * other);
        let around = 2.0 * PI * sum / (sum * sum - twice * twice).powf(1.5);
        2.0 * one * other * gap * gap * around
    };
    over(from, to, kernel) / (PI * from * from)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_cube_sees_its_own_faces() {
        let seen = aligned_rectangles(1.0, 1.0, 1.0) + 4.0 * perpendicular_rectangles(1.0, 1.0, 1.0);
        assert_relative_eq!(seen, 1.0, max_relative = 1e-9);
    }

    #[test]
    fn equal_discs_a_radius_apart_have_a_simple_value() {
        assert_relative_eq!(coaxial_discs(1.0, 1.0, 1.0), 0.5 * (3.0 - 5.0_f64.sqrt()), max_relative = 1e-12);
    }
}
