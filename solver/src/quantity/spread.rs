//! A quantity with a spread: `0.4 +- 0.1`, `45 +- 8 degC`, `76 +- 1 mm uniform`.
//!
//! Number and spread share the unit behind them. On a temperature scale the spread is a difference: `45 +- 8 degC` spreads by 8 K.

use super::{Dimension, Fault, Written, ascii_symbols, fault, find_unit, number_length, quote, refuse_comma, split};

/// Stands before a spread.
pub(super) const SIGN: &str = "+-";
const UNIFORM: &str = "uniform";
const NORMAL: &str = "normal";

/// How values lie about the one that is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// The bell curve; the spread is one standard deviation.
    Normal,
    /// All values alike; the spread is half of their range.
    Uniform,
}

/// How far a value may lie from the one that is written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Standard deviation or half width, as a difference in SI; not negative.
    pub width: f64,
    /// Which of the two.
    pub shape: Shape,
}

/// Whether a spread stands in the text.
pub(crate) fn stands_in(text: &str) -> bool {
    text.contains(SIGN) || text.contains('\u{b1}')
}

/// Reads a number with its spread.
pub(super) fn read(text: &str, dimension: Dimension) -> Result<Written, Fault> {
    let expected = || format!("{} such as `{}`", dimension.name(), example(dimension));
    let plain = ascii_symbols(text);
    let Some((value, rest)) = plain.split_once(SIGN) else { return Err(fault(quote(text), expected())) };
    let (rest, shape) = shape_of(rest.trim());
    let Some(length) = number_length(rest) else { return Err(fault(quote(text), expected())) };
    let (width, unit) = rest.split_at(length);
    refuse_comma(width, unit, text)?;
    if unit.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | '+' | '-')) {
        return Err(fault(quote(text), expected()));
    }
    let value = value.trim();
    match number_length(value) {
        Some(length) if length == value.len() => {}
        Some(length) => {
            refuse_comma(&value[..length], &value[length..], text)?;
            let found = format!("{} before the spread in {}", quote(value[length..].trim()), quote(text));
            return Err(fault(
                found,
                format!("one number, and its unit behind the spread: {}", quote(&example(dimension))),
            ));
        }
        None => return Err(fault(quote(text), expected())),
    }
    let unit = find_unit(unit.trim(), text, dimension)?;
    let numbers = split(&format!("{value} {}", unit.symbol), dimension)?.0;
    let width = width.parse::<f64>().map(|width| unit.difference_to_si(width)).unwrap_or(f64::NAN);
    if !width.is_finite() || width < 0.0 {
        return Err(fault(format!("the spread of {}", quote(text)), "a spread of 0 or more".to_owned()));
    }
    Ok(Written { numbers, unit, spread: Some(Spread { width, shape }) })
}

/// What stands before the word for the shape, and the shape; normal when there is no word.
fn shape_of(text: &str) -> (&str, Shape) {
    for (word, shape) in [(UNIFORM, Shape::Uniform), (NORMAL, Shape::Normal)] {
        if let Some(before) = text.strip_suffix(word) {
            return (before.trim_end(), shape);
        }
    }
    (text, Shape::Normal)
}

/// The example of a dimension with a spread of a tenth.
fn example(dimension: Dimension) -> String {
    let example = dimension.example();
    let length = number_length(example).unwrap_or(0);
    let (number, unit) = example.split_at(length);
    let tenth = number.parse::<f64>().map_or(0.0, |number| 0.1 * number);
    // A tenth of a short decimal number, without the rounding of the product.
    let tenth = format!("{tenth:.3e}").parse::<f64>().unwrap_or(tenth);
    format!("{number} {SIGN} {tenth}{unit}")
}

#[cfg(test)]
mod tests {
    use super::super::{parse, parse_list, written};
    use super::*;

    fn spread(text: &str, dimension: Dimension) -> Spread {
        written(text, dimension).expect(text).spread.expect(text)
    }

    #[test]
    fn a_spread_has_the_unit_of_its_number_and_leaves_the_number_alone() {
        for (text, dimension, value, width, shape) in [
            ("0.4 +- 0.1", Dimension::Ratio, 0.4, 0.1, Shape::Normal),
            ("76 +- 1 mm", Dimension::Length, 0.076, 0.001, Shape::Normal),
            ("76 +- 1 mm uniform", Dimension::Length, 0.076, 0.001, Shape::Uniform),
            ("76+-1mm normal", Dimension::Length, 0.076, 0.001, Shape::Normal),
            ("76 \u{b1} 1 mm", Dimension::Length, 0.076, 0.001, Shape::Normal),
            (
                "-5 +- 2 deg",
                Dimension::Angle,
                -5.0 / 180.0 * std::f64::consts::PI,
                std::f64::consts::PI / 90.0,
                Shape::Normal,
            ),
            ("30 +- 5 %", Dimension::Ratio, 0.3, 0.05, Shape::Normal),
            ("2e4 +- 1e3 1/m uniform", Dimension::InverseLength, 2e4, 1e3, Shape::Uniform),
        ] {
            let found = spread(text, dimension);
            assert!((parse(text, dimension).expect(text) - value).abs() <= 1e-15 * value.abs(), "{text}");
            assert!((found.width - width).abs() <= 1e-15 * width && found.shape == shape, "{text}: {found:?}");
        }
    }

    #[test]
    fn on_a_temperature_scale_it_is_a_difference() {
        let celsius = spread("45 +- 8 degC", Dimension::Temperature);
        let fahrenheit = spread("113 +- 9 degF", Dimension::Temperature);
        assert!((celsius.width - 8.0).abs() < 1e-12 && (fahrenheit.width - 5.0).abs() < 1e-12);
        assert!((parse("45 +- 8 degC", Dimension::Temperature).expect("45 degC") - 318.15).abs() < 1e-10);
    }

    #[test]
    fn what_is_no_spread_is_refused_with_what_would_be_right() {
        for (text, dimension, expected) in [
            ("0.4 +- -0.1", Dimension::Ratio, "a spread of 0 or more"),
            ("76 mm +- 1 mm", Dimension::Length, "`76 +- 7.6 mm`"),
            ("76 80 +- 1 mm", Dimension::Length, "one number"),
            ("76 +- mm", Dimension::Length, "`76 +- 7.6 mm`"),
            ("+- 1 mm", Dimension::Length, "such as"),
            ("76 +- 1", Dimension::Length, "such as"),
            ("76 +- 1 mm flat", Dimension::Length, "one of the units"),
            ("76 +- 1,5 mm", Dimension::Length, "a decimal point"),
            ("76 +- 1 +- 2 mm", Dimension::Length, "one of the units"),
            ("76 +- 1e400 mm", Dimension::Length, "a spread of 0 or more"),
        ] {
            let told = parse(text, dimension).expect_err(text);
            assert!(told.expected.contains(expected), "{text}: {told:?}");
        }
        assert!(parse_list("76 +- 1 mm", Dimension::Length).expect_err("a list").expected.contains("YAML list"));
    }
}
