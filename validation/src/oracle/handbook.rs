//! Handbook coefficients of local losses: total-pressure loss over the velocity head of a named section.

use crate::oracle::root::bisect;
use std::f64::consts::PI;

/// Sudden contraction to `ratio` of the area, on the head behind it. Idelchik, diagram 4-9.
#[must_use]
pub fn sudden_contraction(ratio: f64) -> f64 {
    0.5 * libm::pow(1.0 - ratio, 0.75)
}

/// Mesh of round wires with the open share `open`, on the head of the whole passage. Idelchik, diagram 8-6.
#[must_use]
pub fn wire_mesh(open: f64) -> f64 {
    1.3 * (1.0 - open) + (1.0 / open - 1.0) * (1.0 / open - 1.0)
}

/// Thin plate with sharp holes of the open share `open`, on the head of the whole passage. Idelchik, diagram 8-1.
#[must_use]
pub fn perforated_plate(open: f64) -> f64 {
    let root = (0.707 * (1.0 - open).sqrt() + 1.0 - open) / open;
    root * root
}

/// Darcy friction factor of a smooth pipe at a Reynolds number: Prandtl's law. White, Fluid Mechanics, 7th ed., equation 6.38.
#[must_use]
pub fn smooth_friction(reynolds: f64) -> f64 {
    let excess = |root: f64| 1.0 / root - 2.0 * libm::log10(reynolds * root) + 0.8;
    bisect(1e-3, 1.0, excess).map_or(f64::NAN, |root| root * root)
}

/// Bend of `angle` [rad] with a centre line of `ratio` bores, without the wall friction of its arc; `friction` is the Darcy factor.
/// Rennels and Hudson, Pipe Flow, 2nd ed. (2012), equation 15.1 less its first term.
#[must_use]
pub fn round_bend(angle: f64, ratio: f64, friction: f64) -> f64 {
    let sine = libm::sin(0.5 * angle);
    (0.10 + 2.4 * friction) * sine + 6.6 * friction * (sine.sqrt() + sine) / libm::pow(ratio, 4.0 * angle / PI)
}

/// Discharge coefficient of an orifice plate with corner taps in a duct of `diameter` [m] and more than 71.12 mm.
/// ISO 5167-2:2003, equation 4.
#[must_use]
pub fn corner_tap_coefficient(diameter_ratio: f64, diameter: f64, reynolds: f64) -> f64 {
    debug_assert!(diameter > 0.071_12);
    let power = |exponent: f64| libm::pow(diameter_ratio, exponent);
    let a = libm::pow(19_000.0 * diameter_ratio / reynolds, 0.8);
    0.5961 + 0.0261 * power(2.0) - 0.216 * power(8.0)
        + 0.000_521 * libm::pow(1e6 * diameter_ratio / reynolds, 0.7)
        + (0.0188 + 0.0063 * a) * power(3.5) * libm::pow(1e6 / reynolds, 0.3)
}

/// Lasting loss of an orifice plate with corner taps over the difference that its taps read. ISO 5167-2:2003, section 5.4.
#[must_use]
pub fn plate_lasting_share(discharge_coefficient: f64, diameter_ratio: f64) -> f64 {
    let square = diameter_ratio * diameter_ratio;
    let root = (1.0 - square * square * (1.0 - discharge_coefficient * discharge_coefficient)).sqrt();
    (root - discharge_coefficient * square) / (root + discharge_coefficient * square)
}

/// Loss into a branch that turns air by an angle [deg] and carries `velocity` times the common velocity, on the common head.
/// Hager (1984), Proc. IMechE 198C, 63.
#[must_use]
pub fn hager_branch(degrees: f64, velocity: f64) -> f64 {
    1.0 + velocity * velocity - 2.0 * velocity * libm::cos(0.75 * degrees * PI / 180.0)
}

/// Loss of the straight run of a tee whose branch takes `share` of the flow, on the common head. Idelchik, chapter 7, from memory.
#[must_use]
pub fn idelchik_run(share: f64) -> f64 {
    0.4 * share * share
}

/// Loss of one of two streams that join at an angle [deg] on both sides of the common duct, from legs of `area` times its area, the stream
/// being `share` of the flow; on the common head. Momentum along the common duct with the same pressure in both legs.
#[must_use]
pub fn momentum_joining(degrees: f64, area: f64, share: f64) -> f64 {
    let other = 1.0 - share;
    let brought = libm::cos(degrees * PI / 180.0) * (share * share + other * other) / area;
    1.0 + share * share / (area * area) - 2.0 * brought
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data;
    use approx::assert_relative_eq;

    #[test]
    fn coefficients_are_those_of_the_handbooks_tables() {
        assert_relative_eq!(sudden_contraction(0.5), 0.297_302, max_relative = 1e-5);
        assert_relative_eq!(wire_mesh(0.7), 0.573_673, max_relative = 1e-5);
        assert_relative_eq!(perforated_plate(0.7), 0.963_875, max_relative = 1e-5);
        // White, table 6.4: smooth pipes.
        assert_relative_eq!(smooth_friction(1e5), 0.0180, max_relative = 3e-3);
    }

    #[test]
    fn bends_are_rennels_with_the_friction_of_the_arc() {
        // (R/D, angle [deg], K with friction) of a smooth wall at Re = 2e5.
        for (ratio, degrees, expected) in [(1.0, 45.0, 0.168_251), (1.0, 90.0, 0.281_574), (1.5, 90.0, 0.205_098_f64)] {
            let (angle, friction) = (degrees * PI / 180.0, smooth_friction(2e5));
            let found = round_bend(angle, ratio, friction) + friction * angle * ratio;
            assert_relative_eq!(found, expected, max_relative = 3e-3);
        }
    }

    #[test]
    fn branches_and_runs_agree_with_the_table() {
        for row in data::rows(data::JUNCTION_LOSSES).unwrap() {
            let value = |column: &str| row.number(column).unwrap();
            let share = value("q_mb_mc");
            if row.text("flow") == Ok("dividing") {
                let branch = hager_branch(value("angle_deg"), share / value("phi_Ab_Ac"));
                assert!((branch - value("K_branch_A")).abs() < 1e-7);
                assert!((idelchik_run(share) - value("K_run_B")).abs() < 1e-7);
            }
        }
        // Two streams that meet head on a duct of both their areas keep nothing of their momentum: one head and their own.
        assert_relative_eq!(momentum_joining(90.0, 1.0, 0.5), 1.25, max_relative = 1e-12);
        assert_relative_eq!(momentum_joining(0.0, 0.5, 0.5), 0.0, epsilon = 1e-12);
    }

    #[test]
    fn plates_agree_with_the_table() {
        for row in data::rows(data::PLATE_COEFFICIENTS).unwrap() {
            let value = |column: &str| row.number(column).unwrap();
            if row.text("taps") == Ok("corner") && value("D_m") > 0.071_12 {
                let found = corner_tap_coefficient(value("beta"), value("D_m"), value("Re_D"));
                assert_relative_eq!(found, value("C"), max_relative = 1e-8);
            }
        }
    }

    #[test]
    fn the_lasting_loss_is_large_behind_a_small_hole() {
        // ISO 5167-2, section 5.4.1: the share is close to 1 - beta^1.9.
        for ratio in [0.3_f64, 0.5, 0.7] {
            let expected = 1.0 - libm::pow(ratio, 1.9);
            assert_relative_eq!(plate_lasting_share(0.605, ratio), expected, max_relative = 0.05);
        }
    }
}
