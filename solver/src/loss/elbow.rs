//! A bend as a part of its own: a lumped loss.

use std::f64::consts::PI;

use super::published::{self, PublishedSpread};
use super::quadratic::before_head_along;
use super::{Basis, Direction, Loss, Place, Stream, bend, equivalent_diameter};
use crate::gas::Gas;

/// An elbow: a bend between two ducts, or on a volume, whose own length is not solved.
#[derive(Debug, Clone, Copy)]
pub struct Elbow {
    angle: f64,
    radius: f64,
    area: Option<f64>,
    coefficient: f64,
}

impl Elbow {
    /// An elbow of `angle` [rad] and centre-line `radius` [m]; without `area` [m^2] it takes the duct's beside it.
    #[must_use]
    pub fn new(angle: f64, radius: f64, area: Option<f64>) -> Self {
        let coefficient = area.map_or(0.0, |area| coefficient(angle, radius, area));
        Self { angle, radius, area, coefficient }
    }
}

fn coefficient(angle: f64, radius: f64, area: f64) -> f64 {
    bend::coefficient(angle, radius / equivalent_diameter(area), 0.0)
}

impl Loss for Elbow {
    fn total_pressure_before(&self, gas: &Gas, stream: &Stream, _: Direction, after: f64) -> f64 {
        before_head_along(gas, stream, self.coefficient, self.area(), after)
    }

    fn place(&mut self, place: Place) -> Result<(), String> {
        let area = self.area.or(place.smaller()).ok_or("needs `diameter`: no duct beside it")?;
        *self = Self::new(self.angle, self.radius, Some(area));
        Ok(())
    }

    fn area(&self) -> f64 {
        self.area.unwrap_or(f64::INFINITY)
    }

    fn thickness(&self) -> f64 {
        self.angle * self.radius
    }

    fn basis(&self) -> Basis {
        let angle = 180.0 * self.angle / PI;
        Basis::Handbook(format!("bend {angle:.0} deg, Rennels and Hudson eq. 15.1, friction of the arc left out"))
    }

    fn published_spread(&self) -> Option<PublishedSpread> {
        Some(published::BEND)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn loses_the_heads_of_its_bend() {
        let gas = Gas::dry_air();
        let area = 0.25 * PI * 0.08 * 0.08;
        let mut elbow = Elbow::new(0.5 * PI, 0.12, None);
        assert!(elbow.place(Place::default()).is_err());
        assert!(elbow.place(Place { before: Some(area), after: None }).is_ok());
        let stream = Stream { mass_flow: 0.05, total_temperature: 300.0 };
        let lost = elbow.total_pressure_before(&gas, &stream, Direction::Forward, 1e5) - 1e5;
        // 0.05 kg/s in 80 mm at 100 kPa, 300 K: 8.57 m/s and 42.6 Pa; Rennels' coefficient at R/D 1.5 less 0.037 of arc friction: 0.18.
        assert!((lost / 42.6 - 0.18).abs() < 0.02, "{lost}");
    }
}
