//! Will it hold: the hottest temperature and the largest depression of each wall beside the limit of its material.

use crate::commands::summary::soak;
use crate::failure::Failure;
use crate::opened::Opened;
use maud::{Markup, html};

/// The section; nothing where no result has walls that store heat.
///
/// # Errors
/// A file cannot be read.
pub(super) fn section(results: &[Opened]) -> Result<Option<Markup>, Failure> {
    let mut parts = Vec::new();
    for opened in results {
        let walls = opened.reading.wall_figures()?;
        if !walls.is_empty() {
            parts.push((format!("{}, {}", opened.reading.case_name, opened.point.name), walls));
        }
    }
    if parts.is_empty() {
        return Ok(None);
    }
    Ok(Some(html! {
        section id="hold" {
            h2 { "Will it hold" }
            @for (name, walls) in &parts {
                h3 { (name) }
                (soak::walls(walls).markup(&format!("Walls of {name}")))
                @for warning in soak::warnings(walls) { p class="warning" { (warning) } }
            }
        }
    }))
}
