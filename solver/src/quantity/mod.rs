//! Text with a unit, to SI.
//!
//! A number without a unit is a mistake unless the quantity has none, absolute and differential quantities are different
//! dimensions, and the case of a letter counts: `mbar` is not `Mbar`. Every refusal says what would be right.

pub(crate) mod decimal;
mod spread;
mod units;

pub(crate) use spread::stands_in as has_spread;
pub use spread::{Shape, Spread};
pub use units::Unit;

use crate::suggest;

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
    /// Kilograms.
    Mass,
    /// Kilograms a second.
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
    /// Kilograms a cubic metre.
    Density,
    /// Pascal seconds.
    Viscosity,
    /// J/(kg K).
    HeatCapacity,
    /// W/(m K).
    Conductivity,
    /// W/(m^2 K).
    FilmCoefficient,
    /// Watts a kelvin.
    Conductance,
    /// Kilograms a metre.
    MassPerLength,
    /// Watts.
    Power,
    /// Reciprocal metres.
    InverseLength,
    /// Kilograms of air for each joule of work.
    AirPerWork,
    /// Kilograms and square metres.
    Inertia,
    /// Joules a kilogram.
    SpecificEnergy,
}

/// Why a text is not the quantity asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// What the text says.
    pub found: String,
    /// What would be right.
    pub expected: String,
    /// Nearest unit.
    pub nearest: Option<String>,
}

/// Density of air [kg/m^3] at 20 degC and 101.3 kPa, for the hint that turns a volume flow into a mass flow.
const HINT_DENSITY: f64 = 1.204;

/// Longest list of numbers in one text.
const LONGEST_LIST: usize = 100_000;

/// A quantity as its text has it.
#[derive(Debug, Clone, PartialEq)]
pub struct Written {
    /// The numbers, in `unit`; never none.
    pub numbers: Vec<f64>,
    /// Their unit.
    pub unit: &'static Unit,
    /// How far the value may lie from the one number that there is.
    pub spread: Option<Spread>,
}

/// Reads one quantity, such as `76 mm`, `76mm` or `76 +- 1 mm`, to SI; a spread is checked, and left to [`written`].
///
/// # Errors
/// When the text is no finite number with a unit of `dimension`.
pub fn parse(text: &str, dimension: Dimension) -> Result<f64, Fault> {
    let Written { numbers, unit, .. } = written(text, dimension)?;
    match numbers[..] {
        [number] => convert(number, unit, text, dimension),
        _ => Err(fault(format!("{} numbers in {}", numbers.len(), quote(text)), single(dimension))),
    }
}

/// Reads numbers and their unit as they are written, with the spread behind a single one.
///
/// # Errors
/// When the text is no list of numbers with a unit of `dimension`, or its spread is none.
pub fn written(text: &str, dimension: Dimension) -> Result<Written, Fault> {
    if spread::stands_in(text) {
        return spread::read(text, dimension);
    }
    let (numbers, unit) = split(text, dimension)?;
    Ok(Written { numbers, unit, spread: None })
}

/// Reads numbers of one unit, such as `60 120 180 g/s`, to SI; never empty.
///
/// # Errors
/// When the text is no list of finite numbers with a unit of `dimension`.
pub fn parse_list(text: &str, dimension: Dimension) -> Result<Vec<f64>, Fault> {
    let Written { numbers, unit, spread } = written(text, dimension)?;
    if spread.is_some() {
        let expected = "a YAML list, in which each number has its own unit and spread".to_owned();
        return Err(fault(format!("a spread in a list of numbers, {}", quote(text)), expected));
    }
    numbers.into_iter().map(|number| convert(number, unit, text, dimension)).collect()
}

/// Whether the text looks like a number with or without a unit, right or wrong.
#[must_use]
pub fn looks_like_number(text: &str) -> bool {
    text.trim_start().trim_start_matches(['+', '-', '.', '\u{2212}']).starts_with(|c: char| c.is_ascii_digit())
}

/// The text in backquotes, shortened and on one line.
pub(crate) fn quote(text: &str) -> String {
    const LONGEST: usize = 60;
    let mut short: String = text.chars().take(LONGEST).map(|c| if c.is_control() { ' ' } else { c }).collect();
    if text.chars().nth(LONGEST).is_some() {
        short.push_str("...");
    }
    format!("`{short}`")
}

fn fault(found: String, expected: String) -> Fault {
    Fault { found, expected, nearest: None }
}

fn single(dimension: Dimension) -> String {
    format!("{} such as `{}`", dimension.name(), dimension.example())
}

/// Numbers and unit of a text.
fn split(text: &str, dimension: Dimension) -> Result<(Vec<f64>, &'static Unit), Fault> {
    let plain = ascii_symbols(text);
    let mut rest = plain.trim();
    let mut numbers = Vec::new();
    while let Some(length) = number_length(rest) {
        // A reciprocal unit opens with a digit too: `2e4 1/m`.
        if !numbers.is_empty() && dimension.units().iter().any(|unit| unit.symbol == rest) {
            break;
        }
        let (number, after) = rest.split_at(length);
        refuse_comma(number, after, text)?;
        if after.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | '+' | '-')) {
            return Err(fault(quote(text), single(dimension)));
        }
        numbers.push(number.parse::<f64>().map_err(|_| fault(quote(text), single(dimension)))?);
        if numbers.len() > LONGEST_LIST {
            return Err(fault(format!("more than {LONGEST_LIST} numbers"), "a shorter list".to_owned()));
        }
        rest = after.trim_start();
    }
    if numbers.is_empty() {
        return Err(fault(quote(text), single(dimension)));
    }
    Ok((numbers, find_unit(rest, text, dimension)?))
}

