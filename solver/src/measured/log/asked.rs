//! What a log leaves open and nobody guesses.

use super::ChannelData;
use crate::case::Case;
use crate::case::measured::{Channel, Measured};
use crate::error::{CaseError, Location, Problem};
use crate::measured::Sheet;
use crate::quantity::quote;
use crate::suggest;

/// Refuses numbers whose sign may part thousands or decimals, where the case does not say which.
pub(super) fn decimal_sign(measured: &Measured, sheet: &Sheet) -> Result<(), CaseError> {
    let (None, Some(cell)) = (measured.decimal_comma, sheet.ambiguous()) else { return Ok(()) };
    let problem = Problem {
        location: Location { file: sheet.file.clone(), line: sheet.header_line, column: 0 },
        path: "measured.decimal".to_owned(),
        found: format!("numbers such as {}, whose sign may part thousands or decimals", quote(cell)),
        expected: "`decimal: point` or `decimal: comma` in `measured`".to_owned(),
        nearest: None,
    };
    Err(CaseError { problems: vec![problem] })
}

/// Refuses a log without a column that sets numbers of the case: what the case says there may be far from how it was measured.
pub(super) fn settings(measured: &Measured, sheet: &Sheet, channels: &[Option<ChannelData>]) -> Result<(), CaseError> {
    let absent = |(channel, data): (&Channel, &Option<ChannelData>)| {
        let sets = channel.sets.iter().map(|path| quote(path)).collect::<Vec<_>>().join(", ");
        (data.is_none() && !channel.sets.is_empty()).then(|| Problem {
            location: Location { file: sheet.file.clone(), line: sheet.header_line, column: 0 },
            path: format!("measured.columns.{}", channel.name),
            found: format!("no column {}, which sets {sets}", quote(&channel.header)),
            expected:
                "that column, or a case without it (`null` in one that extends this one), whose own numbers then hold"
                    .to_owned(),
            nearest: suggest::nearest(&channel.header, sheet.columns.iter().map(|column| column.name.as_str())),
        })
    };
    let problems: Vec<Problem> = measured.channels.iter().zip(channels).filter_map(absent).collect();
    if problems.is_empty() { Ok(()) } else { Err(CaseError { problems }) }
}

/// That a case does not say how logs are to be read.
pub(super) fn meaning(case: &Case) -> CaseError {
    CaseError {
        problems: vec![Problem {
            location: Location { file: case.file.clone(), line: 0, column: 0 },
            path: "measured".to_owned(),
            found: "a case that does not say how logs are to be read".to_owned(),
            expected: "a section `measured` with the columns of the log".to_owned(),
            nearest: None,
        }],
    }
}
