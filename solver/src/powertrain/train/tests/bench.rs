//! A powertrain before whose compressors a given total pressure stands, and its steady states.

use super::super::*;
use crate::powertrain::{ChargeSensitivity, Generic, Reference};
use std::f64::consts::PI;

const TURN: f64 = PI / 30.0;
pub(super) const PRESSURE: f64 = 97e3;
pub(super) const TEMPERATURE: f64 = 297.0;
const BURNT: ExhaustGas = ExhaustGas { gamma: 1.33, gas_constant: 288.0 };
/// A 3-litre engine with `banks` turbos at crank speed `speed` [1/min], which wants `boost` [Pa].
pub(super) fn powertrain(banks: usize, speed: f64, boost: f64) -> Powertrain {
    let reference = Reference { pressure: 1e5, temperature: 298.15 };
    let share = 2.0 / banks as f64;
    let turbo = Turbo {
        draw: String::new(),
        compressor: Compressor::Generic(Generic::at_design(0.16 * share, 2.2, 0.76, 12_800.0, reference)),
        bend_penalty: 0.01,
        turbine: Turbine::matched(0.1 * share, &BURNT, [205e3, 1220.0, 120e3], [0.68, 0.7, 0.027]),
        inertia: 3.5e-5,
        mechanical_efficiency: 0.97,
    };
    Powertrain {
        engine: Engine {
            displacement: 3e-3,
            volumetric_efficiency: 1.0,
            lambda: 0.85,
            stoichiometric: 14.6,
            heating_value: 42.9e6,
            indicated_efficiency: 0.4,
            charge: ChargeSensitivity { threshold: 318.15, per_kelvin: 1.6e-3 },
            friction: [7e4, 40.0, 0.12],
        },
        volumetric_efficiency: OverSpeed::new(&[(150.0, 0.82), (450.0, 0.97), (750.0, 0.88)]),
        exhaust_temperature: OverSpeed::new(&[(150.0, 1050.0), (700.0, 1220.0)]),
        boost: OverSpeed::new(&[(300.0, boost)]),
        throttle: 1.0,
        turbos: vec![turbo; banks],
        shared: Shared::default(),
        cooler: Cooler::new(&[(0.0, 0.35), (40.0, 0.75)], 7e3 / (0.2 * share * 0.2 * share)).unwrap(),
        charge_volume: 4e-3,
        exhaust_volume: 1e-3,
        wastegate: Wastegate { area: 9e-4 * share, most: 1.0 },
        wastegate_time: 0.4,
        back_pressure: 2e4 / (0.2 * share * 0.2 * share),
        exhaust_gas: BURNT,
        load: Load::Brake(0.0),
        vehicle: Some(car()),
        surroundings: Surroundings {
            pressure: 99e3,
            temperature: 295.0,
            cooling: 295.0,
            fan: 25.0,
            road: Road { air_density: 1.17, slope: 0.0, wind: 3.0 },
        },
        gas: Gas::dry_air(),
        start_speed: TURN * speed,
        start_gear: 0,
        start_throttle: None,
    }
}

pub(super) fn car() -> Vehicle {
    Vehicle {
        mass: 1600.0,
        wheel_inertia: 5.0,
        engine_inertia: 0.25,
        gears: vec![3.6, 2.1, 1.4, 1.0],
        final_drive: 3.5,
        shift_time: 0.2,
        shift_speed: 700.0,
        driveline_efficiency: 0.88,
        drag_area: 0.65,
        rolling_resistance: 0.012,
        tyre_radius: 0.33,
        traction_limit: 0.6,
    }
}

/// What the compressors take when `pressures` [Pa] stand before them: the flow at which that is what they ask for.
fn inlets(powertrain: &Powertrain, states: &[f64], pressures: &[f64]) -> Vec<Inlet> {
    let flow_at = |index: usize, pressure: f64| {
        let asked = |flow: f64| powertrain.inlet_pressure(index, states, flow, TEMPERATURE);
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if asked(middle) < pressure { low = middle } else { high = middle }
        }
        0.5 * (low + high)
    };
    let inlet = |(index, pressure): (usize, &f64)| Inlet {
        mass_flow: flow_at(index, *pressure),
        total_pressure: *pressure,
        total_temperature: TEMPERATURE,
    };
    pressures.iter().enumerate().map(inlet).collect()
}

pub(super) fn rates(powertrain: &Powertrain, states: &[f64], pressures: &[f64]) -> Vec<f64> {
    let mut rates = vec![f64::NAN; states.len()];
    powertrain.rates(states, &inlets(powertrain, states, pressures), &mut rates);
    rates
}

/// The steady states behind `pressures`, by implicit steps that grow.
pub(super) fn steady(powertrain: &Powertrain, pressures: &[f64]) -> Vec<f64> {
    let (mut states, sizes) = (powertrain.start(), powertrain.sizes());
    let count = states.len();
    let mut step = 1e-4;
    for _ in 0..140 {
        let now = rates(powertrain, &states, pressures);
        let mut rows = vec![vec![0.0; count + 1]; count];
        for column in 0..count {
            let width = 1e-7 * sizes[column];
            let mut moved = states.clone();
            moved[column] += width;
            for (row, value) in rates(powertrain, &moved, pressures).into_iter().enumerate() {
                rows[row][column] = f64::from(u8::from(row == column)) / step - (value - now[row]) / width;
            }
        }
        (0..count).for_each(|row| rows[row][count] = now[row]);
        for (state, change) in states.iter_mut().zip(solved(rows)) {
            *state += change;
        }
        step *= 1.2;
    }
    states
}

/// Unknowns of the linear equations `rows`, each with its right side at the end, by Gauss' elimination with pivots.
fn solved(mut rows: Vec<Vec<f64>>) -> Vec<f64> {
    let count = rows.len();
    for at in 0..count {
        let best = (at..count).max_by(|one, other| rows[*one][at].abs().total_cmp(&rows[*other][at].abs())).unwrap();
        rows.swap(at, best);
        let pivot = rows[at].clone();
        for row in rows.iter_mut().skip(at + 1) {
            let factor = row[at] / pivot[at];
            row.iter_mut().zip(&pivot).for_each(|(value, of_pivot)| *value -= factor * of_pivot);
        }
    }
    let mut unknowns = vec![0.0; count];
    for at in (0..count).rev() {
        let known: f64 = (at + 1..count).map(|column| rows[at][column] * unknowns[column]).sum();
        unknowns[at] = (rows[at][count] - known) / rows[at][at];
    }
    unknowns
}

pub(super) fn standing(powertrain: &Powertrain, states: &[f64], pressures: &[f64]) -> Standing {
    powertrain.look(states, &inlets(powertrain, states, pressures))
}
