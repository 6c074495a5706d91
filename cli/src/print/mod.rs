//! Words and numbers as an engineer reads them.

pub(crate) mod names;
pub(crate) mod number;
pub(crate) mod point;
pub(crate) mod study;
pub(crate) mod shell;
pub(crate) mod table;

pub(crate) use table::{Row, Table};

/// Columns that every text output fits into [characters].
pub(crate) const WIDTH: usize = 100;
