//! Plane waves through a change of area, an expansion chamber and past side branches, without losses and without mean flow.
//!
//! Kinsler, Frey, Coppens and Sanders (2000), Fundamentals of Acoustics, 4th ed., sections 10.2 and 10.9 to 10.11; Munjal (2014), Acoustics
//! of Ducts and Mufflers, 2nd ed., chapter 2. Both ends of the line are anechoic. Ends add no length.

use std::f64::consts::TAU;

/// What stands in or beside a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Element {
    /// A wide stretch of the line.
    Chamber {
        /// Area over that of the line.
        ratio: f64,
        /// Length [m].
        length: f64,
    },
    /// A pipe with a closed end.
    QuarterWave {
        /// Area over that of the line.
        ratio: f64,
        /// Length [m].
        length: f64,
    },
    /// A vessel whose neck is a pipe.
    Vessel {
        /// Area of the neck over that of the line.
        ratio: f64,
        /// Length of the neck [m].
        length: f64,
        /// Volume over the area of the neck [m].
        depth: f64,
    },
}

impl Element {
    /// Transmission loss [dB] at a frequency [Hz].
    #[must_use]
    pub fn loss(&self, sound_speed: f64, frequency: f64) -> f64 {
        let wave_number = TAU * frequency / sound_speed;
        10.0 * libm::log10(1.0 + self.excess(wave_number))
    }

    /// Incident over transmitted power, less one.
    fn excess(&self, wave_number: f64) -> f64 {
        let square = |value: f64| value * value;
        match *self {
            Self::Chamber { ratio, length } => square(0.5 * (ratio - 1.0 / ratio) * libm::sin(wave_number * length)),
            Self::QuarterWave { ratio, length } => square(0.5 * ratio * libm::tan(wave_number * length)),
            Self::Vessel { ratio, length, depth } => {
                // Input admittance of a line of one wave admittance that ends in the compliance of the vessel.
                let tangent = libm::tan(wave_number * length);
                let stiff = wave_number * depth;
                square(0.5 * ratio * (stiff + tangent) / (1.0 - stiff * tangent))
            }
        }
    }

    /// Transmission loss [dB] of a vessel whose neck is one lump of air; for all others the same as [`Element::loss`].
    #[must_use]
    pub fn lumped_loss(&self, sound_speed: f64, frequency: f64) -> f64 {
        let Self::Vessel { ratio, length, depth } = *self else { return self.loss(sound_speed, frequency) };
        let wave_number = TAU * frequency / sound_speed;
        let reactance = wave_number * length - 1.0 / (wave_number * depth);
        10.0 * libm::log10(1.0 + libm::pow(0.5 * ratio / reactance, 2.0))
    }
}

/// Pressure amplitudes that pass and that come back, over that which arrives, where a pipe opens into pipes of `ratio` times its area.
#[must_use]
pub fn area_change(ratio: f64) -> (f64, f64) {
    (2.0 / (1.0 + ratio), (1.0 - ratio) / (1.0 + ratio))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_long_neck_is_no_lump() {
        let element = Element::Vessel { ratio: 0.2, length: 0.02, depth: 2.0 };
        let (line, lump) = (element.loss(340.0, 50.0), element.lumped_loss(340.0, 50.0));
        assert_relative_eq!(line, lump, max_relative = 0.02);
        let long = Element::Vessel { ratio: 0.2, length: 0.2, depth: 2.0 };
        assert!((long.loss(340.0, 400.0) / long.lumped_loss(340.0, 400.0) - 1.0).abs() > 0.2);
    }

    #[test]
    fn equal_areas_pass_all() {
        assert_eq!(area_change(1.0), (1.0, 0.0));
    }
}
