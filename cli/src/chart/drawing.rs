//! A picture without its frame: alone it stands on white below its heading, on a page in a figure beside its values as a table.

use super::palette::themed;
use super::{FONTS, coloured, escaped};
use maud::{Markup, PreEscaped, html};

/// Height of a line of the heading, and of its first [px].
const LINE: f64 = 17.0;
const FIRST: f64 = 50.0;
/// Left edge of the heading [px].
const LEFT: f64 = 20.0;
/// Width of a letter of the conditions and of the title [px].
const LETTER: f64 = 7.2;
const LARGE: f64 = 10.8;

/// Slanted lines of what is assumed.
pub(crate) const HATCH: &str = "<defs><pattern id=\"hatch\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\" \
     patternTransform=\"rotate(45)\"><rect width=\"6\" height=\"6\" fill=\"#dbe9f6\"/>\
     <rect width=\"2.4\" height=\"6\" fill=\"#2b7bba\"/></pattern></defs>";

/// Values of a picture as a table, for those who do not see it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Values {
    /// Heads of the columns.
    pub(crate) heads: Vec<String>,
    /// Rows of as many cells.
    pub(crate) rows: Vec<Vec<String>>,
}

/// A picture.
#[derive(Debug, Clone)]
pub(crate) struct Drawing {
    /// What it shows.
    pub(crate) title: String,
    /// Conditions and basis, a line each.
    pub(crate) conditions: Vec<String>,
    /// Width and height of the body [px].
    pub(crate) size: [f64; 2],
    /// Its elements, from the upper left corner of the body.
    pub(crate) body: String,
    /// Its values.
    pub(crate) values: Values,
    /// Moments through which a page may take its profiles.
    pub(crate) moments: Option<Moments>,
}

/// Moments of a run, and where they stand in the maps of a picture.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Moments {
    /// Times [s].
    pub(crate) times: Vec<f64>,
    /// Their axis, as an [`Axis`](super::axis::Axis) writes itself.
    pub(crate) axis: String,
}

impl Drawing {
    /// A picture of its own, on white, with its heading.
    pub(crate) fn svg(&self) -> String {
        let head = FIRST + LINE * self.conditions.len() as f64 - 4.0;
        let letters = |text: &str| text.chars().count() as f64;
        let lines = self.conditions.iter().map(|line| LETTER * letters(line) + 2.0 * LEFT);
        let title = LARGE * letters(&self.title) + 2.0 * LEFT;
        let width = lines.fold(title.max(self.size[0]), f64::max).ceil();
        let height = (head + self.size[1]).ceil();
        let words = escaped(&self.title);
        let mut out = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" height=\"{height}\" \
             role=\"img\" font-family=\"{FONTS}\" font-size=\"12\">\n<title>{words}</title>\n{HATCH}\n\
             <rect width=\"{width}\" height=\"{height}\" fill=\"#ffffff\"/>\n\
             <text x=\"{LEFT}\" y=\"30\" font-size=\"18\" font-weight=\"bold\" fill=\"#102a43\">{words}</text>\n",
        );
        for (number, line) in self.conditions.iter().enumerate() {
            out.push_str(&coloured(LEFT, FIRST + LINE * number as f64, "start", "#486581", line));
        }
        out + &format!("<g transform=\"translate(0 {head})\">\n{}</g>\n</svg>\n", self.body)
    }

    /// The figure of a page.
    pub(crate) fn figure(&self) -> Markup {
        let [width, height] = self.size;
        let svg = format!(
            "<svg viewBox=\"0 0 {width:.0} {height:.0}\" style=\"width:{width:.0}px\" role=\"img\" aria-label=\"{}\" \
             font-family=\"{FONTS}\" font-size=\"12\">\n{}</svg>",
            escaped(&self.title),
            themed(&self.body)
        );
        html! {
            figure class="drawing" {
                figcaption {
                    strong { (self.title) }
                    @for line in &self.conditions { span class="condition" { (line) } }
                }
                div class="chart" tabindex="0" role="group" aria-label=(format!("Chart: {}", self.title)) { (PreEscaped(svg)) }
                @if let Some(moments) = &self.moments { (moments.markup()) }
                (self.values.markup())
            }
        }
    }
}

impl Moments {
    /// A slider through them.
    fn markup(&self) -> Markup {
        let times = self.times.iter().map(|time| format!("{time:e}")).collect::<Vec<_>>().join(" ");
        html! {
            label class="scrub" data-axis=(self.axis) data-times=(times) {
                "moment" input type="range" min="0" max=(self.times.len() - 1) value="0"; output {}
            }
        }
    }
}

impl Values {
    /// From heads and rows.
    pub(crate) fn new(heads: impl IntoIterator<Item = impl Into<String>>, rows: Vec<Vec<String>>) -> Self {
        Self { heads: heads.into_iter().map(Into::into).collect(), rows }
    }

    /// The table, folded up.
    fn markup(&self) -> Markup {
        html! {
            @if !self.rows.is_empty() {
                details class="values" {
                    summary { "Values as a table" }
                    div class="wide" tabindex="0" role="region" aria-label="Values" {
                        table {
                            thead { tr { @for head in &self.heads { th scope="col" { (head) } } } }
                            tbody {
                                @for row in &self.rows {
                                    tr {
                                        @for (number, cell) in row.iter().enumerate() {
                                            @if number == 0 { th scope="row" { (cell) } } @else { td class="number" { (cell) } }
                                        }
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_forms_say_what_is_drawn_and_run_nothing() {
        let drawing = Drawing {
            title: "<script>alert(1)</script>".to_owned(),
            conditions: vec!["at 20 degC & still".to_owned()],
            size: [100.0, 50.0],
            body: "<path d=\"M0 0h1\" stroke=\"#08306b\"/>\n".to_owned(),
            values: Values::new(["x, m", "p, kPa"], vec![vec!["0".to_owned(), "<b>".to_owned()]]),
            moments: None,
        };
        let (svg, page) = (drawing.svg(), drawing.figure().into_string());
        for text in [&svg, &page] {
            assert!(
                !text.contains("<script") && text.contains("&lt;script&gt;") && text.contains("&amp; still"),
                "{text}"
            );
        }
        assert!(svg.contains("stroke=\"#08306b\"") && page.contains("stroke=\"var(--c08306b)\""));
        assert!(page.contains("Values as a table") && page.contains("&lt;b&gt;"), "{page}");
    }
}
