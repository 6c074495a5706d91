//! A source that is added to the cells from outside the physics, for checks against manufactured solutions.

use std::fmt::Debug;

/// Rates of change that are added to those of the cells at the stage times of a march.
///
/// Roache (2002), J. Fluids Eng. 124, 4: with the right source any smooth field solves the equations, and the order of a scheme with
/// all its terms can be measured.
pub trait Forcing: Debug {
    /// Writes the rates at `time` [s] into the rows of the cells, laid out like the beginning of the flat state: density [kg/(m^3 s)],
    /// momentum [N/m^3] and energy [W/m^3] as cell averages, then the scalars times density. What it leaves alone keeps the rate of the
    /// stage before, zero at first.
    fn rates(&self, time: f64, rates: &mut [f64]);
}

/// A forcing with room for its rates.
#[derive(Debug)]
pub(super) struct Forced<'a> {
    forcing: &'a dyn Forcing,
    rates: Vec<f64>,
}

impl<'a> Forced<'a> {
    pub(super) fn new(forcing: &'a dyn Forcing, cells: usize) -> Self {
        Self { forcing, rates: vec![0.0; cells] }
    }

    /// Adds `weight` [s] times the rates at `time` [s] to the cells of the flat state `y`.
    pub(super) fn add(&mut self, time: f64, weight: f64, y: &mut [f64]) {
        self.forcing.rates(time, &mut self.rates);
        for (value, rate) in y.iter_mut().zip(&self.rates) {
            *value += weight * rate;
        }
    }
}
