//! What can be said of a difference.

use tractwright::study::spread::Difference;
use tractwright::study::{Of, Quantity, sets_needed};

/// Standard deviations of what is measured.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Noise {
    /// Of a pull on a dyno, over its value.
    pub(crate) pull: f64,
    /// Of the time of a roll-on [s].
    pub(crate) roll_on: f64,
}

impl Noise {
    /// That of one measurement of a figure, in its unit; nothing where neither pulls nor roll-ons measure it.
    ///
    /// Pulls measure power and torque; in a case without an engine the air that they go with stands for them. What lies between draws they do
    /// not measure.
    pub(crate) fn of(&self, difference: &Difference) -> Option<f64> {
        match difference.quantity {
            Quantity::Power | Quantity::Torque => Some(self.pull * difference.first.abs()),
            Quantity::MassFlow if difference.of != Of::Difference => Some(self.pull * difference.first.abs()),
            Quantity::RollOnTime => Some(self.roll_on),
            _ => None,
        }
    }
}

/// What can be said of a difference.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Verdict {
    /// Both signs lie in the range.
    EitherWay,
    /// It has a sign, but what is measured scatters more.
    BelowNoise,
    /// It has a sign, and pulls or roll-ons can measure it.
    Measurable,
    /// It has a sign; neither pulls nor roll-ons measure it.
    Signed,
}

impl Verdict {
    pub(crate) fn of(difference: &Difference, noise: Noise) -> Self {
        if difference.includes_zero() {
            return Self::EitherWay;
        }
        match noise.of(difference) {
            Some(noise) if difference.median.abs() < noise => Self::BelowNoise,
            Some(_) => Self::Measurable,
            None => Self::Signed,
        }
    }

    /// Words for tables.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::EitherWay => "not measurable: range includes zero",
            Self::BelowNoise => "not measurable: below the noise",
            Self::Measurable => "measurable",
            Self::Signed => "of one sign",
        }
    }

    /// Key for programs.
    pub(crate) fn key(self) -> &'static str {
        match self {
            Self::EitherWay => "range_includes_zero",
            Self::BelowNoise => "below_noise",
            Self::Measurable => "measurable",
            Self::Signed => "one_sign",
        }
    }
}

/// Sets A-B-A that find a difference which pulls or roll-ons measure.
pub(crate) fn sets(difference: &Difference, noise: Noise) -> Option<u64> {
    noise.of(difference).and_then(|noise| sets_needed(noise, difference.median))
}
