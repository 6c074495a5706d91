//! View factors of simple shapes: the share of what one surface sends out evenly that reaches another.
//!
//! Howell, Menguc, Daun and Siegel, Thermal Radiation Heat Transfer, and its catalogue of configuration factors; the same forms stand in
//! Incropera et al., 7th ed. (2011), tables 13.1 and 13.2. Lengths must be positive; only their ratios matter.

use std::f64::consts::PI;

/// From either of two plates to the other when both are much larger than the gap between them.
pub const INFINITE_PLATES: f64 = 1.0;
/// From a body that nowhere sees itself to what surrounds it wholly.
pub const CONVEX_TO_SURROUNDINGS: f64 = 1.0;

/// From one of two equal rectangles of `width` by `height` [m], opposite each other across `gap` [m], to the other. Catalogue C-11.
#[must_use]
pub fn aligned_rectangles(width: f64, height: f64, gap: f64) -> f64 {
    let (x, y) = (width / gap, height / gap);
    let (x_slant, y_slant) = ((1.0 + x * x).sqrt(), (1.0 + y * y).sqrt());
    let logarithm = 0.5 * libm::log1p(x * x * y * y / (1.0 + x * x + y * y));
    let across = x * (y_slant * libm::atan(x / y_slant) - libm::atan(x));
    let along = y * (x_slant * libm::atan(y / x_slant) - libm::atan(y));
    2.0 / (PI * x * y) * (logarithm + across + along)
}

/// From one of two rectangles at right angles to the other. They share an edge of length `edge` [m], from which the first reaches `from`
/// [m] and the second `to` [m]. Catalogue C-14.
#[must_use]
pub fn perpendicular_rectangles(edge: f64, from: f64, to: f64) -> f64 {
    let (w, h) = (from / edge, to / edge);
    let (w2, h2) = (w * w, h * h);
    let (sum, all) = (w2 + h2, 1.0 + w2 + h2);
    let angles = w * libm::atan(1.0 / w) + h * libm::atan(1.0 / h) - sum.sqrt() * libm::atan(1.0 / sum.sqrt());
    let logarithms = libm::log1p(w2 * h2 / all)
        + w2 * libm::log1p(-h2 / ((1.0 + w2) * sum))
        + h2 * libm::log1p(-w2 / ((1.0 + h2) * sum));
    (angles + 0.25 * logarithms) / (PI * w)
}

/// From a disc of radius `from` [m] to one of radius `to` [m] on the same axis across `gap` [m]. Catalogue C-41.
#[must_use]
pub fn coaxial_discs(from: f64, to: f64, gap: f64) -> f64 {
    let (from, to) = (from / gap, to / gap);
    let ratio = to * to / (from * from);
    let sum = 1.0 + (1.0 + to * to) / (from * from);
    2.0 * ratio / (sum + (sum * sum - 4.0 * ratio).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sizes() -> impl Iterator<Item = [f64; 3]> {
        let each = [0.01, 0.1, 0.5, 1.0, 3.0, 20.0];
        each.into_iter().flat_map(move |a| each.into_iter().flat_map(move |b| each.into_iter().map(move |c| [a, b, c])))
    }

    #[test]
    fn the_faces_of_a_box_see_just_each_other() {
        for [x, y, z] in sizes() {
            let seen = aligned_rectangles(x, y, z)
                + 2.0 * perpendicular_rectangles(x, y, z)
                + 2.0 * perpendicular_rectangles(y, x, z);
            assert!((seen - 1.0).abs() < 1e-9, "{x} {y} {z}: {seen}");
        }
    }

    #[test]
    fn views_are_reciprocal_and_shares() {
        for [a, b, c] in sizes() {
            let discs = [coaxial_discs(a, b, c), coaxial_discs(b, a, c)];
            assert!((discs[0] * a * a / (discs[1] * b * b) - 1.0).abs() < 1e-9, "{a} {b} {c}");
            let edges = [perpendicular_rectangles(a, b, c), perpendicular_rectangles(a, c, b)];
            assert!((edges[0] * b - edges[1] * c).abs() < 1e-10 * b.max(c), "{a} {b} {c}");
            for view in [discs[0], discs[1], edges[0], edges[1], aligned_rectangles(a, b, c)] {
                assert!((0.0..=1.0).contains(&view), "{a} {b} {c}: {view}");
            }
        }
    }

    #[test]
    fn views_reach_their_limits() {
        assert!((aligned_rectangles(1e4, 1e4, 1.0) - INFINITE_PLATES).abs() < 3e-4);
        assert!((coaxial_discs(1e4, 1e4, 1.0) - INFINITE_PLATES).abs() < 3e-4);
        assert!((coaxial_discs(1e-4, 1.0, 1.0) - 0.5).abs() < 1e-8);
        // Far apart: the area over pi times the distance squared.
        assert!((aligned_rectangles(1.0, 2.0, 100.0) * PI * 1e4 / 2.0 - 1.0).abs() < 1e-3);
        // Two long plates at right angles, by crossed strings.
        assert!((perpendicular_rectangles(1e5, 1.0, 1.0) - (1.0 - 0.5_f64.sqrt())).abs() < 1e-4);
    }
}
