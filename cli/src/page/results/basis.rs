//! What the numbers rest on: balances, losses and their sources, defaults, the cases as they were run, the checks.

use crate::commands::check::{self, tables};
use crate::commands::summary::text;
use crate::failure::Failure;
use crate::opened::Opened;
use crate::print::{Row, Table};
use maud::{Markup, html};
use tractwright::case::Task;
use tractwright_validation::page::{program, published};

/// The section.
///
/// # Errors
/// A file cannot be read.
pub(super) fn section(results: &[Opened]) -> Result<Markup, Failure> {
    let mut cases: Vec<&Opened> = Vec::new();
    for opened in results {
        let same = |known: &&Opened| {
            known.reading.case_name == opened.reading.case_name
                && known.reading.file.case() == opened.reading.file.case()
        };
        if !cases.iter().any(same) {
            cases.push(opened);
        }
    }
    let folds = cases.into_iter().map(of_case).collect::<Result<Vec<Markup>, Failure>>()?;
    Ok(html! {
        section id="basis" {
            h2 { "What it rests on" }
            p class="plain" { (program()) ", held against published references: " (published()) }
            h3 { "Balances of the runs" }
            (balances(results)?.markup("Balances of the runs"))
            @for fold in folds { (fold) }
        }
    })
}

fn balances(results: &[Opened]) -> Result<Table, Failure> {
    let row = |opened: &Opened| -> Result<Row, Failure> {
        let name = format!("{}, {}", opened.reading.case_name, opened.point.name);
        let mut words = text::balances(opened)?;
        let moving = matches!(opened.point.task, Task::RollOn { .. });
        if !moving && !opened.summary.branches.is_empty() {
            words.push_str(&format!(" {}", text::closures(&opened.summary.branches)));
        }
        Ok(Row::new(name, Vec::new()).noted(words))
    };
    let rows = results.iter().map(row).collect::<Result<Vec<Row>, Failure>>()?;
    Ok(Table { head: Row::new("run", Vec::new()).noted("how it went"), rows })
}

/// Losses, defaults and the whole text of a case.
fn of_case(opened: &Opened) -> Result<Markup, Failure> {
    let at = check::at_point(&opened.reading.case, &opened.reading.point)?;
    Ok(html! {
        h3 { (opened.reading.case_name) }
        details {
            summary { "Losses and their sources" }
            (tables::losses(&at).markup("Losses and their sources"))
        }
        details {
            summary { "What was left to the program" }
            @match tables::defaults(&at) {
                Some(table) => { (table.markup("Defaults used")) }
                None => { p class="plain" { "Nothing: no defaults were used." } }
            }
        }
        details {
            summary { "The case as it was run" }
            pre tabindex="0" { (opened.reading.file.case()) }
        }
    })
}
