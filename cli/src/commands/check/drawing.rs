//! The tract as text: the flow lines, with what each part measures below its name.

use super::AtPoint;
use crate::print::WIDTH;
use crate::print::number::{celsius, fixed, trimmed};
use tractwright::case::{Case, FlowLine, Stop};
use tractwright::network::JointKind;
use tractwright::part::{BayAir, Demand, Duct, Part};

/// Between two parts of a line.
const ARROW: &str = " --> ";
/// In front of each line.
const INDENT: &str = "  ";

/// The flow lines of `case` at a point.
pub(super) fn draw(case: &Case, at: &AtPoint) -> String {
    at.case.flow.iter().map(|line| draw_line(case, at, line)).collect::<Vec<_>>().join("\n")
}

/// One stop of a line: its name and what stands below it.
struct Column {
    texts: Vec<String>,
    width: usize,
}

fn draw_line(case: &Case, at: &AtPoint, line: &FlowLine) -> String {
    let columns: Vec<Column> = line.stops.iter().map(|stop| column(case, at, stop)).collect();
    let mut text = String::new();
    let mut first = 0;
    while first < columns.len() {
        let last = fitting(&columns, first);
        text.push_str(&strip(&columns[first..last], first > 0, last < columns.len()));
        first = last;
    }
    text
}

/// End of the longest run of columns from `first` that fits into the width; one at least.
fn fitting(columns: &[Column], first: usize) -> usize {
    let mut taken = INDENT.len() + 2 * ARROW.len();
    let mut end = first;
    while end < columns.len() && (end == first || taken + columns[end].width <= WIDTH) {
        taken += columns[end].width + ARROW.len();
        end += 1;
    }
    end
}

/// Columns side by side; an arrow at its ends when the line goes on there.
fn strip(columns: &[Column], goes_on_before: bool, goes_on_behind: bool) -> String {
    let height = columns.iter().map(|column| column.texts.len()).max().unwrap_or(0);
    let mut text = String::new();
    for row in 0..height {
        let mut line = INDENT.to_owned();
        if goes_on_before {
            line.push_str(if row == 0 { "--> " } else { "    " });
        }
        for (number, column) in columns.iter().enumerate() {
            let last = number + 1 == columns.len();
            let cell = column.texts.get(row).map_or("", String::as_str);
            line.push_str(cell);
            let rest = column.width - cell.chars().count().min(column.width);
            if row == 0 && !last {
                line.push_str(&format!(" {}{} ", "-".repeat(rest + ARROW.len() - 3), ">"));
            } else {
                line.push_str(&" ".repeat(rest + ARROW.len()));
            }
        }
        if row == 0 && goes_on_behind {
            line = format!("{} -->", line.trim_end());
        }
        text.push_str(line.trim_end());
        text.push('\n');
    }
    text
}

fn column(case: &Case, at: &AtPoint, stop: &Stop) -> Column {
    let name = match &stop.leg {
        Some(leg) => format!("{}.{leg}", stop.part),
        None => stop.part.clone(),
    };
    let mut texts = vec![name];
    if let Some((_, part)) = at.case.parts.iter().find(|(name, _)| *name == stop.part) {
        texts.push(case.as_written(&format!("parts.{}.kind", stop.part)).unwrap_or_default().to_owned());
        texts.extend(measures(at, &stop.part, part));
    }
    let width = texts.iter().map(|text| text.chars().count()).max().unwrap_or(0);
    Column { texts, width }
}

