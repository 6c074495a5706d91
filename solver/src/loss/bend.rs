//! Loss coefficient of a bend, without the wall friction of its arc: the duct has its own.

use std::f64::consts::PI;

use super::RATED_REYNOLDS;
use crate::flow::wall_law::churchill;

/// Radius over diameter below which a round bend goes over into a mitre; the end of the range of Rennels' charts.
const TIGHTEST_ROUND_BEND: f64 = 0.5;

/// Velocity heads lost in a bend of `angle` [rad, 0..pi] whose centre line has `radius_ratio` = R/D, for a wall of `roughness` over
/// diameter.
///
/// Rennels and Hudson, Pipe Flow, 2nd ed. (Wiley 2012), eq. 15.1 without its term f a R/D, with the friction factor at
/// [`RATED_REYNOLDS`]; below R/D = 0.5 it leads over to the mitre of eq. 15.2 at R/D = 0. Handbooks differ by 20 %. The loss
/// includes what is lost in the disturbed flow behind the bend, so that two bends closer than 4 D lose less or more than
/// their sum.
#[must_use]
pub fn coefficient(angle: f64, radius_ratio: f64, roughness: f64) -> f64 {
    if radius_ratio >= TIGHTEST_ROUND_BEND {
        return round(angle, radius_ratio, roughness);
    }
    let share = radius_ratio / TIGHTEST_ROUND_BEND;
    let blend = share * share * (3.0 - 2.0 * share);
    mitre(angle) + blend * (round(angle, TIGHTEST_ROUND_BEND, roughness) - mitre(angle))
}

/// Darcy friction factor at [`RATED_REYNOLDS`].
fn rated_friction(roughness: f64) -> f64 {
    churchill(RATED_REYNOLDS, roughness) / RATED_REYNOLDS
}

fn round(angle: f64, radius_ratio: f64, roughness: f64) -> f64 {
    let factor = rated_friction(roughness);
    let sine = libm::sin(0.5 * angle);
    (0.10 + 2.4 * factor) * sine + 6.6 * factor * (sine.sqrt() + sine) / libm::pow(radius_ratio, 4.0 * angle / PI)
}

fn mitre(angle: f64) -> f64 {
    let sine = libm::sin(0.5 * angle);
    0.42 * sine + 2.56 * sine * sine * sine
}

#[cfg(test)]
mod tests {
    use super::*;

    /// (R/D, angle [deg], K): Rennels and Hudson eq. 15.1 for a smooth wall at Re = 2e5, friction of the arc included.
    const ROUND: [(f64, f64, f64); 7] = [
        (0.5, 90.0, 0.74858),
        (1.0, 45.0, 0.168251),
        (1.0, 90.0, 0.281574),
        (1.0, 180.0, 0.393067),
        (2.0, 30.0, 0.101874),
        (2.0, 90.0, 0.186314),
        (2.0, 180.0, 0.248682),
    ];

    #[test]
    fn with_the_friction_of_the_arc_it_is_the_handbooks_value() {
        for (radius_ratio, degrees, expected) in ROUND {
            let angle = degrees * PI / 180.0;
            let arc = rated_friction(0.0) * angle * radius_ratio;
            let found = coefficient(angle, radius_ratio, 0.0) + arc;
            // The table takes the friction factor from another law than Churchill's; they differ by 0.6 %.
            assert!((found / expected - 1.0).abs() < 0.006, "{radius_ratio} {degrees}: {found}");
        }
    }

    #[test]
    fn lies_among_the_other_handbooks_at_a_right_angle() {
        // (R/D, lowest, highest) of Miller, Ito and Rennels, widened by the 20 % by which they differ.
        for (radius_ratio, low, high) in [(1.0, 0.25, 0.28), (1.5, 0.20, 0.21), (2.0, 0.18, 0.19), (3.0, 0.18, 0.19)] {
            let found = coefficient(0.5 * PI, radius_ratio, 0.0) + rated_friction(0.0) * 0.5 * PI * radius_ratio;
            assert!(found > 0.8 * low && found < 1.2 * high, "{radius_ratio}: {found}");
        }
    }

    #[test]
    fn a_bend_without_radius_is_a_mitre() {
        // Rennels and Hudson eq. 15.2 at 30, 60, 90 degrees.
        for (degrees, expected) in [(30.0, 0.153_088), (60.0, 0.53), (90.0, 1.202_08_f64)] {
            assert!((coefficient(degrees * PI / 180.0, 0.0, 0.0) - expected).abs() < 1e-5, "{degrees}");
        }
    }

    #[test]
    fn falls_without_a_step_from_mitre_to_round_bend() {
        let mut last = coefficient(0.5 * PI, 0.0, 0.0);
        for step in 1..=200 {
            let found = coefficient(0.5 * PI, 0.005 * f64::from(step), 0.0);
            assert!(found <= last && last - found < 0.03, "{step}");
            last = found;
        }
    }
}
