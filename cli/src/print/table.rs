//! Tables that fit the width whatever stands in them: long labels and notes are wrapped, many columns go into several blocks.

use super::WIDTH;

/// Columns of a label, at most [characters].
const LABEL: usize = 34;
/// Columns of a value's head, at most [characters].
const HEAD: usize = 14;
/// Columns that a note keeps, at least, when it has so much to say [characters].
const NOTE: usize = 24;
/// Space between columns [characters].
const GAP: usize = 2;

/// A line of a table.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Row {
    /// What the values are.
    pub(crate) label: String,
    /// One for each column, or none.
    pub(crate) cells: Vec<String>,
    /// Remark.
    pub(crate) note: String,
}

impl Row {
    /// A row without a note.
    pub(crate) fn new(label: impl Into<String>, cells: Vec<String>) -> Self {
        Self { label: label.into(), cells, note: String::new() }
    }

    /// The row with a note.
    pub(crate) fn noted(self, note: impl Into<String>) -> Self {
        Self { note: note.into(), ..self }
    }
}

/// A table: labels on the left, values to the right in their columns, notes behind.
#[derive(Debug, Clone, Default)]
pub(crate) struct Table {
    /// Heads of label, values and notes.
    pub(crate) head: Row,
    /// Lines.
    pub(crate) rows: Vec<Row>,
}

impl Table {
    /// The table as text of at most [`WIDTH`] columns.
    pub(crate) fn render(&self) -> String {
        let label = self.all().map(|row| width(&row.label)).max().unwrap_or(0).min(LABEL);
        let note = self.all().map(|row| width(&row.note)).max().unwrap_or(0);
        let room = WIDTH.saturating_sub(label + if note == 0 { 0 } else { GAP + note.min(NOTE) });
        let mut text = String::new();
        for columns in self.blocks(room) {
            if !text.is_empty() {
                text.push('\n');
            }
            let taken: usize = columns.iter().map(|column| column.1 + GAP).sum();
            let note = note.min(WIDTH.saturating_sub(label + taken + GAP));
            for row in self.all() {
                line(row, label, &columns, note, &mut text);
            }
        }
        text
    }

    fn all(&self) -> impl Iterator<Item = &Row> {
        std::iter::once(&self.head).chain(&self.rows)
    }

    /// Columns of values with their widths, in blocks that fit into `room`.
    fn blocks(&self, room: usize) -> Vec<Vec<(usize, usize)>> {
        let count = self.all().map(|row| row.cells.len()).max().unwrap_or(0);
        let widest =
            |column: usize| self.rows.iter().filter_map(|row| row.cells.get(column)).map(|cell| width(cell)).max();
        let head = |column: usize| self.head.cells.get(column).map_or(0, |head| width(head).min(HEAD));
        let mut blocks: Vec<Vec<(usize, usize)>> = vec![Vec::new()];
        let mut taken = 0;
        for column in 0..count {
            let needed = widest(column).unwrap_or(0).max(head(column));
            let last = blocks.len() - 1;
            if taken + needed + GAP > room && !blocks[last].is_empty() {
                blocks.push(vec![(column, needed)]);
                taken = needed + GAP;
            } else {
                blocks[last].push((column, needed));
                taken += needed + GAP;
            }
        }
        blocks
    }
}

/// Writes one row, on as many lines as its longest text needs.
fn line(row: &Row, label: usize, columns: &[(usize, usize)], note: usize, text: &mut String) {
    let labels = wrap(&row.label, label);
    let notes = wrap(&row.note, note);
    let cells: Vec<Vec<String>> = columns
        .iter()
        .map(|(column, width)| row.cells.get(*column).map_or(Vec::new(), |cell| wrap(cell, *width)))
        .collect();
    let lines = cells.iter().map(Vec::len).chain([labels.len(), notes.len(), 1]).max().unwrap_or(1);
    let at = |texts: &[String], line: usize| texts.get(line).cloned().unwrap_or_default();
    for number in 0..lines {
        let mut written = format!("{:<label$}", at(&labels, number));
        for (cell, (_, width)) in cells.iter().zip(columns) {
            written.push_str(&format!("{:GAP$}{:>width$}", "", at(cell, number)));
        }
        written.push_str(&format!("{:GAP$}{}", "", at(&notes, number)));
        text.push_str(written.trim_end());
        text.push('\n');
    }
}

/// Number of columns that `text` takes.
fn width(text: &str) -> usize {
    text.chars().count()
}

/// `text` in lines of at most `width` characters: broken at spaces where there are any, within words where not. A line's indent is
/// kept by those that go on with it.
pub(crate) fn wrap(text: &str, width: usize) -> Vec<String> {
    let indent: String = text.chars().take_while(|c| *c == ' ').collect();
    if !text.is_empty() && self::width(text) <= width {
        return vec![text.to_owned()];
    }
    let width = width.max(indent.len() + 8);
    let mut lines = Vec::new();
    let mut line = indent.clone();
    for word in text.split_whitespace() {
        let mut rest: Vec<char> = word.chars().collect();
        loop {
            let begun = line.len() > indent.len();
            let free = width.saturating_sub(line.chars().count() + usize::from(begun));
            if rest.len() <= free {
                if begun {
                    line.push(' ');
                }
                line.extend(rest);
                break;
            }
            if begun {
                lines.push(std::mem::replace(&mut line, indent.clone()));
            } else {
                line.extend(rest.drain(..free));
                lines.push(std::mem::replace(&mut line, indent.clone()));
            }
        }
    }
    if line.len() > indent.len() {
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wraps_at_spaces_and_within_words_that_are_too_long() {
        assert_eq!(wrap("free standing flare", 14), ["free standing", "flare"]);
        assert_eq!(wrap("abcdefghijkl", 8), ["abcdefgh", "ijkl"]);
        assert_eq!(wrap("  indented text", 12), ["  indented", "  text"]);
        assert!(wrap("", 10).is_empty());
    }

    #[test]
    fn a_table_fits_whatever_stands_in_it() {
        let name = "a_name_that_is_much_longer_than_any_column_of_any_table_would_ever_be".to_owned();
        for count in [1, 2, 5, 12, 40] {
            let cells = |text: &str| vec![text.to_owned(); count];
            let head = Row::new("plane", cells(&name)).noted("basis");
            let rows = vec![Row::new(format!("  {name}"), cells("99.048 (100)")).noted(name.repeat(3))];
            let text = Table { head, rows }.render();
            assert!(text.lines().all(|line| width(line) <= WIDTH), "{text}");
            assert_eq!(text.matches("99.048 (100)").count(), count);
        }
    }
}
