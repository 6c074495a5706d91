//! Readings of a log as dots, the model at the same states as lines.

use super::curves::{Curve, Look};
use super::drawing::{Drawing, Values};
use super::panels::{Panel, Sheet};
use crate::overlay::Overlay;
use crate::print::number::significant;
use tractwright::case::measured::{Channel, Meaning};
use tractwright::quantity::Unit;

/// Height of a panel [px].
const HEIGHT: f64 = 190.0;
/// Standard deviations on each side of a dot that its bar shows.
const BAR: f64 = 2.0;

/// The picture of a log: one panel for each unit of the log's gauges, over what its states are put together by, or over their number.
pub(crate) fn drawing(overlay: &Overlay) -> Drawing {
    let measured = &overlay.measured;
    // A course is told over its speed.
    let by = measured.stations.as_ref().map(|stations| stations.of).or(measured.course);
    let unit_of = |channel: usize| overlay.log.channels[channel].map(|data| data.unit);
    let across = by.and_then(|channel| Some((channel, unit_of(channel)?)));
    let place = |station: usize| match across {
        Some((channel, unit)) => {
            overlay.stations[station].means[channel].map_or(f64::NAN, |mean| unit.from_si(mean.value))
        }
        None => (station + 1) as f64,
    };
    let gauges: Vec<(usize, &Channel, &'static Unit)> = measured
        .channels
        .iter()
        .enumerate()
        .filter(|(number, _)| overlay.pairs(*number).next().is_some())
        .filter_map(|(number, channel)| Some((number, channel, unit_of(number)?)))
        .collect();
    let mut panels: Vec<(String, Vec<Curve>)> = Vec::new();
    for (number, channel, unit) in gauges.iter().copied() {
        let title = format!("{}, {}", kind(channel), unit.symbol);
        let panel = match panels.iter().position(|panel| panel.0 == title) {
            Some(known) => known,
            None => {
                panels.push((title, Vec::new()));
                panels.len() - 1
            }
        };
        let result = panels[panel].1.iter().filter(|curve| curve.look == Look::Dots).count();
        panels[panel].1.extend(curves(overlay, number, channel, unit, result, across.is_some(), &place));
    }
    let panel = |(title, curves)| Panel { title, height: HEIGHT, curves, ..Panel::default() };
    let sheet = Sheet {
        title: format!("Readings and model: {}", overlay.log.file),
        conditions: vec![
            match overlay.is_course() {
                true => format!(
                    "{} states of one course, {}, the model at the means of what the log sets",
                    overlay.stations.len(),
                    measured.point
                ),
                false => format!(
                    "{} steady states at {}, the model solved at the numbers of each",
                    overlay.stations.len(),
                    measured.point
                ),
            },
            format!(
                "dots: readings, with two standard deviations on each side; {}: what the gauge would read in the model",
                if across.is_some() { "lines" } else { "hollow" }
            ),
        ],
        across: across.map_or("number of the state".to_owned(), |(channel, unit)| {
            format!("{}, {}", measured.channels[channel].name, unit.symbol)
        }),
        strips_title: String::new(),
        strips: Vec::new(),
        behind: false,
        panels: panels.into_iter().map(panel).collect(),
        key: Vec::new(),
    };
    let values = values(overlay, &sheet.across, &gauges, &place);
    Drawing { values, ..sheet.drawing() }
}

/// Readings and model of each gauge, state by state.
fn values(
    overlay: &Overlay,
    across: &str,
    gauges: &[(usize, &Channel, &'static Unit)],
    place: &dyn Fn(usize) -> f64,
) -> Values {
    let head = |(_, channel, unit): &(usize, &Channel, &'static Unit)| {
        let of = |what: &str| format!("{} {what}, {}", channel.name, unit.symbol);
        [of("read"), of("model")]
    };
    let cells = |station: usize, (number, _, unit): &(usize, &Channel, &'static Unit)| {
        let shown = |value: Option<f64>| value.map_or_else(|| "–".to_owned(), |value| significant(unit.from_si(value)));
        let read = overlay.stations[station].means[*number].map(|mean| mean.value);
        let model = overlay.models[station].as_ref().ok().and_then(|model| model[*number]);
        [shown(read), shown(model)]
    };
    let row = |station: usize| {
        let first = [overlay.stations[station].name.clone(), significant(place(station))];
        first.into_iter().chain(gauges.iter().flat_map(|gauge| cells(station, gauge))).collect()
    };
    let heads = ["state".to_owned(), across.to_owned()].into_iter().chain(gauges.iter().flat_map(head)).collect();
    Values { heads, rows: (0..overlay.stations.len()).map(row).collect() }
}

/// What its panel shows.
fn kind(channel: &Channel) -> &'static str {
    match &channel.meaning {
        Meaning::Gauge { reads, .. } => reads.words(),
        Meaning::Power(_) => "power",
        _ => "mass flow of all draws",
    }
}

/// Model, bars and dots of a gauge.
fn curves(
    overlay: &Overlay,
    number: usize,
    channel: &Channel,
    unit: &'static Unit,
    result: usize,
    ordered: bool,
    place: &dyn Fn(usize) -> f64,
) -> Vec<Curve> {
    // States without an order of their own are not joined.
    let model = if ordered { Look::Line } else { Look::WantedDots };
    let curve =
        |look: Look, points: Vec<(f64, f64)>, name: String| Curve { result, look, points, rings: Vec::new(), name };
    let mut pairs: Vec<(f64, f64, f64, f64)> =
        overlay.pairs(number).map(|(station, read, model, spread)| (place(station), read, model, spread)).collect();
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
    let line = pairs.iter().map(|pair| (pair.0, unit.from_si(pair.2))).collect();
    let dots = pairs.iter().map(|pair| (pair.0, unit.from_si(pair.1))).collect();
    let bar = |pair: &(f64, f64, f64, f64)| {
        let ends = [-BAR, BAR].map(|side| (pair.0, unit.from_si(pair.1 + side * pair.3)));
        curve(Look::Wanted, ends.to_vec(), String::new())
    };
    let bars: Vec<Curve> = pairs.iter().map(bar).collect();
    let mut all = vec![curve(model, line, channel.name.clone())];
    all.extend(bars);
    all.push(curve(Look::Dots, dots, String::new()));
    all
}
