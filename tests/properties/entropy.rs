//! The second law: the entropy of a closed tract with adiabatic walls never falls.

use super::{march, over_tracts, read};
use proptest::prelude::*;
use tractwright::march::Acoustic;
use tractwright_validation::random_tract::closed_tract;

/// Largest fall of the entropy from the highest that it has been, over cv times the mass.
///
/// Only a first-order scheme never lets it fall. Limited slopes sharpen a wave that runs through cells it just fills, and cell averages
/// then show less disorder than before: up to 4e-7 in sixty such tracts, where the whole run makes 4e-3 and more; nothing on cells a
/// quarter as long. The air that swings in an opening between two rooms lends them entropy too, some 1e-8 here: its energy stands in
/// no balance.
const SLACK: f64 = 1e-6;

/// Entropy of all gas [J/K] above that at 1 bar and 1 kg/m^3.
fn entropy(march: &Acoustic<'_>) -> f64 {
    let (network, work) = (march.network, &march.work);
    let heat_capacity = network.gas.heat_capacity - network.gas.gas_constant;
    let of = |mass: f64, density: f64, pressure: f64| {
        mass * heat_capacity * ((pressure / 1e5).ln() - network.gas.gamma * density.ln())
    };
    let mut sum = 0.0;
    for duct in network.arena.ducts() {
        let state = network.arena.cell_states(&work.cells, duct);
        for (cell, volume) in network.volumes_of(duct).iter().enumerate() {
            let (density, pressure) = (state.density[cell], state.pressure[cell]);
            sum += of(volume * density, density, pressure);
        }
    }
    for (index, volume) in network.volumes.iter().enumerate() {
        let mass = network.layout.volume(&march.y, index)[0];
        sum += of(mass, mass / volume.size, work.volumes[index].pressure);
    }
    sum
}

#[test]
fn entropy_never_falls() {
    over_tracts(16, |seed, rooms| {
        let tract = read(&closed_tract(seed, rooms), "until: 30 ms, cell: 20 mm, record_every: 0.1 ms")?;
        let mass = tract.network().stored(&tract.at_start().march.y)[0];
        let (march, entropies) = march(&tract, entropy)?;
        let heat_capacity = mass * (march.network.gas.heat_capacity - march.network.gas.gas_constant);
        let mut highest = f64::NEG_INFINITY;
        let mut fall: f64 = 0.0;
        for entropy in &entropies {
            highest = entropy.max(highest);
            fall = fall.max(highest - entropy);
        }
        let rise = entropies[entropies.len() - 1] - entropies[0];
        prop_assert!(fall < SLACK * heat_capacity, "falls by {:e} of cv m", fall / heat_capacity);
        prop_assert!(rise > 1e-4 * heat_capacity, "rises by {:e} of cv m", rise / heat_capacity);
        Ok(())
    });
}
