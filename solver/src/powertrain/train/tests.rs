//! The powertrain without a tract: its compressors stand before a given total pressure.

use super::*;
use crate::powertrain::{ChargeSensitivity, Generic, Reference};
use std::f64::consts::PI;

const TURN: f64 = PI / 30.0;
const PRESSURE: f64 = 97e3;
const TEMPERATURE: f64 = 297.0;
const BURNT: ExhaustGas = ExhaustGas { gamma: 1.33, gas_constant: 288.0 };
/// All that banks may share.
const SHARED: [Shared; 6] = [
    Shared { charge: false, exhaust: false, wastegate: false },
    Shared { charge: true, exhaust: false, wastegate: false },
    Shared { charge: false, exhaust: true, wastegate: false },
    Shared { charge: false, exhaust: false, wastegate: true },
    Shared { charge: true, exhaust: true, wastegate: false },
    Shared { charge: true, exhaust: true, wastegate: true },
];

/// A 3-litre engine with `banks` turbos at crank speed `speed` [1/min], which wants `boost` [Pa].
fn powertrain(banks: usize, speed: f64, boost: f64) -> Powertrain {
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
            fan: 25.0,
            road: Road { air_density: 1.17, slope: 0.0, wind: 3.0 },
        },
        gas: Gas::dry_air(),
        start_speed: TURN * speed,
        start_gear: 0,
        start_throttle: None,
    }
}

