//! The units that a case may use, by dimension.

use super::Dimension;

/// A unit: SI value = (number + offset) factor / divisor.
///
/// Factor and divisor are kept apart because a decimal submultiple has no exact binary factor: 9 times 0.001 is not 0.009, 9
/// divided by 1000 is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// Symbol in a case, such as `mm`; case matters.
    pub symbol: &'static str,
    /// Multiplies the number.
    pub factor: f64,
    /// Divides it.
    pub divisor: f64,
    /// Is added to the number first; zero except for temperature scales.
    pub offset: f64,
}

impl Unit {
    /// SI value of `number` in this unit.
    #[must_use]
    pub fn to_si(&self, number: f64) -> f64 {
        (number + self.offset) * self.factor / self.divisor
    }

    /// SI value of a difference of `number` in this unit: without the zero of a temperature scale.
    #[must_use]
    pub fn difference_to_si(&self, number: f64) -> f64 {
        number * self.factor / self.divisor
    }

    /// Number in this unit of a difference in SI.
    #[must_use]
    pub fn difference_from_si(&self, value: f64) -> f64 {
        value * self.divisor / self.factor
    }

    /// Number in this unit of an SI value.
    #[must_use]
    pub fn from_si(&self, value: f64) -> f64 {
        value * self.divisor / self.factor - self.offset
    }
}

/// A whole multiple of the SI unit.
const fn times(symbol: &'static str, factor: f64) -> Unit {
    Unit { symbol, factor, divisor: 1.0, offset: 0.0 }
}

/// A fraction of the SI unit.
const fn over(symbol: &'static str, divisor: f64) -> Unit {
    ratio(symbol, 1.0, divisor)
}

/// A fraction whose numerator is not one.
const fn ratio(symbol: &'static str, factor: f64, divisor: f64) -> Unit {
    Unit { symbol, factor, divisor, offset: 0.0 }
}

// Exact by definition, all from NIST SP 811 (2008), appendix B.8.
const INCH: f64 = 0.0254;
const FOOT: f64 = 0.3048;
const SQUARE_INCH: f64 = 0.000_645_16;
const CUBIC_INCH: f64 = 1.638_706_4e-5;
const CUBIC_FOOT: f64 = 0.028_316_846_592;
const POUND: f64 = 0.453_592_37;
/// One pound at standard gravity, 9.80665 m/s^2.
const POUND_FORCE: f64 = 4.448_221_615_260_5;

const LENGTH: &[Unit] = &[
    over("mm", 1e3),
    over("cm", 1e2),
    times("m", 1.0),
    times("km", 1e3),
    over("um", 1e6),
    times("in", INCH),
    times("ft", FOOT),
];
const AREA: &[Unit] = &[over("mm2", 1e6), over("cm2", 1e4), times("m2", 1.0), times("in2", SQUARE_INCH)];
const VOLUME: &[Unit] =
    &[over("mL", 1e6), over("L", 1e3), over("cm3", 1e6), times("m3", 1.0), times("in3", CUBIC_INCH)];
const PRESSURE: &[Unit] = &[
    times("Pa", 1.0),
    times("hPa", 1e2),
    times("kPa", 1e3),
    times("MPa", 1e6),
    times("bar", 1e5),
    times("mbar", 1e2),
    ratio("psi", POUND_FORCE, SQUARE_INCH),
    // Mercury at 0 degC and water at 4 degC: the conventional values.
    times("inHg", 3_386.389),
    times("mmHg", 133.322_387_415),
    times("atm", 101_325.0),
];
const PRESSURE_DIFFERENCE: &[Unit] = &[
    times("Pa", 1.0),
    times("hPa", 1e2),
    times("kPa", 1e3),
    times("MPa", 1e6),
    times("bar", 1e5),
    times("mbar", 1e2),
    ratio("psi", POUND_FORCE, SQUARE_INCH),
    times("inHg", 3_386.389),
    times("mmHg", 133.322_387_415),
    times("inH2O", 249.088_91),
    times("mmH2O", 9.806_65),
];
const TEMPERATURE: &[Unit] = &[
    Unit { symbol: "degC", factor: 1.0, divisor: 1.0, offset: 273.15 },
    times("K", 1.0),
    Unit { symbol: "degF", factor: 5.0, divisor: 9.0, offset: 459.67 },
];
const TEMPERATURE_DIFFERENCE: &[Unit] = &[times("K", 1.0)];
const MASS: &[Unit] = &[over("g", 1e3), times("kg", 1.0), times("lb", POUND)];
const MASS_FLOW: &[Unit] =
    &[over("g/s", 1e3), times("kg/s", 1.0), over("kg/h", 3_600.0), over("kg/min", 60.0), ratio("lb/min", POUND, 60.0)];
