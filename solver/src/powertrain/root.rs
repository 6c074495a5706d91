//! The square root of a pressure difference, through nothing.

/// `sqrt(x)` for x from `reach` on, `-sqrt(-x)` below `-reach`, and between them the odd cubic that meets both with their slopes.
pub(super) fn signed_root(x: f64, reach: f64) -> f64 {
    let t = x / reach;
    if t.abs() < 1.0 { reach.sqrt() * t * (1.25 - 0.25 * t * t) } else { x.abs().sqrt().copysign(x) }
}

/// Minus one below `-reach`, one above `reach`, and between them the odd cubic that meets both without a corner.
pub(super) fn signed_one(x: f64, reach: f64) -> f64 {
    let t = (x / reach).clamp(-1.0, 1.0);
    t * (1.5 - 0.5 * t * t)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_are_odd_rise_and_have_no_corner() {
        for (law, end) in [(signed_root as fn(f64, f64) -> f64, 0.1), (signed_one, 1.0)] {
            assert!((law(0.01, 0.01) - end).abs() < 1e-15 && law(0.0, 0.01).abs() < 1e-300);
            let slope = |x: f64| (law(x + 1e-9, 0.01) - law(x - 1e-9, 0.01)) / 2e-9;
            for x in [0.002, 0.009_999_999, 0.01] {
                assert!((law(x, 0.01) + law(-x, 0.01)).abs() < 1e-15);
                assert!(slope(x) >= 0.0 && (slope(x) - slope(x + 1e-8)).abs() < 1e-2, "{x}");
            }
        }
        assert!((signed_root(4.0, 0.01) - 2.0).abs() < 1e-15 && (signed_one(-3.0, 0.01) + 1.0).abs() < 1e-15);
    }
}
