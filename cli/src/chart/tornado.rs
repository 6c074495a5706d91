//! Levers: what each number of a case is worth within bounds, the largest first.

use super::bars::{Bars, Form};
use super::drawing::Drawing;
use crate::commands::levers::table::{label, lead};
use crate::commands::levers::{Found, Scale};

/// Levers that are drawn.
const MOST: usize = 20;

/// The picture of the levers that were found in a case at a point.
pub(crate) fn drawing(found: &Found<'_>, case: &str, point: &str) -> Drawing {
    let scale = Scale::of(found.aim.quantity());
    let worth = found.levers.iter().filter(|(_, lever)| lever.gain > 0.0).take(MOST);
    let rows = worth.map(|(number, lever)| {
        let side = if lever.best >= number.value { 1.0 } else { -1.0 };
        (format!("{} ({})", label(number), number.text), vec![side * scale.factor * lever.gain])
    });
    let quantity = found.aim.quantity().words();
    let bars = Bars {
        title: format!("{case}, {point}: what to change next for {quantity}"),
        conditions: vec![
            lead(found),
            format!(
                "gain within {} % of each number, on a straight line",
                crate::print::number::trimmed(100.0 * found.within(), 2)
            ),
            "to the right: by more of it; to the left: by less".to_owned(),
        ],
        of: "field, as it stands",
        panels: vec![[format!("gain, {}", scale.unit), "gain".to_owned()]],
        rows: rows.collect(),
        unit: scale.unit,
        decimals: scale.decimals,
        form: Form::Side,
        colour: "#2b7bba",
    };
    bars.drawing()
}
