//! The front of two aims: every run that meets what is required, and those that none beats in both.

use super::curves::{Curve, Look};
use super::drawing::Drawing;
use super::panels::{Panel, Sheet};
use crate::failure::Failure;
use crate::print::study::{printed, scaled};
use crate::studied::Studied;
use tractwright::study::plan::Goal;
use tractwright::study::rank::{front, ranked};
use tractwright::study::table::Rows;

/// The picture at a point.
///
/// # Errors
/// The study has fewer than two aims.
pub(crate) fn drawing(studied: &Studied, rows: &Rows<'_>, point: usize) -> Result<Drawing, Failure> {
    let plan = &studied.plan;
    let [first, second, ..] = &plan.goals[..] else {
        let found = format!("{}: found {} aims", studied.file.display(), plan.goals.len());
        return Err(Failure::wrong_use(format!("{found}, expected two for a front")));
    };
    let meet = ranked(plan, rows, point);
    let best = front(plan, rows, &meet);
    let value = |goal: &Goal, number: usize| {
        let value = rows.get(number).and_then(|row| row.value(&goal.what)).unwrap_or(f64::NAN);
        scaled(&goal.what, value)
    };
    let at = |number: &usize| (value(first, *number), value(second, *number));
    let wanted =
        |goal: &Goal| format!("{} ({} is better)", printed(&goal.what, plan), if goal.more { "more" } else { "less" });
    let curve = |result: usize, look: Look, of: &[usize], name: String| Curve {
        result,
        look,
        points: of.iter().map(at).collect(),
        rings: Vec::new(),
        name,
    };
    let curves = vec![
        curve(0, Look::Dots, &best, format!("{} that none beats in both", best.len())),
        curve(0, Look::Wanted, &best, String::new()),
        curve(2, Look::Dots, &meet, format!("{} that meet what is required", meet.len())),
    ];
    let sheet = Sheet {
        title: format!("{}: what can be had of both aims", plan.points[point]),
        conditions: vec![if plan.title.is_empty() { plan.file.clone() } else { plan.title.clone() }],
        across: wanted(first),
        strips_title: String::new(),
        strips: Vec::new(),
        behind: false,
        panels: vec![Panel { title: wanted(second), height: 300.0, curves, ..Panel::default() }],
        key: Vec::new(),
    };
    Ok(sheet.drawing())
}
