//! Operating lines on the map of a compressor: pressure ratio over corrected flow, with lines of constant speed, surge and choking.

use super::curves::{Curve, Look};
use super::drawing::Drawing;
use super::driven::{Driven, named};
use super::panels::{Panel, Sheet};
use crate::failure::Failure;
use crate::opened::Opened;
use crate::print::number::{RPM, celsius, fixed, trimmed};
use crate::print::point;
use tractwright::powertrain::Compressor;
use tractwright::run::TurboFigures;

/// Lines of constant speed over the speed limit, and whether their speed is written: the names of operating lines need the room.
const SPEEDS: [(f64, bool); 6] = [(0.5, false), (0.6, true), (0.7, false), (0.8, true), (0.9, false), (1.0, true)];
/// Pressure ratio below which a surge line is extrapolated too far to tell a margin. Common practice, no source.
const LOADED: f64 = 1.2;
/// Points of a line.
const POINTS: usize = 40;

/// The picture of results with an engine; the map is that of the first turbo of the first result.
///
/// # Errors
/// A result has no engine, or cannot be read.
pub(crate) fn drawing(results: &[&Opened]) -> Result<Drawing, Failure> {
    let driven = results.iter().map(|opened| Driven::of(opened)).collect::<Result<Vec<_>, _>>()?;
    let (names, title) = named(driven.iter(), "operating lines on the compressor map");
    let drive = results[0].reading.built.network.drive.as_ref();
    let Some(turbo) = drive.and_then(|drive| drive.powertrain.turbos.first()) else {
        return Err(super::driven::wrong(results[0], "no turbo", "an engine with `turbos`"));
    };
    let compressor = &turbo.compressor;
    let mut curves = operating(&driven, &names);
    curves.extend(map(compressor));
    let reference = compressor.reference();
    let conditions = vec![
        format!(
            "flow and speed corrected to {} kPa, {} degC | {}",
            trimmed(1e-3 * reference.pressure, 3),
            celsius(reference.temperature),
            point::air(&results[0].outside)
        ),
        margins(&driven, &names),
    ];
    let sheet = Sheet {
        title,
        conditions,
        across: "corrected flow, g/s".to_owned(),
        strips_title: String::new(),
        strips: Vec::new(),
        behind: false,
        panels: vec![Panel {
            title: "pressure ratio, total to total (thin: map; left end of a line surge, right end choking)".to_owned(),
            height: 340.0,
            curves,
            ..Panel::default()
        }],
        key: Vec::new(),
    };
    Ok(sheet.drawing())
}

/// A line of each turbo of a result, from the first record to the last; of several results that of their first turbo.
fn operating(driven: &[Driven<'_>], names: &[String]) -> Vec<Curve> {
    let mut curves = Vec::new();
    for (line, name) in driven.iter().zip(names) {
        let banks = if driven.len() > 1 { 1 } else { line.rows[0].turbos.len() };
        for bank in 0..banks {
            let at = |turbo: &TurboFigures| (1e3 * turbo.corrected_flow, turbo.pressure_ratio);
            let points: Vec<(f64, f64)> = line.rows.iter().map(|row| at(&row.turbos[bank])).collect();
            let still = points.iter().all(|point| (point.0 - points[0].0).abs() < 1e-6);
            let draw = &line.rows[0].turbos[bank].draw;
            curves.push(Curve {
                result: curves.len(),
                look: if still { Look::Dots } else { Look::Line },
                points: if still { points[points.len() - 1..].to_vec() } else { points },
                rings: Vec::new(),
                name: if name.is_empty() { draw.clone() } else { format!("{name}, {draw}") },
            });
        }
    }
    curves
}

/// Lines of constant speed from surge to choking, and the line of surge.
fn map(compressor: &Compressor) -> Vec<Curve> {
    let thin = |points: Vec<(f64, f64)>, name: String| Curve {
        result: 1,
        look: Look::Wanted,
        points,
        rings: Vec::new(),
        name,
    };
    let limit = compressor.speed_limit();
    let mut curves = Vec::new();
    let mut surge = Vec::new();
    for (share, is_named) in SPEEDS {
        let speed = share * limit;
        let (low, high) = (compressor.surge_flow(speed), compressor.choke_flow(speed));
        let flow = |k: usize| low + (high - low) * k as f64 / (POINTS - 1) as f64;
        let points = (0..POINTS).map(|k| (1e3 * flow(k), compressor.pressure_ratio(flow(k), speed)));
        let points: Vec<(f64, f64)> = points.filter(|point| point.1 >= 1.0).collect();
        surge.extend(points.first().copied());
        let name = if is_named { format!("{} krpm", fixed(1e-3 * RPM * speed, 0)) } else { String::new() };
        curves.push(thin(points, name));
    }
    curves.push(thin(surge, String::new()));
    curves
}

/// The smallest margins of each result, in words.
fn margins(driven: &[Driven<'_>], names: &[String]) -> String {
    let told = |(line, name): (&Driven<'_>, &String)| {
        let least = |of: fn(&TurboFigures) -> f64| {
            let all =
                line.rows.iter().flat_map(|row| &row.turbos).filter(|turbo| turbo.pressure_ratio >= LOADED).map(of);
            let least = all.fold(f64::INFINITY, f64::min);
            if least.is_finite() { format!("{} %", fixed(100.0 * least, 0)) } else { "–".to_owned() }
        };
        let [surge, choke, speed] =
            [least(|turbo| turbo.surge_margin), least(|turbo| turbo.choke_margin), least(|turbo| turbo.speed_margin)];
        let name = if name.is_empty() { String::new() } else { format!("{name}: ") };
        format!("{name}surge {surge}, choking {choke}, speed {speed}")
    };
    format!(
        "smallest margins of any turbo above a pressure ratio of {LOADED} | {}",
        driven.iter().zip(names).map(told).collect::<Vec<_>>().join(" | ")
    )
}
