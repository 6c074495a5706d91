//! A page of results: which layout wins, where it loses, what warms it, whether it holds, and on what that rests.

mod basis;
mod hold;
mod point;
mod verdict;

use super::document;
use crate::chart::drawing::HATCH;
use crate::chart::palette;
use crate::failure::Failure;
use crate::layouts::by_point;
use crate::opened::Opened;
use maud::{Markup, PreEscaped, html};
use tractwright_validation::page::program;

/// What its pictures and tables look like.
const STYLE: &str = include_str!("style.css");
/// What answers to pointer and keyboard.
const SCRIPT: &str = include_str!("script.js");

/// The page of some results, at least one.
///
/// # Errors
/// A file cannot be read, or a result has no draw.
pub(crate) fn html(results: &[Opened]) -> Result<String, Failure> {
    let points = by_point(results)?;
    let names = layout_names(results);
    let title = names.join(", ");
    let sections = points.iter().map(|at| point::section(at, results)).collect::<Result<Vec<Markup>, _>>()?;
    let hold = hold::section(results)?;
    let body = html! {
        header {
            p class="program" { (program()) ", a prediction" }
            h1 { (title) }
            @for line in titles(results) { p class="program" { (line) } }
            nav aria-label="Contents" {
                ul {
                    li { a href="#verdict" { "Verdict" } }
                    @for at in &points { li { a href=(format!("#{}", point::anchor(&at.name))) { (at.name) } } }
                    @if hold.is_some() { li { a href="#hold" { "Will it hold" } } }
                    li { a href="#basis" { "What it rests on" } }
                    li { a href="#cautions" { "Cautions" } }
                }
            }
        }
        main {
            (verdict::section(&points))
            @for section in sections { (section) }
            @if let Some(hold) = hold { (hold) }
            (basis::section(results)?)
        }
        svg width="0" height="0" aria-hidden="true" style="position:absolute" { (PreEscaped(palette::themed(HATCH))) }
        div id="readout" role="status" {}
    };
    Ok(document(&title, &format!("{}{STYLE}", palette::style()), body, SCRIPT))
}

/// Names of the cases, each once.
fn layout_names(results: &[Opened]) -> Vec<String> {
    each_once(results.iter().map(|opened| opened.reading.case_name.clone()))
}

/// What the cases say of themselves.
fn titles(results: &[Opened]) -> Vec<String> {
    each_once(
        results
            .iter()
            .filter(|opened| !opened.reading.case.title.is_empty())
            .map(|opened| format!("{}: {}", opened.reading.case_name, opened.reading.case.title)),
    )
}

fn each_once(texts: impl Iterator<Item = String>) -> Vec<String> {
    let mut all = Vec::new();
    for text in texts {
        if !all.contains(&text) {
            all.push(text);
        }
    }
    all
}
