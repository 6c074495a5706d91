//! One map of a case file with its place in the file: how a part reads its keys. (Signatures fixed; bodies owned by the case helper.)

use crate::quantity::Dimension;

/// What a key holds.
#[derive(Debug, Clone, Copy)]
pub enum Value {
    /// A quantity with a unit, in the given range.
    Quantity(Dimension, Range),
    /// Several quantities of one unit: `60 120 180 g/s`, or a YAML list of quantities.
    Quantities(Dimension, Range),
    /// A bare whole number, not negative.
    Count,
    /// One of these words.
    Word(&'static [&'static str]),
    /// Free text.
    Text,
    /// Yes or no.
    Flag,
    /// A nested map with its own keys.
    Map(&'static [Key]),
    /// A list of maps with the same keys.
    Maps(&'static [Key]),
    /// A map from names the user chooses to quantities, such as the legs of a wye.
    Named(Dimension, Range),
    /// Text followed by units, such as `[20 degC, 101.3 kPa]`: a list whose entries have the given dimensions.
    Tuple(&'static [Dimension]),
    /// Either of two forms, tried in turn by the look of the value (scalar, list or map).
    Either(&'static Value, &'static Value),
}

/// Which values are allowed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Range {
    /// Every finite number.
    Any,
    /// More than zero.
    Positive,
    /// Zero or more.
    NotNegative,
    /// From zero to one.
    Share,
    /// Between two bounds, both allowed, in SI.
    Between(f64, f64),
}

/// Whether a key must stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Need {
    /// Must stand.
    Required,
    /// May be left out; the text says what holds then.
    Optional(&'static str),
}

/// A key of a part, as the parser, the help, the schema and the list of defaults see it.
#[derive(Debug, Clone, Copy)]
pub struct Key {
    /// Word in the case file.
    pub name: &'static str,
    /// What it holds.
    pub value: Value,
    /// Whether it must stand.
    pub need: Need,
    /// One sentence of help.
    pub about: &'static str,
}

/// A map of the case file that is being read. Every mistake is noted in the shared list of problems and `None` returned, so that
/// reading goes on and all mistakes of a file are told together.
#[derive(Debug)]
pub struct Fields<'a> {
    _private: std::marker::PhantomData<&'a ()>,
}

impl<'a> Fields<'a> {
    /// Name of the part (or of the section of the file) that is read.
    #[must_use]
    pub fn name(&self) -> &str {
        unimplemented!()
    }
    /// Whether the key stands in the file.
    #[must_use]
    pub fn has(&self, key: &'static str) -> bool {
        let _ = key;
        unimplemented!()
    }
    /// The quantity in SI; `None` when it is absent or wrong (a wrong one, or an absent required one, is noted).
    #[must_use]
    pub fn si(&self, key: &'static str) -> Option<f64> {
        let _ = key;
        unimplemented!()
    }
    /// The quantity in SI, or `default` when the key is absent; the default is noted for `check`.
    #[must_use]
    pub fn si_or(&self, key: &'static str, default: f64) -> f64 {
        let _ = (key, default);
        unimplemented!()
    }
    /// The list of quantities in SI.
    #[must_use]
    pub fn list(&self, key: &'static str) -> Option<Vec<f64>> {
        let _ = key;
        unimplemented!()
    }
    /// The entries of a [`Value::Tuple`] in SI.
    #[must_use]
    pub fn tuple(&self, key: &'static str) -> Option<Vec<f64>> {
        let _ = key;
        unimplemented!()
    }
    /// A word out of the key's list.
    #[must_use]
    pub fn word(&self, key: &'static str) -> Option<&'static str> {
        let _ = key;
        unimplemented!()
    }
    /// Free text.
    #[must_use]
    pub fn text(&self, key: &'static str) -> Option<String> {
        let _ = key;
        unimplemented!()
    }
    /// Yes or no; `None` when absent.
    #[must_use]
    pub fn flag(&self, key: &'static str) -> Option<bool> {
        let _ = key;
        unimplemented!()
    }
    /// A whole number.
    #[must_use]
    pub fn count(&self, key: &'static str) -> Option<usize> {
        let _ = key;
        unimplemented!()
    }
    /// A nested map.
    #[must_use]
    pub fn map(&self, key: &'static str) -> Option<Fields<'a>> {
        let _ = key;
        unimplemented!()
    }
    /// A list of nested maps; empty when absent.
    #[must_use]
    pub fn maps(&self, key: &'static str) -> Vec<Fields<'a>> {
        let _ = key;
        unimplemented!()
    }
    /// A map from names to quantities in SI, in the order of the file.
    #[must_use]
    pub fn named(&self, key: &'static str) -> Option<Vec<(String, f64)>> {
        let _ = key;
        unimplemented!()
    }
    /// The text as the user wrote it, for reports.
    #[must_use]
    pub fn as_written(&self, key: &'static str) -> Option<String> {
        let _ = key;
        unimplemented!()
    }
    /// Notes a mistake at `key`.
    pub fn problem(&self, key: &'static str, found: impl Into<String>, expected: impl Into<String>) {
        let _ = (key, found.into(), expected.into());
        unimplemented!()
    }
}
