//! Mean Nusselt numbers of outer surfaces, as published: of Rayleigh and Prandtl number in still air, of Reynolds and Prandtl number in
//! a stream. From Incropera et al., Fundamentals of Heat and Mass Transfer, 7th ed. (2011), sections 7.2, 7.4 and 9.6.
//!
//! Each is smooth at any Rayleigh and Reynolds number and even in it. Below one, which lies under all published ranges, a power goes over
//! into a polynomial without corner; where two branches meet they are joined by a parabola, named at each law. These laws scatter by
//! 10 to 25 % around measurements.

use super::ease::{larger, power};

/// Nusselt number of an upright plate without any flow: what Churchill and Chu's law leaves at nothing.
pub const CONDUCTION: f64 = 0.825 * 0.825;
/// Width of the parabola that joins the branches of a level plate.
const LEVEL_WIDTH: f64 = 0.5;
/// Reynolds numbers have so much less Nusselt number in the turbulent law as the laminar leading edge up to 5e5 takes from it.
const LEADING_EDGE: f64 = 871.0;
/// Width of the parabola that joins laminar and mixed flow along a plate; it spans Reynolds numbers from 4.5e5 to 5.5e5.
const TRANSITION_WIDTH: f64 = 80.0;

/// Still air at an upright plate, its height as length. Churchill and Chu (1975), Int. J. Heat Mass Transfer 18, 1323, for laminar and
/// turbulent flow.
#[must_use]
pub fn upright_plate(rayleigh: f64, prandtl: f64) -> f64 {
    churchill_chu(0.825, 0.492, rayleigh, prandtl)
}

/// Still air at a level cylinder, its diameter as length. Churchill and Chu (1975), Int. J. Heat Mass Transfer 18, 1049.
#[must_use]
pub fn level_cylinder(rayleigh: f64, prandtl: f64) -> f64 {
    churchill_chu(0.60, 0.559, rayleigh, prandtl)
}

fn churchill_chu(conduction: f64, prandtl_scale: f64, rayleigh: f64, prandtl: f64) -> f64 {
    let resistance = libm::pow(1.0 + libm::pow(prandtl_scale / prandtl, 9.0 / 16.0), 8.0 / 27.0);
    let root = conduction + 0.387 * power(rayleigh, 1.0 / 6.0) / resistance;
    root * root
}

/// Still air at a level plate from whose face warmed air can rise or cooled air fall freely, area over circumference as length. McAdams
/// (1954); the larger of his two powers, which cross at a Rayleigh number of 4.7e6, where he changes over at 1e7 with a jump of 6 %. The
/// floor of conduction is ASSUMED to be that of the upright plate.
#[must_use]
pub fn level_plate_free(rayleigh: f64) -> f64 {
    let rayleigh = rayleigh.abs();
    let laminar = larger(0.54 * rayleigh.sqrt().sqrt(), CONDUCTION, LEVEL_WIDTH);
    larger(laminar, 0.15 * libm::cbrt(rayleigh), LEVEL_WIDTH)
}

/// Still air at a level plate that holds its air in place: warm and facing down, or cold and facing up; length and floor as with
/// [`level_plate_free`]. McAdams (1954).
#[must_use]
pub fn level_plate_held(rayleigh: f64) -> f64 {
    larger(0.27 * rayleigh.abs().sqrt().sqrt(), CONDUCTION, LEVEL_WIDTH)
}

/// A stream along a plate with a sharp leading edge, its way along the plate as length. Incropera et al., eq. 7.30 and, above a Reynolds
/// number of 5e5, eq. 7.38, joined by a parabola that adds at most 5 % between 4.5e5 and 5.5e5.
#[must_use]
pub fn plate(reynolds: f64, prandtl: f64) -> f64 {
    let laminar = 0.664 * power(reynolds, 0.5);
    let mixed = 0.037 * power(reynolds, 0.8) - LEADING_EDGE;
    larger(mixed, laminar, TRANSITION_WIDTH) * libm::cbrt(prandtl)
}

/// A stream along a plate whose boundary layer is turbulent from its edge on, tripped by that edge or by rough air. Incropera et al.,
/// eq. 7.38 with nothing taken off. Never less than the laminar law, which it crosses near a Reynolds number of 15 000.
#[must_use]
pub fn tripped_plate(reynolds: f64, prandtl: f64) -> f64 {
    let laminar = 0.664 * power(reynolds, 0.5);
    larger(0.037 * power(reynolds, 0.8), laminar, 1.0) * libm::cbrt(prandtl)
}