const VOLUME_FLOW: &[Unit] = &[
    over("L/s", 1e3),
    over("L/min", 6e4),
    times("m3/s", 1.0),
    over("m3/min", 60.0),
    over("m3/h", 3_600.0),
    ratio("cfm", CUBIC_FOOT, 60.0),
];
const SPEED: &[Unit] = &[times("m/s", 1.0), over("km/h", 3.6), times("mph", 0.447_04)];
const ANGLE: &[Unit] = &[ratio("deg", std::f64::consts::PI, 180.0), times("rad", 1.0)];
const TIME: &[Unit] = &[over("ms", 1e3), times("s", 1.0), times("min", 60.0), times("h", 3_600.0)];
const FREQUENCY: &[Unit] =
    &[times("Hz", 1.0), times("kHz", 1e3), over("1/min", 60.0), over("rpm", 60.0), ratio("krpm", 1e3, 60.0)];
const RATIO: &[Unit] = &[times("", 1.0), over("%", 1e2)];
const DENSITY: &[Unit] = &[times("kg/m3", 1.0), over("g/L", 1.0), over("g/m3", 1e3), over("mg/m3", 1e6)];
const VISCOSITY: &[Unit] = &[times("Pa s", 1.0), over("mPa s", 1e3), over("uPa s", 1e6)];
const HEAT_CAPACITY: &[Unit] = &[times("J/(kg K)", 1.0), times("kJ/(kg K)", 1e3)];
const CONDUCTIVITY: &[Unit] = &[times("W/(m K)", 1.0)];
const FILM_COEFFICIENT: &[Unit] = &[times("W/(m2 K)", 1.0)];
const CONDUCTANCE: &[Unit] = &[times("W/K", 1.0), times("kW/K", 1e3)];
const MASS_PER_LENGTH: &[Unit] = &[times("kg/m", 1.0), over("g/m", 1e3)];
const POWER: &[Unit] = &[
    times("W", 1.0),
    times("kW", 1e3),
    // 75 kgf m/s, and 550 ft lbf/s.
    times("PS", 735.498_75),
    times("hp", 550.0 * FOOT * POUND_FORCE),
];
/// Air for each unit of work: a kilowatt hour is 3.6 MJ.
const AIR_PER_WORK: &[Unit] = &[over("kg/kWh", 3.6e6), over("g/kWh", 3.6e9), times("kg/J", 1.0)];
const INERTIA: &[Unit] = &[times("kg m2", 1.0), over("kg cm2", 1e4)];
const SPECIFIC_ENERGY: &[Unit] = &[times("J/kg", 1.0), times("MJ/kg", 1e6), times("kJ/kg", 1e3)];
const INVERSE_LENGTH: &[Unit] = &[times("1/m", 1.0), times("1/mm", 1e3)];

