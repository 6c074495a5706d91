//! Mass, energy and the air of each origin are kept, and shares stay shares.

use super::{TRACTS, march, over_tracts, read};
use proptest::prelude::*;
use tractwright::joint::side::Side;
use tractwright::march::Acoustic;
use tractwright::network::JointKind;
use tractwright_validation::random_tract::{closed_tract, open_tract};

/// Largest error of a sum, over what is summed, after some thousand steps: round-off.
const ROUND_OFF: f64 = 1e-12;
/// Place of the wall heat among the integrals of a duct.
const WALL_HEAT: usize = 4;

/// What has come in from outside, laid out as what is stored: mass [kg], energy [J], mass of each origin [kg].
fn come_in(march: &Acoustic<'_>) -> Vec<f64> {
    let (network, places, values) = (march.network, &march.integrals.places, &march.integrals.values);
    let mut sum = vec![0.0; 2 + network.origins.len()];
    for (joint, first) in network.joints.iter().zip(&places.joints) {
        let JointKind::Series(series) = &joint.kind else { continue };
        let inward = match [is_outside(&series.sides[0]), is_outside(&series.sides[1])] {
            [true, _] => 1.0,
            [_, true] => -1.0,
            _ => continue,
        };
        sum[0] += inward * values[*first];
        sum[1] += inward * network.gas.heat_capacity * values[first + 1];
        let stations = series.losses.len() + 1;
        for (sum, mass) in sum[2..].iter_mut().zip(&values[first + 2 + stations..]) {
            *sum += inward * mass;
        }
    }
    sum[1] += places.ducts.iter().map(|first| values[first + WALL_HEAT]).sum::<f64>();
    sum[1] += places.volumes.iter().map(|first| values[*first]).sum::<f64>();
    sum
}

fn is_outside(side: &Side) -> bool {
    !matches!(side, Side::Duct { .. } | Side::Volume { .. })
}

/// How far the shares of any cell or volume lie outside 0..1, or their sum beside 1.
fn share_error(march: &Acoustic<'_>) -> f64 {
    let network = march.network;
    let (arena, cells) = (&network.arena, &march.work.cells);
    let mut worst: f64 = 0.0;
    let mut look = |shares: &mut dyn Iterator<Item = f64>| {
        let mut sum = 0.0;
        for share in shares {
            worst = worst.max(-share).max(share - 1.0);
            sum += share;
        }
        worst = worst.max((sum - 1.0_f64).abs());
    };
    for duct in arena.ducts() {
        for cell in 0..arena.cells(duct) {
            look(&mut (0..network.origins.len()).map(|origin| arena.cell_scalars(cells, duct, origin)[cell]));
        }
    }
    for volume in 0..network.volumes.len() {
        let stored = network.layout.volume(&march.y, volume);
        look(&mut stored[2..].iter().map(|mass| mass / stored[0]));
    }
    worst
}

#[test]
fn what_is_stored_is_what_was_there_and_what_came_in() {
    over_tracts(TRACTS, |seed, rooms| {
        let tract = read(&open_tract(seed, rooms), "until: 10 ms, cell: 20 mm, record_every: 0.5 ms")?;
        let start = tract.network().stored(&tract.at_start().march.y);
        let (march, share_errors) = march(&tract, share_error)?;
        let (end, come_in) = (march.network.stored(&march.y), come_in(&march));
        let scale = [start[0].max(end[0]), start[1].max(end[1])];
        for (index, end) in end.iter().enumerate() {
            let error = (end - start[index] - come_in[index]) / scale[usize::from(index == 1)];
            prop_assert!(error.abs() < ROUND_OFF, "{index} of mass, energy, origins: {error:e}");
        }
        prop_assert!(share_errors.iter().all(|error| *error < ROUND_OFF), "shares: {share_errors:?}");
        Ok(())
    });
}

#[test]
fn a_closed_tract_keeps_what_it_holds_for_ten_thousand_steps() {
    over_tracts(4, |seed, rooms| {
        let tract = read(&closed_tract(seed, rooms), "until: 0.4 s, cell: 20 mm, record_every: 0.1 s")?;
        let start = tract.network().stored(&tract.at_start().march.y);
        let (march, _) = march(&tract, |_| 0.0)?;
        prop_assert!(march.clock.step > 10_000, "{} steps", march.clock.step);
        for (start, end) in start.iter().zip(march.network.stored(&march.y)) {
            prop_assert!((end / start - 1.0).abs() < ROUND_OFF, "{start} {end}");
        }
        Ok(())
    });
}
