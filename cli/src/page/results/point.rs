//! One operating point: pictures of all layouts together, then each layout in its own fold.

use super::{More, verdict};
use crate::chart::drawing::Drawing;
use crate::chart::view::View;
use crate::chart::{power, spectrum, waves};
use crate::commands::summary::{measured, text};
use crate::failure::Failure;
use crate::layouts::AtPoint;
use crate::opened::Opened;
use crate::page::anchor;
use crate::print::number::{celsius, fixed};
use maud::{Markup, html};
use tractwright::case::Task;
use tractwright::march::March;

/// The section of a point.
///
/// # Errors
/// A file cannot be read.
pub(super) fn section(at: &AtPoint, results: &[Opened], more: &More) -> Result<Markup, Failure> {
    let here: Vec<&Opened> = results.iter().filter(|opened| opened.point.name == at.name).collect();
    let together = together(&here, more)?;
    let words = verdict::words(at);
    let layouts = here.iter().zip(&at.layouts);
    let folds = layouts.enumerate().map(|(number, (opened, layout))| {
        let words = format!(
            "{}: recovery {}, {} degC",
            layout.name,
            fixed(layout.recovery, 4),
            celsius(layout.total_temperature)
        );
        Ok(html! {
            details class="layout" open[number == 0] {
                summary { (words) " " small { (layout.outcome) } }
                (alone(opened)?)
                @for (log, beside) in &opened.beside {
                    p class="plain" { (measured::words(opened, log, beside)) }
                    @if let (Some(_), Some(table)) = (beside.state(), measured::table(beside)) {
                        (table.markup(&format!("{} in this state", log.display())))
                    }
                }
                (more.logs(&opened.path))
                (more.levers(&opened.path))
            }
        })
    });
    let folds = folds.collect::<Result<Vec<Markup>, Failure>>()?;
    Ok(html! {
        section id=(anchor(&at.name)) {
            h2 { (at.name) }
            p class="plain" { (at.layouts[0].conditions) }
            @if !words.is_empty() { p class="plain" { (words) } }
            (verdict::table(&at.layouts).markup(&format!("Layouts at {}", at.name)))
            (more.ranges(&at.name))
            @for drawing in &together { (drawing.figure()) }
            @for fold in folds { (fold) }
        }
    })
}

/// Pictures that show all layouts side by side.
fn together(here: &[&Opened], more: &More) -> Result<Vec<Drawing>, Failure> {
    let mut drawings = Vec::new();
    let Some(first) = here.first() else { return Ok(drawings) };
    if first.point.phases.is_empty() && first.reading.case.has_engine() {
        match first.point.task {
            Task::Pull { .. } => {
                let ranges = (0..here.len()).map(|layout| more.power_range(&first.point.name, layout));
                drawings.push(power::with_ranges(here, &ranges.collect::<Vec<_>>())?);
            }
            Task::RollOn { .. } => {
                drawings.push(View::RollOn.drawing(here, None)?);
                drawings.push(View::OverSpeed.drawing(here, None)?);
            }
            Task::Step { .. } => drawings.push(View::Response.drawing(here, None)?),
            Task::Hold => {}
        }
        drawings.push(View::Compressor.drawing(here, None)?);
    }
    Ok(drawings)
}

/// What one layout shows for itself.
fn alone(opened: &Opened) -> Result<Markup, Failure> {
    let moving = matches!(opened.point.task, Task::RollOn { .. });
    let mut views = Vec::new();
    if !opened.point.phases.is_empty() {
        views.push(View::Soak);
    }
    if !moving && !opened.summary.branches.is_empty() {
        views.extend([View::Branches, View::Losses, View::Heat, View::Air]);
    }
    let mut drawings = views.into_iter().map(|view| view.drawing(&[opened], None)).collect::<Result<Vec<_>, _>>()?;
    if opened.reading.built.settings.march == March::Acoustic && waves::has_waves(opened)? {
        if spectrum::can_draw(opened)? {
            drawings.push(View::Spectrum.drawing(&[opened], None)?);
        }
        for branch in &opened.summary.branches {
            drawings.push(View::Waves.drawing(&[opened], Some(&branch.draw))?);
        }
    }
    Ok(html! {
        @if moving { p class="plain" { "No ledgers: the air that the car meets changes from one instant to the next." } }
        @for drawing in &drawings { (drawing.figure()) }
        @if !moving && !opened.summary.branches.is_empty() {
            details {
                summary { "All figures of the branches" }
                (text::table(&opened.summary).markup("Figures of the branches"))
                p class="plain" { (text::closures(&opened.summary.branches)) " " (text::weakest(&opened.summary.branches)) }
            }
        }
    })
}
