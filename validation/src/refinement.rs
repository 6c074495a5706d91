//! How fast an error falls while cells are halved.

use crate::check::{Failure, Limit, Row};
use crate::figure::Figure;

/// Errors on grids of which each has twice as many cells as the one before.
#[derive(Debug, Clone, PartialEq)]
pub struct Refinement {
    /// What is refined.
    pub name: String,
    /// Cells and error.
    pub errors: Vec<(u32, f64)>,
}

impl Refinement {
    /// The `error` on each of the grids.
    ///
    /// # Errors
    /// When `error` gives none.
    pub fn of(name: &str, grids: &[u32], error: impl Fn(u32) -> Result<f64, Failure>) -> Result<Self, Failure> {
        let errors: Result<Vec<_>, Failure> = grids.iter().map(|cells| Ok((*cells, error(*cells)?))).collect();
        Ok(Self { name: name.to_owned(), errors: errors? })
    }

    /// Rows of the observed order from each grid to the next, which is to be at least 1.9.
    #[must_use]
    pub fn rows(&self) -> Vec<Row> {
        const ORDER: Limit = Limit { value: 0.0, why: "a second-order scheme" };
        let row = |pair: &[(u32, f64)]| {
            let quantity = format!("{}: order from {} to {} cells", self.name, pair[0].0, pair[1].0);
            Row::at_least(quantity, libm::log2(pair[0].1 / pair[1].1), 1.9, ORDER)
        };
        self.errors.windows(2).map(row).collect()
    }

    /// A picture of refinements: the errors, and straight lines of second order through the first of each.
    #[must_use]
    pub fn figure(title: &str, up: &str, refinements: &[Self]) -> Figure {
        refinements.iter().fold(Figure::new(title, "cells", up).logarithmic(true, true), |figure, refinement| {
            let point = |&(cells, error): &(u32, f64)| (f64::from(cells), error);
            let Some((first, coarsest)) = refinement.errors.first().map(point) else { return figure };
            let line = refinement.errors.iter().map(point);
            figure.computed(&refinement.name, line.clone()).reference(
                format!("{}, second order", refinement.name),
                line.map(|(cells, _)| (cells, coarsest * (first / cells) * (first / cells))),
            )
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn second_order_holds_and_first_does_not() {
        let of =
            |power: f64| Refinement::of("x", &[10, 20, 40], |cells| Ok(libm::pow(f64::from(cells), power))).unwrap();
        assert!(of(-2.0).rows().iter().all(Row::holds));
        assert!(!of(-1.0).rows().iter().any(Row::holds));
    }
}
