//! The charge cooler.

use super::monotone::{EndSlope, MonotoneCurve};

/// Why a table of effectiveness cannot be used.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{}found {found}, expected {expected}", point.map_or_else(String::new, |point| format!("point {}: ", point + 1)))]
pub struct CoolerFault {
    /// The point at fault, counted from nothing; none when it is the table as a whole.
    pub point: Option<usize>,
    /// What the table says.
    pub found: String,
    /// What would be right.
    pub expected: &'static str,
}

/// A charge cooler: effectiveness over the speed of its cooling air, and a pressure loss with the square of the charge's flow.
#[derive(Debug, Clone, PartialEq)]
pub struct Cooler {
    effectiveness: MonotoneCurve,
    loss: f64,
}

impl Cooler {
    /// From points of cooling-air speed [m/s], rising and at least two, with the effectiveness there, and a `loss`
    /// [Pa s^2/kg^2] of total pressure over the square of flow.
    ///
    /// # Errors
    /// When points are too few or not rising, or an effectiveness is outside 0 to 1.
    pub fn new(points: &[(f64, f64)], loss: f64) -> Result<Self, CoolerFault> {
        let fault = |point, found, expected| Err(CoolerFault { point, found, expected });
        if points.len() < 2 {
            return fault(None, format!("{} points", points.len()), "at least 2");
        }
        for (at, &(speed, effectiveness)) in points.iter().enumerate() {
            if !speed.is_finite() || at > 0 && speed <= points[at - 1].0 {
                return fault(Some(at), format!("a speed of {speed} m/s"), "more than at the point before");
            }
            if !(0.0..=1.0).contains(&effectiveness) {
                return fault(Some(at), format!("an effectiveness of {effectiveness}"), "between 0 and 1");
            }
        }
        let flat = EndSlope::Given(0.0);
        Ok(Self { effectiveness: MonotoneCurve::new(points.to_vec(), flat, flat), loss })
    }

    /// Effectiveness at `air_speed` [m/s]: a monotone curve, level at the first and last point and constant outside.
    #[must_use]
    pub fn effectiveness(&self, air_speed: f64) -> f64 {
        self.effectiveness.at(air_speed).0
    }

    /// Temperature [K] of the charge behind the cooler, which enters with `hot` and is cooled by air of `cold` [K]. Incropera et al.,
    /// Fundamentals of Heat and Mass Transfer, 7th ed., eq. 11.19, the charge being the weaker stream.
    #[must_use]
    pub fn outlet_temperature(&self, hot: f64, cold: f64, air_speed: f64) -> f64 {
        hot - self.effectiveness(air_speed) * (hot - cold)
    }

    /// Loss of total pressure [Pa] at `flow` [kg/s]; below nothing backwards.
    #[must_use]
    pub fn pressure_loss(&self, flow: f64) -> f64 {
        self.loss * flow * flow.abs()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::powertrain::finite::is_smooth;

    const POINTS: [(f64, f64); 4] = [(0.0, 0.35), (5.0, 0.5), (20.0, 0.7), (60.0, 0.78)];

    #[test]
    fn points_are_met_and_ends_are_held() {
        let cooler = Cooler::new(&POINTS, 5e4).unwrap();
        for (speed, effectiveness) in POINTS {
            assert!((cooler.effectiveness(speed) - effectiveness).abs() < 1e-15);
            assert!((cooler.outlet_temperature(420.0, 300.0, speed) - 420.0 + 120.0 * effectiveness).abs() < 1e-12);
        }
        assert!((cooler.effectiveness(-9.0) - 0.35).abs() < 1e-15 && (cooler.effectiveness(99.0) - 0.78).abs() < 1e-15);
        is_smooth("effectiveness", [-10.0, 80.0], |speed| cooler.effectiveness(speed));
        assert!((0..600).all(|step| {
            let speed = 0.1 * f64::from(step);
            cooler.effectiveness(speed + 0.1) > cooler.effectiveness(speed)
        }));
        assert!(
            (cooler.pressure_loss(0.2) - 2000.0).abs() < 1e-9 && (cooler.pressure_loss(-0.2) + 2000.0).abs() < 1e-9
        );
        assert!((cooler.outlet_temperature(300.0, 300.0, 8.0) - 300.0).abs() < 1e-12);
    }

    #[test]
    fn what_is_wrong_is_named() {
        for (points, message) in [
            (vec![(0.0, 0.4)], "found 1 points, expected at least 2"),
            (vec![(0.0, 0.4), (0.0, 0.5)], "point 2: found a speed of 0 m/s, expected more than at the point before"),
            (vec![(0.0, 0.4), (1.0, 1.2)], "point 2: found an effectiveness of 1.2, expected between 0 and 1"),
            (vec![(0.0, f64::NAN), (1.0, 0.2)], "point 1: found an effectiveness of NaN, expected between 0 and 1"),
        ] {
            assert_eq!(Cooler::new(&points, 0.0).unwrap_err().to_string(), message);
        }
    }
}
