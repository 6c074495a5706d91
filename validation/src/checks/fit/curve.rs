//! Observations of a curve as readings of a fit.

use crate::check::Failure;
use crate::data::{self, REGRESSION_POINTS};
use crate::oracle::regression::{Curve, curve, with_derivatives};
use std::convert::Infallible;
use tractwright::study::fit::{Model, Slopes};

/// A problem: its model and what was observed.
pub(super) struct Observed {
    curve: Curve,
    points: Vec<[f64; 2]>,
    /// Standard deviation of each observation.
    pub(super) spread: f64,
}

impl Observed {
    /// The problem of this name, its observations of deviation one.
    pub(super) fn of(case: &str) -> Result<Self, Failure> {
        let curve = curve(case).ok_or_else(|| Failure::Missing(format!("model of {case}")))?;
        let rows = data::case(REGRESSION_POINTS, case)?;
        let points = rows.iter().map(|row| Ok([row.number("x")?, row.number("y")?])).collect::<Result<_, Failure>>()?;
        Ok(Self { curve, points, spread: 1.0 })
    }
}

impl Model for Observed {
    type Error = Infallible;

    fn readings(&self) -> usize {
        self.points.len()
    }

    fn residuals(&mut self, values: &[f64]) -> Result<Vec<f64>, Infallible> {
        Ok(self.slopes(values)?.residuals)
    }

    fn slopes(&mut self, values: &[f64]) -> Result<Slopes, Infallible> {
        let mut found = Slopes { residuals: Vec::new(), columns: vec![Vec::new(); values.len()] };
        for [x, y] in &self.points {
            let (value, derivatives) = with_derivatives(self.curve, *x, values);
            found.residuals.push((value - y) / self.spread);
            found.columns.iter_mut().zip(derivatives).for_each(|(column, slope)| column.push(slope / self.spread));
        }
        Ok(found)
    }
}

/// For problems that are solved to the last digits.
pub(super) const TO_THE_END: tractwright::study::fit::Stop =
    tractwright::study::fit::Stop { squares: 1e-15, values: 1e-14, gradient: 1e-14, evaluations: 5000 };
