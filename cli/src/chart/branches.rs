//! The branches unrolled: area, velocity, total pressure and total temperature along the path of the air, to scale.

use super::curves::{Curve, Look};
use super::drawing::Drawing;
use super::panels::{Level, Panel, Sheet, Stretch, Strip};
use super::path::{Path, Place};
use crate::failure::Failure;
use crate::opened::Opened;
use crate::overlay::BesideTap;
use crate::print::names::sides;
use crate::print::number::{CELSIUS_ZERO, celsius, fixed, kilopascals, signed};
use crate::print::point;
use tractwright::case::measured::Reads;
use tractwright::ledger::BranchSummary;

/// Shades of what the air goes through: ducts in turn, volumes, and what has no length.
const DUCTS: [&str; 2] = ["#f6f9fc", "#e8eff6"];
const VOLUME: &str = "#dbe9f6";
const FITTING: &str = "#c3d3e3";

/// The picture of a result.
///
/// # Errors
/// The file cannot be read, or no draw takes air.
pub(crate) fn drawing(opened: &Opened) -> Result<Drawing, Failure> {
    let branches = &opened.summary.branches;
    if branches.is_empty() {
        let found = format!("{}: found no draw, expected one at least", opened.path.display());
        return Err(Failure::wrong_use(found));
    }
    let names = sides(&branches.iter().map(|branch| branch.draw.as_str()).collect::<Vec<_>>());
    let paths = branches.iter().map(|branch| Path::of(opened, branch)).collect::<Result<Vec<_>, _>>()?;
    let strips = paths.iter().zip(branches).zip(&names).map(|((path, branch), name)| strip(path, branch, name));
    let mut conditions = vec![
        format!(
            "{} | {} | means over {} to {} s",
            point::describe(&opened.point),
            point::air(&opened.outside),
            fixed(opened.summary.window.from, 3),
            fixed(opened.summary.window.to, 3)
        ),
        "where streams join, the path of the most air; a volume has the length of the cube of its size, what has no length a hundredth of the path"
            .to_owned(),
    ];
    let curves = |value: fn(&Place) -> f64| -> Vec<Curve> {
        let one = |(result, path): (usize, &Path)| Curve {
            result,
            look: Look::Line,
            points: path.places.iter().map(|place| (place.at, value(place))).collect(),
            rings: Vec::new(),
            name: if names.len() > 1 { names[result].clone() } else { String::new() },
        };
        paths.iter().enumerate().map(one).collect()
    };
    let dots = |wanted: &dyn Fn(&BesideTap) -> Option<f64>| -> Vec<Curve> { dots(opened, &paths, wanted) };
    let level = |value: f64, words: String| vec![Level { value, words, at_start: false }];
    let panel = |title: &str, height: f64, curves: Vec<Curve>, levels: Vec<Level>| Panel {
        title: title.to_owned(),
        height,
        curves,
        levels,
        ..Panel::default()
    };
    let free = opened.summary.free_stream_total_pressure;
    let outside = opened.summary.outside_temperature;
    let absolute = |tap: &BesideTap| tap.pressure(opened.outside.pressure).map(|pressure| 1e-3 * pressure);
    let total = |tap: &BesideTap| if matches!(tap.reads, Reads::Total(_)) { absolute(tap) } else { None };
    let wall = |tap: &BesideTap| if matches!(tap.reads, Reads::Static(_)) { absolute(tap) } else { None };
    let warm = |tap: &BesideTap| tap.temperature(opened.outside.temperature).map(|warm| warm - CELSIUS_ZERO);
    let of_walls = dots(&wall);
    let mut panels = vec![
        panel("area, cm2", 110.0, curves(|place| 1e4 * place.area), Vec::new()),
        panel("velocity, m/s", 110.0, curves(|place| place.velocity), Vec::new()),
        panel(
            "total pressure, kPa",
            170.0,
            [curves(|place| 1e-3 * place.total_pressure), dots(&total)].concat(),
            level(1e-3 * free, format!("free stream {}", kilopascals(free))),
        ),
    ];
    if !of_walls.is_empty() {
        let lines = curves(|place| 1e-3 * place.static_pressure);
        panels.push(panel("static pressure, as wall taps read it, kPa", 170.0, [lines, of_walls].concat(), Vec::new()));
    }
    panels.push(panel(
        "total temperature, degC",
        130.0,
        [curves(|place| place.total_temperature - CELSIUS_ZERO), dots(&warm)].concat(),
        level(outside - CELSIUS_ZERO, format!("outside {}", celsius(outside))),
    ));
    let measured = opened.beside.iter().filter_map(|(log, beside)| Some((log, beside.state()?)));
    conditions.extend(measured.map(|(log, beside)| format!("dots: measured, {}, {}", log.display(), beside.station)));
    let sheet = Sheet {
        title: format!("{}: along the branches", opened.reading.case_name),
        conditions,
        across: "distance along the path, m".to_owned(),
        strips_title: "parts in the order of the flow".to_owned(),
        strips: strips.collect(),
        behind: false,
        panels,
        key: vec![(DUCTS[0], "duct".to_owned()), (VOLUME, "volume".to_owned()), (FITTING, "without length".to_owned())],
    };
    Ok(sheet.drawing())
}

