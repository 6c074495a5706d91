//! Soak: inlet, bay and walls over time, phase by phase.

use super::axis::Axis;
use super::drawing::Drawing;
use super::ends::apart;
use super::{coloured as text, escaped, straight as line, stretches, values};
use crate::failure::Failure;
use crate::opened::Opened;
use crate::print::point;

/// Size of the picture, and edges of the field of the curves: left, above, right, below [px].
const SIZE: [f64; 2] = [960.0, 486.0];
const EDGES: [f64; 4] = [56.0, 62.0, 190.0, 46.0];
/// Distance between the names of curves beside the field, at least [px].
const NAME: f64 = 16.0;
/// Temperatures above this belong to hot parts, which would flatten all else [K].
const SHOWN_BELOW: f64 = 523.15;

/// Inlets dark, the air of bays orange, walls in shades of one blue.
const INLET: [&str; 2] = ["#102a43", "#102a43"];
const BAY: &str = "#b45309";
const WALLS: [&str; 4] = ["#08306b", "#2b7bba", "#7fb2dc", "#9fb3c8"];

/// A curve: its name, stroke, dashes, and temperatures [degC] at the times of the records.
struct Curve {
    name: String,
    colour: &'static str,
    dashes: &'static str,
    width: f64,
    values: Vec<f64>,
}

/// The picture of a result.
///
/// # Errors
/// The file cannot be read.
pub(crate) fn drawing(opened: &Opened) -> Result<Drawing, Failure> {
    if opened.reading.outcome == "steady" {
        let message = format!("{}: found a steady state, expected a run through time", opened.path.display());
        return Err(Failure::wrong_use(message));
    }
    let time: Vec<f64> = opened.reading.file.time()?.iter().map(|time| time / 60.0).collect();
    let curves = curves(opened)?;
    let [left, above, right, below] = EDGES;
    let all = curves.iter().flat_map(|curve| curve.values.iter().copied());
    let up = Axis::over(all, false, [SIZE[1] - below, above], 7);
    let across = Axis::over(time.iter().copied(), false, [left, SIZE[0] - right], 9);
    let mut out = String::new();
    for tick in &up.ticks {
        let y = tick.place;
        out.push_str(&line([left, y], [SIZE[0] - right, y], "#dfe5eb"));
        out.push_str(&text(left - 8.0, y + 4.0, "end", "#486581", &tick.label));
    }
    for tick in &across.ticks {
        out.push_str(&text(tick.place, SIZE[1] - below + 18.0, "middle", "#486581", &tick.label));
    }
    out.push_str(&text(SIZE[0] - right, SIZE[1] - 8.0, "end", "#486581", "time, min"));
    out.push_str(&text(left - 8.0, above - 8.0, "end", "#486581", "degC"));
    out.push_str(&stretches::drawn(&opened.reading.phases, &across, [above, SIZE[1] - below]));
    out.push_str(&format!("<g class=\"field\" data-up=\"degC\" data-x=\"{across}\" data-y=\"{up}\">\n"));
    for curve in &curves {
        out.push_str(&drawn(curve, &time, &across, &up));
    }
    out.push_str("</g>\n");
    out.push_str(&names(&curves, &up));
    let points: Vec<Vec<(f64, f64)>> =
        curves.iter().map(|curve| time.iter().copied().zip(curve.values.iter().copied()).collect()).collect();
    let columns = curves.iter().zip(&points);
    let columns =
        columns.map(|(curve, points)| values::Column { head: format!("{}, degC", curve.name), points, dots: false });
    Ok(Drawing {
        title: format!("{}: temperatures of inlet, bay and walls", opened.reading.case_name),
        conditions: vec![format!("{} | parts hotter than 250 degC are left out", point::air(&opened.outside))],
        size: SIZE,
        body: format!("<g data-across=\"time, min\">\n{out}</g>\n"),
        values: values::table("time, min", &columns.collect::<Vec<_>>()),
        moments: None,
    })
}

fn curves(opened: &Opened) -> Result<Vec<Curve>, Failure> {
    let (file, network) = (&opened.reading.file, &opened.reading.built.network);
    let celsius = |values: Vec<f64>| values.into_iter().map(|value| value - 273.15).collect::<Vec<_>>();
    let mut curves = Vec::new();
    for (number, joint) in network.draws().into_iter().enumerate() {
        let name = network.draw_name(joint);
        curves.push(Curve {
            name: format!("{name}: air"),
            colour: INLET[number % 2],
            dashes: if number.is_multiple_of(2) { "" } else { "5 3" },
            width: 2.4,
            values: celsius(file.series(name, "total_temperature")?),
        });
    }
    for bay in &network.thermal.bays {
        let name = &network.volumes[bay.volume].name;
        let values = celsius(file.series(name, "temperature")?);
        curves.push(Curve { name: format!("{name}: air"), colour: BAY, dashes: "", width: 2.0, values });
    }
    let mut walls = 0;
    for node in &network.thermal.nodes {
        let values = file.series(&node.part, &node.series_name())?;
        if values.iter().any(|value| *value > SHOWN_BELOW) {
            continue;
        }
        let what = if node.what.is_empty() { "wall" } else { &node.what };
        curves.push(Curve {
            name: format!("{}: {what}", node.part),
            colour: WALLS[walls % WALLS.len()],
            dashes: if (walls / WALLS.len()).is_multiple_of(2) { "" } else { "4 3" },
            width: 1.4,
            values: celsius(values),
        });
        walls += 1;
    }
    Ok(curves)
}

fn drawn(curve: &Curve, time: &[f64], across: &Axis, up: &Axis) -> String {
    let points: Vec<String> = time
        .iter()
        .zip(&curve.values)
        .filter_map(|(time, value)| Some(format!("{:.1},{:.1}", across.place(*time)?, up.place(*value)?)))
        .collect();
    format!(
        "<polyline points=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{}\" stroke-dasharray=\"{}\" stroke-linejoin=\"round\" data-name=\"{}\"/>\n",
        points.join(" "),
        curve.colour,
        curve.width,
        curve.dashes,
        escaped(&curve.name)
    )
}

/// Names beside the ends of the curves.
fn names(curves: &[Curve], up: &Axis) -> String {
    let ends: Vec<(f64, &Curve)> =
        curves.iter().filter_map(|curve| Some((up.place(*curve.values.last()?)?, curve))).collect();
    let wanted: Vec<f64> = ends.iter().map(|end| end.0).collect();
    let places = apart(&wanted, NAME, SIZE[1] - EDGES[3]);
    let x = SIZE[0] - EDGES[2] + 10.0;
    ends.iter()
        .zip(places)
        .map(|((_, curve), y)| {
            format!(
                "<path d=\"M{x:.1} {y:.1}h18\" stroke=\"{}\" stroke-width=\"{}\" stroke-dasharray=\"{}\"/>\n{}",
                curve.colour,
                curve.width,
                curve.dashes,
                text(x + 24.0, y + 4.0, "start", "#102a43", &curve.name)
            )
        })
        .collect()
}
