//! Steps that a workshop understands.

use crate::case::Number;
use crate::quantity::Dimension;

/// Share of a value that is a step where no round one fits.
const SHARE: f64 = 0.01;
/// Largest share of a value that a round step may be.
const MOST: f64 = 0.5;

/// A step of a field.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Its size, as a difference in SI.
    pub width: f64,
    /// The same in words, such as `1 mm`.
    pub words: String,
}

impl Step {
    /// The step of a field: 1 mm, 1 cm2, 1 L, 1 deg, 1 K, 0.1 of a ratio (0.1 in, 0.1 in2 and 10 in3 where the user writes inches); a
    /// hundredth of the value where there is no such step, or it would be more than half the value.
    #[must_use]
    pub fn of(number: &Number) -> Self {
        let inches = number.unit.symbol.starts_with("in") || number.unit.symbol == "ft";
        let round = match (number.dimension, inches) {
            (Dimension::Length, false) => Some((1e-3, "1 mm")),
            (Dimension::Area, false) => Some((1e-4, "1 cm2")),
            (Dimension::Volume, false) => Some((1e-3, "1 L")),
            (Dimension::Length, true) => Some((0.1 * 0.0254, "0.1 in")),
            (Dimension::Area, true) => Some((0.1 * 0.0254 * 0.0254, "0.1 in2")),
            (Dimension::Volume, true) => Some((10.0 * 0.0254 * 0.0254 * 0.0254, "10 in3")),
            (Dimension::Angle, _) => Some((std::f64::consts::PI / 180.0, "1 deg")),
            (Dimension::Temperature | Dimension::TemperatureDifference, _) => Some((1.0, "1 K")),
            (Dimension::Ratio, _) if number.unit.symbol == "%" => Some((0.1, "10 %-points")),
            (Dimension::Ratio, _) => Some((0.1, "0.1")),
            _ => None,
        };
        match round {
            Some((width, words)) if number.value == 0.0 || width <= MOST * number.value.abs() => {
                Self { width, words: words.to_owned() }
            }
            _ if number.value != 0.0 => Self { width: SHARE * number.value.abs(), words: "1 %".to_owned() },
            _ => Self { width: number.unit.difference_to_si(1.0), words: format!("1 {}", number.unit.symbol) },
        }
    }
}
