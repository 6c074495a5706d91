//! The powertrain without a tract: its compressors stand before a given total pressure.

mod bench;

use super::states::THROTTLE;
use super::*;
use bench::{PRESSURE, TEMPERATURE, car, powertrain, rates, standing, steady};

/// All that banks may share.
const SHARED: [Shared; 6] = [
    Shared { charge: false, exhaust: false, wastegate: false },
    Shared { charge: true, exhaust: false, wastegate: false },
    Shared { charge: false, exhaust: true, wastegate: false },
    Shared { charge: false, exhaust: false, wastegate: true },
    Shared { charge: true, exhaust: true, wastegate: false },
    Shared { charge: true, exhaust: true, wastegate: true },
];

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
                (Powertrain::opening, shared.wastegate || shared.charge || shared.exhaust),
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
