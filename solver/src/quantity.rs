//! Text with a unit, to SI. (Skeleton; owned by the case helper.)

/// A physical dimension that a case may ask for, with its units.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dimension {
    /// Metres.
    Length,
    /// Square metres.
    Area,
    /// Cubic metres.
    Volume,
    /// Absolute pressure, pascals.
    Pressure,
    /// Pressure difference, pascals.
    PressureDifference,
    /// Absolute temperature, kelvin.
    Temperature,
    /// Temperature difference, kelvin.
    TemperatureDifference,
    /// Kilograms a second (a power is taken too, at a stated air consumption).
    MassFlow,
    /// Cubic metres a second.
    VolumeFlow,
    /// Metres a second.
    Speed,
    /// Radians.
    Angle,
    /// Seconds.
    Time,
    /// Hertz.
    Frequency,
    /// A share or coefficient; bare or in percent.
    Ratio,
    /// Pascal seconds.
    Viscosity,
    /// J/(kg K).
    HeatCapacity,
}