/// What a part measures.
fn measures(at: &AtPoint, name: &str, part: &Part) -> Vec<String> {
    let network = &at.built.network;
    match part {
        Part::Duct(duct) => of_duct(at, name, duct),
        Part::Plenum(plenum) => vec![format!("{} L", trimmed(1e3 * plenum.volume, 2))],
        Part::Bay(bay) => match &bay.air {
            BayAir::Given(temperature) => vec![format!("{} degC", celsius(*temperature))],
            BayAir::Stored(stored) => vec![format!("{} L", trimmed(1e3 * stored.volume, 2))],
        },
        Part::Vent(vent) => vec![area(vent.area), format!("{} mm high", trimmed(1e3 * vent.height, 1))],
        Part::Radiator(radiator) => {
            vec![format!("{} g/s", trimmed(1e3 * radiator.flow(at.built.network.stream.speed), 1))]
        }
        Part::HotPart(_) | Part::Shield(_) => Vec::new(),
        Part::Mouth(mouth) => {
            let from = mouth.from.iter().map(|bay| format!("from {bay}"));
            std::iter::once(area(mouth.area)).chain(from).collect()
        }
        Part::Draw(draw) => {
            let joint = network.draws().into_iter().find(|joint| network.draw_name(*joint) == name);
            let bore = joint.map(|joint| (4.0 * network.draw_area(joint) / std::f64::consts::PI).sqrt());
            bore.map(|bore| format!("{} mm bore", trimmed(1e3 * bore, 1)))
                .into_iter()
                .chain([demand(&draw.demand)])
                .collect()
        }
        Part::Inflow(inflow) => {
            vec![format!("{} g/s", trimmed(1e3 * inflow.flow, 3)), format!("{} degC", celsius(inflow.temperature))]
        }
        Part::Wye(wye) => vec![format!("{} legs", wye.legs.len())],
        Part::Loss(_) => loss_area(at, name).map(area).into_iter().collect(),
        Part::Wall => Vec::new(),
    }
}

fn of_duct(at: &AtPoint, name: &str, duct: &Duct) -> Vec<String> {
    let network = &at.built.network;
    let Some(id) = network.arena.ducts().find(|id| network.arena.name(*id) == name) else { return Vec::new() };
    let faces = network.arena.face_areas(id);
    let (first, last) = (faces[0], faces[faces.len() - 1]);
    let narrowest = faces.iter().copied().fold(f64::INFINITY, f64::min);
    let mut texts = vec![format!("{} mm", trimmed(1e3 * duct.length, 1))];
    texts.push(if (first - last).abs() < 1e-9 * first {
        area(first)
    } else {
        format!("{} to {}", centimetres(first), area(last))
    });
    if narrowest < first.min(last) * (1.0 - 1e-9) {
        texts.push(format!("narrowest {}", area(narrowest)));
    }
    if !duct.bends.is_empty() {
        let angles: Vec<String> = duct.bends.iter().map(|bend| trimmed(bend.angle.to_degrees(), 1)).collect();
        texts.push(format!("bends {} deg", angles.join(" + ")));
    }
    if let Some(temperature) = duct.wall_temperature {
        texts.push(format!("wall {} degC", celsius(temperature)));
    }
    texts.push(format!("{} cells of {} mm", network.arena.cells(id), fixed(1e3 * network.arena.cell_length(id), 1)));
    texts
}

fn demand(demand: &Demand) -> String {
    match demand {
        Demand::CorrectedFlow { flow, .. } => format!("{} g/s corrected", trimmed(1e3 * flow, 2)),
        Demand::Flow(flow) => format!("{} g/s", trimmed(1e3 * flow, 2)),
        Demand::Engine(_) => "engine".to_owned(),
        Demand::Depression(depression) => format!("{} kPa below", trimmed(1e-3 * depression, 3)),
    }
}

/// Area of the passage of a part without length [m^2].
fn loss_area(at: &AtPoint, name: &str) -> Option<f64> {
    at.built.network.joints.iter().find_map(|joint| {
        let place = joint.losses.iter().position(|loss| loss.part == name && loss.what.is_empty())?;
        if let JointKind::Series(series) = &joint.kind { Some(series.losses[place].area()) } else { None }
    })
}

fn area(area: f64) -> String {
    format!("{} cm2", centimetres(area))
}

fn centimetres(area: f64) -> String {
    trimmed(1e4 * area, 1)
}
