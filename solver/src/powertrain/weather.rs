//! Correction of measured power to a reference state of the air.

use crate::gas::saturation_pressure;

/// Pressure [Pa] of the dry air in humid air of total `pressure` [Pa], `temperature` [K] and `relative_humidity` [0..1].
#[must_use]
pub fn dry_pressure(pressure: f64, temperature: f64, relative_humidity: f64) -> f64 {
    pressure - relative_humidity * saturation_pressure(temperature)
}

/// A standard of correction for unboosted spark-ignition engines at full load.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standard {
    /// SAE J1349 as of June 1990, with its default mechanical efficiency.
    SaeJ1349Of1990,
    /// SAE J1349 as of August 2004, with its default mechanical efficiency of 85 %.
    SaeJ1349Of2004,
    /// ISO 1585, spark ignition; the same in UN Regulation 85.
    Iso1585SparkIgnition,
}

/// Where a standard may be used. From memory.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    /// Lowest and highest temperature of the air [K].
    pub temperature: [f64; 2],
    /// Lowest and highest pressure of dry air [Pa].
    pub dry_pressure: [f64; 2],
    /// Lowest and highest factor.
    pub factor: [f64; 2],
}

/// What a standard says about a state of the air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Correction {
    /// Power at the reference state over measured power.
    pub factor: f64,
    /// Whether state and factor lie inside the standard's window.
    pub inside: bool,
}

impl Standard {
    /// Every standard.
    pub const ALL: [Self; 3] = [Self::SaeJ1349Of1990, Self::SaeJ1349Of2004, Self::Iso1585SparkIgnition];

    /// Where it may be used.
    #[must_use]
    pub fn window(self) -> Window {
        let factor = [0.93, 1.07];
        match self {
            Self::SaeJ1349Of1990 | Self::SaeJ1349Of2004 => {
                Window { temperature: [288.15, 308.15], dry_pressure: [90e3, 105e3], factor }
            }
            // Printed as 288 K to 308 K by a standard that counts 273.
            Self::Iso1585SparkIgnition => Window { temperature: [288.15, 308.15], dry_pressure: [80e3, 110e3], factor },
        }
    }

    /// The correction for air of `dry_pressure` [Pa] and `temperature` [K], both above nothing.
    ///
    /// The standards count 273 from degrees Celsius to kelvin, and so does this. SAE J1349 JUN90 and AUG2004; ISO 1585:1992, section 6.
    #[must_use]
    pub fn correction(self, dry_pressure: f64, temperature: f64) -> Correction {
        let pressure = 99e3 / dry_pressure;
        let warmth = (temperature - 0.15) / 298.0;
        let factor = match self {
            Self::SaeJ1349Of1990 => 1.180 * pressure * warmth.sqrt() - 0.18,
            Self::SaeJ1349Of2004 => (pressure * warmth.sqrt() - 0.15) / 0.85,
            Self::Iso1585SparkIgnition => libm::pow(pressure, 1.2) * libm::pow(warmth, 0.6),
        };
        let window = self.window();
        let holds = |[least, most]: [f64; 2], value: f64| (least..=most).contains(&value);
        let inside = holds(window.temperature, temperature)
            && holds(window.dry_pressure, dry_pressure)
            && holds(window.factor, factor);
        Correction { factor, inside }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_reference_state_needs_no_correction() {
        for standard in Standard::ALL {
            let correction = standard.correction(99e3, 298.15);
            assert!((correction.factor - 1.0).abs() < 1e-14 && correction.inside, "{standard:?}");
        }
    }

    #[test]
    fn thin_and_warm_air_raise_the_factor() {
        for standard in Standard::ALL {
            let factor = |pressure, temperature| standard.correction(pressure, temperature).factor;
            assert!(factor(95e3, 298.15) > factor(99e3, 298.15) && factor(99e3, 308.15) > factor(99e3, 298.15));
        }
        // By hand from the standard: (99/90)^1.2 (305/298)^0.6.
        let factor = Standard::Iso1585SparkIgnition.correction(90e3, 305.15).factor;
        assert!((factor - 1.1_f64.powf(1.2) * (305.0_f64 / 298.0).powf(0.6)).abs() < 1e-14);
    }

    #[test]
    fn outside_the_window_is_said() {
        for standard in Standard::ALL {
            for (pressure, temperature) in [(99e3, 285.0), (99e3, 312.0), (84e3, 298.15), (112e3, 298.15)] {
                assert!(!standard.correction(pressure, temperature).inside, "{standard:?} {pressure} {temperature}");
            }
        }
        // A pressure that one allows and the others do not, but for which no factor is allowed.
        assert!(!Standard::Iso1585SparkIgnition.correction(88e3, 298.15).inside);
    }

    #[test]
    fn vapour_takes_its_share_of_the_pressure() {
        assert!((dry_pressure(101_325.0, 293.15, 0.0) - 101_325.0).abs() < 1e-9);
        assert!((dry_pressure(101_325.0, 293.15, 1.0) - 101_325.0 + 2_338.8).abs() < 2.0);
    }
}
