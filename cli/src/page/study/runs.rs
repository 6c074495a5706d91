//! Every run of a study in a table that sorts and filters, each with the way to its case.

use crate::commands::study::text;
use crate::print::number::trimmed;
use crate::print::study::{printed, with_unit, written};
use crate::studied::Studied;
use maud::{Markup, html};
use tractwright::study::journal::Ended;
use tractwright::study::plan::{Plan, What};
use tractwright::study::table::{Row, Rows};

/// Rows that a page holds; the table of the study has all.
const MOST: usize = 2_000;

/// The section.
pub(super) fn section(studied: &Studied, rows: &Rows<'_>) -> Markup {
    let plan = &studied.plan;
    let shown: Vec<(usize, Row)> = rows.iter().take(MOST).enumerate().collect();
    let whats = text::whats(plan, &shown);
    let heads = plan.variables.iter().map(|variable| with_unit(&variable.name, variable.unit.symbol));
    let heads: Vec<String> = ["run", "layout", "point"]
        .map(str::to_owned)
        .into_iter()
        .chain(heads)
        .chain(whats.iter().map(|what| printed(what, plan)))
        .chain(["what became of it".to_owned()])
        .collect();
    html! {
        section id="runs" {
            h2 { "All runs" }
            p class="plain" {
                "A head sorts; the number of a run unfolds its case."
                @if rows.count() > shown.len() { " The first " (shown.len()) " of " (rows.count()) " runs: table.h5 of the study has all." }
            }
            p {
                label { "Show rows with " input class="filter" type="search" data-filters="all_runs"; }
                " " span data-counts="all_runs" role="status" { (shown.len()) " of " (shown.len()) " shown" }
            }
            div class="wide" tabindex="0" role="region" aria-label="All runs" {
                table class="sortable" id="all_runs" {
                    thead { tr { @for head in &heads { th scope="col" { button type="button" { (head) } } } } }
                    tbody { @for (number, row) in &shown { (line(studied, *number, row, &whats)) } }
                }
            }
        }
    }
}

fn line(studied: &Studied, number: usize, row: &Row, whats: &[What]) -> Markup {
    let plan = &studied.plan;
    let ended = match &row.ended {
        Some(Ended::Done { note, .. }) if note.is_empty() => "done".to_owned(),
        Some(Ended::Done { note, .. }) => format!("done: {note}"),
        Some(Ended::Failed(why)) => format!("failed: {why}"),
        None => "missing".to_owned(),
    };
    html! {
        tr {
            th scope="row" data-key=(number) {
                details { summary { (number) } pre { (case(studied, plan, number, row)) } }
            }
            td { (plan.layout_of(&row.run).name) }
            td { (plan.point_of(&row.run)) }
            @for value in &row.run.numbers { td class="number" { (trimmed(*value, 4)) } }
            @for what in whats {
                td class="number" { @if let Some(value) = row.value(what) { (written(what, value)) } }
            }
            td { (ended) }
        }
    }
}

/// What the run changes in the case of its layout, and the command that prints the whole.
fn case(studied: &Studied, plan: &Plan, number: usize, row: &Row) -> String {
    let point = plan.point_of(&row.run);
    let mut text = format!("# layout {}, point {point}\n", plan.layout_of(&row.run).name);
    for (variable, value) in plan.variables.iter().zip(&row.run.numbers) {
        for field in variable.fields_at(point) {
            text.push_str(&format!("{field}: {}\n", variable.text_of(*value)));
        }
    }
    if let Some(draw) = row.run.draw {
        text.push_str(&format!("# draw {draw} from the spreads\n"));
    }
    text + &format!("tractwright study case {} {number}", studied.file.display())
}
