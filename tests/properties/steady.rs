//! Tracts come to a steady state from rest, and the march that resolves waves stays in it; or it is told why there is none, and that is so.

use super::{over_tracts, read};
use proptest::prelude::*;
use std::cell::Cell;
use tractwright::error::RunError;
use tractwright::march::slow::steady;
use tractwright::march::{Acoustic, Settings, Unobserved, Until};
use tractwright_validation::marched::Tract;
use tractwright_validation::random_tract::open_tract;

const RUN: &str = "until: steady, cell: 20 mm";
/// Time for which waves may shake a steady state [s].
const MARCHED: f64 = 5e-3;
/// Relative change that they may bring.
const STAYS: f64 = 1e-6;
/// Time in which a draw that is said to ask for too much may get it after all, or air that is said to be emptied or filled come to rest [s].
const WATCHED: f64 = 0.3;
/// Time in which the largest rooms are emptied through passages that choke [s].
const LONGEST: f64 = 5.0;
/// Share of the air in the tract that must have come or gone in the second half of that time.
const MOVES: f64 = 1e-6;

/// Whether what `words` say of a tract without a steady state is so, however long waves have had their way: that a draw gets less than it asks for
/// in the mean, or that air which nothing holds at a pressure becomes less or more all the time.
fn is_so(tract: &Tract, words: &str) -> bool {
    let network = tract.network();
    let settings = Settings { until: Until::Time(0.5 * WATCHED), record_every: WATCHED, ..tract.settings() };
    let mut march = Acoustic::new(network, network.initial_state(&[]), settings);
    let air = |march: &Acoustic<'_>| -> f64 {
        let cells = network.arena.ducts().flat_map(|duct| network.arena.slots_of(duct).zip(network.volumes_of(duct)));
        let ducts: f64 = cells.map(|(slot, volume)| march.y[slot] * volume).sum();
        ducts + (0..network.volumes.len()).map(|room| network.layout.volume(&march.y, room)[0]).sum::<f64>()
    };
    // What stops the march, such as a vacuum, is no sign that there is a steady state.
    let mut marched = march.run(&mut Unobserved).is_ok();
    let (before, mut missing) = (air(&march), 0.0);
    let adrift = words.contains("nothing gives the air");
    let waits = |time: f64, missing: f64| time < WATCHED || !adrift && missing <= 0.0 && time < LONGEST;
    while marched && waits(march.clock.time, missing) {
        marched = march.step(LONGEST).is_ok_and(|step| {
            let draws = network.given_draws(march.clock.time, &march.work);
            let named = draws.iter().find(|draw| words.contains(&format!("`{}`", draw.draw)));
            missing += named.map_or(0.0, |draw| step * (draw.asked - draw.gets));
            true
        });
    }
    !marched || if adrift { (air(&march) / before - 1.0).abs() > MOVES } else { missing > 0.0 }
}

#[test]
fn tracts_come_to_a_steady_state_in_which_waves_leave_them() {
    let solved = Cell::new(0);
    over_tracts(60, |seed, rooms| {
        let drawing = open_tract(seed, rooms);
        let tract = read(&drawing, RUN)?;
        let network = tract.network();
        let steady = match steady(network, 0.0, network.initial_state(&[]), vec![0.0; network.layout.unknowns]) {
            Ok(steady) => steady,
            Err(RunError::NotSteady { because: Some(words), .. }) => {
                prop_assert!(is_so(&tract, &words), "{} {}: {}", seed, rooms, words);
                return Ok(());
            }
            Err(why) => return Err(TestCaseError::fail(format!("{seed} {rooms}: {why}"))),
        };
        solved.set(solved.get() + 1);
        // What is left must not show in the march below, by far.
        prop_assert!(steady.left * MARCHED < 0.1 * STAYS, "{} {}: {:e} is left", seed, rooms, steady.left);
        if network.pulse_period().is_some() {
            return Ok(());
        }
        let settings = Settings { until: Until::Time(MARCHED), record_every: MARCHED, ..tract.settings() };
        let mut march = Acoustic::new(network, steady.y.clone(), settings).with_flows(steady.z);
        march.run(&mut Unobserved).map_err(|error| TestCaseError::fail(format!("{seed} {rooms}: {error}")))?;
        for duct in network.arena.ducts() {
            for slot in network.arena.slots_of(duct) {
                for value in (slot..3 * network.arena.slots()).step_by(network.arena.slots()) {
                    // Momentum over that of air at some metres a second.
                    let change = (march.y[value] - steady.y[value]).abs() / steady.y[value].abs().max(10.0);
                    prop_assert!(change < STAYS, "{} {}, {}: {:e}", seed, rooms, network.ducts[duct.0], change);
                }
            }
        }
        for (room, volume) in network.volumes.iter().enumerate() {
            for (before, after) in
                network.layout.volume(&steady.y, room).iter().zip(network.layout.volume(&march.y, room)).take(2)
            {
                prop_assert!((after / before - 1.0).abs() < STAYS, "{} {}, {}", seed, rooms, volume.name);
            }
        }
        Ok(())
    });
    assert!(solved.get() > 40, "{} of 60", solved.get());
}