fn car() -> Vehicle {
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

fn rates(powertrain: &Powertrain, states: &[f64], pressures: &[f64]) -> Vec<f64> {
    let mut rates = vec![f64::NAN; states.len()];
    powertrain.rates(states, &inlets(powertrain, states, pressures), &mut rates);
    rates
}

/// The steady states behind `pressures`, by implicit steps that grow.
fn steady(powertrain: &Powertrain, pressures: &[f64]) -> Vec<f64> {
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

fn standing(powertrain: &Powertrain, states: &[f64], pressures: &[f64]) -> Standing {
    powertrain.look(states, &inlets(powertrain, states, pressures))
}

fn near(one: f64, other: f64, share: f64) -> bool {
    (one - other).abs() <= share * one.abs().max(other.abs())
}

#[test]
fn no_two_states_share_a_place_and_none_stays_empty() {
    for shared in SHARED {
        for banks in 1..=MOST_TURBOS {
            let train = Powertrain { shared, ..powertrain(banks, 4000.0, 190e3) };
            let mut places: Vec<_> = [CRANK].into_iter().chain(Powertrain::held()).collect();
            for (place, one) in [
                (Powertrain::charge as fn(&Powertrain, usize) -> usize, shared.charge),
                (Powertrain::exhaust, shared.exhaust),
                (Powertrain::opening, shared.wastegate || shared.charge),
                (Powertrain::shaft, false),
            ] {
                places.extend((0..if one { 1 } else { banks }).map(|bank| place(&train, bank)));
                assert!(!one || (0..banks).all(|bank| place(&train, bank) == place(&train, 0)), "{shared:?}");
            }
            assert_eq!(places, (0..train.states()).collect::<Vec<_>>(), "{shared:?}, {banks} banks");
            let slow: Vec<_> = train.slow().collect();
            let openings = train.exhaust(0)..train.shaft(0);
            assert!(slow.iter().all(|place| !Powertrain::held().contains(place) && !openings.contains(place)));
        }
    }
}

#[test]
fn a_compressor_asks_for_the_pressure_that_its_map_makes_the_charge_of() {
    let train = powertrain(2, 4000.0, 190e3);
    let (compressor, mut states) = (&train.turbos[0].compressor, train.start());
    let reference = compressor.reference();
    for share in [0.0, 0.3, 0.7, 1.0, 1.2] {
        states[train.shaft(0)] = share * compressor.speed_limit();
        for charge in [80e3, 150e3, 260e3] {
            states[train.charge(0)] = charge;
            let mut before = 0.0;
            for step in 0..40 {
                let flow = 0.01 * f64::from(step);
                let asked = train.inlet_pressure(0, &states, flow, TEMPERATURE);
                let behind = charge + 7e3 * (flow / 0.2) * (flow / 0.2);
                let speed = reference.corrected_speed(states[train.shaft(0)], TEMPERATURE);
                let corrected = reference.corrected_flow(flow, asked, TEMPERATURE);
                let made = asked * compressor.pressure_ratio(corrected, speed);
                assert!(near(made, behind, 1e-12), "{share}, {charge}, {flow}: {made} for {behind}");
                assert!(asked > before, "{share}, {charge}, {flow}: {asked} after {before}");
                before = asked;
            }
        }
    }
}

#[test]
fn nothing_moves_at_a_steady_state_and_what_goes_in_comes_out() {
    for shared in SHARED {
        for (speed, boost) in [(1600.0, 220e3), (4500.0, 190e3), (6800.0, 260e3)] {
            let train = Powertrain { shared, ..powertrain(2, speed, boost) };
            // Equal banks and banks of which one breathes worse.
            for pressures in [[PRESSURE, PRESSURE], [PRESSURE, PRESSURE - 3e3]] {
                let states = steady(&train, &pressures);
                let (moving, sizes) = (rates(&train, &states, &pressures), train.sizes());
                for (place, rate) in moving.iter().enumerate() {
                    assert!(rate.abs() < 1e-8 * sizes[place], "{shared:?}, {speed}: {rate} of {place}");
                }
                let now = standing(&train, &states, &pressures);
                let sum = |of: fn(&TurboStanding) -> f64| now.turbos().iter().map(of).sum::<f64>();
                assert!(near(sum(|turbo| turbo.inlet.mass_flow), sum(|turbo| turbo.engine_air), 1e-9));
                let leaving = sum(|turbo| turbo.turbine_flow + turbo.wastegate_flow);
                assert!(near(leaving, sum(|turbo| turbo.engine_air) + now.fuel, 1e-9));
                for turbo in now.turbos() {
                    let given = 0.97 * turbo.turbine_torque * turbo.shaft;
                    assert!(near(given, turbo.compressor_power, 1e-8), "{given} for {}", turbo.compressor_power);
                    if !shared.charge {
                        assert!(near(turbo.inlet.mass_flow, turbo.engine_air, 1e-9));
                    }
                }
            }
        }
    }
}

#[test]
fn equal_banks_do_not_feel_what_they_share() {
    for (speed, boost) in [(1600.0, 220e3), (4500.0, 190e3), (6800.0, 260e3)] {
        let answers = SHARED.map(|shared| {
            let train = Powertrain { shared, ..powertrain(2, speed, boost) };
            standing(&train, &steady(&train, &[PRESSURE; 2]), &[PRESSURE; 2])
        });
        let halved = powertrain(1, speed, boost);
        let single = standing(&halved, &steady(&halved, &[PRESSURE]), &[PRESSURE]);
        assert!(near(single.torque, answers[0].torque, 1e-8), "one turbo of twice the size at {speed}");
        for (shared, answer) in SHARED.iter().zip(&answers) {
            assert!(near(answer.torque, answers[0].torque, 1e-8), "{shared:?} at {speed}");
            assert!(near(answer.turbos[0].shaft, answers[0].turbos[1].shaft, 1e-8), "{shared:?} at {speed}");
        }
    }
}

#[test]
fn each_regime_is_reached_and_told() {
    for (speed, boost, expected) in [
        (1600.0, 220e3, Regime::WastegateShut),
        (4500.0, 190e3, Regime::BoostControlled),
        (6800.0, 300e3, Regime::SpeedLimited),
    ] {
        let train = powertrain(2, speed, boost);
        let mut states = steady(&train, &[PRESSURE; 2]);
        let now = standing(&train, &states, &[PRESSURE; 2]);
        let turbo = &now.turbos()[0];
        assert_eq!(train.regime(&now, 0), expected, "{speed}: {turbo:?}");
        let (opening, charge, margin) = (turbo.opening, turbo.charge_pressure, train.speed_margin(&now, 0));
        match expected {
            Regime::WastegateShut => assert!(opening.abs() < 1e-9 && charge < 0.99 * boost && margin > 0.02),
            Regime::BoostControlled => assert!(opening > 0.05 && near(charge, boost, 1e-4) && margin > 0.02),
            _ => assert!(opening > 0.01 && charge < 0.99 * boost && margin.abs() < 1e-4, "{margin}"),
        }
        states[train.charge(0)] = 1.05 * boost;
        let pushed = standing(&train, &states, &[PRESSURE; 2]);
        assert!(train.regime(&pushed, 0) != expected || expected == Regime::SpeedLimited);
    }
}

#[test]
fn a_lower_inlet_pressure_costs_charge_only_where_the_wastegate_has_no_more_to_give() {
    let lost = |speed: f64, boost: f64| {
        let train = powertrain(2, speed, boost);
        let torque = |pressure: f64| {
            let states = steady(&train, &[pressure; 2]);
            standing(&train, &states, &[pressure; 2]).torque
        };
        1.0 - torque(PRESSURE - 1e3) / torque(PRESSURE)
    };
    let (held, shut, limited) = (lost(4500.0, 190e3), lost(1600.0, 220e3), lost(6800.0, 300e3));
    assert!(held > 0.0 && held < 0.006 && shut > 0.008 && limited > 0.008, "{held}, {shut}, {limited}");
}

#[test]
fn a_shift_keeps_the_road_speed_and_takes_the_drive_until_the_clutch_closes() {
    let train = Powertrain { load: Load::Road { until: 60.0 }, start_gear: 2, ..powertrain(2, 6600.0, 190e3) };
    let mut states = train.start();
    let throttle = states[THROTTLE];
    Powertrain::set(&mut states, throttle, false);
    let (speed, crank) = (train.road_speed(&states), Powertrain::crank(&states));
    assert!(near(train.air_speed(&states).unwrap(), speed + 3.0, 1e-15));
    let torque = standing(&train, &states, &[PRESSURE; 2]).torque;
    train.shift(&mut states);
    assert!(Powertrain::shifting(&states) && Powertrain::gear(&states) == 3);
    assert!(near(train.road_speed(&states), speed, 1e-14) && near(states[CRANK], crank * 1.4 / 2.1, 1e-14));
    assert!(standing(&train, &states, &[PRESSURE; 2]).torque.abs() < 1e-300 && torque > 100.0);
    // Without drive the road slows the car.
    let coasting = rates(&train, &states, &[PRESSURE; 2])[CRANK];
    let known = train.vehicle.as_ref().unwrap().road_load(speed, 1.17, 0.0, 3.0) / car().effective_mass(2);
    assert!(near(-coasting / car().engine_speed(1.0, 2), known, 1e-12), "{coasting}");
    Powertrain::close_clutch(&mut states);
    assert!(!Powertrain::shifting(&states) && rates(&train, &states, &[PRESSURE; 2])[CRANK] > 0.0);
    let throttle = states[THROTTLE];
    Powertrain::set(&mut states, throttle, true);
    assert!(rates(&train, &states, &[PRESSURE; 2])[CRANK].abs() < 1e-300);
}

#[test]
fn a_brake_moves_the_crank_whatever_the_torque() {
    let train = Powertrain { load: Load::Brake(52.0), ..powertrain(2, 3000.0, 190e3) };
    let mut states = train.start();
    assert!(rates(&train, &states, &[PRESSURE; 2])[CRANK].abs() < 1e-300, "held until the driver sets off");
    Powertrain::set(&mut states, 1.0, false);
    assert!(near(rates(&train, &states, &[PRESSURE; 2])[CRANK], 52.0, 1e-15) && train.air_speed(&states).is_none());
}

#[test]
fn a_cruising_car_neither_gains_nor_loses_speed() {
    let train = Powertrain { load: Load::Road { until: 60.0 }, start_gear: 4, ..powertrain(2, 3000.0, 190e3) };
    let states = train.start();
    let gear = Powertrain::gear(&states) - 1;
    let (speed, road) = (train.road_speed(&states), train.surroundings.road);
    let rate = car().acceleration(speed, train.cruising_torque(&states), gear, &road);
    assert!(speed > 20.0 && rate.abs() < 1e-12, "{rate} at {speed}");
}