impl Dimension {
    /// Every dimension.
    pub const ALL: &'static [Self] = &[
        Self::Length,
        Self::Area,
        Self::Volume,
        Self::Pressure,
        Self::PressureDifference,
        Self::Temperature,
        Self::TemperatureDifference,
        Self::Mass,
        Self::MassFlow,
        Self::VolumeFlow,
        Self::Speed,
        Self::Angle,
        Self::Time,
        Self::Frequency,
        Self::Ratio,
        Self::Density,
        Self::Viscosity,
        Self::HeatCapacity,
        Self::Conductivity,
        Self::FilmCoefficient,
        Self::Conductance,
        Self::MassPerLength,
        Self::Power,
        Self::InverseLength,
        Self::AirPerWork,
        Self::Inertia,
        Self::SpecificEnergy,
    ];

    /// Units, in the order the help prints them.
    #[must_use]
    pub fn units(self) -> &'static [Unit] {
        self.table().2
    }

    /// Name with its article, for messages: `a length`.
    #[must_use]
    pub fn name(self) -> &'static str {
        self.table().0
    }

    /// An example for messages and help: `76 mm`.
    #[must_use]
    pub fn example(self) -> &'static str {
        self.table().1
    }

    /// What a difference of two values measures.
    #[must_use]
    pub fn difference(self) -> Self {
        match self {
            Self::Pressure => Self::PressureDifference,
            Self::Temperature => Self::TemperatureDifference,
            other => other,
        }
    }

    /// The SI unit's symbol; empty for a ratio.
    #[must_use]
    pub fn si_symbol(self) -> &'static str {
        let is_si = |unit: &&Unit| unit.to_si(1.0).to_bits() == 1.0_f64.to_bits();
        self.units().iter().find(is_si).map_or("", |unit| unit.symbol)
    }

    /// Name, example and units.
    fn table(self) -> (&'static str, &'static str, &'static [Unit]) {
        match self {
            Self::Length => ("a length", "76 mm", LENGTH),
            Self::Area => ("an area", "130 cm2", AREA),
            Self::Volume => ("a volume", "11 L", VOLUME),
            Self::Pressure => ("an absolute pressure", "99.6 kPa", PRESSURE),
            Self::PressureDifference => ("a pressure difference", "28 inH2O", PRESSURE_DIFFERENCE),
            Self::Temperature => ("a temperature", "24 degC", TEMPERATURE),
            Self::TemperatureDifference => ("a temperature difference", "5 K", TEMPERATURE_DIFFERENCE),
            Self::Mass => ("a mass", "1.2 kg", MASS),
            Self::MassFlow => ("a mass flow", "215 g/s", MASS_FLOW),
            Self::VolumeFlow => ("a volume flow", "620 cfm", VOLUME_FLOW),
            Self::Speed => ("a speed", "45 m/s", SPEED),
            Self::Angle => ("an angle", "35 deg", ANGLE),
            Self::Time => ("a time", "0.4 s", TIME),
            Self::Frequency => ("a frequency", "120 Hz", FREQUENCY),
            Self::Ratio => ("a ratio", "0.75", RATIO),
            Self::Density => ("a density", "1.2 kg/m3", DENSITY),
            Self::Viscosity => ("a viscosity", "1.8e-5 Pa s", VISCOSITY),
            Self::HeatCapacity => ("a heat capacity", "287 J/(kg K)", HEAT_CAPACITY),
            Self::Conductivity => ("a conductivity", "0.3 W/(m K)", CONDUCTIVITY),
            Self::FilmCoefficient => ("a film coefficient", "15 W/(m2 K)", FILM_COEFFICIENT),
            Self::Conductance => ("a thermal conductance", "0.4 W/K", CONDUCTANCE),
            Self::MassPerLength => ("a mass over a length", "20 g/m", MASS_PER_LENGTH),
            Self::Power => ("a power", "420 kW", POWER),
            Self::AirPerWork => ("an air consumption", "3.7 kg/kWh", AIR_PER_WORK),
            Self::Inertia => ("a moment of inertia", "0.2 kg m2", INERTIA),
            Self::SpecificEnergy => ("an energy for each mass", "42.9 MJ/kg", SPECIFIC_ENERGY),
            Self::InverseLength => ("a reciprocal length", "2e4 1/m", INVERSE_LENGTH),
        }
    }
}
