//! A table over crank speed.

use crate::powertrain::monotone::{EndSlope, MonotoneCurve};

/// A curve over crank speed, from points: monotone between them and level outside.
#[derive(Debug, Clone, PartialEq)]
pub struct OverSpeed(MonotoneCurve);

impl OverSpeed {
    /// From points of crank speed [rad/s], rising, with the values there; at least one.
    #[must_use]
    pub fn new(points: &[(f64, f64)]) -> Self {
        let mut points = points.to_vec();
        if let [(speed, value)] = points[..] {
            points.push((speed + 1.0, value));
        }
        Self(MonotoneCurve::new(points, EndSlope::Given(0.0), EndSlope::Given(0.0)))
    }

    /// Value at crank `speed` [rad/s].
    #[must_use]
    pub fn at(&self, speed: f64) -> f64 {
        self.0.at(speed).0
    }
}