/// Readings where their gauges sit, on each branch that passes there; in the shade of the first one.
fn dots(opened: &Opened, paths: &[Path], wanted: &dyn Fn(&BesideTap) -> Option<f64>) -> Vec<Curve> {
    let of_path = |(result, path): (usize, &Path)| {
        let point = |tap: &BesideTap| {
            let is_first = !paths[..result].iter().any(|path| path.parts.iter().any(|part| part.name == tap.part));
            let part = path.parts.iter().find(|part| part.name == tap.part).filter(|_| is_first)?;
            let at = match tap.x {
                Some(x) => part.from + x,
                None if part.is_volume => 0.5 * (part.from + part.to),
                None => part.to,
            };
            Some((at, wanted(tap)?))
        };
        let points: Vec<(f64, f64)> = opened.taps().filter_map(point).collect();
        Curve { result, look: Look::Dots, points, rings: Vec::new(), name: String::new() }
    };
    paths.iter().enumerate().map(of_path).filter(|curve| !curve.points.is_empty()).collect()
}

fn strip(path: &Path, branch: &BranchSummary, name: &str) -> Strip {
    let mut ducts = 0;
    let stretches = path.parts.iter().map(|part| {
        let shade = match (part.is_volume, part.is_duct) {
            (true, _) => VOLUME,
            (_, true) => {
                ducts += 1;
                DUCTS[ducts % 2]
            }
            _ => FITTING,
        };
        Stretch {
            from: part.from,
            to: part.to,
            words: part.name.clone(),
            short: String::new(),
            told: told(&part.name, branch),
            shade,
        }
    });
    Strip { name: name.to_owned(), stretches: stretches.collect() }
}

/// The lines of the ledgers that stand for a part.
fn told(part: &str, branch: &BranchSummary) -> String {
    let losses = branch.losses.iter().filter(|loss| loss.part == part).map(|loss| {
        let what = if loss.what.is_empty() { "lost" } else { loss.what.as_str() };
        format!("{what} {} kPa, {} % ({})", kilopascals(loss.lost), fixed(100.0 * loss.share, 1), loss.basis)
    });
    let heat = branch.heat.iter().filter(|heat| heat.place == part);
    let heat = heat.map(|heat| format!("warmed by {}: {} K", heat.cause, signed(heat.rise, 2)));
    let all: Vec<String> = losses.chain(heat).collect();
    match all.len() {
        0 => format!("{part}: loses and warms nothing"),
        _ => format!("{part}: {}", all.join("; ")),
    }
}
