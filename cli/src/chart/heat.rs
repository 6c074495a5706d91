//! What warmed the air of each branch: its rise by root cause.

use super::bars::{Bars, Form};
use super::drawing::Drawing;
use super::warmth;
use crate::failure::Failure;
use crate::ledgers::Ledgers;
use crate::opened::Opened;
use crate::print::names::merged;
use crate::print::number::{celsius, signed};
use crate::print::point;
use tractwright::ledger::BranchSummary;

/// Rise below which a cause is not listed [K].
const TRACE: f64 = 5e-3;

/// The picture of a result: over time where it goes through phases, else as means; by place of entry where the march does not follow root
/// causes.
///
/// # Errors
/// The file cannot be read.
pub(crate) fn drawing(opened: &Opened) -> Result<Drawing, Failure> {
    if opened.reading.phases.len() > 1 && !opened.reading.roots.is_empty() {
        return warmth::drawing(opened);
    }
    Ok(bars(opened))
}

fn bars(opened: &Opened) -> Drawing {
    let branches = &opened.summary.branches;
    let by_root = branches.iter().any(|branch| !branch.causes.is_empty());
    let rises = if by_root { by_cause(branches) } else { by_place(branches) };
    let title = format!(
        "{}: what warms the air, by {}",
        opened.reading.case_name,
        if by_root { "root cause" } else { "place of entry" }
    );
    let last = opened.reading.phases.last().filter(|_| opened.reading.phases.len() > 1);
    let phase = last.map_or_else(String::new, |phase| format!(" | last phase, {}", phase.point));
    let conditions = format!("{} | {}{phase}", point::describe(&opened.point), point::air(&opened.outside));
    let heads = Ledgers::of(branches).heads;
    let panels = heads.into_iter().zip(branches).map(|(head, branch)| {
        let told = format!("{head}: T02 {} degC, rise {} K", celsius(branch.total_temperature), signed(branch.rise, 1));
        [told, head]
    });
    let bars = Bars {
        title,
        conditions: vec![conditions],
        of: "warmed by",
        panels: panels.collect(),
        rows: rises,
        unit: "K",
        decimals: 2,
        form: Form::Change,
        colour: "#b45309",
    };
    bars.drawing()
}

/// Rises of all branches by root cause [K], those that show.
fn by_cause(branches: &[BranchSummary]) -> Vec<(String, Vec<f64>)> {
    let all: Vec<Vec<String>> =
        branches.iter().map(|branch| branch.causes.iter().map(|found| found.cause.clone()).collect()).collect();
    let rise = |branch: &BranchSummary, cause: &str| {
        branch.causes.iter().find(|found| found.cause == cause).map_or(0.0, |found| found.rise)
    };
    let rows = merged(&all).into_iter().map(|cause| {
        let values: Vec<f64> = branches.iter().map(|branch| rise(branch, &cause)).collect();
        (cause, values)
    });
    rows.filter(|row| row.1.iter().any(|value| value.abs() >= TRACE)).collect()
}

/// The same by place of entry.
fn by_place(branches: &[BranchSummary]) -> Vec<(String, Vec<f64>)> {
    let ledgers = Ledgers::of(branches);
    let rows = ledgers.heat.into_iter().map(|booked| {
        let values = booked.values.iter().map(|value| value.unwrap_or(0.0)).collect::<Vec<_>>();
        (booked.label, values)
    });
    rows.filter(|row| row.1.iter().any(|value| value.abs() >= TRACE)).collect()
}
