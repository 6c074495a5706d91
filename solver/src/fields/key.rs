//! What a key of a case may hold, as data: the parser, the help, the schema and the list of defaults read the same tables.

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
    /// A list of names, such as `[nose, rear]`.
    Names,
    /// Yes or no.
    Flag,
    /// A nested map with its own keys.
    Map(&'static [Key]),
    /// A list of maps with the same keys.
    Maps(&'static [Key]),
    /// A map from names the user chooses to quantities, such as the legs of a wye.
    Named(Dimension, Range),
    /// A map from names the user chooses to maps with the same keys, such as the operating points.
    NamedMaps(&'static [Key]),
    /// Quantities of several dimensions, such as `[20 degC, 101.3 kPa]`: a list whose entries have the given dimensions.
    Tuple(&'static [Dimension]),
    /// Either of two forms, told apart by the look of the value (scalar, list or map; number or word).
    Either(&'static Self, &'static Self),
    /// Anything: whoever asks for the key checks it. The text says what would be right.
    Anything(&'static str),
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

impl Range {
    /// Whether an SI value is allowed.
    #[must_use]
    pub fn allows(self, value: f64) -> bool {
        match self {
            Self::Any => value.is_finite(),
            Self::Positive => value > 0.0,
            Self::NotNegative => value >= 0.0,
            Self::Share => (0.0..=1.0).contains(&value),
            Self::Between(least, most) => (least..=most).contains(&value),
        }
    }

    /// The allowed values in words; the bounds in the SI unit of `dimension`.
    #[must_use]
    pub fn words(self, dimension: Dimension) -> String {
        let unit = match dimension.si_symbol() {
            "" => String::new(),
            symbol => format!(" {symbol}"),
        };
        match self {
            Self::Any => "a finite number".to_owned(),
            Self::Positive => "more than 0".to_owned(),
            Self::NotNegative => "0 or more".to_owned(),
            Self::Share => "0 to 1".to_owned(),
            Self::Between(least, most) => format!("{least}{unit} to {most}{unit}"),
        }
    }
}

/// Whether a key must stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Need {
    /// Must stand.
    Required,
    /// May be left out; the text says what holds then. A text that is empty or opens with `none` tells of no default: the key is
    /// one way among others.
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

impl Value {
    /// What would be right, for messages and help.
    #[must_use]
    pub fn expectation(&self) -> String {
        match self {
            Self::Quantity(dimension, _) => format!("{} such as `{}`", dimension.name(), dimension.example()),
            Self::Quantities(dimension, _) => format!("numbers with one unit such as `{}`", list_example(*dimension)),
            Self::Count => "a whole number such as `4`".to_owned(),
            Self::Word(words) => format!("one of: {}", words.join(", ")),
            Self::Text => "a text".to_owned(),
            Self::Names => "a list of names such as `[nose, rear]`".to_owned(),
            Self::Flag => "`yes` or `no`".to_owned(),
            Self::Map(keys) => format!("a map with the keys {}", names(keys)),
            Self::Maps(keys) => format!("a list of maps with the keys {}", names(keys)),
            Self::Named(dimension, _) => format!("a map such as `{{left: {}}}`", dimension.example()),
            Self::NamedMaps(keys) => format!("a map from names to maps with the keys {}", names(keys)),
            Self::Tuple(dimensions) => {
                let examples: Vec<_> = dimensions.iter().map(|dimension| dimension.example()).collect();
                format!("a list such as `[{}]`", examples.join(", "))
            }
            Self::Either(first, second) => format!("{}, or {}", first.expectation(), second.expectation()),
            Self::Anything(expected) => (*expected).to_owned(),
        }
    }
}

/// `60 120 180 g/s` for a dimension.
fn list_example(dimension: Dimension) -> String {
    let symbol = dimension.units().first().map_or("", |unit| unit.symbol);
    format!("60 120 180 {symbol}").trim_end().to_owned()
}

fn names(keys: &[Key]) -> String {
    keys.iter().map(|key| key.name).collect::<Vec<_>>().join(", ")
}
