//! What warmed the air of each branch: its rise by root cause.

use super::{FONTS, coloured as text, escaped, warmth};
use crate::failure::Failure;
use crate::ledgers::Ledgers;
use crate::opened::Opened;
use crate::print::names::merged;
use crate::print::number::{celsius, signed};
use crate::print::point;
use tractwright::ledger::BranchSummary;

/// Height of a line and of a bar, width of the column of labels and of a branch's panel, room for a number, space around [px].
const LINE: f64 = 24.0;
const BAR: f64 = 15.0;
const LABELS: f64 = 220.0;
const PANEL: f64 = 320.0;
const NUMBER: f64 = 74.0;
const GAP: f64 = 20.0;
/// Height above the first line [px].
const HEAD: f64 = 104.0;
/// Rise below which a cause is not listed [K].
const TRACE: f64 = 5e-3;

/// The picture of a result: over time where it goes through phases, else as means; by place of entry where the march does not follow root
/// causes.
///
/// # Errors
/// The file cannot be read.
pub(crate) fn svg(opened: &Opened) -> Result<String, Failure> {
    if opened.reading.phases.len() > 1 && !opened.reading.roots.is_empty() {
        return warmth::svg(opened);
    }
    Ok(bars(opened))
}

fn bars(opened: &Opened) -> String {
    let branches = &opened.summary.branches;
    let by_root = branches.iter().any(|branch| !branch.causes.is_empty());
    let rises = if by_root { by_cause(branches) } else { by_place(branches) };
    let most = rises.iter().flat_map(|row| row.1.iter().copied()).fold(1e-9, f64::max);
    let least = rises.iter().flat_map(|row| row.1.iter().copied()).fold(0.0, f64::min);
    let scale = (PANEL - NUMBER) / (most - least);
    let width = LABELS + branches.len() as f64 * (PANEL + GAP) + 2.0 * GAP;
    let height = HEAD + rises.len() as f64 * LINE + 40.0;
    let title = format!(
        "{}: what warms the air, by {}",
        opened.reading.case_name,
        if by_root { "root cause" } else { "place of entry" }
    );
    let last = opened.reading.phases.last().filter(|_| opened.reading.phases.len() > 1);
    let phase = last.map_or_else(String::new, |phase| format!(" | last phase, {}", phase.point));
    let conditions = format!("{} | {}{phase}", point::describe(&opened.point), point::air(&opened.outside));
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" height=\"{height}\" \
         role=\"img\" font-family=\"{FONTS}\" font-size=\"12\">\n<title>{}</title>\n\
         <rect width=\"{width}\" height=\"{height}\" fill=\"#ffffff\"/>\n\
         <text x=\"{GAP}\" y=\"30\" font-size=\"18\" font-weight=\"bold\" fill=\"#102a43\">{}</text>\n{}",
        escaped(&title),
        escaped(&title),
        text(GAP, 52.0, "start", "#486581", &conditions),
    );
    let heads = Ledgers::of(branches).heads;
    for (number, branch) in branches.iter().enumerate() {
        let left = GAP + LABELS + number as f64 * (PANEL + GAP);
        let head = format!(
            "{}: T02 {} degC, rise {} K",
            heads[number],
            celsius(branch.total_temperature),
            signed(branch.rise, 1)
        );
        out.push_str(&text(left, HEAD - 18.0, "start", "#102a43", &head));
        let zero = left - scale * least;
        for (line, (_, values)) in rises.iter().enumerate() {
            let (y, length) = (HEAD + line as f64 * LINE, scale * values[number]);
            out.push_str(&format!(
                "<rect x=\"{:.1}\" y=\"{y:.1}\" width=\"{:.1}\" height=\"{BAR}\" fill=\"#b45309\"/>\n",
                zero + length.min(0.0),
                length.abs()
            ));
            let end = zero + length.max(0.0) + 6.0;
            out.push_str(&text(end, y + 12.0, "start", "#102a43", &format!("{} K", signed(values[number], 2))));
        }
    }
    for (line, (name, _)) in rises.iter().enumerate() {
        out.push_str(&text(GAP + LABELS - 10.0, HEAD + line as f64 * LINE + 12.0, "end", "#102a43", name));
    }
    out.push_str("</svg>\n");
    out
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
