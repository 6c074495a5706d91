//! An input of a study: the fields that take its value, and the values that it takes.

use crate::quantity::{Dimension, Unit};

/// An input that varies.
#[derive(Debug, Clone, PartialEq)]
pub struct Variable {
    /// Name.
    pub name: String,
    /// Paths of the fields that take its value; `*` stands for the point of the run.
    pub fields: Vec<String>,
    /// What it measures.
    pub dimension: Dimension,
    /// Unit of its values, as the user wrote it.
    pub unit: &'static Unit,
    /// Its values, in `unit`.
    pub values: Values,
}

/// Values of an input, in its unit.
#[derive(Debug, Clone, PartialEq)]
pub enum Values {
    /// These.
    List(Vec<f64>),
    /// Between two bounds.
    Span {
        /// Lower bound.
        from: f64,
        /// Upper bound.
        to: f64,
        /// Number of values from bound to bound, when every combination is run.
        count: Option<usize>,
    },
}

impl Values {
    /// Number of values of a grid; none for bounds without a count.
    #[must_use]
    pub fn count(&self) -> Option<usize> {
        match self {
            Self::List(values) => Some(values.len()),
            Self::Span { count, .. } => *count,
        }
    }

    /// Value of this number of a grid.
    #[must_use]
    pub fn at(&self, index: usize) -> f64 {
        match self {
            Self::List(values) => values[index],
            // The last one is the bound to the bit.
            Self::Span { to, count: Some(count), .. } if index + 1 == *count => *to,
            Self::Span { from, to, count } => {
                from + (to - from) * index as f64 / (count.unwrap_or(2) - 1).max(1) as f64
            }
        }
    }

    /// Value at this share, from zero to below one, of the way through them.
    #[must_use]
    pub fn through(&self, share: f64) -> f64 {
        match self {
            Self::List(values) => values[((share * values.len() as f64) as usize).min(values.len() - 1)],
            Self::Span { from, to, .. } => from + (to - from) * share,
        }
    }

    /// Least and largest value.
    #[must_use]
    pub fn bounds(&self) -> (f64, f64) {
        match self {
            Self::List(values) => {
                let least = values.iter().copied().fold(f64::INFINITY, f64::min);
                (least, values.iter().copied().fold(f64::NEG_INFINITY, f64::max))
            }
            Self::Span { from, to, .. } => (*from, *to),
        }
    }
}

impl Variable {
    /// The fields at `point`.
    pub fn fields_at<'a>(&'a self, point: &'a str) -> impl Iterator<Item = String> + 'a {
        self.fields.iter().map(move |field| field_at(field, point))
    }

    /// Text of a value, as a user would write it.
    #[must_use]
    pub fn text_of(&self, number: f64) -> String {
        format!("{number} {}", self.unit.symbol).trim_end().to_owned()
    }
}

/// A field with the point of the run in the place of `*`.
pub(super) fn field_at(field: &str, point: &str) -> String {
    field.replacen("points.*.", &format!("points.{point}."), 1)
}
