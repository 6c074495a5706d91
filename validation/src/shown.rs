//! Numbers of rows as they are printed.

use crate::check::{Measure, Row};

/// Figures of a value.
const FIGURES: i32 = 6;

/// A value in six figures, as text that stays short for any size.
#[must_use]
pub fn value(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return if value == 0.0 { "0".to_owned() } else { value.to_string() };
    }
    let scientific = format!("{value:.*e}", FIGURES as usize - 1);
    let Some((digits, Ok(power))) = scientific.split_once('e').map(|(digits, power)| (digits, power.parse::<i32>()))
    else {
        return scientific;
    };
    if (-4..FIGURES).contains(&power) {
        trimmed(&format!("{value:.*}", (FIGURES - 1 - power) as usize))
    } else {
        format!("{}e{power}", trimmed(digits))
    }
}

fn trimmed(digits: &str) -> String {
    if digits.contains('.') { digits.trim_end_matches('0').trim_end_matches('.').to_owned() } else { digits.to_owned() }
}

/// The reference of a row: its value, or the band in which the value should lie.
#[must_use]
pub fn reference(row: &Row) -> String {
    match row.measure {
        Measure::Outside { band: [lowest, highest] } => format!("{} to {}", value(lowest), value(highest)),
        _ => value(row.reference),
    }
}

/// The error of a row in two figures.
#[must_use]
pub fn error(row: &Row) -> String {
    short(row.error())
}

/// The limit of a row in two figures.
#[must_use]
pub fn limit(row: &Row) -> String {
    if row.informs() { "none".to_owned() } else { short(row.limit.value) }
}

fn short(value: f64) -> String {
    match value.abs() {
        0.0 => "0".to_owned(),
        size if (0.0995..0.995).contains(&size) => format!("{value:.2}"),
        size if (0.995..9.95).contains(&size) => format!("{value:.1}"),
        size if (9.95..99.5).contains(&size) => format!("{value:.0}"),
        _ => format!("{value:.1e}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Limit;

    #[test]
    fn a_value_has_six_figures_whatever_its_size() {
        let shown = [0.001420049, 455.743, -1.0, 100_000.0, 123_456.7, 1_234_567.0, 0.000_012, 0.0, 999_999.7];
        let wanted = ["0.00142005", "455.743", "-1", "100000", "123457", "1.23457e6", "1.2e-5", "0", "1e6"];
        assert_eq!(shown.map(value), wanted);
        assert_eq!(value(f64::NAN), "NaN");
    }

    #[test]
    fn an_error_has_two_figures() {
        assert_eq!(
            [1e-9, 0.0123, 0.28, 1.5, 9.96, 25.0, 120.0].map(short),
            ["1.0e-9", "1.2e-2", "0.28", "1.5", "10", "25", "1.2e2"]
        );
    }

    #[test]
    fn a_band_and_a_missing_limit_are_told() {
        let row = Row::within("v", 0.15, [0.06, 0.12], Limit::none("test"));
        assert_eq!([reference(&row), error(&row), limit(&row)], ["0.06 to 0.12", "3.0e-2", "none"]);
    }
}
