//! Vehicles at constant power.

use super::FORMULA;
use crate::check::{Failure, Row};
use crate::data;
use crate::oracle::quadrature::gauss;
use tractwright::powertrain::{Road, Vehicle};

const MPH: f64 = 0.447_04;
const PIECES: u32 = 200;
const TYRE_RADIUS: f64 = 0.32;

fn vehicle(row: &data::Row) -> Result<Vehicle, Failure> {
    let mass = row.number("m_kg")?;
    Ok(Vehicle {
        mass,
        // The factor of rotating masses, as wheels.
        wheel_inertia: (row.number("lambda")? - 1.0) * mass * TYRE_RADIUS * TYRE_RADIUS,
        engine_inertia: 0.0,
        gears: vec![1.0],
        final_drive: 3.5,
        shift_time: 0.0,
        shift_speed: 1e4,
        driveline_efficiency: row.number("driveline_eff")?,
        drag_area: row.number("CdA_m2")?,
        rolling_resistance: row.number("Crr")?,
        tyre_radius: TYRE_RADIUS,
        traction_limit: 10.0,
    })
}

/// Time [s] and way [m] between the row's speeds: the integrals of 1/a and v/a over speed.
fn run(row: &data::Row) -> Result<[f64; 2], Failure> {
    let (vehicle, power) = (vehicle(row)?, row.number("P_crank_W")?);
    let road = Road { air_density: row.number("rho")?, slope: 0.0, wind: 0.0 };
    let (from, to) = (MPH * row.number("v1_mph")?, MPH * row.number("v2_mph")?);
    let over = |speed: f64| {
        let torque = power / vehicle.engine_speed(speed, 0);
        let acceleration = vehicle.acceleration(speed, torque, 0, &road);
        [1.0 / acceleration, speed / acceleration]
    };
    let width = (to - from) / f64::from(PIECES);
    let piece = |piece| gauss(from + width * f64::from(piece), from + width * f64::from(piece + 1), over);
    Ok((0..PIECES).map(piece).fold([0.0; 2], |sum, piece| [sum[0] + piece[0], sum[1] + piece[1]]))
}

pub(super) fn rows() -> Result<Vec<Row>, Failure> {
    let (mut times, mut ways) = (Vec::new(), Vec::new());
    for row in data::rows(data::ACCELERATION)? {
        let [time, way] = run(&row)?;
        times.push((time, row.number("t_s")?));
        ways.push((way, row.number("x_m")?));
    }
    Ok(vec![Row::worst("time [s]", times, FORMULA), Row::worst("way [m]", ways, FORMULA)])
}
