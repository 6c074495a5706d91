//! Gauges between which total pressure would rise along the flow.

use crate::case::measured::{Meaning, Measured, Reads};
use crate::case::{Case, FlowLine};
use crate::measured::{Doubt, Station};
use crate::network::{AirAt, Network};

/// Standard deviations by which total pressure may rise along the flow before a gauge is doubted.
const DEVIATIONS: f64 = 3.0;
/// Parts on a way, at most; a longer one goes round in circles.
const LONGEST_WAY: usize = 200;

/// Gauges of a `station` between which total pressure would rise along the flow: what stands between them cannot lose less than nothing, nor
/// can a part lose more than the whole. A wall tap gets the velocity head that the model has there, `airs` being its air by channel at the station. Gauges on two sides of a volume
/// or a junction are not compared: another stream may come in there, and a jet may cross with more than the volume has.
#[must_use]
pub fn rises(
    case: &Case,
    measured: &Measured,
    station: &Station,
    network: &Network,
    airs: &[Option<AirAt>],
) -> Vec<Doubt> {
    let mut gauges = Vec::new();
    for (number, channel) in measured.channels.iter().enumerate() {
        let (Meaning::Gauge { tap: text, reads }, Some(mean), Some(air)) =
            (&channel.meaning, station.means[number], airs[number])
        else {
            continue;
        };
        let Some(pressure) = reads.absolute(mean.value, network.outside.pressure) else { continue };
        let head = if matches!(reads, Reads::Static(_)) { air.total_pressure - air.pressure } else { 0.0 };
        let (part, x) = text.split_once(':').map_or((text.as_str(), 0.0), |(part, x)| {
            (part, crate::quantity::parse(x, crate::quantity::Dimension::Length).unwrap_or(0.0))
        });
        // Where the air runs backwards what comes before is behind.
        if air.mass_flow > 0.0 {
            gauges.push(Gauge { number, part: part.trim(), x, total: pressure + head, spread: mean.spread });
        }
    }
    let mut doubts: Vec<Doubt> = Vec::new();
    for way in ways(&case.flow) {
        let place = |gauge: &Gauge<'_>| way.iter().position(|part| *part == gauge.part);
        let mut along: Vec<(usize, &Gauge<'_>)> =
            gauges.iter().filter_map(|gauge| Some((place(gauge)?, gauge))).collect();
        along.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.x.total_cmp(&b.1.x)));
        let in_series =
            |from: usize, to: usize| way[from..=to].iter().all(|part| !is_junction(&case.flow, network, part));
        for (before, behind) in along.iter().zip(along.iter().skip(1)) {
            if !in_series(before.0, behind.0) {
                continue;
            }
            let (before, behind) = (before.1, behind.1);
            let rise = behind.total - before.total;
            if rise > DEVIATIONS * libm::hypot(before.spread, behind.spread) {
                let text = format!(
                    "{rise:.0} Pa more total pressure than `{}` before it, as if what stands between lost less than nothing, at {}",
                    measured.channels[before.number].name, station.name
                );
                let doubt = Doubt { channel: behind.number, stations: 1, text };
                if !doubts.iter().any(|known| known.channel == doubt.channel) {
                    doubts.push(doubt);
                }
            }
        }
    }
    doubts
}

/// Whether a part is a volume, or one at which more than two ways meet.
fn is_junction(flow: &[FlowLine], network: &Network, part: &str) -> bool {
    let pairs = || flow.iter().flat_map(|line| line.stops.windows(2));
    let (before, behind) = (pairs().filter(|pair| pair[1].part == part), pairs().filter(|pair| pair[0].part == part));
    network.volumes.iter().any(|volume| volume.name == part) || before.count() > 1 || behind.count() > 1
}

/// A pressure gauge of a station.
struct Gauge<'a> {
    number: usize,
    part: &'a str,
    x: f64,
    /// Total pressure [Pa] and its standard deviation.
    total: f64,
    spread: f64,
}

/// All ways of the air, from parts that nothing comes before to parts that nothing follows.
fn ways(flow: &[FlowLine]) -> Vec<Vec<&str>> {
    let pairs: Vec<(&str, &str)> = flow
        .iter()
        .flat_map(|line| line.stops.windows(2))
        .map(|pair| (pair[0].part.as_str(), pair[1].part.as_str()))
        .collect();
    let mut ways = Vec::new();
    for (index, (first, _)) in pairs.iter().enumerate() {
        let is_new = !pairs[..index].iter().any(|pair| pair.0 == *first);
        if is_new && !pairs.iter().any(|pair| pair.1 == *first) {
            follow(&pairs, &mut vec![first], &mut ways);
        }
    }
    ways
}

fn follow<'a>(pairs: &[(&'a str, &'a str)], way: &mut Vec<&'a str>, ways: &mut Vec<Vec<&'a str>>) {
    let Some(last) = way.last().copied() else { return };
    let after: Vec<&str> =
        pairs.iter().filter(|pair| pair.0 == last && !way.contains(&pair.1)).map(|pair| pair.1).collect();
    if after.is_empty() || way.len() > LONGEST_WAY {
        ways.push(way.clone());
    }
    for part in after {
        way.push(part);
        follow(pairs, way, ways);
        way.pop();
    }
}
