//! What can be said of a difference.

use tractwright::study::spread::Difference;
use tractwright::study::{Of, Quantity, sets_needed};

/// What can be said of a difference.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Verdict {
    /// Both signs lie in the range.
    EitherWay,
    /// It has a sign, but a pull scatters more.
    BelowNoise,
    /// It has a sign, and where pulls measure it they can.
    Measurable,
}

impl Verdict {
    pub(super) fn of(difference: &Difference, noise: f64) -> Self {
        if difference.includes_zero() {
            Self::EitherWay
        } else if is_pulled(difference) && difference.relative() < noise {
            Self::BelowNoise
        } else {
            Self::Measurable
        }
    }

    /// Words for tables.
    pub(super) fn words(self) -> &'static str {
        match self {
            Self::EitherWay => "not measurable: range includes zero",
            Self::BelowNoise => "not measurable: below the noise",
            Self::Measurable => "measurable",
        }
    }

    /// Key for programs.
    pub(super) fn key(self) -> &'static str {
        match self {
            Self::EitherWay => "range_includes_zero",
            Self::BelowNoise => "below_noise",
            Self::Measurable => "measurable",
        }
    }
}

/// Whether pulls on a dyno measure the figure, so that their noise counts: power and torque; in a case without an engine the air that they go
/// with stands for them. What lies between draws they do not measure.
pub(super) fn is_pulled(difference: &Difference) -> bool {
    difference.quantity.is_of_engine() || difference.quantity == Quantity::MassFlow && difference.of != Of::Difference
}

/// Sets A-B-A that find a difference which pulls measure.
pub(super) fn sets(difference: &Difference, noise: f64) -> Option<u64> {
    is_pulled(difference).then(|| sets_needed(noise, difference.relative())).flatten()
}
