//! A draw from all spreads of a case: its own fields', and those of the published laws of loss.

use crate::case::{Case, NewValue, Number};
use crate::error::CaseError;
use crate::loss::Deviations;
use crate::quantity::Shape;
use crate::study::Dice;

/// The draws of one sample, each of which belongs to the path of a field or to a law, so that what is the same in two layouts is equally
/// wrong in both.
#[derive(Debug, Clone)]
pub struct Draws {
    dice: Dice,
    sample: usize,
}

impl Draws {
    /// The draws of this `sample` of a `seed`.
    #[must_use]
    pub fn new(seed: u64, sample: usize) -> Self {
        Self { dice: Dice::new(seed), sample }
    }

    /// How far each law of loss lies from its published value, in its published spreads.
    #[must_use]
    pub fn deviations(&self) -> Deviations {
        Deviations::new(|law| self.dice.normal(&format!("loss: {law}"), self.sample))
    }

    /// Value of a field in SI; `None` of one without a spread.
    #[must_use]
    pub fn value(&self, number: &Number) -> Option<f64> {
        let spread = number.spread?;
        let draw = match spread.shape {
            Shape::Normal => self.dice.normal(&number.path, self.sample),
            Shape::Uniform => self.dice.uniform(&number.path, self.sample),
        };
        Some(number.value + spread.width * draw)
    }

    /// The case with all its spreading fields drawn.
    ///
    /// # Errors
    /// Everything that is wrong with the values.
    pub fn case(&self, case: &Case) -> Result<Case, CaseError> {
        let numbers = case.numbers();
        let drawn = numbers.iter().filter_map(|number| Some((number.path.as_str(), NewValue::Si(self.value(number)?))));
        let drawn: Vec<_> = drawn.collect();
        if drawn.is_empty() { Ok(case.clone()) } else { case.with(&drawn) }
    }
}
