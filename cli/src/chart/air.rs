//! Where the air of each draw came in.

use super::bars::{Bars, Form};
use super::drawing::Drawing;
use crate::opened::Opened;
use crate::print::names::{merged, sides};
use crate::print::point;

/// Share below which a place is not drawn.
const TRACE: f64 = 5e-4;

/// The picture of a result.
pub(crate) fn drawing(opened: &Opened) -> Drawing {
    let branches = &opened.summary.branches;
    let all: Vec<Vec<String>> =
        branches.iter().map(|branch| branch.origins.iter().map(|found| found.origin.clone()).collect()).collect();
    let rows = merged(&all).into_iter().map(|name| {
        let shares = branches.iter().map(|branch| {
            branch.origins.iter().find(|found| found.origin == name).map_or(0.0, |found| 100.0 * found.share)
        });
        let shares: Vec<f64> = shares.collect();
        (name, shares)
    });
    let heads = sides(&branches.iter().map(|branch| branch.draw.as_str()).collect::<Vec<_>>());
    let bars = Bars {
        title: format!("{}: where the air comes in", opened.reading.case_name),
        conditions: vec![format!("{} | {}", point::describe(&opened.point), point::air(&opened.outside))],
        of: "air from",
        panels: heads.into_iter().map(|head| [head.clone(), head]).collect(),
        rows: rows.filter(|row| row.1.iter().any(|share| *share >= 100.0 * TRACE)).collect(),
        unit: "%",
        decimals: 1,
        form: Form::Plain,
        colour: "#2b7bba",
    };
    bars.drawing()
}
