//! A curve through points that rises and falls only where they do.

/// Piecewise cubic through points that rise in x, straight outside them with the slope of its end.
///
/// Slopes start as those of parabolas through three neighbours and are cut back until no piece leaves the values of its ends.
/// Fritsch and Carlson (1980), SIAM J. Numer. Anal. 17, 238.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct MonotoneCurve {
    points: Vec<(f64, f64)>,
    slopes: Vec<f64>,
}

/// What becomes of the curve's slope at one of its ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum EndSlope {
    /// That of the parabola with the slope of the neighbouring point.
    Natural,
    /// This one, cut back to what keeps the last piece monotone.
    Given(f64),
}

impl MonotoneCurve {
    /// The curve through `points`: at least two, finite, rising in x.
    pub(super) fn new(points: Vec<(f64, f64)>, first: EndSlope, last: EndSlope) -> Self {
        let end = points.len() - 1;
        let secants: Vec<f64> = points.windows(2).map(|pair| secant(pair[0], pair[1])).collect();
        let mut slopes = vec![0.0; points.len()];
        for at in 1..end {
            let (before, after) = (points[at].0 - points[at - 1].0, points[at + 1].0 - points[at].0);
            if secants[at - 1] * secants[at] > 0.0 {
                slopes[at] = (secants[at - 1] * after + secants[at] * before) / (before + after);
            }
        }
        for (at, piece, inner, wish) in [(0, 0, 1, first), (end, end - 1, end - 1, last)] {
            slopes[at] = match wish {
                EndSlope::Natural if end > 1 => 2.0 * secants[piece] - slopes[inner],
                EndSlope::Natural => secants[piece],
                EndSlope::Given(slope) => slope,
            };
        }
        for (piece, secant) in secants.iter().enumerate() {
            for slope in &mut slopes[piece..=piece + 1] {
                // Three times the secant is Fritsch and Carlson's box.
                *slope =
                    if *slope * secant <= 0.0 { 0.0 } else { slope.signum() * slope.abs().min(3.0 * secant.abs()) };
            }
        }
        Self { points, slopes }
    }

    /// Value and slope at `x`.
    pub(super) fn at(&self, x: f64) -> (f64, f64) {
        let last = self.points.len() - 1;
        let right = self.points.partition_point(|point| point.0 <= x);
        if right == 0 || right > last {
            let end = right.min(last);
            return (self.points[end].1 + self.slopes[end] * (x - self.points[end].0), self.slopes[end]);
        }
        let left = right - 1;
        let (from, to) = (self.points[left], self.points[right]);
        let (width, secant) = (to.0 - from.0, secant(from, to));
        let t = (x - from.0) / width;
        let (start, end) = (self.slopes[left], self.slopes[right]);
        // Newton's form: exact at the left point, and at the right one to round-off.
        let (square, cube) = (3.0 * secant - 2.0 * start - end, start + end - 2.0 * secant);
        let value = from.1 + width * t * (start + t * (square + t * cube));
        (value, start + t * (2.0 * square + 3.0 * t * cube))
    }
}

fn secant(from: (f64, f64), to: (f64, f64)) -> f64 {
    (to.1 - from.1) / (to.0 - from.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curve(points: &[(f64, f64)]) -> MonotoneCurve {
        MonotoneCurve::new(points.to_vec(), EndSlope::Natural, EndSlope::Natural)
    }

    #[test]
    fn meets_its_points_and_never_turns_between_them() {
        let points = [(0.0, 3.0), (0.1, 2.9), (0.5, 2.8), (0.55, 1.0), (2.0, 0.9)];
        let curve = curve(&points);
        for (x, y) in points {
            assert!((curve.at(x).0 - y).abs() < 1e-15);
        }
        let mut last = f64::INFINITY;
        for step in -100..=3000 {
            let value = curve.at(f64::from(step) * 1e-3).0;
            assert!(value <= last);
            last = value;
        }
    }

    #[test]
    fn a_parabola_is_met_inside() {
        let square = |x: f64| (x, x * x);
        let curve = curve(&[1.0, 1.5, 2.5, 3.0, 4.0].map(square));
        for x in [1.2, 1.9, 2.7, 3.6] {
            assert!((curve.at(x).0 - x * x).abs() < 1e-13, "{x}");
        }
    }

    #[test]
    fn its_slope_is_that_of_its_values_and_has_no_jump() {
        let curve = curve(&[(0.0, 1.0), (1.0, 1.5), (2.0, 4.0), (4.0, 4.1)]);
        for step in -10..50 {
            let x = 0.1 * f64::from(step);
            let known = (curve.at(x + 1e-6).0 - curve.at(x - 1e-6).0) / 2e-6;
            assert!((curve.at(x).1 - known).abs() < 1e-4, "{x}");
        }
    }

    #[test]
    fn an_end_takes_the_slope_it_is_given_as_far_as_it_may() {
        let points = vec![(0.0, 1.0), (1.0, 0.0)];
        let given = |first| MonotoneCurve::new(points.clone(), EndSlope::Given(first), EndSlope::Natural).at(-1.0).0;
        assert!((given(-0.25) - 1.25).abs() < 1e-15);
        assert!((given(-9.0) - 4.0).abs() < 1e-15 && (given(2.0) - 1.0).abs() < 1e-15);
    }
}
