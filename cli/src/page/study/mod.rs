//! A page of a study: what is best, what can be had of two aims, how the aim answers to the inputs, and every run in a table.

mod runs;

use super::{document, footer};
use crate::chart::drawing::Drawing;
use crate::chart::{front, palette, surface};
use crate::commands::study::{heading, text};
use crate::failure::Failure;
use crate::studied::Studied;
use maud::{Markup, html};
use tractwright::study::rank::{front as unbeaten, ranked};
use tractwright::study::table::{Row, Rows};
use tractwright_validation::page::program;

/// Best runs that are shown for each point.
const SHOWN: usize = 10;
/// Pairs of inputs that are drawn.
const PAIRS: usize = 3;

/// The page of a study.
///
/// # Errors
/// The journal cannot be read.
pub(crate) fn html(studied: &Studied) -> Result<String, Failure> {
    let (plan, rows) = (&studied.plan, studied.rows()?);
    let title = if plan.title.is_empty() { plan.file.clone() } else { plan.title.clone() };
    let count = |is: &dyn Fn(&Row) -> bool| rows.iter().filter(|row| is(row)).count();
    let (done, missing) = (count(&Row::is_done), count(&|row| row.ended.is_none()));
    let failed = rows.count() - done - missing;
    let points = (0..plan.points.len()).map(|point| section(studied, &rows, point)).collect::<Result<Vec<_>, _>>()?;
    let body = html! {
        header {
            p class="program" { (program()) ", a prediction" }
            h1 { (title) }
            p class="program" { (done) " of " (rows.count()) " runs done, " (failed) " failed, " (missing) " missing; " (studied.file.display()) }
            nav aria-label="Contents" {
                ul {
                    @for point in &plan.points { li { a href=(format!("#{}", super::anchor(point))) { (point) } } }
                    li { a href="#runs" { "All runs" } }
                    li { a href="#basis" { "What it rests on" } }
                    li { a href="#cautions" { "Cautions" } }
                }
            }
        }
        main {
            @for section in points { (section) }
            (runs::section(studied, &rows))
            section id="basis" {
                h2 { "What it rests on" }
                p class="plain" { (program()) ", held against published references: " (tractwright_validation::page::published()) }
                details { summary { "The study" } pre tabindex="0" { (plan.text) } }
                @for layout in &plan.layouts {
                    details { summary { "Layout " (layout.name) } pre tabindex="0" { (layout.case.resolved_text()) } }
                }
            }
            (footer::cautions())
        }
    };
    Ok(document(&title, &palette::style(), body, true))
}

/// One point: the best, the front, the surfaces.
fn section(studied: &Studied, rows: &Rows<'_>, point: usize) -> Result<Markup, Failure> {
    let plan = &studied.plan;
    let found = ranked(plan, rows, point);
    let front_of = unbeaten(plan, rows, &found);
    let shown: &[usize] = if front_of.is_empty() { &found } else { &front_of };
    let shown: Vec<(usize, Row)> =
        shown.iter().take(SHOWN).filter_map(|number| Some((*number, rows.get(*number)?))).collect();
    Ok(html! {
        section id=(super::anchor(&plan.points[point])) {
            h2 { (plan.points[point]) }
            p class="lead" { (lead(studied, rows, &found)) }
            @if !shown.is_empty() {
                h3 { @if front_of.is_empty() { "The best runs" } @else { "Runs that none beats in both aims, the first of " (front_of.len()) } }
                (text::table(plan, &shown).markup("The best runs"))
            }
            @for drawing in drawings(studied, rows, point)? { (drawing.figure()) }
        }
    })
}

/// What is best, in a sentence.
fn lead(studied: &Studied, rows: &Rows<'_>, found: &[usize]) -> String {
    let plan = &studied.plan;
    let (Some(number), Some(goal)) = (found.first(), plan.goals.first()) else {
        return match found.len() {
            0 => "No run meets what is required.".to_owned(),
            count => format!("{count} runs meet what is required; the study names no aim."),
        };
    };
    let Some(row) = rows.get(*number) else { return String::new() };
    let value = row.value(&goal.what).map_or_else(String::new, |value| crate::print::study::written(&goal.what, value));
    format!(
        "{} {}: {value}, run {number} ({}). {} runs meet what is required.",
        if goal.more { "Most" } else { "Least" },
        crate::print::study::printed(&goal.what, plan),
        heading(plan, &row.run),
        found.len()
    )
}

fn drawings(studied: &Studied, rows: &Rows<'_>, point: usize) -> Result<Vec<Drawing>, Failure> {
    let plan = &studied.plan;
    let mut drawings = Vec::new();
    if plan.goals.len() > 1 {
        drawings.push(front::drawing(studied, rows, point)?);
    }
    let done = rows.iter().any(|row| row.run.point == point && row.is_done());
    if !plan.goals.is_empty() && done {
        let count = plan.variables.len();
        let pairs = (0..count).flat_map(|first| (first + 1..count).map(move |second| [first, second]));
        for pair in pairs.take(PAIRS) {
            drawings.push(surface::drawing(studied, rows, point, pair)?);
        }
    }
    Ok(drawings)
}
