//! What the coupe's layouts are worth beside what such parts are said to bring.

use crate::check::{Failure, Findings, Limit, Row};
use crate::coupe::power_case;
use tractwright::study::{Of, Quantity, figures_of};

const PRACTICE: Limit = Limit::none("common practice, no source: a few per cent, a few tenths of a second");
/// A few per cent, and a few tenths of a second.
const PER_CENT: [f64; 2] = [2.0, 5.0];
const TENTHS: [f64; 2] = [0.2, 0.5];

/// The rows.
pub(super) fn rows() -> Result<Findings, Failure> {
    let (sealed, panel) = (power_case("twin_sealed")?, power_case("shared_panel")?);
    let mut rows = Vec::new();
    for boost in ["stock", "raised"] {
        let value = |case, point: &str, quantity| {
            let figures = figures_of(case, &format!("{point}_{boost}"))?;
            figures
                .value(quantity, &Of::Whole)
                .ok_or_else(|| Failure::Missing(format!("{quantity:?} at {point}_{boost}")))
        };
        let more = |point| -> Result<f64, Failure> {
            let [new, old] = [value(&sealed, point, Quantity::Power)?, value(&panel, point, Quantity::Power)?];
            Ok(100.0 * (new / old - 1.0))
        };
        let sooner = value(&panel, "roll", Quantity::RollOnTime)? - value(&sealed, "roll", Quantity::RollOnTime)?;
        rows.extend([
            Row::within(format!("{boost} boost: more power in a pull [%]"), more("dyno")?, PER_CENT, PRACTICE),
            Row::within(
                format!("{boost} boost: more power at 162 km/h, 6500 rpm [%]"),
                more("road")?,
                PER_CENT,
                PRACTICE,
            ),
            Row::within(format!("{boost} boost: sooner from 100 to 200 km/h [s]"), sooner, TENTHS, PRACTICE),
        ]);
    }
    Ok(rows.into())
}