/// Superscripts, the degree sign and the micro sign in the letters of the unit tables.
fn ascii_symbols(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '\u{b2}' => plain.push('2'),
            '\u{b3}' => plain.push('3'),
            '\u{b0}' => plain.push_str("deg"),
            '\u{b5}' | '\u{3bc}' => plain.push('u'),
            '\u{2212}' => plain.push('-'),
            '\u{b1}' => plain.push_str(spread::SIGN),
            '\u{a0}' | '\u{202f}' => plain.push(' '),
            other => plain.push(other),
        }
    }
    plain
}

/// Length in bytes of the decimal number that the text opens with.
fn number_length(text: &str) -> Option<usize> {
    let bytes = text.as_bytes();
    let digits = |from: usize| bytes[from..].iter().take_while(|byte| byte.is_ascii_digit()).count();
    let mut end = usize::from(matches!(bytes.first(), Some(b'+' | b'-')));
    let whole = digits(end);
    end += whole;
    let mut count = whole;
    if bytes.get(end) == Some(&b'.') {
        let fraction = digits(end + 1);
        count += fraction;
        end += 1 + fraction;
    }
    if count == 0 {
        return None;
    }
    if matches!(bytes.get(end), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
        let exponent = digits(end + 1 + sign);
        if exponent > 0 {
            end += 1 + sign + exponent;
        }
    }
    Some(end)
}

/// A comma after a number is a decimal comma or a comma between numbers; neither is taken, both are named.
fn refuse_comma(number: &str, after: &str, text: &str) -> Result<(), Fault> {
    let Some(next) = after.trim_start().strip_prefix(',') else { return Ok(()) };
    if !after.starts_with(',') || !next.starts_with(|c: char| c.is_ascii_digit()) {
        return Err(fault(format!("a comma in {}", quote(text)), "spaces between the numbers".to_owned()));
    }
    let digits: String = next.chars().take_while(char::is_ascii_digit).collect();
    Err(fault(format!("a decimal comma in {}", quote(text)), format!("a decimal point: `{number}.{digits}`")))
}

fn convert(number: f64, unit: &Unit, text: &str, dimension: Dimension) -> Result<f64, Fault> {
    let value = unit.to_si(number);
    if !number.is_finite() || !value.is_finite() {
        return Err(fault(format!("{}, out of range", quote(text)), format!("{} that is finite", dimension.name())));
    }
    Ok(value)
}

/// The unit with this symbol, spaces in it being free.
fn find_unit(symbol: &str, text: &str, dimension: Dimension) -> Result<&'static Unit, Fault> {
    let symbol = symbol.split_whitespace().collect::<Vec<_>>().join(" ");
    let units = dimension.units();
    if let Some(unit) = units.iter().find(|unit| unit.symbol == symbol) {
        return Ok(unit);
    }
    if symbol.is_empty() {
        return Err(fault(format!("{} without a unit", quote(text)), single(dimension)));
    }
    if let Some(hint) = hint(&symbol, text, dimension) {
        return Err(hint);
    }
    let symbols: Vec<&str> = units.iter().map(|unit| unit.symbol).filter(|symbol| !symbol.is_empty()).collect();
    let nearest = suggest::nearest(&symbol, symbols.iter().copied());
    let expected = match symbols[..] {
        [only] => format!("the unit {only} of {}", dimension.name()),
        _ => format!("one of the units of {}: {}", dimension.name(), symbols.join(", ")),
    };
    Err(Fault { found: format!("the unit {} in {}", quote(&symbol), quote(text)), expected, nearest })
}

/// What to say when the unit is one of another dimension.
fn hint(symbol: &str, text: &str, dimension: Dimension) -> Option<Fault> {
    let has = |other: &&Dimension| other.units().iter().any(|unit| unit.symbol == symbol);
    let other = *Dimension::ALL.iter().find(has)?;
    let found = format!("{}, {}", quote(text), other.name());
    let expected = match (dimension, other) {
        (Dimension::MassFlow, Dimension::VolumeFlow) => match parse(text, other) {
            Ok(flow) => format!(
                "{}: times the density that goes with it, {:.0} g/s at 20 degC and 101.3 kPa",
                single(dimension),
                1e3 * flow * HINT_DENSITY
            ),
            Err(_) => single(dimension),
        },
        (Dimension::MassFlow, Dimension::Power) => format!("{}: the air that the power needs", single(dimension)),
        (Dimension::TemperatureDifference, Dimension::Temperature) => {
            format!("{}: a difference is given in K", single(dimension))
        }
        _ => single(dimension),
    };
    Some(fault(found, expected))
}

#[cfg(test)]
mod tests;
