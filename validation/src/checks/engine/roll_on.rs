//! A roll-on beside the integral of speed and effective mass over the power that accelerates, from the power that the result tells.
//!
//! Gillespie, Fundamentals of Vehicle Dynamics (1992), chapters 2 and 4.

use super::demo::{Left, clean};
use crate::check::{Failure, Findings, Limit, Row};
use crate::oracle::quadrature::gauss;
use std::f64::consts::PI;
use tractwright::run::EngineFigures;

const FROM: f64 = 100.0 / 3.6;
const TO: f64 = 200.0 / 3.6;
const GEARS: [f64; 6] = [3.8, 2.4, 1.75, 1.35, 1.08, 0.88];
const FINAL: f64 = 3.5;
const TYRE: f64 = 0.335;
const MASS: f64 = 1590.0;
const SHIFT_SPEED: f64 = 7000.0 * PI / 30.0;
const SHIFT_TIME: f64 = 0.2;
/// Density of the outside [kg/m^3].
const DENSITY: f64 = 99.6e3 / (287.05 * 297.0);
/// Standard gravity [m/s^2], defined by the third CGPM (1901).
const GRAVITY: f64 = 9.806_65;

const ROWS: Limit =
    Limit { value: 2e-3, why: "the trapezium over rows 0.1 s apart, the charge building up in the first of them" };
const ENDS: Limit =
    Limit { value: 1e-5, why: "the run ends within a tenth of a millisecond of the speed that is asked for" };

/// The rows.
pub(super) fn rows() -> Result<Findings, Failure> {
    let left = clean("roll_on: {from: 100 km/h, to: 200 km/h}")?;
    let last = left.last()?;
    let rows = vec![
        Row::relative("time of a roll-on from 100 to 200 km/h [s]", left.time, time(&left)?, ROWS),
        Row::relative("speed at its end [m/s]", last.road_speed, TO, ENDS),
        Row::relative("speed at its start [m/s]", left.rows[0].road_speed, FROM, ENDS),
    ];
    Ok(rows.into())
}

/// Turns of the crank for a metre of road, in radians.
fn turns(gear: usize) -> f64 {
    GEARS[gear - 1] * FINAL / TYRE
}

/// Mass with what must turn faster [kg].
fn effective_mass(gear: usize) -> f64 {
    MASS + 5.0 / (TYRE * TYRE) + 0.25 * turns(gear) * turns(gear)
}

/// Drag and rolling resistance [N].
fn resistance(speed: f64) -> f64 {
    0.5 * DENSITY * 0.68 * speed * speed + 0.012 * MASS * GRAVITY
}

/// Time for each metre a second more [s^2/m]: speed times effective mass over the power that accelerates.
fn pace(row: &EngineFigures) -> f64 {
    let speed = row.road_speed;
    speed * effective_mass(row.gear) / (0.87 * row.power - resistance(speed) * speed)
}

/// Speed [m/s] after a shift into `gear` at `speed`, by the classical method of Runge and Kutta.
fn coasted(speed: f64, gear: usize) -> f64 {
    let rate = |speed: f64| -resistance(speed) / effective_mass(gear);
    let step = SHIFT_TIME / 10.0;
    (0..10).fold(speed, |now, _| {
        let one = rate(now);
        let two = rate(now + 0.5 * step * one);
        let three = rate(now + 0.5 * step * two);
        let four = rate(now + step * three);
        now + step / 6.0 * (one + 2.0 * two + 2.0 * three + four)
    })
}

/// Time [s], gear by gear: the rows under drive, their line carried on to where the gear begins and ends, and the shifts between.
fn time(left: &Left) -> Result<f64, Failure> {
    let first = left.rows[0].gear;
    let (mut begin, mut sum) = (FROM, 0.0);
    for gear in first..=GEARS.len() {
        let shift = SHIFT_SPEED / turns(gear);
        let end = if gear == GEARS.len() { TO } else { shift.min(TO) };
        let mut points: Vec<_> = left
            .rows
            .iter()
            .filter(|row| row.gear == gear && row.power > 0.0)
            .map(|row| (row.road_speed, pace(row)))
            .collect();
        points.dedup_by(|one, other| (one.0 - other.0).abs() < 1e-6);
        if points.len() < 2 {
            return Err(Failure::Missing(format!("two rows in gear {gear}")));
        }
        sum += integral(&points, begin, end);
        if end >= TO {
            return Ok(sum);
        }
        sum += SHIFT_TIME;
        begin = coasted(end, gear + 1);
    }
    Err(Failure::Missing("gear that reaches the end".to_owned()))
}

/// Integral from `begin` to `end` of the line through `points`, the outer pieces carried on.
fn integral(points: &[(f64, f64)], begin: f64, end: f64) -> f64 {
    let last = points.len() - 2;
    let pieces = points.windows(2).enumerate().map(|(index, pair)| {
        let [(low, of_low), (high, of_high)] = [pair[0], pair[1]];
        let from = if index == 0 { begin } else { low };
        let to = if index == last { end } else { high };
        // Gauss' rule is exact on the line.
        gauss(from, to, |speed| [of_low + (speed - low) / (high - low) * (of_high - of_low)])[0]
    });
    pieces.sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_integrated_exactly_also_beyond_its_points() {
        let points = [(1.0, 2.0), (2.0, 4.0), (4.0, 8.0)];
        assert!((integral(&points, 0.5, 5.0) - 24.75).abs() < 1e-12);
    }

    #[test]
    fn a_time_that_is_off_by_a_hundredth_does_not_hold() {
        assert!(!Row::relative("time", 8.08, 8.0, ROWS).holds());
    }
}
