//! HTML pages that need no other file and ask for none.

pub(crate) mod checks;
pub(crate) mod results;
mod table;

use maud::{DOCTYPE, Markup, PreEscaped, html};

/// Letters, tables and paper of all pages: one hue and neutral greys, for light, dark and print.
const STYLE: &str = include_str!("style.css");
/// What no page may do: load anything, send anything.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:";

/// A page with its own `style` and `script` beside those of all pages.
fn document(title: &str, style: &str, body: Markup, script: &str) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                title { (title) }
                style { (PreEscaped(STYLE)) (PreEscaped(style)) }
            }
            body {
                (body)
                @if !script.is_empty() { script { (PreEscaped(script)) } }
            }
        }
    };
    page.into_string()
}
