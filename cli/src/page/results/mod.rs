//! A page of results: which layout wins, where it loses, what warms it, whether it holds, and on what that rests.

mod basis;
mod hold;
mod more;
mod point;
mod verdict;

pub(crate) use more::More;

use super::{anchor, document, footer};
use crate::chart::drawing::Drawing;
use crate::chart::view::View;
use crate::chart::{over_speed, palette};
use crate::failure::Failure;
use crate::layouts::by_point;
use crate::opened::Opened;
use maud::{Markup, html};
use tractwright_validation::page::program;

/// The page of some results, at least one, with what was computed beside them.
///
/// # Errors
/// A file cannot be read, or a result has no draw.
pub(crate) fn html(results: &[Opened], more: &More) -> Result<String, Failure> {
    let points = by_point(results)?;
    let names = layout_names(results);
    let title = names.join(", ");
    let sections = points.iter().map(|at| point::section(at, results, more)).collect::<Result<Vec<Markup>, _>>()?;
    let hold = hold::section(results)?;
    let over_speed = over_speed(results)?;
    let body = html! {
        header {
            p class="program" { (program()) ", a prediction" }
            h1 { (title) }
            @for line in titles(results) { p class="program" { (line) } }
            nav aria-label="Contents" {
                ul {
                    li { a href="#verdict" { "Verdict" } }
                    @for at in &points { li { a href=(format!("#{}", anchor(&at.name))) { (at.name) } } }
                    @if over_speed.is_some() { li { a href="#over_speed" { "Over road speed" } } }
                    @if hold.is_some() { li { a href="#hold" { "Will it hold" } } }
                    li { a href="#basis" { "What it rests on" } }
                    li { a href="#cautions" { "Cautions" } }
                }
            }
        }
        main {
            (verdict::section(&points, more))
            @for section in sections { (section) }
            @if let Some(over_speed) = over_speed {
                section id="over_speed" { h2 { "Over road speed" } (over_speed.figure()) }
            }
            @if let Some(hold) = hold { (hold) }
            (basis::section(results)?)
            (footer::cautions())
        }
    };
    Ok(document(&title, &palette::style(), body, true))
}

/// What the cases that are held at several road speeds get of them; nothing where none is.
fn over_speed(results: &[Opened]) -> Result<Option<Drawing>, Failure> {
    let held: Vec<&Opened> = results.iter().filter(|opened| over_speed::is_held(opened)).collect();
    let speeds = |name: &str| {
        let mut speeds: Vec<u64> = Vec::new();
        for opened in held.iter().filter(|opened| opened.reading.case_name == name) {
            let speed = opened.summary.speed.to_bits();
            if !speeds.contains(&speed) {
                speeds.push(speed);
            }
        }
        speeds.len()
    };
    let shown: Vec<&Opened> =
        held.iter().copied().filter(|opened| speeds(&opened.reading.case_name) >= over_speed::FEWEST).collect();
    if shown.is_empty() { Ok(None) } else { View::OverSpeed.drawing(&shown, None).map(Some) }
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
