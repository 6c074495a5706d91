//! What a study looks at, as tables and pictures write it.

use super::number::{CELSIUS_ZERO, fixed, trimmed};
use tractwright::study::plan::{Plan, What};
use tractwright::study::{Of, Quantity};

/// Unit, factor and offset from SI, and decimals of a figure.
fn scale(quantity: Quantity, of: &Of) -> (&'static str, f64, f64, usize) {
    match (quantity, of) {
        (Quantity::Power, _) => ("kW", 1e-3, 0.0, 2),
        (Quantity::Torque, _) => ("N m", 1.0, 0.0, 1),
        (Quantity::MassFlow, _) => ("g/s", 1e3, 0.0, 1),
        (Quantity::Recovery, _) => ("", 1.0, 0.0, 4),
        (Quantity::TotalPressure, _) => ("kPa", 1e-3, 0.0, 3),
        (Quantity::RollOnTime | Quantity::ResponseTime, _) => ("s", 1.0, 0.0, 3),
        (Quantity::InletTemperature, Of::Difference) => ("K", 1.0, 0.0, 2),
        (Quantity::InletTemperature, _) => ("degC", 1.0, -CELSIUS_ZERO, 2),
    }
}

/// Name and unit.
pub(crate) fn printed(what: &What, plan: &Plan) -> String {
    match what {
        What::Variable(index) => with_unit(&plan.variables[*index].name, plan.variables[*index].unit.symbol),
        What::Figure(quantity, of) => {
            let of_words = match of {
                Of::Whole => String::new(),
                Of::Draw(draw) => format!(" {draw}"),
                Of::Difference => " difference".to_owned(),
            };
            // Narrow, as the columns are.
            let words = if *quantity == Quantity::InletTemperature { "inlet" } else { quantity.words() };
            with_unit(&format!("{words}{of_words}"), scale(*quantity, of).0)
        }
    }
}

/// A value in the unit in which it is printed; of an input as it is.
pub(crate) fn scaled(what: &What, value: f64) -> f64 {
    let What::Figure(quantity, of) = what else { return value };
    let (_, factor, offset, _) = scale(*quantity, of);
    factor * value + offset
}

/// The same as text.
pub(crate) fn written(what: &What, value: f64) -> String {
    match what {
        What::Variable(_) => trimmed(value, 4),
        What::Figure(quantity, of) => fixed(scaled(what, value), scale(*quantity, of).3),
    }
}

/// `name, unit`; the name alone of a ratio.
pub(crate) fn with_unit(name: &str, unit: &str) -> String {
    if unit.is_empty() { name.to_owned() } else { format!("{name}, {unit}") }
}
