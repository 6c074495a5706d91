//! Interpolation in a handbook's table: smooth, and never outside the values on both sides.

/// Value at `x` of the curve through `points` (rising in x, at least two), held constant outside them.
///
/// Monotone piecewise cubic; slopes are the harmonic mean of the neighbouring secants, zero at an extremum. Fritsch and Butland
/// (1984), SIAM J. Sci. Stat. Comput. 5, 300.
pub(crate) fn interpolate(points: &[(f64, f64)], x: f64) -> f64 {
    let last = points.len() - 1;
    if x <= points[0].0 {
        return points[0].1;
    }
    if x >= points[last].0 {
        return points[last].1;
    }
    let right = points.partition_point(|point| point.0 <= x);
    let left = right - 1;
    let width = points[right].0 - points[left].0;
    let t = (x - points[left].0) / width;
    let (from, to) = (points[left].1, points[right].1);
    let (start, end) = (slope(points, left) * width, slope(points, right) * width);
    let blend = t * t * (3.0 - 2.0 * t);
    from + (to - from) * blend + t * (1.0 - t) * (start * (1.0 - t) - end * t)
}

/// Slope of the curve at one of its points: the first secant at the first, zero at the last, where the curve becomes a constant.
fn slope(points: &[(f64, f64)], at: usize) -> f64 {
    let secant = |left: usize| (points[left + 1].1 - points[left].1) / (points[left + 1].0 - points[left].0);
    if at == 0 {
        return secant(0);
    }
    if at + 1 == points.len() {
        return 0.0;
    }
    let (before, after) = (secant(at - 1), secant(at));
    if before * after <= 0.0 { 0.0 } else { 2.0 * before * after / (before + after) }
}

/// Value at `x` of the broken line through `points` (rising in x, at least one), held constant outside them.
pub(crate) fn broken_line(points: &[(f64, f64)], x: f64) -> f64 {
    let last = points.len() - 1;
    let right = points.partition_point(|point| point.0 <= x);
    if right == 0 {
        points[0].1
    } else if right > last {
        points[last].1
    } else {
        let ((left, from), (right, to)) = (points[right - 1], points[right]);
        from + (to - from) * (x - left) / (right - left)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const FALLING: [(f64, f64); 4] = [(0.0, 1.0), (0.1, 0.4), (0.15, 0.3), (0.4, 0.1)];

    #[test]
    fn meets_its_points_and_falls_between_them() {
        for (x, value) in FALLING {
            assert!((interpolate(&FALLING, x) - value).abs() < 1e-14);
        }
        let mut last = f64::INFINITY;
        for step in 0..=100 {
            let value = interpolate(&FALLING, 0.005 * f64::from(step) - 0.05);
            assert!(value <= last && (0.1..=1.0).contains(&value));
            last = value;
        }
    }

    #[test]
    fn a_broken_line_is_held_outside() {
        assert!((broken_line(&FALLING, 0.05) - 0.7).abs() < 1e-14);
        assert!((broken_line(&FALLING, -1.0) - 1.0).abs() < 1e-14);
        assert!((broken_line(&FALLING, 9.0) - 0.1).abs() < 1e-14);
    }
}
