//! HTML pages that need no other file and ask for none.

pub(crate) mod checks;
mod footer;
pub(crate) mod results;
pub(crate) mod study;
mod table;

use crate::chart::drawing::HATCH;
use crate::chart::palette;
use maud::{DOCTYPE, Markup, PreEscaped, html};

/// Letters, tables and paper of all pages: one hue and neutral greys, for light, dark and print.
const STYLE: &str = include_str!("style.css");
/// What no page may do: load anything, send anything.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:";

/// What answers to pointer and keyboard on a page of drawings.
const SCRIPT: &str = include_str!("script.js");
/// What drawings and their tables look like.
const DRAWINGS: &str = include_str!("drawings.css");

/// A page with its own `style` beside that of all pages; `live` when it holds drawings that answer to pointer and keyboard.
fn document(title: &str, style: &str, body: Markup, live: bool) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                title { (title) }
                style { (PreEscaped(STYLE)) @if live { (PreEscaped(DRAWINGS)) } (PreEscaped(style)) }
            }
            body {
                (body)
                @if live {
                    svg width="0" height="0" aria-hidden="true" style="position:absolute" { (PreEscaped(palette::themed(HATCH))) }
                    div id="readout" role="status" {}
                    script { (PreEscaped(SCRIPT)) }
                }
            }
        }
    };
    page.into_string() + "\n"
}

/// Where the section of a point stands in a page.
fn anchor(point: &str) -> String {
    let plain = |letter: char| if letter.is_alphanumeric() { letter } else { '_' };
    format!("point_{}", point.chars().map(plain).collect::<String>())
}
