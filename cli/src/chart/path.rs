//! The path of the air to a draw, with the mean state of the stream along it.

use crate::failure::Failure;
use crate::opened::Opened;
use ndarray::Array1;
use tractwright::case::FlowLine;
use tractwright::ledger::BranchSummary;
use tractwright::part::Part;

/// Records of a window that make its mean, at most: enough for a few periods, and read one by one.
const RECORDS: usize = 48;
/// Length of a part without length, over that of the others.
const NOMINAL: f64 = 0.01;
/// Parts on a path, at most; a longer one goes round in circles.
const LONGEST: usize = 200;

/// A place on a path; what is not known there is not a number.
#[derive(Debug, Clone, Copy)]
pub(super) struct Place {
    /// Distance along the path [m].
    pub(super) at: f64,
    /// Area [m^2].
    pub(super) area: f64,
    /// Velocity [m/s].
    pub(super) velocity: f64,
    /// Total pressure [Pa].
    pub(super) total_pressure: f64,
    /// Total temperature [K].
    pub(super) total_temperature: f64,
    /// Static pressure [Pa].
    pub(super) static_pressure: f64,
}

/// A part of a path.
#[derive(Debug, Clone)]
pub(super) struct Along {
    pub(super) name: String,
    /// Where it begins and ends [m].
    pub(super) from: f64,
    pub(super) to: f64,
    pub(super) is_duct: bool,
    pub(super) is_volume: bool,
}

/// A path from the outside to a draw.
#[derive(Debug, Clone)]
pub(super) struct Path {
    pub(super) parts: Vec<Along>,
    pub(super) places: Vec<Place>,
}

impl Path {
    /// The path of most of the air of a branch.
    ///
    /// # Errors
    /// The file cannot be read.
    pub(super) fn of(opened: &Opened, branch: &BranchSummary) -> Result<Self, Failure> {
        let parts = parts(opened, branch)?;
        let mut places = Vec::new();
        for part in &parts {
            if part.is_duct {
                places.extend(in_duct(opened, part)?);
            } else if part.is_volume {
                places.extend(in_volume(opened, part)?);
            }
        }
        let end = parts.last().map_or(0.0, |part| part.to);
        places.push(Place {
            at: end,
            area: 0.25 * std::f64::consts::PI * branch.bore * branch.bore,
            velocity: f64::NAN,
            total_pressure: branch.total_pressure,
            total_temperature: branch.total_temperature,
            static_pressure: branch.static_pressure,
        });
        Ok(Self { parts, places })
    }
}

/// The parts on the path of most of the air of a branch, to scale.
///
/// # Errors
/// The case cannot be read.
pub(super) fn parts(opened: &Opened, branch: &BranchSummary) -> Result<Vec<Along>, Failure> {
    let case = opened.reading.case.at_point(&opened.reading.point)?;
    let share =
        |source: &str| branch.origins.iter().find(|origin| origin.origin == source).map_or(0.0, |origin| origin.share);
    let mut ways = Vec::new();
    upstream(&case.flow, &mut vec![branch.draw.clone()], &mut ways);
    // Of equal shares the longest way: it says most.
    let way = ways.into_iter().max_by(|a, b| {
        let of = |way: &Vec<String>| way.last().map_or(0.0, |source| share(source));
        of(a).total_cmp(&of(b)).then(a.len().cmp(&b.len()))
    });
    let mut names = way.unwrap_or_default();
    names.reverse();
    let kinds = names.into_iter().filter_map(|name| {
        let part = &case.parts.iter().find(|part| part.0 == name)?.1;
        Some(match part {
            Part::Duct(duct) => (name, duct.length, true, false),
            Part::Plenum(plenum) => (name, plenum.volume.cbrt(), false, true),
            _ => (name, 0.0, false, false),
        })
    });
    let kinds: Vec<(String, f64, bool, bool)> = kinds.collect();
    let nominal = NOMINAL * kinds.iter().map(|kind| kind.1).sum::<f64>().max(1e-3);
    let mut at = 0.0;
    Ok(kinds
        .into_iter()
        .map(|(name, length, is_duct, is_volume)| {
            let from = at;
            at += if length > 0.0 { length } else { nominal };
            Along { name, from, to: at, is_duct, is_volume }
        })
        .collect())
}

