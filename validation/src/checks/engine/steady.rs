//! Steady points, recomputed by hand from what stands before the compressors and in the manifolds.

use super::demo::{Left, clean};
use crate::check::{Failure, Findings, Limit, Row};
use crate::oracle::perfect_gas::PerfectGas;
use crate::oracle::powertrain::{Burnt, compressed, parabola, speed_density, torque_of_pressure};
use std::f64::consts::PI;
use tractwright::run::{EngineFigures, TurboFigures};

const TURN: f64 = PI / 30.0;
/// Displacement of a bank [m^3].
const BANK: f64 = 1.6e-3;
const COLD: f64 = 297.0;
const OUTSIDE: f64 = 99.6e3;
const AIR: PerfectGas = PerfectGas::AIR;
const CELSIUS: f64 = 273.15;
/// State for which the turbine's flow is given, and that flow [kg/s]; burnt gas as the case takes it.
const MATCHED: (Burnt, f64) =
    (Burnt { gamma: 1.33, gas_constant: 288.0, pressure: 205e3, temperature: 950.0 + CELSIUS, behind: 120e3 }, 0.104);

const FORMULA: Limit = Limit { value: 1e-8, why: "the same closed formula from figures of full length" };
const BALANCE: Limit = Limit { value: 1e-8, why: "what a steady state may leave over" };

/// A point with what the tables say there, each at one of their points.
struct Point {
    name: &'static str,
    keys: &'static str,
    /// Volumetric efficiency.
    filling: f64,
    /// Temperature before the turbine [K].
    hot: f64,
}

const POINTS: [Point; 2] = [
    Point { name: "4500 rpm", keys: "speed: 20 m/s, engine_speed: 4500 rpm", filling: 0.97, hot: 910.0 + CELSIUS },
    Point {
        name: "6000 rpm, raised",
        keys: "speed: 20 m/s, engine_speed: 6000 rpm, boost: raised",
        filling: 0.95,
        hot: 935.0 + CELSIUS,
    },
];

/// The rows.
pub(super) fn rows() -> Result<Findings, Failure> {
    let mut rows = Vec::new();
    for point in &POINTS {
        let left = clean(point.keys)?;
        let engine = left.last()?;
        for (bank, side) in ["left", "right"].into_iter().enumerate() {
            let name = format!("{}, {side}", point.name);
            rows.extend(bank_rows(&name, point, &left, engine, bank));
        }
        rows.extend(engine_rows(point, engine));
    }
    Ok(rows.into())
}

fn bank_rows(name: &str, point: &Point, left: &Left, engine: &EngineFigures, bank: usize) -> Vec<Row> {
    let (turbo, branch) = (&engine.turbos[bank], &left.branches[bank]);
    let (p01, t01) = (branch.total_pressure, branch.total_temperature);
    let behind = turbo.charge_pressure + 7e3 * (turbo.air / 0.22) * (turbo.air / 0.22);
    let outlet = compressed(t01, behind / p01, turbo.efficiency, AIR.gamma);
    // The car's 20 m/s are a point of the cooler's table.
    let charge = outlet - 0.66 * (outlet - COLD);
    let density = turbo.charge_pressure / (AIR.gas_constant * charge);
    let air = speed_density(point.filling, BANK, engine.crank_speed, density);
    let burnt = exhaust(air);
    let gas = Burnt {
        pressure: turbo.exhaust_pressure,
        temperature: point.hot,
        behind: OUTSIDE + 22e3 * (burnt / 0.23) * (burnt / 0.23),
        ..MATCHED.0
    };
    let through = gas.ellipse_flow(&MATCHED.0, MATCHED.1);
    let past = gas.nozzle_flow(turbo.wastegate_opening * 0.25 * PI * 0.034 * 0.034);
    let given = 0.97 * through * gas.work(turbo.shaft_speed * 0.027, 0.68, 0.7);
    let taken = turbo.air * AIR.heat_capacity() * (turbo.outlet_temperature - t01);
    let row =
        |what: &str, computed: f64, known: f64, limit| Row::relative(format!("{name}: {what}"), computed, known, limit);
    vec![
        row("pressure ratio", turbo.pressure_ratio, behind / p01, BALANCE),
        row("behind the compressor [K]", turbo.outlet_temperature, outlet, FORMULA),
        row("charge [K]", turbo.charge_temperature, charge, FORMULA),
        row("air by speed and density [kg/s]", turbo.air, air, BALANCE),
        row("behind the turbine [Pa]", turbo.back_pressure, gas.behind, FORMULA),
        row("through turbine and wastegate [kg/s]", through + past, burnt, BALANCE),
        row("power that the turbine leaves the compressor [W]", given, taken, BALANCE),
    ]
}

fn engine_rows(point: &Point, engine: &EngineFigures) -> Vec<Row> {
    let friction = parabola([(1e3, 75e3), (4e3, 115e3), (7e3, 185e3)], engine.crank_speed / TURN);
    let air = |turbo: &TurboFigures| {
        let density = turbo.charge_pressure / (AIR.gas_constant * turbo.charge_temperature);
        speed_density(point.filling, BANK, engine.crank_speed, density)
    };
    let torque = |turbo: &TurboFigures| {
        // The spark of a charge at least 5 K above 35 degC is late by what each kelvin above that costs.
        let kept = 1.0 - 0.0016 * (turbo.charge_temperature - 35.0 - CELSIUS);
        let burns = fuel(air(turbo)) * 0.85;
        let indicated = burns * 42.9e6 * 0.40 * kept / engine.crank_speed;
        indicated - torque_of_pressure(turbo.exhaust_pressure - turbo.charge_pressure + friction, BANK)
    };
    let sum = |of: &dyn Fn(&TurboFigures) -> f64| engine.turbos.iter().map(of).sum::<f64>();
    let row = |what: &str, computed: f64, known: f64| {
        Row::relative(format!("{}: {what}", point.name), computed, known, FORMULA)
    };
    vec![
        row("fuel [kg/s]", engine.fuel_flow, sum(&|turbo| fuel(air(turbo)))),
        row("torque [N m]", engine.torque, sum(&torque)),
        row("power [W]", engine.power, sum(&torque) * engine.crank_speed),
    ]
}

/// Fuel of `air` [kg/s] at the case's lambda.
fn fuel(air: f64) -> f64 {
    air / (0.85 * 14.6)
}

fn exhaust(air: f64) -> f64 {
    air + fuel(air)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wrong_torque_or_flow_does_not_hold() {
        let left = clean(POINTS[0].keys).unwrap();
        let mut engine = left.last().unwrap().clone();
        assert!(engine_rows(&POINTS[0], &engine).iter().all(Row::holds));
        assert!(engine.turbos.iter().all(|turbo| turbo.charge_temperature > 40.0 + CELSIUS));
        engine.torque *= 1.0 + 1e-6;
        engine.turbos[0].air *= 1.0 + 1e-6;
        assert!(!engine_rows(&POINTS[0], &engine)[1].holds());
        assert!(!bank_rows("left", &POINTS[0], &left, &engine, 0)[3].holds());
    }
}
