//! Tracts come to a steady state from rest, and the march that resolves waves stays in it.

use super::{over_tracts, read};
use proptest::prelude::*;
use std::cell::Cell;
use tractwright::error::RunError;
use tractwright::march::slow::steady;
use tractwright::march::{Acoustic, Settings, Unobserved, Until};
use tractwright_validation::drawing::Drawing;
use tractwright_validation::marched::Tract;
use tractwright_validation::random_tract::open_tract;

const RUN: &str = "until: steady, cell: 20 mm";
/// Time for which waves may shake a steady state [s].
const MARCHED: f64 = 5e-3;
/// Relative change that they may bring.
const STAYS: f64 = 1e-6;
/// Share of the tracts whose air can come to rest of which the solver must find a steady state, or name a draw that asks for more than can
/// flow. A run falls back to the acoustic march in the others, and says so.
const FOUND: f64 = 0.98;
/// Time in which a draw that is said to ask for too much may get it after all [s].
const WATCHED: f64 = 0.3;

/// Whether the air in the tract can come to a steady state: somewhere its pressure is given.
fn is_held(drawing: &Drawing, text: &str) -> bool {
    let ends = drawing.lines.iter().flatten().any(|name| name == "outside");
    ends || drawing.kinds().any(|kind| ["mouth", "scoop", "bay"].contains(&kind)) || text.contains("depression")
}

/// Whether the draw that `words` name gets less than it asks for however long waves have had their way.
fn stays_overdrawn(tract: &Tract, words: &str) -> bool {
    let network = tract.network();
    let settings = Settings { until: Until::Time(WATCHED), record_every: WATCHED, ..tract.settings() };
    let mut march = Acoustic::new(network, network.initial_state(&[]), settings);
    // What stops the march, such as a vacuum, is no sign that the draw is served.
    let _ = march.run(&mut Unobserved);
    let overdrawn = network.overdrawn(march.clock.time, &march.work);
    overdrawn.iter().any(|found| words.contains(&format!("`{}`", found.draw)) && found.gets < found.asked)
}

#[test]
fn tracts_come_to_a_steady_state_in_which_waves_leave_them() {
    let (held, found) = (Cell::new(0), Cell::new(0));
    over_tracts(60, |seed, rooms| {
        let drawing = open_tract(seed, rooms);
        if !is_held(&drawing, &drawing.case(RUN)) {
            return Ok(());
        }
        held.set(held.get() + 1);
        let tract = read(&drawing, RUN)?;
        let network = tract.network();
        let steady = match steady(network, 0.0, network.initial_state(&[]), vec![0.0; network.layout.unknowns]) {
            Ok(steady) => steady,
            Err(RunError::NotSteady { overdrawn: Some(words), .. }) => {
                found.set(found.get() + 1);
                prop_assert!(stays_overdrawn(&tract, &words), "{} {}: {}", seed, rooms, words);
                return Ok(());
            }
            Err(_) => return Ok(()),
        };
        found.set(found.get() + 1);
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
    assert!(f64::from(found.get()) >= FOUND * f64::from(held.get()), "{} of {}", found.get(), held.get());
}
