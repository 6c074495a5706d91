//! Limited slopes: from the differences to the two neighbours to the change across the cell.

use super::state::Primitive;
use super::{greater, lesser};

/// Differences below this share of the variable's scale are not limited by van Albada's law.
///
/// It keeps the law smooth where both differences vanish; 1e-6 is 0.1 Pa at atmospheric pressure.
const SMOOTH_BELOW: f64 = 1e-6;
/// Largest change across a cell over its mean value, for quantities that must stay positive.
const LARGEST_POSITIVE_CHANGE: f64 = 1.6;

/// A law that gives the change across a cell from the differences `behind` (to the cell before) and `ahead` (to the cell after).
pub trait SlopeLaw {
    /// Change across the cell; `scale` is a typical value of the quantity.
    fn change(behind: f64, ahead: f64, scale: f64) -> f64;

    /// Changes of density, velocity and pressure across a cell in state `here`; its sound speed [m/s] is the scale of velocities.
    #[inline(always)]
    fn changes(behind: Primitive, ahead: Primitive, here: Primitive, sound_speed: f64) -> Primitive {
        Primitive {
            density: Self::change(behind.density, ahead.density, here.density),
            velocity: Self::change(behind.velocity, ahead.velocity, sound_speed),
            pressure: Self::change(behind.pressure, ahead.pressure, here.pressure),
        }
    }
}

/// Van Albada, van Leer and Roberts (1982), A comparative study of computational methods in cosmic gas dynamics, Astron.
/// Astrophys. 108, 76: in its original form, without a switch at extrema, hence differentiable everywhere.
#[derive(Debug, Clone, Copy)]
pub struct VanAlbada;

/// Van Leer (1974), J. Comput. Phys. 14, 361: the harmonic mean.
#[derive(Debug, Clone, Copy)]
pub struct VanLeer;

/// Van Leer (1977), J. Comput. Phys. 23, 276: the central difference within twice the smaller one.
#[derive(Debug, Clone, Copy)]
pub struct MonotonisedCentral;

/// Roe (1986), Annu. Rev. Fluid Mech. 18, 337: the smaller difference.
#[derive(Debug, Clone, Copy)]
pub struct Minmod;

/// The central difference without a limiter.
#[derive(Debug, Clone, Copy)]
pub struct Central;

impl VanAlbada {
    /// Numerator and denominator of the change.
    #[inline(always)]
    fn quotient(behind: f64, ahead: f64, scale: f64) -> (f64, f64) {
        let small = SMOOTH_BELOW * scale;
        let small = small * small;
        let (behind_squared, ahead_squared) = (behind * behind + small, ahead * ahead + small);
        (behind * ahead_squared + ahead * behind_squared, behind_squared + ahead_squared)
    }

    /// At an extremum beside a strong shock the law may ask for more change than there is gas.
    #[inline(always)]
    fn within(change: f64, value: f64) -> f64 {
        let most = LARGEST_POSITIVE_CHANGE * value;
        greater(-most, lesser(most, change))
    }
}

impl SlopeLaw for VanAlbada {
    #[inline(always)]
    fn change(behind: f64, ahead: f64, scale: f64) -> f64 {
        let (numerator, denominator) = Self::quotient(behind, ahead, scale);
        numerator / denominator
    }

    /// One division for the three quotients: divisions are what this law costs.
    #[inline(always)]
    fn changes(behind: Primitive, ahead: Primitive, here: Primitive, sound_speed: f64) -> Primitive {
        let density = Self::quotient(behind.density, ahead.density, here.density);
        let velocity = Self::quotient(behind.velocity, ahead.velocity, sound_speed);
        let pressure = Self::quotient(behind.pressure, ahead.pressure, here.pressure);
        let outer = density.1 * pressure.1;
        let over_all = 1.0 / (outer * velocity.1);
        let over_outer = over_all * velocity.1;
        Primitive {
            density: Self::within(density.0 * (over_outer * pressure.1), here.density),
            velocity: velocity.0 * (over_all * outer),
            pressure: Self::within(pressure.0 * (over_outer * density.1), here.pressure),
        }
    }
}

