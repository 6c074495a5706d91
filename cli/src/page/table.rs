//! The tables of the command line as tables of a page.

use crate::print::{Row, Table};
use maud::{Markup, html};

impl Table {
    /// The table, which scrolls sideways where the page is narrower; `about` says what it holds.
    pub(crate) fn markup(&self, about: &str) -> Markup {
        let columns = self.rows.iter().chain([&self.head]).map(|row| row.cells.len()).max().unwrap_or(0);
        let notes = self.rows.iter().chain([&self.head]).any(|row| !row.note.is_empty());
        html! {
            div class="wide" tabindex="0" role="region" aria-label=(about) {
                table {
                    thead {
                        tr {
                            th scope="col" { (self.head.label.trim()) }
                            @for column in 0..columns {
                                th scope="col" class="number" { (self.head.cells.get(column).map_or("", String::as_str)) }
                            }
                            @if notes { th scope="col" { (self.head.note) } }
                        }
                    }
                    tbody { @for row in &self.rows { (line(row, columns, notes)) } }
                }
            }
        }
    }
}

fn line(row: &Row, columns: usize, notes: bool) -> Markup {
    let part = row.label.starts_with("  ");
    html! {
        tr {
            th scope="row" class=[part.then_some("part")] { (row.label.trim()) }
            @for column in 0..columns {
                td class="number" { (row.cells.get(column).map_or("", String::as_str)) }
            }
            @if notes { td class="note" { (row.note) } }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_has_a_cell_for_every_column() {
        let head = Row::new("what", vec!["left".to_owned(), "right".to_owned()]).noted("basis");
        let rows = vec![Row::new("  a <part>", vec!["1".to_owned()]), Row::new("b", Vec::new()).noted("why")];
        let text = Table { head, rows }.markup("losses & more").into_string();
        assert_eq!((text.matches("<tr>").count(), text.matches("<td class=\"number\">").count()), (3, 4), "{text}");
        assert!(text.contains("a &lt;part&gt;") && text.contains("aria-label=\"losses &amp; more\""), "{text}");
    }
}
