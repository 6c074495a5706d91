//! Numbers in the units of the trade.

/// `value` with `decimals`, without the sign of a zero.
pub(crate) fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(digits) if digits.chars().all(|digit| matches!(digit, '0' | '.')) => digits.to_owned(),
        _ => text,
    }
}

/// A difference, with its sign.
pub(crate) fn signed(value: f64, decimals: usize) -> String {
    let text = fixed(value, decimals);
    if text.starts_with('-') || !text.contains(|c: char| ('1'..='9').contains(&c)) { text } else { format!("+{text}") }
}

/// `value` with at most `decimals`, without trailing zeros.
pub(crate) fn trimmed(value: f64, decimals: usize) -> String {
    let text = fixed(value, decimals);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// Two significant figures, without an exponent for what is usual in a workshop.
pub(crate) fn figures(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return fixed(value, 0);
    }
    let rounded: f64 = format!("{value:.1e}").parse().unwrap_or(value);
    if (1e-4..1e6).contains(&rounded.abs()) { format!("{rounded}") } else { format!("{rounded:e}") }
}

/// Four digits, as a gauge has them.
pub(crate) fn significant(value: f64) -> String {
    fixed(value, four_digits(value))
}

/// Four digits of a difference, with its sign.
pub(crate) fn signed_significant(value: f64) -> String {
    signed(value, four_digits(value))
}

/// Decimals that make four digits.
fn four_digits(value: f64) -> usize {
    match value.abs() {
        size if size >= 1000.0 => 0,
        size if size >= 100.0 => 1,
        size if size >= 10.0 => 2,
        _ => 3,
    }
}

/// Kilopascals, to the pascal.
pub(crate) fn kilopascals(pressure: f64) -> String {
    fixed(1e-3 * pressure, 3)
}

/// Grams a second.
pub(crate) fn grams(mass_flow: f64) -> String {
    fixed(1e3 * mass_flow, 1)
}

/// Degrees Celsius.
pub(crate) fn celsius(temperature: f64) -> String {
    fixed(temperature - CELSIUS_ZERO, 1)
}

/// Turns a minute for one radian a second.
pub(crate) const RPM: f64 = 30.0 / std::f64::consts::PI;

/// Kilometres an hour for one metre a second.
pub(crate) const KMH: f64 = 3.6;

/// Zero of the Celsius scale [K].
pub(crate) const CELSIUS_ZERO: f64 = 273.15;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rounded_zero_has_no_sign() {
        assert_eq!(fixed(-0.0004, 3), "0.000");
        assert_eq!(fixed(-0.0006, 3), "-0.001");
        assert_eq!(signed(0.0004, 3), "0.000");
        assert_eq!(signed(0.4, 1), "+0.4");
        assert_eq!(signed(-0.4, 1), "-0.4");
    }

    #[test]
    fn zeros_at_the_end_go_but_not_before_the_point() {
        assert_eq!(trimmed(130.0, 2), "130");
        assert_eq!(trimmed(81.71, 1), "81.7");
        assert_eq!(trimmed(100.0, 0), "100");
    }
}