impl SlopeLaw for VanLeer {
    #[inline(always)]
    fn change(behind: f64, ahead: f64, _scale: f64) -> f64 {
        let product = behind * ahead;
        let mean = 2.0 * product / (behind + ahead);
        if product > 0.0 { mean } else { 0.0 }
    }
}

impl SlopeLaw for MonotonisedCentral {
    /// The central difference, kept between zero and twice the smaller one; nothing where the two have different signs.
    #[inline(always)]
    fn change(behind: f64, ahead: f64, _scale: f64) -> f64 {
        let highest = greater(2.0 * lesser(behind, ahead), 0.0);
        let lowest = lesser(2.0 * greater(behind, ahead), 0.0);
        greater(lowest, lesser(highest, 0.5 * (behind + ahead)))
    }
}

impl SlopeLaw for Minmod {
    #[inline(always)]
    fn change(behind: f64, ahead: f64, _scale: f64) -> f64 {
        greater(lesser(behind, ahead), 0.0) + lesser(greater(behind, ahead), 0.0)
    }
}

impl SlopeLaw for Central {
    #[inline(always)]
    fn change(behind: f64, ahead: f64, _scale: f64) -> f64 {
        0.5 * (behind + ahead)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PAIRS: [(f64, f64); 7] =
        [(1.0, 1.0), (1.0, 3.0), (3.0, 1.0), (-2.0, -0.5), (1.0, -1.0), (0.0, 1.0), (0.0, 0.0)];

    fn check<L: SlopeLaw>(exact_at_extrema: bool) {
        for (behind, ahead) in PAIRS {
            let change = L::change(behind, ahead, 1.0);
            assert!((change - L::change(ahead, behind, 1.0)).abs() < 1e-15, "symmetric in the two sides");
            assert!((change + L::change(-behind, -ahead, 1.0)).abs() < 1e-15, "odd in the sign");
            assert!((3.0 * change - L::change(3.0 * behind, 3.0 * ahead, 3.0)).abs() < 1e-15, "without a unit");
            let smaller = behind.abs().min(ahead.abs());
            assert!(change.abs() <= 2.0 * smaller + 1e-11, "{behind} {ahead}: {change}");
            if exact_at_extrema && behind * ahead <= 0.0 {
                assert!(change.abs() <= 0.0);
            }
        }
        for slope in [-2.0, 1e-9, 5.0] {
            assert!((L::change(slope, slope, 1.0) / slope - 1.0).abs() < 1e-15, "straight lines are kept");
        }
    }

    #[test]
    fn limiters_are_symmetric_bounded_and_exact_on_straight_lines() {
        check::<VanAlbada>(false);
        check::<VanLeer>(true);
        check::<MonotonisedCentral>(true);
        check::<Minmod>(true);
    }

    #[test]
    fn van_albada_is_smooth_at_extrema_and_at_rest() {
        // One-sided derivatives by the difference ahead agree where the others have a kink.
        for (behind, ahead) in [(1.0, 0.0), (-1.0, 0.0), (0.0, 0.0)] {
            let step = 1e-9;
            let middle = VanAlbada::change(behind, ahead, 1.0);
            let up = (VanAlbada::change(behind, ahead + step, 1.0) - middle) / step;
            let down = (middle - VanAlbada::change(behind, ahead - step, 1.0)) / step;
            assert!((up - down).abs() < 1e-5, "{behind} {ahead}: {up} {down}");
        }
    }

    #[test]
    fn three_changes_at_once_are_the_three_changes() {
        let behind = Primitive { density: 0.3, velocity: -7.0, pressure: 900.0 };
        let ahead = Primitive { density: 0.1, velocity: 4.0, pressure: 20.0 };
        let here = Primitive { density: 1.2, velocity: 30.0, pressure: 1e5 };
        let all = VanAlbada::changes(behind, ahead, here, 340.0);
        assert!((all.density / VanAlbada::change(0.3, 0.1, 1.2) - 1.0).abs() < 1e-14);
        assert!((all.velocity / VanAlbada::change(-7.0, 4.0, 340.0) - 1.0).abs() < 1e-14);
        assert!((all.pressure / VanAlbada::change(900.0, 20.0, 1e5) - 1.0).abs() < 1e-14);
    }
}
