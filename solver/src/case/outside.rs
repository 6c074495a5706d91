//! The undisturbed air.

use crate::fields::Fields;
use crate::gas::Gas;

/// The undisturbed air.
#[derive(Debug, Clone, Copy)]
pub struct Outside {
    /// Static pressure [Pa].
    pub pressure: f64,
    /// Static temperature [K].
    pub temperature: f64,
    /// Relative humidity, 0 to 1; 0 for a gas that the case defines itself.
    pub relative_humidity: f64,
    /// The gas everywhere in the tract.
    pub gas: Gas,
}

/// Pressure [Pa], temperature [K] and the rest of a standard day at sea level. US Standard Atmosphere 1976.
const STANDARD_PRESSURE: f64 = 101_325.0;
const STANDARD_TEMPERATURE: f64 = 288.15;
/// Fall of temperature with height [K/m], and g0 / (R lapse rate). US Standard Atmosphere 1976.
const LAPSE_RATE: f64 = 0.0065;
const PRESSURE_EXPONENT: f64 = 9.806_65 / (crate::gas::DRY_AIR_GAS_CONSTANT * LAPSE_RATE);

/// Temperature of the outside that a case leaves out [K]: 20 degC, the reference of flow benches; common practice.
const DEFAULT_TEMPERATURE: f64 = 293.15;

impl Outside {
    /// The outside of a case that says nothing of it.
    #[must_use]
    pub fn standard() -> Self {
        Self {
            pressure: STANDARD_PRESSURE,
            temperature: DEFAULT_TEMPERATURE,
            relative_humidity: 0.0,
            gas: Gas::dry_air(),
        }
    }

    /// Reads the section `outside`.
    pub(super) fn read(fields: &Fields<'_>) -> Option<Self> {
        let pressure = read_pressure(fields);
        let temperature = fields.si_or("temperature", DEFAULT_TEMPERATURE);
        if fields.has("gas") && fields.has("relative_humidity") {
            fields.problem("relative_humidity", "a humidity of a gas that is not air", "either `gas` or humid air");
            return None;
        }
        let (pressure, relative_humidity, gas) = match fields.map("gas") {
            Some(gas) => (pressure?, 0.0, read_gas(&gas)?),
            None => {
                let humidity = fields.si_or("relative_humidity", 0.0);
                (pressure?, humidity, Gas::moist_air(pressure?, temperature, humidity))
            }
        };
        Some(Self { pressure, temperature, relative_humidity, gas })
    }
}

fn read_pressure(fields: &Fields<'_>) -> Option<f64> {
    match (fields.has("pressure"), fields.has("airport_pressure"), fields.has("altitude")) {
        (true, false, false) => fields.si("pressure"),
        (false, true, true) => Some(station_pressure(fields.si("airport_pressure")?, fields.si("altitude")?)),
        (false, false, false) => Some(fields.si_or("pressure", STANDARD_PRESSURE)),
        (false, ..) => {
            fields.problem("", "one of `airport_pressure` and `altitude`", "both, or `pressure`");
            None
        }
        (true, airport, _) => {
            let other = if airport { "airport_pressure" } else { "altitude" };
            fields.problem(other, "the pressure in two ways", "`pressure`, or `airport_pressure` and `altitude`");
            None
        }
    }
}

fn read_gas(fields: &Fields<'_>) -> Option<Gas> {
    let mut gas = Gas::new(fields.si("gamma")?, fields.si("gas_constant")?);
    gas.fixed_viscosity = fields.si("viscosity");
    Some(gas)
}

/// Pressure [Pa] at `altitude` [m] where an altimeter set to `reduced` [Pa] shows that altitude.
///
/// The definition of the airport pressure QNH: in the standard atmosphere the two pressures lie as far apart as sea level and the
/// airport. Constants of the US Standard Atmosphere 1976.
fn station_pressure(reduced: f64, altitude: f64) -> f64 {
    let above = libm::pow(reduced / STANDARD_PRESSURE, 1.0 / PRESSURE_EXPONENT);
    STANDARD_PRESSURE * libm::pow(above - LAPSE_RATE * altitude / STANDARD_TEMPERATURE, PRESSURE_EXPONENT)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn standard_airport_pressure_gives_the_standard_atmosphere() {
        // US Standard Atmosphere 1976, printed table: geopotential height [m], pressure [Pa].
        for (altitude, pressure) in
            [(-500.0, 107_477.5), (0.0, 101_325.0), (300.0, 97_772.6), (1_000.0, 89_874.6), (2_000.0, 79_495.2)]
        {
            let computed = station_pressure(STANDARD_PRESSURE, altitude);
            assert!((computed / pressure - 1.0).abs() < 2e-6, "{altitude} m: {computed}");
        }
    }

    #[test]
    fn at_sea_level_both_pressures_are_one() {
        for pressure in [95e3, 99.6e3, 104e3] {
            assert!((station_pressure(pressure, 0.0) / pressure - 1.0).abs() < 1e-14);
        }
    }
}
