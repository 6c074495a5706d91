//! Limited slopes: from the differences to the two neighbours to the change across the cell.

use super::{greater, lesser};

/// Differences below this share of the variable's scale are not limited by van Albada's law.
///
/// It keeps the law smooth where both differences vanish; 1e-6 is 0.1 Pa at atmospheric pressure.
const SMOOTH_BELOW: f64 = 1e-6;
/// Largest change across a cell over its mean value, for quantities that must stay positive.
const LARGEST_POSITIVE_CHANGE: f64 = 1.6;

/// A law that gives the change across a cell from the differences `behind` (to the cell before) and `ahead` (to the cell after).
pub trait SlopeLaw {
    /// Change across the cell; `scale_squared` is the square of a typical value of the quantity, in its unit squared.
    fn change(behind: f64, ahead: f64, scale_squared: f64) -> f64;

    /// As [`SlopeLaw::change`], for a quantity of mean `value` > 0 that must stay positive at the faces.
    #[inline(always)]
    fn positive_change(behind: f64, ahead: f64, value: f64) -> f64 {
        Self::change(behind, ahead, value * value)
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

impl SlopeLaw for VanAlbada {
    #[inline(always)]
    fn change(behind: f64, ahead: f64, scale_squared: f64) -> f64 {
        let small = SMOOTH_BELOW * SMOOTH_BELOW * scale_squared;
        let (behind_squared, ahead_squared) = (behind * behind + small, ahead * ahead + small);
        (behind * ahead_squared + ahead * behind_squared) / (behind_squared + ahead_squared)
    }

    #[inline(always)]
    fn positive_change(behind: f64, ahead: f64, value: f64) -> f64 {
        // At an extremum beside a strong shock the law may ask for more change than there is gas.
        let most = LARGEST_POSITIVE_CHANGE * value;
        greater(-most, lesser(most, Self::change(behind, ahead, value * value)))
    }
}

impl SlopeLaw for VanLeer {
    #[inline(always)]
    fn change(behind: f64, ahead: f64, _scale_squared: f64) -> f64 {
        let product = behind * ahead;
        let mean = 2.0 * product / (behind + ahead);
        if product > 0.0 { mean } else { 0.0 }
    }
}

impl SlopeLaw for MonotonisedCentral {
    #[inline(always)]
    fn change(behind: f64, ahead: f64, _scale_squared: f64) -> f64 {
        let central = 0.5 * (behind + ahead);
        let rising = lesser(2.0 * lesser(behind, ahead), central);
        let falling = greater(2.0 * greater(behind, ahead), central);
        greater(rising, 0.0) + lesser(falling, 0.0)
    }
}

impl SlopeLaw for Minmod {
    #[inline(always)]
    fn change(behind: f64, ahead: f64, _scale_squared: f64) -> f64 {
        greater(lesser(behind, ahead), 0.0) + lesser(greater(behind, ahead), 0.0)
    }
}

impl SlopeLaw for Central {
    #[inline(always)]
    fn change(behind: f64, ahead: f64, _scale_squared: f64) -> f64 {
        0.5 * (behind + ahead)
    }
}
