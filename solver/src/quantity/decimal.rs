//! Numbers in cells of CSV files, with a decimal point or a decimal comma.

use super::quote;

/// Whether numbers among `cells` have a decimal comma: more of them than have a point, and the `separator` of the cells is another.
pub(crate) fn has_comma<'a>(separator: char, cells: impl Iterator<Item = &'a str> + Clone) -> bool {
    let decimals = |sign: char| {
        cells
            .clone()
            .filter_map(|cell| cell.split_once(sign))
            .filter(|(whole, part)| is_digits(whole.trim_start_matches(['-', '+'])) && is_digits(part))
            .count()
    };
    separator != ',' && decimals(',') > decimals('.')
}

/// The number of a cell with this decimal sign.
///
/// # Errors
/// What was found and what was expected.
pub(crate) fn number(cell: &str, comma: bool) -> Result<f64, (String, &'static str)> {
    let expected = if comma { "a number with a decimal comma" } else { "a number with a decimal point" };
    let fault = || (quote(cell), expected);
    let (sign, other) = if comma { (',', '.') } else { ('.', ',') };
    if cell.contains(other) {
        return Err(fault());
    }
    let number = cell.replace(sign, ".").parse::<f64>().map_err(|_| fault())?;
    if number.is_finite() { Ok(number) } else { Err(fault()) }
}

pub(crate) fn is_digits(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_has_one_decimal_sign() {
        assert_eq!(number("1.5e3", false), Ok(1500.0));
        assert_eq!(number("-1,5", true), Ok(-1.5));
        for (cell, comma) in
            [("1,5", false), ("1.5", true), ("1.234,5", true), ("inf", false), ("12 kPa", false), ("nan", false)]
        {
            assert!(number(cell, comma).is_err(), "{cell}");
        }
    }

    #[test]
    fn most_cells_tell_the_decimal_sign() {
        let cells = ["1,5", "-2,25", "3.5", "12 kPa", ""];
        assert!(has_comma(';', cells.into_iter()) && !has_comma(',', cells.into_iter()));
        assert!(!has_comma(';', ["1,5", "2.5", "3.5"].into_iter()));
    }
}