/// A stream across a cylinder, its diameter as length. Churchill and Bernstein (1977), J. Heat Transfer 99, 300.
#[must_use]
pub fn cylinder(reynolds: f64, prandtl: f64) -> f64 {
    let laminar = 0.62 * power(reynolds, 0.5) * libm::cbrt(prandtl);
    let resistance = libm::pow(1.0 + libm::pow(0.4 / prandtl, 2.0 / 3.0), 0.25);
    let turbulence = libm::pow(1.0 + libm::pow(reynolds.abs() / 282_000.0, 0.625), 0.8);
    0.3 + laminar / resistance * turbulence
}

/// Still air and a stream together: the cube root of the sum of cubes. Churchill (1977), AIChE Journal 23, 10, for flows that help each
/// other; used whichever way the air goes.
#[must_use]
pub fn natural_and_forced(natural: f64, forced: f64) -> f64 {
    libm::cbrt(natural * natural * natural + forced * forced * forced)
}

#[cfg(test)]
mod tests {
    use super::*;

    const PRANDTL: f64 = 0.7;
    type Law = (&'static str, fn(f64) -> f64);
    const LAWS: [Law; 7] = [
        ("upright plate", |x| upright_plate(x, PRANDTL)),
        ("level cylinder", |x| level_cylinder(x, PRANDTL)),
        ("level plate, free", level_plate_free),
        ("level plate, held", level_plate_held),
        ("plate", |x| plate(x, PRANDTL)),
        ("tripped plate", |x| tripped_plate(x, PRANDTL)),
        ("cylinder", |x| cylinder(x, PRANDTL)),
    ];

    /// Powers of ten from 1e-6 to 1e11, closely.
    fn scan() -> impl Iterator<Item = f64> {
        (-6_000..11_000).map(|step| libm::pow(10.0, f64::from(step) * 1e-3))
    }

    #[test]
    fn laws_rise_without_jump_or_corner() {
        for (name, law) in LAWS {
            // The slope in the logarithm changes little from one point to the next.
            let slope = |x: f64| (law(x * 1.0001) / law(x)).ln() / 1.0001_f64.ln();
            let mut before = slope(1e-6);
            for x in scan() {
                let here = slope(x);
                assert!((-1e-9..4.0).contains(&here), "{name} at {x}: {here}");
                assert!((here - before).abs() < 0.05, "{name} at {x}: {before} then {here}");
                before = here;
            }
        }
    }

    #[test]
    fn laws_are_even_and_flat_at_nothing() {
        for (name, law) in LAWS {
            let rise = law(1e-6) - law(0.0);
            assert!(rise.is_finite() && rise.abs() < 1e-10, "{name}");
            assert!((law(-30.0) - law(30.0)).abs() < 1e-12 * law(30.0), "{name}");
        }
    }

    #[test]
    fn still_and_streaming_air_leave_the_larger_one() {
        assert!((natural_and_forced(5.0, 0.0) - 5.0).abs() < 1e-14);
        assert!((natural_and_forced(0.0, 7.0) - 7.0).abs() < 1e-14);
        let both = natural_and_forced(5.0, 7.0);
        assert!(both > 7.0 && both < 9.0 && (both - natural_and_forced(7.0, 5.0)).abs() < 1e-14);
    }

    #[test]
    fn a_long_plate_follows_the_mixed_law_and_a_short_one_the_laminar() {
        let cube_root = libm::cbrt(PRANDTL);
        for reynolds in [5.6e5, 1e6, 1e7_f64] {
            let mixed = (0.037 * reynolds.powf(0.8) - 871.0) * cube_root;
            assert!((plate(reynolds, PRANDTL) / mixed - 1.0).abs() < 1e-12, "{reynolds}");
        }
        for reynolds in [1.0, 1e3, 4.4e5_f64] {
            assert!(
                (plate(reynolds, PRANDTL) / (0.664 * reynolds.sqrt() * cube_root) - 1.0).abs() < 1e-12,
                "{reynolds}"
            );
        }
        let laminar = 0.664 * 5e5_f64.sqrt() * cube_root;
        assert!(plate(5e5, PRANDTL) < 1.05 * laminar);
    }
}
