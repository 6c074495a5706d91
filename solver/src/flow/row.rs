//! One row of numbers, placed in memory so that many rows can be read side by side.

use std::ops::{Deref, DerefMut, Index, IndexMut};
use std::slice::SliceIndex;

/// Bytes of a line of the processor's cache.
const LINE_BYTES: usize = 64;
/// Numbers in a line.
const LINE: usize = LINE_BYTES / size_of::<f64>();
/// Lines after which places in memory compete for the same place in the innermost cache: 4 KiB.
const PAGE_LINES: usize = 64;
/// Lines by which a row is shifted against the one before; without a common divisor with [`PAGE_LINES`].
const SHIFT_LINES: usize = 7;

/// A row of numbers that begins on a cache line, shifted so that rows of different `rank` do not drive each other from the cache.
///
/// Loops read a dozen rows at the same index. Were these a multiple of 4 KiB apart, as rows of 1024 numbers tend to be, each number
/// read would push out one that is needed next: measured, this makes the loops four times slower.
#[derive(Debug)]
pub(super) struct Row {
    memory: Vec<f64>,
    start: usize,
    len: usize,
    rank: usize,
}

impl Row {
    /// A row of `len` times `value`; rows that are used together should differ in `rank`.
    pub(super) fn new(len: usize, value: f64, rank: usize) -> Self {
        let memory = vec![value; len + (PAGE_LINES + 1) * LINE];
        let start = Self::start(&memory, rank);
        Self { memory, start, len, rank }
    }

    fn start(memory: &[f64], rank: usize) -> usize {
        let page = memory.as_ptr().align_offset(LINE_BYTES);
        let first_line = memory[page..].as_ptr().addr() / LINE_BYTES;
        let wanted = rank * SHIFT_LINES % PAGE_LINES;
        page + (wanted + PAGE_LINES - first_line % PAGE_LINES) % PAGE_LINES * LINE
    }
}

impl Clone for Row {
    fn clone(&self) -> Self {
        let mut row = Self::new(self.len, 0.0, self.rank);
        row.copy_from_slice(self);
        row
    }
}

impl Deref for Row {
    type Target = [f64];

    #[inline(always)]
    fn deref(&self) -> &[f64] {
        &self.memory[self.start..][..self.len]
    }
}

impl DerefMut for Row {
    #[inline(always)]
    fn deref_mut(&mut self) -> &mut [f64] {
        &mut self.memory[self.start..][..self.len]
    }
}

impl<I: SliceIndex<[f64]>> Index<I> for Row {
    type Output = I::Output;

    #[inline(always)]
    fn index(&self, index: I) -> &I::Output {
        &(**self)[index]
    }
}

impl<I: SliceIndex<[f64]>> IndexMut<I> for Row {
    #[inline(always)]
    fn index_mut(&mut self, index: I) -> &mut I::Output {
        &mut (**self)[index]
    }
}

/// Length of rows that lie one after another in the flat state: at least `len`, whole lines, and no multiple of 4 KiB or nearly so.
pub(super) fn stride(len: usize) -> usize {
    let mut lines = len.div_ceil(LINE);
    while lines.is_multiple_of(2) || (lines + 1) % PAGE_LINES <= 2 {
        lines += 1;
    }
    lines * LINE
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_begin_on_lines_of_their_own() {
        let rows: Vec<Row> = (0..40).map(|rank| Row::new(1_024, 1.5, rank)).collect();
        let mut lines: Vec<usize> = rows.iter().map(|row| row.as_ptr().addr()).collect();
        assert!(lines.iter().all(|address| address % LINE_BYTES == 0));
        lines.iter_mut().for_each(|address| *address = *address / LINE_BYTES % PAGE_LINES);
        lines.sort_unstable();
        lines.dedup();
        assert_eq!(lines.len(), 40);
        assert!(rows.iter().all(|row| row.len() == 1_024 && row.iter().all(|value| (value - 1.5).abs() <= 0.0)));
    }

    #[test]
    fn a_copied_row_holds_the_same() {
        let mut row = Row::new(100, 0.0, 3);
        row.iter_mut().enumerate().for_each(|(i, value)| *value = i as f64);
        assert_eq!(&*row.clone(), &*row);
    }

    #[test]
    fn strides_are_odd_lines_away_from_pages() {
        for len in 1..5_000 {
            let lines = stride(len) / LINE;
            assert!(stride(len) >= len && lines % 2 == 1 && lines * LINE == stride(len));
            assert!((2..=PAGE_LINES - 2).contains(&(lines % PAGE_LINES)), "{len} {lines}");
            assert!(stride(len) <= len + 6 * LINE);
        }
    }
}
