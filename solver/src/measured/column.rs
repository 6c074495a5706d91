//! A column of a log: its unit, and its cells in SI.

use super::sheet::is_missing;
use crate::case::Number;
use crate::case::measured::{Channel, Meaning};
use crate::error::{CaseError, Location, Problem};
use crate::fields::Range;
use crate::quantity::decimal::number;
use crate::quantity::{self, Dimension, Unit, quote};

/// A channel as a file has it.
pub(super) struct Column<'a> {
    /// Number of its channel.
    pub(super) channel: usize,
    pub(super) about: &'a Channel,
    pub(super) unit: &'static Unit,
    pub(super) dimension: Dimension,
    /// Values that the numbers it sets allow.
    ranges: Vec<Range>,
}

impl Column<'_> {
    /// Whether `symbol` is its unit, in any spelling.
    pub(super) fn is_in(&self, symbol: &str) -> bool {
        quantity::written(&format!("1 {symbol}"), self.dimension).is_ok_and(|written| written.unit == self.unit)
    }
}

/// Where a file says the unit of a channel, if it does.
pub(super) struct Header<'a> {
    pub(super) unit: Option<&'a str>,
    pub(super) file: &'a str,
    pub(super) line: usize,
}

/// What a file has of a channel, with the unit that its header has.
pub(super) fn column<'a>(
    number: usize,
    channel: &'a Channel,
    header: &Header<'_>,
    numbers: &[Number],
) -> Result<Column<'a>, CaseError> {
    let own = || Location { file: header.file.to_owned(), line: header.line, column: 0 };
    let problem = |found: String, expected: String| CaseError {
        problems: vec![Problem {
            location: if header.unit.is_some() { own() } else { channel.location.clone() },
            path: format!("measured.columns.{}", channel.name),
            found,
            expected,
            nearest: None,
        }],
    };
    let set: Vec<&Number> = numbers.iter().filter(|number| channel.sets.contains(&number.path)).collect();
    let dimension = channel.dimension().or_else(|| set.first().map(|number| number.dimension));
    let Some(dimension) = dimension else {
        return Err(problem("a column without a meaning".to_owned(), "one of `is`, `tap`, `sets`".to_owned()));
    };
    if let Some(other) = set.iter().find(|number| number.dimension != dimension) {
        return Err(problem(
            format!("{} that sets `{}`", dimension.name(), other.path),
            other.dimension.name().to_owned(),
        ));
    }
    let unit_of = |symbol: &str| quantity::written(&format!("1 {symbol}"), dimension).map(|written| written.unit);
    let said = channel.unit.as_deref();
    let unit = match (header.unit, said) {
        (None, None) if dimension == Dimension::Ratio => unit_of(""),
        (None, None) => {
            let expected = format!(
                "`[unit]` in its header, or `unit` here, of {} such as `{}`",
                dimension.name(),
                dimension.example()
            );
            return Err(problem(format!("a column {} without a unit", quote(&channel.header)), expected));
        }
        (Some(symbol), None) | (None, Some(symbol)) => unit_of(symbol),
        (Some(header), Some(said)) => {
            if let (Ok(one), Ok(other)) = (unit_of(header), unit_of(said))
                && one != other
            {
                return Err(problem(
                    format!("{} in the header and {} here", quote(header), quote(said)),
                    "one unit".to_owned(),
                ));
            }
            unit_of(said)
        }
    };
    let unit = unit.map_err(|fault| {
        problem(format!("{} as its unit", quote(header.unit.or(said).unwrap_or_default())), fault.expected)
    })?;
    let ranges = set.iter().map(|number| number.range).collect();
    Ok(Column { channel: number, about: channel, unit, dimension, ranges })
}

/// The value of a cell [SI]; `None` where it has none.
pub(super) fn value(cell: &str, column: &Column<'_>, comma: bool) -> Result<Option<f64>, String> {
    if is_missing(cell) {
        return Ok(None);
    }
    let of = &column.about.header;
    let number =
        number(cell, comma).map_err(|(found, expected)| format!("{found} in {}, expected {expected}", quote(of)))?;
    let mut value = column.unit.to_si(number);
    if let Meaning::Power(basis) = &column.about.meaning {
        value /= basis.correction;
    }
    value -= column.about.offset();
    let absolute = matches!(column.dimension, Dimension::Pressure | Dimension::Temperature);
    let own = if absolute { Range::Positive } else { Range::Any };
    match column.ranges.iter().chain([&own]).find(|range| !range.allows(value)) {
        Some(range) => {
            Err(format!("{} {} in {}, expected {}", cell, column.unit.symbol, quote(of), range.words(column.dimension)))
        }
        None => Ok(Some(value)),
    }
}
