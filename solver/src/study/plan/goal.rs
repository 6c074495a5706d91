//! What a study is to be good for: aims and conditions on figures and inputs.

use super::Variable;
use crate::quantity::Dimension;
use crate::study::{Of, Quantity, name_of};

/// What an aim or a condition looks at.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum What {
    /// A figure of the run.
    Figure(Quantity, Of),
    /// The input of this number.
    Variable(usize),
}

/// An aim.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Goal {
    /// Of what.
    pub what: What,
    /// Whether more is better, not less.
    pub more: bool,
}

/// A condition.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// On what.
    pub what: What,
    /// Least value; of an input in its unit, else in SI.
    pub at_least: Option<f64>,
    /// Largest value.
    pub at_most: Option<f64>,
}

impl What {
    /// Reads `recovery`, `recovery.left_turbo`, `recovery.difference` or the name of an input; `None` when it is none of them.
    #[must_use]
    pub fn read(text: &str, variables: &[Variable]) -> Option<Self> {
        if let Some(index) = variables.iter().position(|variable| variable.name == text) {
            return Some(Self::Variable(index));
        }
        let (key, of) = match text.split_once('.') {
            None => (text, Of::Whole),
            Some((key, "difference")) => (key, Of::Difference),
            Some((key, draw)) => (key, Of::Draw(draw.to_owned())),
        };
        let quantity = Quantity::ALL.iter().find(|quantity| quantity.key() == key)?;
        Some(Self::Figure(*quantity, of))
    }

    /// What its values measure; `None` where no text could give them.
    #[must_use]
    pub fn dimension(&self, variables: &[Variable]) -> Option<Dimension> {
        match self {
            Self::Variable(index) => Some(variables[*index].dimension),
            Self::Figure(quantity, of) => quantity.dimension(*of == Of::Difference),
        }
    }

    /// Its value in a run with these inputs, whose figures `figure` knows; of an input in its unit, else in SI.
    #[must_use]
    pub fn value(&self, numbers: &[f64], figure: &dyn Fn(Quantity, &Of) -> Option<f64>) -> Option<f64> {
        match self {
            Self::Variable(index) => numbers.get(*index).copied(),
            Self::Figure(quantity, of) => figure(*quantity, of),
        }
    }

    /// Its name, as the study has it.
    #[must_use]
    pub fn name(&self, variables: &[Variable]) -> String {
        match self {
            Self::Variable(index) => variables[*index].name.clone(),
            Self::Figure(quantity, of) => name_of(*quantity, of),
        }
    }
}

impl Goal {
    /// What is to become as small as can be: the value, or where more is better its negative.
    #[must_use]
    pub fn cost(&self, value: f64) -> f64 {
        if self.more { -value } else { value }
    }
}

impl Limit {
    /// By how much a value keeps the condition, over the size of the bound, at the tighter of the two; negative where it breaks it.
    #[must_use]
    pub fn margin(&self, value: f64) -> Option<f64> {
        let size = |bound: f64| if bound == 0.0 { 1.0 } else { bound.abs() };
        let above = self.at_least.map_or(f64::INFINITY, |least| (value - least) / size(least));
        let below = self.at_most.map_or(f64::INFINITY, |most| (most - value) / size(most));
        value.is_finite().then_some(above.min(below))
    }
}