/// All ways from the last part of `way` against the flow to where nothing comes before.
fn upstream(flow: &[FlowLine], way: &mut Vec<String>, ways: &mut Vec<Vec<String>>) {
    let Some(last) = way.last().cloned() else { return };
    let before = flow.iter().flat_map(|line| line.stops.windows(2)).filter(|pair| pair[1].part == last);
    let before: Vec<&str> = before.map(|pair| pair[0].part.as_str()).collect();
    let new: Vec<&str> = before.into_iter().filter(|part| way.iter().all(|known| known != part)).collect();
    if new.is_empty() || way.len() > LONGEST {
        ways.push(way.clone());
    }
    for part in new {
        way.push(part.to_owned());
        upstream(flow, way, ways);
        way.pop();
    }
}

/// Records that stand for the window of the means.
///
/// # Errors
/// The file cannot be read.
fn records(opened: &Opened) -> Result<Vec<usize>, Failure> {
    let (time, window) = (opened.reading.file.time()?, opened.summary.window);
    let inside: Vec<usize> =
        (0..time.len()).filter(|row| time[*row] >= window.from && time[*row] <= window.to).collect();
    let every = inside.len().div_ceil(RECORDS).max(1);
    // The last one always counts.
    Ok(inside.into_iter().rev().step_by(every).collect())
}

fn in_duct(opened: &Opened, part: &Along) -> Result<Vec<Place>, Failure> {
    let (file, gas) = (&opened.reading.file, &opened.outside.gas);
    let (x, area) = (file.constant(&part.name, "x")?, file.constant(&part.name, "area")?);
    let heat_capacity = gas.gamma * gas.gas_constant / (gas.gamma - 1.0);
    let mut sums: [Array1<f64>; 4] = std::array::from_fn(|_| Array1::zeros(x.len()));
    let records = records(opened)?;
    for row in &records {
        let field = |name: &str| file.field_rows(&part.name, name, *row..row + 1);
        let (pressure, temperature, velocity) = (field("pressure")?, field("temperature")?, field("velocity")?);
        for cell in 0..x.len() {
            let [p, t, u] = [pressure[[0, cell]], temperature[[0, cell]], velocity[[0, cell]]];
            sums[0][cell] += u;
            sums[1][cell] += gas.total_pressure(p, t, u);
            sums[2][cell] += t + 0.5 * u * u / heat_capacity;
            sums[3][cell] += p;
        }
    }
    let count = records.len().max(1) as f64;
    let place = |cell: usize| Place {
        at: part.from + x[cell],
        area: area[cell],
        velocity: sums[0][cell] / count,
        total_pressure: sums[1][cell] / count,
        total_temperature: sums[2][cell] / count,
        static_pressure: sums[3][cell] / count,
    };
    Ok((0..x.len()).map(place).collect())
}

fn in_volume(opened: &Opened, part: &Along) -> Result<Vec<Place>, Failure> {
    let file = &opened.reading.file;
    let (pressure, temperature) = (file.series(&part.name, "pressure")?, file.series(&part.name, "temperature")?);
    let records = records(opened)?;
    let mean = |values: &[f64]| records.iter().map(|row| values[*row]).sum::<f64>() / records.len().max(1) as f64;
    let (total_pressure, total_temperature) = (mean(&pressure), mean(&temperature));
    let place = |at| Place {
        at,
        area: f64::NAN,
        velocity: f64::NAN,
        total_pressure,
        total_temperature,
        static_pressure: total_pressure,
    };
    Ok(vec![place(part.from), place(part.to)])
}
